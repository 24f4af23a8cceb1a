"""Terms given to a unit that stands already."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from fleet import clock
from fleet.coverage.actions import attach as actions
from fleet.coverage.forms.attach import AttachForm
from fleet.coverage.pages.missing_facts import opened
from fleet.coverage.queries import attach as queries
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def attach(request: HttpRequest, pk: int) -> HttpResponse:
    """Show which terms a unit may be given, or give them; the unit's page then says who pays since when."""
    page = queries.page(pk)
    if page is None:
        raise Http404
    form = AttachForm(page, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        with form.may_be_refused():
            given = actions.give(pk, **form.cleaned_data, by=access.person(request), on=clock.today())
            messages.success(request, opened(given.opened))
            return redirect("unit", pk)
    return render(request, "terms/attach.html", {"page": page, "form": form}, status=form.status)
