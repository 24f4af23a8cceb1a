"""Calls: noted while talking, shown, corrected, and taken a step on."""

import uuid
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from fleet import clock, models
from fleet.calls.actions import calls as actions
from fleet.calls.actions import houses
from fleet.calls.forms.calls import CallForm, CallHereForm, PartForm, StepForm
from fleet.calls.forms.houses import HouseForm
from fleet.calls.queries import calls as queries
from fleet.elements.action_form import ActionForm
from fleet.models.people import Role
from fleet.refusals import Refused
from fleet.rules import words
from fleet.rules.calls import EMERGENCY, State
from fleet.rules.typed import Kind, kind_of
from fleet.web import access

# ---------------------------------------------------------------------------------------------------------- noting one


@require_http_methods(["GET", "HEAD", "POST"])
def call_new(request: HttpRequest) -> HttpResponse:
    """Note a call: from a site, a unit, an answer, or from nothing at all."""
    sent = request.POST if request.method == "POST" else None
    begun = _begun(sent or request.GET)
    site = begun.get("site")
    form = CallForm(sent, site=site.pk if site else None, shown=begun)
    house = HouseForm(sent) if site is None and access.may_see(access.person(request).role, "call_house") else None
    if sent is not None and form.is_valid() and _is_ready(house, form):
        try:
            made = actions.note(
                facts=form.facts(),
                key=form.cleaned_data["key"] or uuid.uuid4(),
                house=_told(house, form.cleaned_data["caller"], form.cleaned_data["phone"]),
                by=access.person(request),
                on=clock.today(),
            )
        except Refused as refused:
            of_house = {name: text for name, text in refused.faults.items() if house and name in house.fields}
            if house is not None and of_house:
                house.refuse(Refused(of_house))
            if rest := {name: text for name, text in refused.faults.items() if name not in of_house}:
                form.refuse(type(refused)(rest))
        else:
            messages.success(request, "The call is noted.")
            return redirect("call", made.pk)
    context = {"form": form, "site": site, "emergency": EMERGENCY, "house": house}
    return render(request, "calls/new.html", context, status=form.status)


@require_POST
def unit_call(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a call about a unit by what is wrong alone, as called in just now by the customer who lives there."""
    unit = get_object_or_404(models.Unit.objects.select_related("system__site__customer"), pk=pk)
    form = CallHereForm(request.POST)
    if not form.is_valid():
        # No button sends this; the whole form asks for what is wrong.
        return redirect(f"{reverse('call_new')}?unit={pk}")
    site = unit.system.site
    facts = {
        "caller": site.customer.name,
        "phone": site.customer.phone,
        "site": site,
        "unit": unit,
        "trouble": form.cleaned_data["trouble"],
        "came_on": clock.today(),
        "came_at": clock.time_of_day(),
    }
    made = actions.note(facts=facts, key=form.cleaned_data["key"], by=access.person(request), on=clock.today())
    messages.success(request, "The call is noted.")
    return redirect("call", made.pk)


def _is_ready(house: HouseForm | None, form: CallForm) -> bool:
    return house is None or not house.is_told or house.is_ready(form.cleaned_data["caller"])


def _told(house: HouseForm | None, caller: str, phone: str) -> dict[str, Any] | None:
    """What is told of the house of a caller; None where nothing is."""
    return house.told(caller, phone) if house is not None and house.is_told else None


def _begun(asked: QueryDict) -> dict[str, Any]:
    """What a new call begins with: the site and unit it was begun from, their customer, and the answer read out."""
    begun: dict[str, Any] = {"came_on": clock.today()}
    unit = _found(models.Unit.objects.select_related("system__site__customer"), asked.get("unit"))
    site = unit.system.site if unit else _found(models.Site.objects.select_related("customer"), asked.get("site"))
    if site is not None:
        begun |= {"site": site, "unit": unit, "caller": site.customer.name, "phone": site.customer.phone}
    if asked.get("component") in words.COMPONENTS:
        begun |= {"component": asked["component"], "answer": asked.get("answer", "")[:2000]}
    if text := asked.get("text", "")[:120]:
        begun[{Kind.NAME: "caller", Kind.PHONE: "phone"}.get(kind_of(text), "said")] = text
    return begun


def _found(rows: Any, text: str | None) -> Any:
    return rows.filter(pk=int(text)).first() if text and text.isdecimal() and len(text) < 19 else None


# ------------------------------------------------------------------------------------------------------------- one call


@require_http_methods(["GET", "HEAD"])
def call(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one call."""
    return _shown(request, pk)


def _shown(request: HttpRequest, pk: int, *, status: int = 200, **forms: Any) -> HttpResponse:
    page = queries.page(pk, on=clock.today())
    if page is None:
        raise Http404
    context = {
        "page": page,
        "may_correct": _may_correct(request, page.call),
        "step_form": forms.get("step_form") or StepForm(),
        "part_form": forms.get("part_form") or PartForm(),
        "parts": [(part.pk, forms.get(f"part{part.pk}") or PartForm(part=part)) for part in page.parts],
        "State": {one.name: one.value for one in State},
    }
    return render(request, "calls/call.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def call_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is noted of a call; a technician, of one that they noted."""
    row = get_object_or_404(models.Call.objects.select_related("site"), pk=pk)
    if not _may_correct(request, row):
        raise PermissionDenied
    shown = {name: getattr(row, name) for name in actions.FIELDS}
    form = CallForm(request.POST or None, site=row.site_id, shown=shown, corrects=True)
    if request.method == "POST" and form.is_valid():
        with form.may_be_refused():
            changed = actions.correct(
                pk, was=form.was(), facts=form.facts(), by=access.person(request), on=clock.today()
            )
            messages.success(request, "Saved." if changed else "Nothing was changed.")
            return redirect("call", pk)
    context = {"form": form, "site": row.site, "call": row, "emergency": EMERGENCY}
    return render(request, "calls/new.html", context, status=form.status)


def _may_correct(request: HttpRequest, call: models.Call) -> bool:
    by = access.person(request)
    return by.role != Role.TECHNICIAN or call.by_id == by.pk


# ---------------------------------------------------------------------------------------------------- what becomes of it


@require_http_methods(["GET", "HEAD", "POST"])
def call_house(request: HttpRequest, pk: int) -> HttpResponse:
    """Put the house of a call on file that has no site."""
    row = get_object_or_404(models.Call, pk=pk)
    if row.site_id is not None:
        return redirect("call", pk)
    form = HouseForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_ready(row.caller):
        with form.may_be_refused():
            actions.at_house(pk, form.told(row.caller, row.phone), by=access.person(request), on=clock.today())
            messages.success(request, "The house is on file.")
            return redirect("call", pk)
    return render(request, "calls/house.html", {"call": row, "house": form}, status=form.status)


@require_POST
def call_house_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a house off file again that was put there with a call."""

    def act(**who: Any) -> None:
        houses.take_off(pk, **who)

    return _done(
        request,
        pk,
        "step_form",
        StepForm(request.POST),
        act,
        "The house was taken off file. This call has no site now.",
    )


@require_POST
def call_site_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a site off a call that is about another one."""
    was = request.POST.get("was", "")
    if not was.isdecimal() or len(was) > 18:
        raise Http404

    def act(**who: Any) -> None:
        actions.forget_site(pk, was=int(was), **who)

    return _done(request, pk, "step_form", StepForm(request.POST), act, "This call has no site now.")


@require_POST
def call_step(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a call one step on."""
    form = StepForm(request.POST)
    to = request.POST.get("to", "")
    if to not in set(State):
        raise Http404

    def act(**who: Any) -> None:
        actions.step(pk, State(to), why=form.cleaned_data["why"], **who)

    return _done(request, pk, "step_form", form, act, f"The call is {to}.")


@require_POST
def call_first(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a call first, or back in its own place where no reason is written."""
    form = StepForm(request.POST)
    said = (
        "This call is first in line now."
        if request.POST.get("why", "").strip()
        else "This call is back in its usual place."
    )

    def act(**who: Any) -> None:
        actions.put_first(pk, why=form.cleaned_data["why"], **who)

    return _done(request, pk, "step_form", form, act, said)


@require_POST
def call_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo a call's last step."""
    was = request.POST.get("was", "")
    if not was.isdecimal() or len(was) > 18:
        raise Http404

    def act(**who: Any) -> None:
        actions.undo_step(pk, was=int(was), **who)

    return _done(request, pk, "step_form", StepForm(request.POST), act, "The step is undone.")


@require_POST
def call_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Decide whether a call came back to our work."""
    page = queries.page(pk, on=clock.today())
    said = request.POST.get("call_back", "-")
    if page is None or said not in ("yes", "no", ""):
        raise Http404
    came_back = (said == "yes") if said else None

    def act(**who: Any) -> None:
        actions.answer_call_back(pk, came_back=came_back, work=page.work, **who)

    return _done(request, pk, "step_form", StepForm(request.POST), act, "Saved.")


# ------------------------------------------------------------------------------------------------------------- its parts


@require_POST
def call_part_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a part that a call waits for."""
    form = PartForm(request.POST)

    def act(**who: Any) -> None:
        actions.add_part(pk, facts=form.facts(), **who)

    return _done(request, pk, "part_form", form, act, "The part is noted.")


@require_POST
def call_part(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what is noted of a part, such as the day it arrived."""
    part = get_object_or_404(models.CallPart, pk=pk)
    form = PartForm(request.POST, part=part)

    def act(**who: Any) -> None:
        actions.change_part(pk, was=form.was(), facts=form.facts(), **who)

    return _done(request, part.call_id, f"part{pk}", form, act, "Saved.")


def _done(
    request: HttpRequest, pk: int, name: str, form: ActionForm, act: Callable[..., None], said: str
) -> HttpResponse:
    """Act on a call and go back to it; where that is refused, its page shows the form, by the name it has there."""
    get_object_or_404(models.Call, pk=pk)
    if form.is_valid():
        with form.may_be_refused():
            act(by=access.person(request), on=clock.today())
            messages.success(request, said)
            return redirect("call", pk)
    return _shown(request, pk, status=form.status, **{name: form})
