"""Registrations: the queue, one system's, and what is recorded of them."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.coverage.actions import registrations as actions
from fleet.coverage.forms.registrations import (
    ConfirmForm,
    DateForm,
    DifferingForm,
    LateForm,
    MissedForm,
    ProofForm,
    RemindForm,
)
from fleet.coverage.pages import registrations as pages
from fleet.coverage.papers import owner_letter
from fleet.coverage.queries import registrations as queries
from fleet.coverage.queries.registration_queue import MISSED, QUEUE
from fleet.facts import company
from fleet.refusals import Conflict, Refused
from fleet.registry.queries import questions
from fleet.web import access, lists


@require_safe
def registrations(request: HttpRequest) -> HttpResponseBase:
    """List the queue, as a page or a file."""
    of = MISSED if request.GET.get("state") == "missed" else QUEUE
    return lists.respond(request, of, "registrations/registrations.html")


@require_http_methods(["GET", "HEAD", "POST"])
def registration(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one system's registrations; or record that some were sent or confirmed."""
    page = _page(pk)
    if request.method != "POST":
        return _shown(request, page)
    part = _part(request, page)
    if part is None:
        return _nobody(request, page)
    form = ConfirmForm(request.POST, request.FILES, number=part.number, lines=part.open)
    written = _register(request, page, form)
    if written is None:
        return _shown(request, page, confirm={part.number: form}, status=form.status)
    number = form.cleaned_data["number"]
    done = f"confirmed, number {number}" if number else "sent; add the registration number when they send it"
    messages.success(request, f"{_registrations(written)} with {part.payer}: {done}.")
    return redirect("registration", pk)


@require_POST
def registration_missed(request: HttpRequest, pk: int) -> HttpResponse:
    """Record when missed ones were registered all the same; after the last day they stay missed, and say by how much."""
    page = _page(pk)
    part = _part(request, page)
    if part is None:
        return _nobody(request, page)
    form = MissedForm(request.POST, request.FILES, number=part.number, lines=part.missed)
    written = _register(request, page, form)
    if written is None:
        return _shown(request, page, missed={part.number: form}, status=form.status)
    late = _still_missed(pk, form)
    some = "" if late == written else f"{late} of them "
    done = f"{some}too late, as shown below" if late else "in time"
    messages.success(request, f"{_registrations(written)} with {part.payer} recorded: {done}.")
    return redirect("registration", pk)


def _register(request: HttpRequest, page: pages.SystemPage, form: ConfirmForm) -> int | None:
    """Record what a form says; None where it is refused, which the form then tells."""
    if not form.is_valid():
        return None
    cleaned, file = form.cleaned_data, form.cleaned_data["proof"]
    if form.asks_back(questions.of_registration((unit for unit, _ in cleaned["units"]), cleaned["registered_on"])):
        if file:
            form.add_error("proof", "It is not saved yet: choose the proof again.")
        return None
    try:
        return actions.register(
            system=models.System.objects.get(pk=page.pk),
            pairs=cleaned["units"],
            registered_on=cleaned["registered_on"],
            number=cleaned["number"],
            in_name=cleaned["in_name"],
            proof=actions.Proof(file, file.name) if file else None,
            by=access.person(request),
            on=clock.today(),
        )
    except Refused as refused:
        form.refuse(refused)
        return None


def _still_missed(pk: int, form: MissedForm) -> int:
    chosen = {f"{unit}-{terms}" for unit, terms in form.cleaned_data["units"]}
    return sum(line.value in chosen for part in _page(pk).parts for line in part.missed)


@require_POST
def registration_late(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the payer accepted some late, in writing."""
    page = _page(pk)
    part = _part(request, page)
    if part is None:
        return _nobody(request, page)
    form = LateForm(request.POST, number=part.number, lines=part.missed)
    if form.is_valid():
        cleaned = form.cleaned_data
        with form.may_be_refused():
            written = actions.accept_late(
                system=models.System.objects.get(pk=pk),
                pairs=cleaned["units"],
                accepted_on=cleaned["accepted_on"],
                told_by=cleaned["told_by"],
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, f"{_registrations(written)} with {part.payer}: accepted late.")
            return redirect("registration", pk)
    return _shown(request, page, late={part.number: form}, status=form.status)


@require_POST
def registration_date(request: HttpRequest, pk: int) -> HttpResponse:
    """Fill in the date that a limit counts from."""
    page = _page(pk)
    part = _part(request, page)
    if part is None:
        return _nobody(request, page)
    form = DateForm(request.POST, number=part.number)
    if form.is_valid():
        cleaned = form.cleaned_data
        missing = next((one for one in part.missing_dates if one.date == cleaned["date"]), None)
        with form.may_be_refused():
            if missing is None:
                raise Conflict("Somebody filled in this date meanwhile. Reload the page.", "day")
            odd = questions.of_filled(missing.units, missing.date, cleaned["day"].isoformat())
            if form.asks_back(one._replace(field="day") for one in odd):
                return _shown(request, page, date={part.number: form}, status=form.status)
            actions.fill_date(
                system=models.System.objects.get(pk=pk),
                units=missing.units,
                date=missing.date,
                day=cleaned["day"],
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, "Recorded. The deadlines below count from it.")
            return redirect("registration", pk)
    return _shown(request, page, date={part.number: form}, status=form.status)


@require_POST
def registration_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what was recorded here by mistake."""
    system = get_object_or_404(models.System, pk=pk)
    taken = actions.undo(system=system, registrations=_keys(request), by=access.person(request), on=clock.today())
    messages.success(request, f"{_registrations(taken)} undone." if taken else "That was undone already.")
    return redirect("registration", pk)


@require_POST
def registration_differing(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the payer has our name or serial by now, or that theirs is as it should be."""
    system, form = get_object_or_404(models.System, pk=pk), DifferingForm(request.POST)
    if not form.is_valid():
        raise Http404
    is_right, what = form.cleaned_data["act"] == "right", form.cleaned_data["what"]
    act = actions.put_right if is_right else actions.leave_as_is
    done = act(system=system, registrations=_keys(request), what=what, by=access.person(request))
    said = "they have our records now" if is_right else "as it should be"
    messages.success(request, f"{_registrations(done)}: {said}." if done else "Somebody did this already.")
    return redirect("registration", pk)


@require_POST
def registration_proof(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep the paper that proves registrations on file."""
    page, keys = _page(pk), _keys(request)
    part = _part(request, page)
    on_file = {key for one in part.recorded for key in one.all_keys} if part else set()
    if part is None or not keys or not on_file.issuperset(keys):
        return _nobody(request, page)
    form = ProofForm(request.POST, request.FILES, number=part.number, first=keys[0])
    if form.is_valid():
        file = form.cleaned_data["proof"]
        with form.may_be_refused():
            actions.prove(
                system=models.System.objects.get(pk=pk),
                registrations=keys,
                proof=actions.Proof(file, file.name),
                by=access.person(request),
            )
            messages.success(request, f"Proof added: {file.name}.")
            return redirect("registration", pk)
    return _shown(request, page, proof={part.number: form}, status=form.status)


def _keys(request: HttpRequest) -> list[int]:
    return [int(key) for key in request.POST.getlist("key") if key.isascii() and key.isdecimal() and len(key) < 18]


@require_POST
def registration_remind(request: HttpRequest, pk: int, terms: int) -> HttpResponse:
    """Record that the owner was asked today."""
    system, paper = get_object_or_404(models.System, pk=pk), get_object_or_404(models.Terms, pk=terms)
    form = RemindForm(request.POST)
    if form.is_valid():
        actions.remind(
            system=system, terms=paper, way=form.cleaned_data["way"], by=access.person(request), on=clock.today()
        )
        messages.success(request, "Recorded: the homeowner was asked today.")
    else:
        messages.error(request, "Choose how the homeowner was asked.")
    return redirect("registration", pk)


@require_safe
def registration_letter(request: HttpRequest, pk: int, terms: int) -> HttpResponse:
    """Hand out the letter to the owner."""
    letter = queries.letter(pk, terms, company=company.company(), on=clock.today())
    if letter is None:
        raise Http404
    headers = {"Content-Disposition": f'attachment; filename="{letter.filename}"'}
    return HttpResponse(owner_letter.pdf(letter), content_type="application/pdf", headers=headers)


def _page(pk: int) -> pages.SystemPage:
    page = queries.system(pk, company=company.company(), on=clock.today())
    if page is None:
        raise Http404
    return page


def _part(request: HttpRequest, page: pages.SystemPage) -> pages.PayerPart | None:
    """The payer's part of the page that a form was sent from; None where it is not there."""
    return next((part for part in page.parts if str(part.number) == request.POST.get("payer")), None)


def _nobody(request: HttpRequest, page: pages.SystemPage) -> HttpResponse:
    """Back to the page, with a message that nothing was recorded because the units hold other terms by now."""
    messages.error(request, "Nothing was recorded: these units have other terms by now. Check the page and try again.")
    return redirect("registration", page.pk)


def _shown(request: HttpRequest, page: pages.SystemPage, *, status: int = 200, **bound: dict[int, Any]) -> HttpResponse:
    """Draw the page; a form that was refused stands as it was sent."""
    today = clock.today()
    parts = []
    for part in page.parts:
        number = part.number
        forms: dict[str, Any] = {
            "confirm": ConfirmForm(
                number=number, lines=part.open, initial={"registered_on": part.sent_on or today, "in_name": page.owner}
            ),
            "missed": MissedForm(number=number, lines=part.missed, initial={"in_name": page.owner}),
            "late": LateForm(number=number, lines=part.missed),
            "dates": [
                (missing, DateForm(number=number, initial={"date": missing.date})) for missing in part.missing_dates
            ],
        }
        forms.update(
            (name, by_number[number]) for name, by_number in bound.items() if number in by_number and name != "date"
        )
        sent_proof = forms.pop("proof", None)
        forms["recorded"] = [
            (record, sent_proof if sent_proof and sent_proof.first == record.all_keys[0] else _proof(part, record))
            for record in part.recorded
        ]
        if number in bound.get("date", {}):
            sent = bound["date"][number]
            forms["dates"] = [
                (missing, sent if sent.data.get(sent.add_prefix("date")) == missing.date else form)
                for missing, form in forms["dates"]
            ]
        parts.append((part, forms))
    context = {"page": page, "parts": parts, "ways": RemindForm().fields["way"].choices}  # type: ignore[attr-defined]
    return render(request, "registrations/system.html", context, status=status)


def _proof(part: pages.PayerPart, record: pages.Recorded) -> ProofForm:
    return ProofForm(number=part.number, first=record.all_keys[0])


def _registrations(number: int) -> str:
    return "1 registration" if number == 1 else f"{number:,} registrations"
