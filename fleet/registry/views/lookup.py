"""The look-up: the front door of every page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from fleet import models
from fleet.registry.queries import lookup as queries
from fleet.rules import label_codes
from fleet.rules.typed import kind_of
from fleet.web import access
from fleet.web.htmx import page_or_part

SHOWN = 20
_NUMBERED = ("agreement", "claim")


@require_safe
def lookup(request: HttpRequest) -> HttpResponse:
    """Find customers, sites and units by any words of what they are known by; agreements and claims by number."""
    text = request.GET.get("text", "").replace("\0", "")[: queries.LONGEST].strip()
    role = access.person(request).role
    code = label_codes.read(text)
    if code and not request.htmx and models.Label.objects.filter(code=code).exists():  # type: ignore[attr-defined]
        return redirect("label", code)
    numbered = queries.numbered(text, kinds=[kind for kind in _NUMBERED if access.may_see(role, kind)])
    hits = queries.find(text, limit=SHOWN + 1)
    near = not numbered and any(hit.near for hit in hits)
    if numbered:
        hits = (*numbered, *(hit for hit in hits if not hit.near))
    if len(hits) == 1 and not near and not request.htmx:  # type: ignore[attr-defined]
        # Enter on a whole serial means: take me there; on a name, to where their units are listed.
        page = queries.page_of(hits[0])
        if page is not None:
            return redirect(*page)
    context = {
        "lookup_text": text,
        "hits": queries.with_places(hits[:SHOWN]),
        "more": len(hits) > SHOWN,
        "near": near,
        "looks_like": kind_of(text).value,
        "found_below": True,
    }
    return page_or_part(request, "lookup/lookup.html", "lookup/_found.html", context)
