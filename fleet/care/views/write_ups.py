"""Today's stops, and the write-up of one: a form without scripts, or a message (JSON) at the same address; and taking it back."""

import json
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.care.actions import write_up_back as back
from fleet.care.actions import write_ups as actions
from fleet.care.forms.write_ups import WriteUpForm, told
from fleet.care.forms.write_ups_back import TakeBackForm, filled
from fleet.care.pages.stops import Stop
from fleet.care.pages.write_ups import Anew
from fleet.care.queries import stops, write_ups
from fleet.claims.queries import failures
from fleet.models.people import Role
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import documents as papers
from fleet.rules.wording.readings import NOT_A_CHARGING_METHOD
from fleet.web import access

# Photos come in a form; a message is words alone.
LARGEST_MESSAGE = 1_000_000


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """Show the stops of today and tomorrow: a technician's own, or everybody's."""
    by = access.person(request)
    mine = by if by.role == Role.TECHNICIAN else None
    return render(request, "stops/today.html", {"page": stops.today(on=clock.today(), technician=mine)})


@require_http_methods(["GET", "HEAD", "POST"])
def write_up_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Write up a stop at a site, booked or not."""
    if request.content_type == "application/json":
        return _message(request, pk)
    sent = request.POST if request.method == "POST" else None
    anew = _anew(request, pk)
    if anew is not None and anew.written is not None:
        return redirect("write_up", anew.written)
    asked = _number((sent if sent is not None else request.GET).get("booking", ""))
    stop = stops.at_site(pk, on=clock.today(), booking=asked if anew is None else anew.booking)
    if stop is None:
        raise Http404
    if sent is not None and sent.get("check"):
        return _checked(request)
    name = access.person(request).get_full_name()
    form = WriteUpForm(
        stop,
        sent if anew is None else filled(anew),
        request.FILES if sent is not None else None,
        technician=name,
        today=clock.today(),
        more="" if sent is None else sent.get("more", ""),
    )
    if sent is None or sent.get("more"):
        return _form(request, stop, form, anew=anew)
    found = _recorded(request, pk, form)
    if found is None:
        return _form(request, stop, form, status=form.status)
    _say(request, found)
    if found.new:
        _keep_photos(request, found.write_up, form)
    return redirect("write_up", found.write_up.pk)


def _number(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) < 18 else None


def _anew(request: HttpRequest, site: int) -> Anew | None:
    """The write-up taken back that is to be written up anew, where the address names one."""
    asked = _number(request.GET.get("anew", "")) if request.method != "POST" else None
    return None if asked is None else write_ups.anew(asked, site=site)


def _form(
    request: HttpRequest, stop: Stop, form: WriteUpForm, *, anew: Anew | None = None, status: int = 200
) -> HttpResponse:
    context = {"stop": stop, "form": form, "anew": anew, "not_a_charging_method": NOT_A_CHARGING_METHOD}
    return render(request, "write_ups/new.html", context, status=status)


def _recorded(request: HttpRequest, pk: int, form: WriteUpForm) -> actions.Recorded | None:
    sent = {name: values for name, values in request.POST.lists() if name != "csrfmiddlewaretoken"}
    if not form.is_valid():
        return None
    try:
        return actions.record(pk, told(request.POST), sent=sent, by=access.person(request), on=clock.today())
    except Refused as refused:
        form.refuse(refused)
        if isinstance(refused, Conflict):
            form.add_error(None, "Open the stop anew to write up what is more.")
    return None


def _say(request: HttpRequest, found: actions.Recorded) -> None:
    if not found.new:
        messages.info(request, found.told or "This was recorded already; it is on file once.")
    else:
        messages.success(request, f"Recorded. {found.told}".strip())


def _keep_photos(request: HttpRequest, made: models.WriteUp, form: WriteUpForm) -> None:
    """Keep each photo with the site: one that is refused costs neither the write-up nor the others."""
    for file in form.cleaned_data.get("photos") or ():
        try:
            papers.add(
                file=file, name=file.name, whose=made.site, caption=f"Write-up of {made.on}", by=access.person(request)
            )
        except Refused as refused:
            messages.error(request, f"{file.name} was not added. {refused}")


def _checked(request: HttpRequest) -> HttpResponse:
    """The warnings for one unit's readings, as they are written."""
    unit = request.POST["check"]
    measured = [row for one in told(request.POST)["units"] if one["unit"] == unit for row in one["readings"]]
    warned = failures.warned(int(unit), measured) if unit.isdecimal() and len(unit) < 18 else ()
    return render(request, "write_ups/_warned.html", {"warned": warned})


def _message(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a write-up as a message: 201 when it was put on file, 200 when it was before, 422 by field, 409 under a taken key."""
    site = get_object_or_404(models.Site, pk=pk)
    sent: Any = None
    try:
        if len(request.body) <= LARGEST_MESSAGE:
            sent = json.loads(request.body)
    except (ValueError, RecursionError):
        sent = None
    if not isinstance(sent, dict):
        return JsonResponse({"faults": {"": "wanted: one write-up as JSON, at most a million bytes"}}, status=422)
    try:
        found = actions.record(site.pk, sent, sent=sent, by=access.person(request), on=clock.today())
    except Refused as refused:
        return JsonResponse({"faults": refused.faults}, status=409 if isinstance(refused, Conflict) else 422)
    answer = {
        "write_up": found.write_up.pk,
        "address": reverse("write_up", args=[found.write_up.pk]),
        "told": found.told,
    }
    return JsonResponse(answer, status=201 if found.new else 200)


@require_safe
def write_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what was written up."""
    return _shown(request, pk, TakeBackForm())


def _shown(request: HttpRequest, pk: int, form: TakeBackForm, *, status: int = 200) -> HttpResponse:
    page = write_ups.page(pk)
    if page is None:
        raise Http404
    may = page.taken_back is None and back.may(access.person(request), sent_by=page.sent_by)
    return render(request, "write_ups/write_up.html", {"page": page, "back": form, "may_take_back": may}, status=status)


@require_POST
def write_up_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a write-up back, with the reason."""
    row = get_object_or_404(models.WriteUp, pk=pk)
    by, form = access.person(request), TakeBackForm(request.POST)
    if not back.may(by, sent_by=row.by_id):
        raise PermissionDenied
    if not form.is_valid():
        return _shown(request, pk, form, status=422)
    try:
        back.take_back(pk, why=form.cleaned_data["reason"], by=by, on=clock.today())
    except Conflict as before:
        messages.info(request, str(before))
    except Refused as refused:
        form.refuse(refused)
        return _shown(request, pk, form, status=form.status)
    else:
        messages.success(request, "Taken back. It stays here to be read, and counts for nothing.")
    return redirect("write_up", pk)
