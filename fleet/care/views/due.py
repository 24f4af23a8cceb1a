"""What is due: the list, a site's care and what is recorded there, and the papers that go with it."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.care.actions import due as actions
from fleet.care.forms.due import RecordForm
from fleet.care.pages import due as pages
from fleet.care.papers import site_sheet as sheet_paper
from fleet.care.papers import wall_card as card_paper
from fleet.care.queries import due, due_list
from fleet.facts import company
from fleet.models.people import Role
from fleet.refusals import Refused
from fleet.rules.wording import care as wording
from fleet.rules.wording.names import upper
from fleet.web import access, lists


@require_safe
def list_due(request: HttpRequest) -> HttpResponseBase:
    """List what is due, as a page or a file."""
    of = due_list.due(request.GET.get("listed", ""), on=clock.today())
    return lists.respond(request, of, "due/due.html")


@require_safe
def site_care(request: HttpRequest, pk: int) -> HttpResponse:
    """Show all that a site is due."""
    return render(request, "due/site.html", {"page": _site(pk), "undo": _undo(request)})


@require_safe
def site_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out a site's own sheet to print."""
    return _pdf(sheet_paper.pdf(_site(pk), company=company.company()), f"care-sheet-{pk}.pdf")


@require_safe
def wall_card(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the card that a customer hangs beside a system."""
    card = due.wall_card(pk, company=company.company(), on=clock.today())
    if card is None:
        raise Http404
    return _pdf(card_paper.pdf(card), card.filename)


@require_POST
def care_done(request: HttpRequest, pk: int) -> HttpResponse:
    """Record in one step that a task was done today."""
    job = _job(pk, request.POST.get("task", ""))
    by = access.person(request)
    try:
        record = actions.done(pk, job.task, technician=_who(by), by=by, on=clock.today())
    except Refused as refused:
        messages.error(request, f"Not recorded. {refused}")
        return redirect(_back(request, job))
    _say_done(request, job)
    return redirect(f"{_back(request, job)}?recorded={record.pk}")


@require_http_methods(["GET", "HEAD", "POST"])
def care_record(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a task done on another day, or skipped, with what was seen."""
    job = _job(pk, request.POST.get("task") or request.GET.get("task", ""))
    by, on = access.person(request), clock.today()
    if request.method != "POST":
        form = RecordForm(job=job, today=on, who=_who(by) if job.by == "technician" else "")
        return render(request, "due/record.html", {"job": job, "form": form})
    form = RecordForm(request.POST, job=job, today=on)
    if form.is_valid():
        cleaned = dict(form.cleaned_data)
        skipped = bool(cleaned["skip_reason"])
        with form.may_be_refused():
            record = actions.record(pk, job.task, skipped=skipped, by=by, on=on, **cleaned)
            if skipped:
                messages.success(request, f"Recorded as skipped: {job.title}, {job.name}.")
            else:
                _say_done(request, job)
            return redirect(f"{reverse('site_care', args=[job.site])}?recorded={record.pk}")
    return render(request, "due/record.html", {"job": job, "form": form}, status=form.status)


@require_POST
def care_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take back what this person recorded just now."""
    record = models.MaintenanceRecord.objects.select_related("unit__system").filter(pk=pk).first()
    if record is None:
        raise Http404
    try:
        actions.undo(pk, by=access.person(request), on=clock.today())
    except Refused as refused:
        messages.error(request, f"Not undone. {refused}")
    else:
        messages.success(request, "Undone: it is due as before.")
    return redirect("site_care", record.unit.system.site_id)


def _site(pk: int) -> pages.SiteCare:
    page = due.site(pk, on=clock.today())
    if page is None:
        raise Http404
    return page


def _job(pk: int, task: str) -> pages.Job:
    job = due.job(pk, task, on=clock.today())
    if job is None:
        raise Http404
    return job


def _who(by: models.User) -> str:
    """Who did the work: a technician records their own; what the office records, somebody else did (blank)."""
    return by.get_full_name() if by.role == Role.TECHNICIAN else ""


def _say_done(request: HttpRequest, job: pages.Job) -> None:
    following = due.next_due(job.unit, job.task)
    then = "" if following is None else f" {upper(wording.following(following, on=clock.today()))}."
    messages.success(request, f"Recorded: {job.title}, {job.name}.{then}")


def _back(request: HttpRequest, job: pages.Job) -> str:
    """Go back to the page it was pressed on: the unit's, or the site's care."""
    here = request.POST.get("here", "")
    known = (reverse("unit", args=[job.unit]), reverse("site_care", args=[job.site]))
    return here if here in known else known[1]


def _undo(request: HttpRequest) -> pages.Recorded | None:
    """The record that this person made just now, so that it can be taken back."""
    text = request.GET.get("recorded", "")
    if not (text.isascii() and text.isdigit() and len(text) < 19):
        return None
    return due.recorded(int(text), by=access.person(request))


def _pdf(content: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type="application/pdf", headers=headers)
