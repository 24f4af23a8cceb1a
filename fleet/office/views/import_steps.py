"""What is asked of a file before it is taken, a step at a time: each a plain form, each can be gone back to."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from fleet import clock, models
from fleet.elements.action_form import ActionForm
from fleet.office.actions import import_answers as actions
from fleet.office.actions.import_kinds import KINDS, Kind
from fleet.office.actions.imports import bring_sheet
from fleet.office.forms.import_columns import ColumnsForm, SheetForm
from fleet.office.forms.import_confirm import ConfirmForm
from fleet.office.forms.import_values import ValuesForm
from fleet.office.queries import import_steps as queries
from fleet.refusals import Refused
from fleet.web import access

_STEP = require_http_methods(["GET", "HEAD", "POST"])


def _step(
    request: HttpRequest,
    pk: int,
    *,
    template: str,
    query: Callable[[int, Any], Any],
    form_of: Callable[[Any, Any, Kind], Any],
    act: Callable[[models.Import, Any], None],
) -> HttpResponse:
    """Show a step of a file, or take what is answered and go on to the next."""
    row = get_object_or_404(models.Import, pk=pk)
    kind = KINDS[row.kind]
    page = query(pk, kind.words)
    if page is None:
        raise Http404
    form: ActionForm = form_of(request.POST if request.method == "POST" else None, page, kind)
    if request.method == "POST" and form.is_valid():
        with form.may_be_refused():
            act(row, form)
            return redirect("import", pk)
    return render(request, template, {"page": page, "form": form}, status=form.status)


@_STEP
def import_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the sheets of a file with their first rows; or record which is read and which row names its columns."""

    def act(row: models.Import, form: SheetForm) -> None:
        sheet, heading_row = form.said()
        actions.choose_sheet(
            imported=row, sheet=sheet, heading_row=heading_row, by=access.person(request), on=clock.today()
        )

    return _step(
        request,
        pk,
        template="imports/sheet.html",
        query=queries.sheet,
        form_of=lambda data, page, _: SheetForm(data, page=page),
        act=act,
    )


@_STEP
def import_columns(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the columns of a file beside ours; or record how they are matched."""

    def act(row: models.Import, form: ColumnsForm) -> None:
        actions.match(
            imported=row,
            columns=form.matched(),
            given=form.given(),
            ways=form.ways(),
            by=access.person(request),
            on=clock.today(),
        )

    return _step(
        request,
        pk,
        template="imports/columns.html",
        query=queries.columns,
        form_of=lambda data, page, kind: ColumnsForm(data, page=page, kind=kind, on=clock.today()),
        act=act,
    )


@_STEP
def import_values(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what cannot be read, once for each different text; or record what it means."""

    def act(row: models.Import, form: ValuesForm) -> None:
        actions.say_values(imported=row, values=form.said(), by=access.person(request), on=clock.today())

    return _step(
        request,
        pk,
        template="imports/values.html",
        query=queries.values,
        form_of=lambda data, page, kind: ValuesForm(data, page=page, kind=kind, on=clock.today()),
        act=act,
    )


@_STEP
def import_confirm(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what was made of addresses, customers, facts and serials; or record that it is right, or how it is."""

    def act(row: models.Import, form: ConfirmForm) -> None:
        actions.confirm(imported=row, said=form.said(), by=access.person(request), on=clock.today())

    return _step(
        request,
        pk,
        template="imports/confirm.html",
        query=queries.confirm,
        form_of=lambda data, page, _: ConfirmForm(data, page=page),
        act=act,
    )


@require_POST
def import_other_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin with another sheet of a workbook that was brought."""
    row = get_object_or_404(models.Import, pk=pk)
    try:
        other = bring_sheet(
            imported=row, sheet=request.POST.get("sheet", ""), by=access.person(request), on=clock.today()
        )
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("import", pk)
    return redirect("import", other.pk)
