"""The care sheet: read, written on the screen task by task, looked over, and put in force; in and out as a file."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.care.actions import care_draft as actions
from fleet.care.actions.care_sheets import LARGEST_FILE
from fleet.care.forms.care_sheet import FileForm, GeneralForm, SiteForm, TaskForm
from fleet.care.queries import care_sheet as queries
from fleet.refusals import Refused
from fleet.rules.tables import BadTable
from fleet.web import access


@require_safe
def care_sheet(request: HttpRequest) -> HttpResponse:
    """Read the sheet in force in sentences."""
    return _shown(request, FileForm())


@require_safe
def care_sheet_file(request: HttpRequest) -> HttpResponse:
    """The sheet in force as a file."""
    found = queries.file_in_force()
    if found is None:
        raise Http404
    return _file(*found)


@require_POST
def care_begin(request: HttpRequest) -> HttpResponse:
    """Begin to write: from the sheet in force or a former one, from the one that comes with the program, or from nothing."""
    by, chosen = access.person(request), request.POST.get("from", "")

    def begin() -> None:
        if chosen == "product":
            actions.from_product(by=by)
        elif chosen.isascii() and chosen.isdecimal() and len(chosen) < 19:
            actions.from_former(int(chosen), by=by)
        else:
            actions.begin(table={}, by=by)

    return _done(request, begin, to="care_draft", back="care_sheet")


@require_POST
def care_upload(request: HttpRequest) -> HttpResponse:
    """Begin from a file; what is wrong in it is said by task and key, and nothing is begun then."""
    form = FileForm(request.POST, request.FILES)
    if form.is_valid():
        file = form.cleaned_data["file"]
        try:
            content = file.read(LARGEST_FILE + 1)
            actions.from_file(content, name=file.name, by=access.person(request), on=clock.today())
        except BadTable as wrong:
            for fault in wrong.faults:
                form.add_error("file", f"{fault}.")
        except Refused as refused:
            form.refuse(refused)
        else:
            return redirect("care_look_over")
    return _shown(request, form, status=422)


@require_http_methods(["GET", "HEAD", "POST"])
def care_draft(request: HttpRequest) -> HttpResponse:
    """Show what is being written, or save what holds for every visit."""
    row = models.CareDraft.objects.filter(pk=1).first()
    if row is None:
        return redirect("care_sheet")
    table = actions.read(row)
    if request.method != "POST":
        return _draft(request, row, GeneralForm(table=table, version=row.version))
    form = GeneralForm(request.POST, table=table, version=row.version)
    if form.is_valid():
        with form.may_be_refused():
            version = form.cleaned_data["version"]
            actions.general(facts=form.facts(), version=version, by=access.person(request))
            messages.success(request, "Saved.")
            return redirect("care_draft")
    return _draft(request, row, form, status=form.status)


@require_safe
def care_draft_file(request: HttpRequest) -> HttpResponse:
    """What is being written, as a file."""
    row = models.CareDraft.objects.filter(pk=1).first()
    if row is None:
        raise Http404
    table = actions.read(row)
    return _file(str(table.get("code") or "care-sheet"), queries.as_file(table))


@require_http_methods(["GET", "HEAD", "POST"])
def care_task(request: HttpRequest, number: int | None = None) -> HttpResponse:
    """Write one task: the one at a place, or a new one."""
    row = models.CareDraft.objects.filter(pk=1).first()
    if row is None:
        return redirect("care_sheet")
    tasks = actions.read(row).get("task", [])
    if number is not None and number >= len(tasks):
        return redirect("care_draft")
    task = None if number is None else tasks[number]
    about: dict[str, Any] = {"task": task, "version": row.version, "today": clock.today()}
    form = TaskForm(request.POST if request.method == "POST" else None, **about)
    if request.method == "POST" and form.is_valid():
        with form.may_be_refused():
            version = form.cleaned_data["version"]
            actions.put_task(number=number, task=form.table(), version=version, by=access.person(request))
            messages.success(request, f"Saved: {form.cleaned_data['title']}.")
            return redirect("care_task_new" if request.POST.get("then") == "another" else "care_draft")
    context = {"form": form, "number": number, "title": (task or {}).get("title", "Add a task")}
    return render(request, "care_sheets/task.html", context, status=form.status)


@require_POST
def care_task_drop(request: HttpRequest, number: int) -> HttpResponse:
    """Take a task off the sheet that is being written."""

    def drop() -> None:
        title = actions.drop_task(number=number, version=_version(request), by=access.person(request))
        messages.success(request, f"Taken off: {title}.")

    return _done(request, drop, to="care_draft", back="care_draft")


@require_POST
def care_throw_away(request: HttpRequest) -> HttpResponse:
    """Write no more on it."""
    gone = actions.throw_away(by=access.person(request))
    messages.success(
        request, "Thrown away. The care sheet in force is as it was." if gone else "Nobody was writing one."
    )
    return redirect("care_sheet")


@require_http_methods(["GET", "HEAD", "POST"])
def care_look_over(request: HttpRequest) -> HttpResponse:
    """Read back what was written, with what it changes; try it on a site; put it in force."""
    if request.method == "POST":

        def put_in_force() -> None:
            taken = actions.put_in_force(
                version=_version(request),
                seen=request.POST.get("seen", ""),
                by=access.person(request),
                on=clock.today(),
            )
            messages.success(request, f"{taken.code} is in force. Every due day is worked out by it.")

        return _done(request, put_in_force, to="care_sheet", back="care_look_over")
    row = models.CareDraft.objects.filter(pk=1).first()
    if row is None:
        return redirect("care_sheet")
    find, site = request.GET.get("find", "").replace("\0", "").strip()[:120], request.GET.get("site", "")
    known = int(site) if site.isascii() and site.isdecimal() and len(site) < 19 else None
    page = queries.look_over(actions.read(row), row, find=find, site=known, on=clock.today())
    context = {"page": page, "find": find, "form": SiteForm({"find": find} if find else None)}
    return render(request, "care_sheets/look_over.html", context)


def _done(request: HttpRequest, act: Callable[[], None], *, to: str, back: str) -> HttpResponse:
    try:
        act()
    except Refused as refused:
        messages.error(request, str(refused))
        return redirect(back)
    return redirect(to)


def _version(request: HttpRequest) -> int:
    text = request.POST.get("version", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else -1


def _file(code: str, text: str) -> HttpResponse:
    name = "".join(letter if letter.isascii() and (letter.isalnum() or letter in "-_") else "-" for letter in code)
    headers = {"Content-Disposition": f'attachment; filename="{name or "care-sheet"}.toml"'}
    return HttpResponse(text, content_type="application/toml; charset=utf-8", headers=headers)


def _shown(request: HttpRequest, form: FileForm, *, status: int = 200) -> HttpResponse:
    context = {"page": queries.in_force(), "form": form}
    return render(request, "care_sheets/care_sheet.html", context, status=status)


def _draft(request: HttpRequest, row: models.CareDraft, form: GeneralForm, *, status: int = 200) -> HttpResponse:
    tasks = actions.read(row).get("task", [])
    context = {"form": form, "version": row.version, "tasks": tasks, "begun": row}
    return render(request, "care_sheets/draft.html", context, status=status)
