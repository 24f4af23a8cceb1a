"""The first steps of a new company: in order, each to be left and come back to, until they are done or put away."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock
from fleet.facts.company import STEPS
from fleet.office.actions import company as actions
from fleet.office.queries import first_steps as queries
from fleet.web import access


@require_safe
def first_steps(request: HttpRequest) -> HttpResponse:
    """Show the steps; from here on each page of this login leads back, until no step waits."""
    page = queries.page()
    if page.next is not None and not page.is_over:
        request.session["first_steps"] = True
    else:
        request.session.pop("first_steps", None)
    return render(request, "first_steps/first_steps.html", {"page": page})


@require_POST
def first_steps_skip(request: HttpRequest) -> HttpResponse:
    """Leave a step out."""
    code = request.POST.get("step", "")
    if code in STEPS:
        actions.skip_step(code, by=access.person(request))
    return redirect("first_steps")


@require_POST
def first_steps_over(request: HttpRequest) -> HttpResponse:
    """Put the list away."""
    actions.steps_over(by=access.person(request), on=clock.today())
    request.session.pop("first_steps", None)
    messages.success(request, "Put away. You find the first steps again under Settings.")
    return redirect("home")


@require_POST
def first_steps_again(request: HttpRequest) -> HttpResponse:
    """Show all of them again."""
    actions.steps_again(by=access.person(request))
    return redirect("first_steps")
