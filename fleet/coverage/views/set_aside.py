"""Facts that nobody knows any more: setting one aside, and bringing one back."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from fleet import clock, models
from fleet.coverage.actions import set_aside as actions
from fleet.coverage.forms.missing_facts import SetAsideForm
from fleet.coverage.views import missing_facts
from fleet.refusals import Refused
from fleet.web import access


@require_POST
def set_aside_put(request: HttpRequest) -> HttpResponse:
    """Set one missing fact aside: who, today, and why if they say so."""
    ask = missing_facts.ask_of(request)
    form = SetAsideForm(request.POST)
    if not form.is_valid():
        noted = {"ask": ask, "note": request.POST["note"], "fault": " ".join(map(str, form.errors["note"]))}
        return missing_facts.shown(request, status=422, noted=noted)
    note, by, on = form.cleaned_data["note"], access.person(request), clock.today()
    try:
        pk = actions.put(fact=ask.fact, unit=ask.unit, site=ask.site, note=note, by=by, on=on)
    except Refused as refused:
        messages.error(request, f"Not set aside. {refused}")
        return missing_facts.back(request)
    return missing_facts.back(request, aside=pk)


@require_POST
def set_aside_back(request: HttpRequest, pk: int) -> HttpResponse:
    """List a fact again that was set aside."""
    try:
        actions.bring_back(pk=pk, by=access.person(request), on=clock.today())
    except models.SetAside.DoesNotExist:
        raise Http404 from None
    messages.success(request, "Brought back: it is listed as missing again.")
    return redirect("set_aside") if "list" in request.POST else missing_facts.back(request)
