"""The year ahead: the owner's first page; and what is on offer, as a list to call down."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.business.actions import outlook
from fleet.business.forms.year import YearForm
from fleet.business.queries import own_promises
from fleet.business.queries import year as queries
from fleet.web import export, lists
from fleet.web.htmx import page_or_part


@require_safe
def year_ahead(request: HttpRequest) -> HttpResponseBase:
    """Show the months ahead, as a page or a file."""
    months, on = YearForm(request.GET).months, clock.today()
    waiting = outlook.freshen(on=on, at=clock.now())
    if kind := export.wanted(request):
        of = queries.MONTHS
        rows = of.all(of.filters_for(months=months), on=on)
        return export.respond(kind, name=of.file, on=on, columns=of.columns, rows=rows)
    page = queries.page(months=months, waiting=waiting, on=on)
    return page_or_part(
        request, "year/year.html", "year/_year.html", {"page": page, "promises": own_promises.reserve(on=on)}
    )


@require_safe
def on_offer(request: HttpRequest) -> HttpResponseBase:
    """List what is on offer, as a page or a file."""
    outlook.freshen(on=clock.today(), at=clock.now())
    return lists.respond(request, queries.OFFERS, "year/on_offer.html")
