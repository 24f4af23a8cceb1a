"""Failures: recorded, shown, repaired, put right, voided; and where the old part is."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.claims.actions import failures as actions
from fleet.claims.forms.failures import ComponentForm, FailureForm, OldPartForm, RowsForm, VoidForm
from fleet.claims.forms.shares import BillForm, PaymentForm, UndoShareForm
from fleet.claims.pages import failures as pages
from fleet.claims.queries import failures as queries
from fleet.claims.views import claims
from fleet.elements.action_form import ActionForm, sentence
from fleet.loading.failure_facts import FINDING, REPAIR
from fleet.refusals import Refused
from fleet.registry.actions import documents as papers
from fleet.registry.forms.documents import DocumentsForm
from fleet.registry.queries import questions
from fleet.rules import dates, words
from fleet.rules.which_component import NOT_KNOWN_YET
from fleet.web import access
from fleet.web.htmx import page_or_part

_EARLIEST = dt.date(1950, 1, 1)


@dataclass(frozen=True, slots=True)
class _Written:
    """The form as it is written, and the page it stands on."""

    page: pages.FormPage
    form: FailureForm
    rows: RowsForm

    def refuse(self, refused: Refused) -> None:
        """Show each sentence in its row, or else at its field."""
        refused.faults = self.rows.refuse(refused.faults)
        self.form.refuse(refused)


# ------------------------------------------------------------------------------------------------- recording


@require_http_methods(["GET", "HEAD", "POST"])
def failure_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a failure of a unit, and its repair as far as it is known."""
    sent = request.POST if request.method == "POST" else None
    page = queries.form_page(pk, on=clock.today(), **_asked(sent or request.GET))
    if page is None:
        raise Http404
    name = access.person(request).get_full_name()
    initial = {"failed_on": clock.today().isoformat(), "found_by": name}
    form = FailureForm(page, (*FINDING, *REPAIR), sent, request.FILES if sent is not None else None, initial=initial)
    written = _Written(page, form, _rows(sent, page, name))
    if sent is None or _only_asked(sent):
        return _form(request, "failures/new.html", written)
    failure = _recorded(request, pk, written)
    if failure is None:
        return _form(request, "failures/new.html", written, status=form.status)
    messages.success(request, "Recorded.")
    _keep_photos(request, failure, form)
    return redirect("failure", failure.pk)


def _asked(sent: QueryDict) -> dict[str, Any]:
    """Read what the answer beside the form is asked about, as far as it can be read."""
    component, cause = sent.get("component", ""), sent.get("cause")
    day = dates.written(sent.get("failed_on", ""))
    return {
        "component": component if component in (*words.COMPONENTS, NOT_KNOWN_YET) else "",
        "cause": cause if cause is None or cause in words.CAUSES else "",
        "day": None if day is None else min(max(day, _EARLIEST), clock.today()),
    }


def _only_asked(sent: QueryDict) -> bool:
    """Whether the form was sent to see the answer, or for more rows, and not to be saved."""
    return "ask" in sent or "more" in sent


def _rows(sent: QueryDict | None, page: pages.FormPage, who: str) -> RowsForm:
    more = "" if sent is None else sent.get("more", "")
    return RowsForm(sent, refrigerant=page.refrigerant, who=who, more=more)


def _form(request: HttpRequest, template: str, written: _Written, *, status: int = 200) -> HttpResponse:
    warned: tuple[str, ...] = ()
    if request.method == "POST":
        warned = queries.warned(written.page.unit.pk, written.rows.told("measured"), on=clock.today())
    context = {"page": written.page, "form": written.form, "rows": written.rows, "warned": warned, "readable": True}
    written.form.photos_forgotten(len(request.FILES.getlist("photos")))
    if "ask" in request.POST:
        return page_or_part(request, template, "failures/_beside.html", context, status=status)
    return render(request, template, {**context, "is_part": False}, status=status)


def _recorded(request: HttpRequest, unit: int, written: _Written) -> models.Failure | None:
    if not written.form.is_valid() or _is_odd(unit, written.form):
        return None
    try:
        return actions.record(
            unit,
            written.form.told(),
            measured=written.rows.told("measured"),
            weighed=written.rows.told("weighed"),
            key=written.form.cleaned_data.get("key"),
            by=access.person(request),
            on=clock.today(),
        )
    except Refused as refused:
        written.refuse(refused)
        return None


def _is_odd(unit: int, form: FailureForm) -> bool:
    """Whether something of the unit that came in exchange is odd and not confirmed yet, which the form then asks."""
    told = form.told()
    exchanged = told["new_serial"] or told["under_warranty"]
    return form.asks_back(questions.of_exchange(unit, told)) if exchanged else False


def _keep_photos(
    request: HttpRequest, failure: models.Failure, form: FailureForm | DocumentsForm, caption: str = ""
) -> None:
    """Keep each file by itself: one that is refused costs neither the failure nor the others."""
    for file in form.cleaned_data.get("photos") or form.cleaned_data.get("documents") or ():
        try:
            papers.add(
                file=file,
                name=file.name,
                whose=failure.unit,
                caption=caption,
                failure=failure,
                by=access.person(request),
            )
        except Refused as refused:
            messages.error(request, f"{file.name} was not added. {refused}")


# ------------------------------------------------------------------------------------------------- one failure


@require_safe
def failure(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a failure: what happened, what it cost, who pays, and what was answered before."""
    return shown(request, pk)


def shown(
    request: HttpRequest,
    pk: int,
    *,
    void: VoidForm | None = None,
    which: ComponentForm | None = None,
    sent: Mapping[str, ActionForm] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Draw the page of a failure; a form that was `sent` and refused stands as it was sent."""
    page = queries.page(pk, on=clock.today())
    if page is None:
        raise Http404
    context = claims.parts_of_failure(page.claims) | {
        "page": page,
        "old_part": OldPartForm(initial={"old_part_at": page.old_part_at, "was": page.old_part_at}, label_suffix=""),
        "void": void or VoidForm(),
        "which": which or ComponentForm(choices=page.choices),
        "documents_form": DocumentsForm(),
        "readable": True,
        "is_part": False,
        **_shares(pk, dict(sent or {})),
    }
    return render(request, "failures/failure.html", context, status=status)


def _shares(pk: int, sent: dict[str, ActionForm]) -> dict[str, Any]:
    """The bills of a failure with their payments, each with its forms."""
    today = clock.today()
    found = [
        {
            "bill": bill,
            "owed": owed,
            "pay": sent.get(f"pay{bill.pk}") or PaymentForm(bill.pk, today=today, owed=owed),
            "undo": sent.get(f"undo_bill{bill.pk}") or UndoShareForm(f"bill{bill.pk}"),
            "payments": [
                (one, sent.get(f"undo_payment{one.pk}") or UndoShareForm(f"payment{one.pk}")) for one in payments
            ],
        }
        for bill, payments, owed in queries.bills(pk)
    ]
    return {"shares": found, "bill": sent.get("bill") or BillForm(today=today)}


@require_http_methods(["GET", "HEAD", "POST"])
def failure_repair(request: HttpRequest, pk: int) -> HttpResponse:
    """Record the repair of a failure, or what was measured meanwhile; whoever repairs it knows which component failed."""
    asks = models.Failure.objects.filter(pk=pk, component="").exists() or "was_component" in request.POST
    return _edited(request, pk, (*(("component",) if asks else ()), *REPAIR), "failures/repair.html")


@require_http_methods(["GET", "HEAD", "POST"])
def failure_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Put right whatever of a failure is wrong."""
    return _edited(request, pk, (*FINDING, *REPAIR), "failures/correct.html")


def _edited(request: HttpRequest, pk: int, fields: tuple[str, ...], template: str) -> HttpResponse:
    sent = request.POST if request.method == "POST" else None
    asked = _asked(sent) if sent is not None else {}
    page = queries.edit_page(pk, fields, on=clock.today(), **asked)
    if page is None:
        raise Http404
    name = access.person(request).get_full_name()
    form = FailureForm(page, fields, sent, request.FILES if sent is not None else None, on_file=True)
    written = _Written(page, form, _rows(sent, page, name))
    if sent is None or _only_asked(sent):
        return _form(request, template, written)
    failure = _corrected(request, pk, written)
    if failure is None:
        return _form(request, template, written, status=form.status)
    messages.success(request, "Saved.")
    _keep_photos(request, failure, form)
    return redirect("failure", pk)


def _corrected(request: HttpRequest, pk: int, written: _Written) -> models.Failure | None:
    form, rows = written.form, written.rows
    if not form.is_valid() or _is_odd(written.page.unit.pk, form):
        return None
    try:
        return actions.correct(
            pk,
            form.edits(),
            exchange=form.told(),
            measured=rows.told("measured"),
            weighed=rows.told("weighed"),
            readings_off=form.keys("readings_off"),
            entries_off=form.keys("entries_off"),
            by=access.person(request),
            on=clock.today(),
            why=form.cleaned_data.get("why", ""),
        )
    except Refused as refused:
        written.refuse(refused)
        return None


@require_POST
def failure_component(request: HttpRequest, pk: int) -> HttpResponse:
    """Say which component failed, once somebody has looked; or undo that, where nothing hangs on it yet."""
    page = queries.page(pk, on=clock.today())
    if page is None:
        raise Http404
    form = ComponentForm(request.POST, choices=page.choices)
    if form.is_valid():
        with form.may_be_refused():
            actions.say_component(pk, form.edits()["component"], by=access.person(request), on=clock.today())
            messages.success(request, "Saved.")
            return redirect("failure", pk)
    return shown(request, pk, which=form, status=form.status)


@require_POST
def failure_photos(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep photos or papers of a failure."""
    row = get_object_or_404(models.Failure.objects.select_related("unit"), pk=pk)
    form = DocumentsForm(request.POST, request.FILES)
    if form.is_valid():
        _keep_photos(request, row, form, form.cleaned_data["caption"])
    else:
        messages.error(request, " ".join(str(text) for texts in form.errors.values() for text in texts))
    return redirect("failure", pk)


@require_POST
def failure_old_part(request: HttpRequest, pk: int) -> HttpResponse:
    """Record where the old part is now."""
    get_object_or_404(models.Failure, pk=pk)
    try:
        actions.old_part(pk, OldPartForm(request.POST).edit(), by=access.person(request), on=clock.today())
        messages.success(request, "Saved.")
    except Refused as refused:
        messages.error(request, " ".join(map(sentence, refused.faults.values())))
    return redirect("failure", pk)


@require_POST
def failure_void(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a failure out of every count, with the reason."""
    get_object_or_404(models.Failure, pk=pk)
    form = VoidForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            actions.void(pk, reason=form.cleaned_data["reason"], by=access.person(request), on=clock.today())
            messages.success(request, "Voided. It stays here to be read, and counts for nothing.")
            return redirect("failure", pk)
    return shown(request, pk, void=form, status=form.status)
