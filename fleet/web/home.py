"""Where somebody begins, and what they may settle."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from fleet.facts import company
from fleet.models.people import Role
from fleet.web import menu


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Go to the first page of whoever is here; the owner of a company that has nothing on file yet, to the first steps."""
    assert request.user.is_authenticated
    if request.user.role == Role.OWNER:
        steps = company.steps()
        if steps.is_open and not steps.done["import"]:
            return redirect("first_steps")
    return redirect(menu.FIRST[Role(request.user.role)][0])


@require_safe
def settings(request: HttpRequest) -> HttpResponse:
    """What there is to settle, as far as this person may; each with what is done there."""
    return render(request, "settings.html")
