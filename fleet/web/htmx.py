"""One address gives the whole page or the part of it that changes."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django_htmx.middleware import HtmxDetails


def page_or_part(
    request: HttpRequest, page: str, part: str, context: Mapping[str, Any], *, status: int = 200
) -> HttpResponse:
    """Render the part for htmx, else the page; a boosted request and a restored history want the page.

    Templates see which it is as `is_part`.
    """
    htmx: HtmxDetails = request.htmx  # type: ignore[attr-defined]
    is_part = bool(htmx) and not htmx.boosted and not htmx.history_restore_request
    response = render(request, part if is_part else page, {**context, "is_part": is_part}, status=status)
    # Without this a cache would hand out a part where the page is wanted.
    patch_vary_headers(response, ["HX-Request", "HX-Boosted", "HX-History-Restore-Request"])
    return response
