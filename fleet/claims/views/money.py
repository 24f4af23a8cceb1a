"""The owner's money: what came back, what is out, and what was lost."""

from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.claims.forms.money import MoneyForm
from fleet.claims.queries import money as queries
from fleet.web import export


@require_safe
def money(request: HttpRequest) -> HttpResponseBase:
    """Show the money of claims since a day, or one of its tables as a file."""
    on = clock.today()
    form = MoneyForm(request.GET, on=on)
    if kind := export.wanted(request):
        of = request.GET.get("of", "")
        if of not in queries.TABLES:
            raise Http404
        rows = queries.rows(of, since=form.day(), on=on)
        return export.respond(kind, name=f"money-{of}", on=on, columns=queries.TABLES[of].columns, rows=rows)
    page = queries.page(since=form.day(), on=on)
    return render(request, "money/money.html", {"page": page, "form": form})
