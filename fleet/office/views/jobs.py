"""Work in the background: what waits, runs, failed and why; stopping it and trying it again."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.office.actions import imports
from fleet.office.actions import jobs as actions
from fleet.office.queries import jobs as queries
from fleet.web import access

_STOPPED = {
    "stopped": "Stopped.",
    "running": "Stopping soon. Nothing from this try is saved.",
    "": "It had already finished.",
}


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
    job = get_object_or_404(models.Job, pk=pk)
    state = imports.stop_work(job=job, by=access.person(request), at=clock.now())
    messages.success(request, _STOPPED[state])
    return redirect("jobs")


@require_POST
def job_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Have work that failed or was stopped tried again."""
    job = get_object_or_404(models.Job, pk=pk)
    if actions.try_again(job=job, by=access.person(request)):
        messages.success(request, "It waits to be tried again.")
    else:
        messages.error(request, "It has neither failed nor been stopped.")
    return redirect("jobs")
