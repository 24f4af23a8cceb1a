"""The owner's money: where each dollar of a period's failures stands."""

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
    """Show the money of a period's failures, or one of its tables as a file."""
    on = clock.today()
    form = MoneyForm(request.GET, on=on)
    period = queries.Period(*form.days)
    if kind := export.wanted(request):
        of = request.GET.get("of", "")
        if of not in queries.TABLES:
            raise Http404
        rows = queries.rows(of, period, on=on)
        return export.respond(kind, name=f"money-{of}", on=on, columns=queries.TABLES[of].columns, rows=rows)
    page = queries.page(period, on=on)
    return render(request, "money/money.html", {"page": page, "form": form})
