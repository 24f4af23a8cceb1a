"""The look-up: the front door of every page."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from fleet.web.htmx import page_or_part


@require_safe
def lookup(request: HttpRequest) -> HttpResponse:
    """Find customers, sites and units by any part of what they are known by."""
    text = request.GET.get("text", "").strip()[:100]
    return page_or_part(
        request, "lookup/lookup.html", "lookup/_found.html", {"found_below": True, "lookup_text": text, "page": None}
    )
