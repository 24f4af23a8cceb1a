"""What fails: every component, or one with its curve."""

from urllib.parse import urlencode

from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from fleet.business.queries import what_fails as queries
from fleet.rules import words
from fleet.web import lists


@require_safe
def what_fails(request: HttpRequest) -> HttpResponseBase:
    """Show what fails, as a page or a file."""
    of = queries.what_fails(request.GET.get("component", ""), request.GET.get("group", ""))
    return lists.respond(request, of, "what_fails/what_fails.html")


@require_safe
def what_fails_of(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Lead to one component, from its place in the list of components."""
    if pk >= len(words.COMPONENTS):
        raise Http404
    return redirect(f"{reverse('what_fails')}?{urlencode({'component': words.COMPONENTS[pk]})}")
