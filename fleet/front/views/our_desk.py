"""On our desk: the office's first page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.calls.queries import calls
from fleet.care.queries import visit_list
from fleet.coverage.queries import missing_facts, payers
from fleet.front.queries import our_desk as queries
from fleet.front.queries import to_check


@require_safe
def our_desk(request: HttpRequest) -> HttpResponse:
    """What is on our desk today."""
    on = clock.today()
    checks, reported, credits_left = to_check.short()
    context = {
        "page": queries.page(on=on),
        "calls": calls.short(on=on),
        "to_check": checks,
        "reported": reported,
        "credits_left": credits_left,
        "to_book": visit_list.short(on=on),
        "missing_facts": missing_facts.short(on=on),
        "differing": payers.short(),
    }
    return render(request, "desk/desk.html", context)
