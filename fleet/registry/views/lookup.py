"""The look-up: the front door of every page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from fleet.registry.queries import lookup as queries
from fleet.web.htmx import page_or_part

SHOWN = 20


@require_safe
def lookup(request: HttpRequest) -> HttpResponse:
    """Find customers, sites and units by any part of what they are known by."""
    text = request.GET.get("text", "").replace("\0", "")[: queries.LONGEST].strip()
    hits = queries.find(text, limit=SHOWN + 1)
    if len(hits) == 1 and not request.htmx:  # type: ignore[attr-defined]
        # Enter on a whole serial means: take me there.
        return redirect(hits[0].kind, hits[0].object_id)
    context = {"lookup_text": text, "hits": hits[:SHOWN], "more": len(hits) > SHOWN, "found_below": True}
    return page_or_part(request, "lookup/lookup.html", "lookup/_found.html", context)
