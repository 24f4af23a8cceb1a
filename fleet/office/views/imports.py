"""Importing a file: brought, its columns matched, checked or taken in the background, and given back with what is wrong."""

from pathlib import PurePath

from django.conf import settings
from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.office.actions import import_files, import_undo
from fleet.office.actions import imports as actions
from fleet.office.actions.import_kinds import KINDS
from fleet.office.forms.imports import BeginForm, BringForm, UndoForm
from fleet.office.pages import imports as pages
from fleet.office.queries import imports as queries
from fleet.refusals import Refused
from fleet.web import access, export, lists
from fleet.web.htmx import page_or_part

_IMPORTS = queries.imports({name: kind.title for name, kind in KINDS.items()})
_TYPES = {".csv": "text/csv; charset=utf-8", ".xlsx": export.XLSX}
_STOPPED = {
    "stopped": "Stopped. Nothing was imported.",
    "running": "Stopping soon. Nothing is imported.",
    "": "It had already finished.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def imports(request: HttpRequest) -> HttpResponseBase:
    """List the files that were brought; or take in another."""
    if request.method == "POST":
        form = _bring_form(request)
        if form.is_valid():
            cleaned = form.cleaned_data
            with form.may_be_refused():
                row = actions.bring(
                    file=cleaned["file"],
                    name=cleaned["file"].name,
                    kind=cleaned["kind"],
                    by=access.person(request),
                    on=clock.today(),
                )
                return redirect("import", row.pk)
        return _list(request, form, status=form.status)
    return lists.file(request, _IMPORTS) or _list(request, _bring_form())


@require_http_methods(["GET", "HEAD", "POST"])
def import_one(request: HttpRequest, pk: int) -> HttpResponse:
    """Show where a file stands; or have it checked or taken."""
    row, page = _row_and_page(pk)
    if request.method != "POST":
        if page.standing == "asking":
            return redirect(f"import_{row.step}", pk)
        return _shown(request, page, BeginForm(page=page, on=clock.today()))
    form = BeginForm(request.POST, page=page, on=clock.today())
    if form.is_valid():
        with form.may_be_refused():
            actions.ask(
                imported=row,
                correcting=form.cleaned_data["correcting"],
                checking=request.POST.get("do") != "take",
                begins_record=form.cleaned_data.get("begins_record", False),
                done_by=form.cleaned_data.get("other_company", ""),
                by=access.person(request),
            )
            return redirect("import", pk)
    return _shown(request, page, form, status=form.status)


@require_POST
def import_undo_one(request: HttpRequest, pk: int) -> HttpResponse:
    """Have an import undone."""
    row, page = _row_and_page(pk)
    form = UndoForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            import_undo.ask(imported=row, why=form.cleaned_data["why"], by=access.person(request))
            return redirect("import", pk)
    return _shown(request, page, BeginForm(page=page, on=clock.today()), undo=form, status=form.status)


@require_POST
def import_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Have the work on a file stopped."""
    row = get_object_or_404(models.Import.objects.select_related("job"), pk=pk)
    state = actions.stop(imported=row, by=access.person(request), at=clock.now())
    messages.success(request, _STOPPED[state])
    return redirect("import", pk)


@require_POST
def import_drop(request: HttpRequest, pk: int) -> HttpResponse:
    """Forget a file that was not taken."""
    row = get_object_or_404(models.Import, pk=pk)
    try:
        actions.drop(imported=row)
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect("import", pk)
    messages.success(request, f"{row.name} is deleted. Nothing was imported from it.")
    return redirect("imports")


@require_safe
def import_problems(request: HttpRequest, pk: int) -> FileResponse:
    """Hand out the file with what is wrong in each row."""
    row = get_object_or_404(models.Import.objects.exclude(problems_stored=""), pk=pk)
    try:
        file = import_files.path_of(row.problems_stored).open("rb")
    except FileNotFoundError:
        raise Http404 from None
    suffix = import_files.suffix_of(row.problems_stored)
    name = f"{PurePath(row.name).stem}, what is wrong{suffix}"
    return FileResponse(file, as_attachment=True, filename=name, content_type=_TYPES[suffix])


def _bring_form(request: HttpRequest | None = None) -> BringForm:
    kinds = [(name, f"{kind.title}: {kind.brings}") for name, kind in KINDS.items()]
    most = settings.IMPORT_LARGEST // 1_000_000
    return BringForm(request and request.POST, request and request.FILES, kinds=kinds, most=most)


def _list(request: HttpRequest, bring: BringForm, *, status: int = 200) -> HttpResponse:
    form = lists.ListForm(request.GET, _IMPORTS, on=clock.today())
    return lists.shown(request, form, "imports/imports.html", status=status, bring=bring)


def _row_and_page(pk: int) -> tuple[models.Import, pages.ImportPage]:
    row = get_object_or_404(models.Import, pk=pk)
    page = queries.one(pk, KINDS[row.kind].words, how_far=import_files.how_far(row.stored))
    if page is None:
        raise Http404
    return row, page


def _shown(
    request: HttpRequest,
    page: pages.ImportPage,
    form: BeginForm,
    *,
    undo: UndoForm | None = None,
    status: int = 200,
) -> HttpResponse:
    context = {"page": page, "form": form, "undo": undo or UndoForm()}
    return page_or_part(request, "imports/import.html", "imports/_import.html", context, status=status)
