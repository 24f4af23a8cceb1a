"""The page on which the first owner of a new company makes a login, while nobody has one."""

import logging

from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from fleet.office.actions import first_owner as actions
from fleet.office.forms.people import FirstOwnerForm

_log = logging.getLogger(__name__)


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def first_owner(request: HttpRequest) -> HttpResponse:
    """Make the first owner; once anybody has a login, this page only leads to the login."""
    if not actions.is_wanted():
        return redirect("login")
    if request.method != "POST":
        # Whoever runs the server finds the code in what it prints; whoever only sees the page does not.
        _log.warning("Nobody has a login yet. The code for the page of the first owner is %s", actions.code())
        form = FirstOwnerForm(initial={"code": request.GET.get("code", "")[:40]})
        return render(request, "first_steps/first_owner.html", {"form": form})
    form = FirstOwnerForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            person = actions.let_in(**form.told())
            login(request, person)
            messages.success(request, f"Welcome, {person}. You are the owner here.")
            return redirect("home")
    return render(request, "first_steps/first_owner.html", {"form": form}, status=form.status)
