"""Putting facts right, making two things one, and what becomes of a unit."""

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.elements.edits import Edit
from fleet.elements.pieces import counted
from fleet.facts.refrigerant import recovery_missing
from fleet.loading.installs.units import HANDED_ON
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct as correcting
from fleet.registry.actions import lives, merges, swaps, undo_correction, undo_events
from fleet.registry.actions.take_place import take_place
from fleet.registry.facts.labels import label
from fleet.registry.forms.editing import (
    LIVES,
    BackForm,
    CorrectForm,
    LifeForm,
    MergeForm,
    PlaceForm,
    SwapForm,
    SystemForm,
)
from fleet.registry.pages.editing import LifePage, MergePage
from fleet.registry.queries import changes as changed
from fleet.registry.queries import editing as queries
from fleet.registry.queries import questions
from fleet.rules.wording.federal import RECOVERY
from fleet.web import access


@dataclass(frozen=True, slots=True)
class _Kind:
    fields: tuple[str, ...]
    handed_on: tuple[str, ...]
    act: Callable[..., None]


_KINDS = {
    "customer": _Kind(correcting.CUSTOMER, (), correcting.customer),
    "site": _Kind((*correcting.SITE, "use"), (), correcting.site),
    "unit": _Kind(correcting.UNIT, HANDED_ON, correcting.unit),
}


# -- correcting


@require_http_methods(["GET", "HEAD", "POST"])
def correct(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Put a thing's facts right; what somebody else changed meanwhile is told, and the rest goes through."""
    of = _KINDS[kind]
    shown = queries.shown(kind, pk, of.fields, of.handed_on)
    if shown is None:
        raise Http404
    if request.method != "POST":
        return render(request, "editing/correct.html", {"shown": shown, "form": CorrectForm(shown)})
    form = CorrectForm(shown, request.POST)
    saved = False
    if form.is_valid():
        edits = form.edits()
        ask = {"unit": questions.of_correction, "customer": questions.of_customer}.get(kind)
        if ask is not None and form.asks_back(ask(pk, edits)):
            return render(request, "editing/correct.html", {"shown": shown, "form": form}, status=form.status)
        try:
            _act(of, request, pk, edits, form.why_text)
            messages.success(request, "Saved.")
            return redirect(kind, pk)
        except Refused as refused:
            form.refuse(refused)
            if isinstance(refused, Conflict) and refused.faults.keys() == refused.now.keys():
                saved = _rest(of, request, pk, edits, form, refused)
    return render(request, "editing/correct.html", {"shown": shown, "form": form, "saved": saved}, status=form.status)


def _rest(of: _Kind, request: HttpRequest, pk: int, edits: dict[str, Any], form: CorrectForm, but: Conflict) -> bool:
    """Save what nobody else touched; return whether there was any."""
    rest = {field: edit for field, edit in edits.items() if field not in but.now and edit.was != edit.now}
    if not rest:
        return False
    try:
        _act(of, request, pk, rest, form.why_text)
    except Refused as refused:
        form.refuse(refused)
        return False
    form.carry_on({field: edit.now for field, edit in rest.items()})
    return True


def _act(of: _Kind, request: HttpRequest, pk: int, edits: dict[str, Any], why: str) -> None:
    of.act(pk, edits, by=access.person(request), on=clock.today(), why=why)


@require_http_methods(["GET", "HEAD", "POST"])
def system_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a day or the manufacturer right for all units of a system, or for those that are chosen."""
    shown = queries.system_shown(pk, SystemForm.FACTS, HANDED_ON)
    if shown is None or not shown.units:
        raise Http404
    form = SystemForm(shown, request.POST if request.method == "POST" else None)
    if form.is_valid():
        edits = form.edits()
        odd = {one.value: one for unit, facts in edits.items() for one in questions.of_correction(unit, facts)}
        if not form.asks_back(odd.values()):
            try:
                correcting.system(pk, edits, by=access.person(request), on=clock.today(), why=form.cleaned_data["why"])
                messages.success(request, f"Saved for {counted(len(edits), 'unit')}.")
                return redirect("site", shown.site_pk)
            except Refused as refused:
                form.refuse(refused)
                shown = queries.system_shown(pk, SystemForm.FACTS, HANDED_ON) or shown
                form.see(shown)
    return render(request, "editing/system.html", {"shown": shown, "form": form}, status=form.status)


@require_safe
def changes(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Show everything that was changed about a thing."""
    page = changed.page(kind, pk)
    if page is None:
        raise Http404
    return render(request, "editing/changes.html", {"page": page})


@require_POST
def correction_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo one correction."""
    kind, thing = changed.whose(pk) or ("", 0)
    if not kind:
        raise Http404
    try:
        change = undo_correction.undo(pk, by=access.person(request), on=clock.today())
        messages.success(request, f"Undone: {label(change.field)} is {changed.before(change)} again.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect(f"{kind}_changes", thing)


# -- merging


@require_http_methods(["GET", "HEAD", "POST"])
def merge(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """Find the one that this is too, choose what is right where they differ, and make them one."""
    text = request.GET.get("text", "").replace("\0", "").strip()[:100]
    page = queries.merge_page(kind, pk, text=text)
    if page is None:
        raise Http404
    other = request.POST.get("other", "") or request.GET.get("with", "")
    found = _beside(page, int(other)) if other.isdecimal() and len(other) < 12 else None
    if found is None:
        context = {"page": page, "text": text}
        return render(request, "editing/merge.html", context, status=422 if request.method == "POST" else 200)
    assert found.other is not None
    form = MergeForm(found, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        by, on = access.person(request), clock.today()
        with form.may_be_refused():
            how = {"chosen": form.chosen(), "why": form.cleaned_data["why"], "sites": form.sites()}
            merges.merge(kind, pk, found.other.pk, by=by, on=on, **how)
            messages.success(request, f"{found.other.name} is merged into this one. You can undo it under Changes.")
            return redirect(kind, pk)
    context = {"page": found, "form": form, "text": text}
    return render(request, "editing/merge.html", context, status=form.status)


def _beside(page: MergePage, other: int) -> MergePage | None:
    pair = queries.pair(page.kind, page.pk, other)
    if pair is None or page.pk == other:
        return None
    same_names = merges.of_one_name(page.pk, other) if page.kind == "customer" else ()
    return queries.side_by_side(page, other, merges.contradictions(page.kind, *pair), same_names)


@require_POST
def merge_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take two things apart again."""
    found = changed.merged(pk)
    if found is None:
        raise Http404
    kind, kept = found
    try:
        merges.undo(pk, by=access.person(request), on=clock.today())
        messages.success(request, "Undone: they are two again, as before.")
    except Refused as refused:
        messages.error(request, str(refused))
    if changed.page(kind, kept) is None:
        return redirect("lookup")
    return redirect(f"{kind}_changes", kept)


# -- two heads swapped


@require_http_methods(["GET", "HEAD", "POST"])
def swap(request: HttpRequest, pk: int) -> HttpResponse:
    """Swap a head with another of its system: the rooms, or the serials."""
    page = queries.swap_page(pk)
    if page is None:
        raise Http404
    form = SwapForm(page, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        other, what = int(form.cleaned_data["other"]), form.cleaned_data["what"]
        with form.may_be_refused():
            swaps.swap(pk, other, what=what, by=access.person(request), on=clock.today())
            messages.success(request, f"The {what} are swapped. You can undo it under Changes.")
            return redirect("unit", pk)
    return render(request, "editing/swap.html", {"page": page, "form": form}, status=form.status)


@require_POST
def swap_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Swap two heads back."""
    unit = changed.whose(pk)
    if unit is None:
        raise Http404
    try:
        swaps.undo(pk, by=access.person(request), on=clock.today())
        messages.success(request, "Undone: the two are as they were before the swap.")
    except Refused as refused:
        messages.error(request, " ".join(refused.faults.values()))
    return redirect(f"{unit[0]}_changes", unit[1])


# -- what becomes of a unit


@require_http_methods(["GET", "HEAD", "POST"])
def life(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that a unit was moved, exchanged, taken out, idle or back in use."""
    page = queries.life_page(pk)
    if page is None:
        raise Http404
    kind = request.POST.get("kind", "") if request.method == "POST" else ""
    forms = {
        name: form(
            request.POST if name == kind else None,
            prefix_of=name.replace(" ", "_"),
            model=page.model,
            asks_match=page.asks_match,
        )
        for name, form in LIVES.items()
    }
    if request.method == "POST" and kind in forms and (unit := _told(request, pk, forms[kind])) is not None:
        messages.success(request, "Recorded.")
        if recovery_missing(models.Unit.objects.get(pk=pk)):
            messages.warning(request, RECOVERY)
        return redirect("unit", unit)
    return _life(request, page, forms, kind, BackForm(page.told))


def _life(
    request: HttpRequest, page: LifePage, forms: Mapping[str, LifeForm], kind: str, back: BackForm
) -> HttpResponse:
    context = {"page": page, "forms": {name.replace(" ", "_"): form for name, form in forms.items()}, "open": kind}
    status = 422 if request.method == "POST" else 200
    return render(request, "editing/life.html", context | {"back": back}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, pk: int) -> HttpResponse:
    """Show in whose place a head stands, or record it."""
    page = queries.place_page(pk)
    if page is None:
        raise Http404
    form = PlaceForm(page, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        with form.may_be_refused():
            edit = form.edits().get("place", Edit("", ""))
            changed_it = take_place(pk, edit, by=access.person(request), on=clock.today())
            messages.success(request, "Saved." if changed_it else "Nothing to change.")
            return redirect("unit", pk)
    return render(request, "editing/place.html", {"page": page, "form": form}, status=form.status)


@require_POST
def life_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what became of a unit last, or something that was told of it."""
    page = queries.life_page(pk)
    if page is None:
        raise Http404
    form = BackForm(page.told, request.POST)
    if form.is_valid():
        what, _, which = form.cleaned_data["what"].partition(" ")
        told = {"why": form.cleaned_data["why"], "by": access.person(request), "on": clock.today()}
        with form.may_be_refused():
            if what == "life":
                day, _, kind = which.partition(" ")
                words = undo_events.undo_event(pk, kind=kind, day=dt.date.fromisoformat(day), **told)
            else:
                words = undo_events.undo_record(pk, what=what, row=int(which), **told)
            messages.success(request, f"Undone: {words}.")
            return redirect("unit", pk)
    forms = {
        name: of(prefix_of=name.replace(" ", "_"), model=page.model, asks_match=page.asks_match)
        for name, of in LIVES.items()
    }
    return _life(request, page, forms, "", form)


def _told(request: HttpRequest, pk: int, form: LifeForm) -> int | None:
    told = form.told()
    if not form.is_valid():
        return None
    day = str(form.cleaned_data["day"])
    if form.KIND == "exchanged" and form.asks_back(questions.of_exchange(pk, told)):
        return None
    try:
        return lives.tell(pk, kind=form.KIND, day=day, told=told, by=access.person(request), on=clock.today()).pk
    except Refused as refused:
        form.refuse(refused)
        return None
