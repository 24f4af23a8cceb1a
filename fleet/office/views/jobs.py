"""Work in the background: what waits, runs, failed and why; stopping it and trying it again."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.office.actions import imports
from fleet.office.actions import jobs as actions
from fleet.office.forms.jobs import JobsForm
from fleet.office.pages import jobs as pages
from fleet.office.queries import jobs as queries
from fleet.web import access, export
from fleet.web.htmx import page_or_part

_STOPPED = {
    "stopped": "Stopped.",
    "running": "Asked to stop: it ends at its next step, and nothing of this try is kept.",
    "": "It had ended already.",
}


@require_safe
def jobs(request: HttpRequest) -> HttpResponseBase:
    """Show what is open, and list what has ended, as a page or a file."""
    form = JobsForm(request.GET)
    asked = pages.Asked(**form.asked())
    if kind := export.wanted(request):
        rows = queries.rows(asked, sort=form.sort_text)
        return export.respond(kind, name="background-work", on=clock.today(), columns=pages.COLUMNS, rows=rows)
    page = queries.page(asked, sort=form.sort_text, number=form.page_number)
    return page_or_part(request, "jobs/jobs.html", "jobs/_list.html", {"page": page, "form": form})


@require_safe
def jobs_open(request: HttpRequest) -> HttpResponse:
    """Show what is open alone: the page asks for it anew while something moves."""
    return render(request, "jobs/_open.html", {"open": queries.open_work()})


@require_safe
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one piece of work."""
    page = queries.one(pk)
    if page is None:
        raise Http404
    return render(request, "jobs/job.html", {"page": page})


@require_POST
def job_stop(request: HttpRequest, pk: int) -> HttpResponse:
    """Stop work, or ask it to stop."""
    found = get_object_or_404(models.Job, pk=pk)
    state = imports.stop_work(job=found, by=access.person(request), at=clock.now())
    messages.success(request, _STOPPED[state])
    return redirect("jobs")


@require_POST
def job_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have work that failed or was stopped tried again."""
    found = get_object_or_404(models.Job, pk=pk)
    if actions.try_again(job=found, by=access.person(request)):
        messages.success(request, "It waits to be tried again.")
    else:
        messages.error(request, "It has neither failed nor been stopped.")
    return redirect("jobs")
