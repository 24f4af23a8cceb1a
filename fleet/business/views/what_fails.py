"""What fails and when: every component, or one with its curve."""

from urllib.parse import urlencode

from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.business.forms.what_fails import WhatFailsForm
from fleet.business.pages import what_fails as pages
from fleet.business.queries import what_fails as queries
from fleet.rules import words
from fleet.web import export
from fleet.web.htmx import page_or_part


@require_safe
def what_fails(request: HttpRequest) -> HttpResponseBase:
    """Show what fails, as a page or a file."""
    form = WhatFailsForm(request.GET, makers=queries.makers())
    asked, on = pages.Asked(**form.asked()), clock.today()
    if kind := export.wanted(request):
        rows = queries.rows(asked, on=on)
        return export.respond(kind, name="what-fails", on=on, columns=pages.columns(asked), rows=rows)
    page = queries.page(asked, sort=form.sort_text, number=form.page_number, on=on)
    return page_or_part(request, "what_fails/what_fails.html", "what_fails/_list.html", {"page": page, "form": form})


@require_safe
def what_fails_of(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Lead to one component, from its place in the list of components."""
    if pk >= len(words.COMPONENTS):
        raise Http404
    return redirect(f"{reverse('what_fails')}?{urlencode({'component': words.COMPONENTS[pk]})}")
