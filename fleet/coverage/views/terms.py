"""Terms on file: the list, one paper, the units that hold it, and that somebody checked it again."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.coverage.actions import terms_check
from fleet.coverage.forms.terms import TermsCheckedForm
from fleet.coverage.queries import terms as queries
from fleet.refusals import Refused
from fleet.web import access, lists


@require_safe
def terms(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what one paper says."""
    return _shown(request, pk, TermsCheckedForm())


@require_POST
def terms_checked(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that somebody held the terms against the paper today."""
    row = get_object_or_404(models.Terms, pk=pk)
    form = TermsCheckedForm(request.POST)
    if not form.is_valid():
        return _shown(request, pk, form, status=422)
    terms_check.again(terms=row, by=access.person(request), on=clock.today(), note=form.cleaned_data["note"])
    messages.success(request, "Check recorded.")
    return redirect("terms", pk)


@require_POST
def terms_check_undone(request: HttpRequest, pk: int, check: int) -> HttpResponse:
    """Take back a check that this person recorded today."""
    by, on = access.person(request), clock.today()
    row = get_object_or_404(models.TermsCheck, pk=check, terms=pk)
    try:
        terms_check.undo(check=row, by=by, on=on)
        messages.success(request, "Check undone.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("terms", pk)


@require_safe
def terms_units(request: HttpRequest, pk: int) -> HttpResponseBase:
    """List the units that hold some terms, as a page or a file."""
    row = get_object_or_404(models.Terms.objects.only("pk", "code", "title"), pk=pk)
    return lists.respond(request, queries.units(row), "terms/units.html", terms=row)


def _shown(request: HttpRequest, pk: int, form: TermsCheckedForm, *, status: int = 200) -> HttpResponse:
    page = queries.page(pk, by=access.person(request), on=clock.today())
    if page is None:
        raise Http404
    context = {"page": page, "form": form}
    return render(request, "terms/terms.html", context, status=status)
