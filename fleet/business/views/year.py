"""The year ahead: the owner's first page; and what is on offer, as a list to call down."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.business.actions import outlook
from fleet.business.forms.year import OffersForm, YearForm
from fleet.business.pages import year as pages
from fleet.business.queries import year as queries
from fleet.web import export
from fleet.web.htmx import page_or_part


@require_safe
def year_ahead(request: HttpRequest) -> HttpResponseBase:
    """Show the months ahead, as a page or a file."""
    form = YearForm(request.GET)
    waiting = outlook.freshen(on=clock.today(), at=clock.now())
    if kind := export.wanted(request):
        rows = queries.month_rows(months=form.months)
        return export.respond(kind, name="year-ahead", on=clock.today(), columns=pages.MONTH_COLUMNS, rows=rows)
    page = queries.page(months=form.months, waiting=waiting)
    return page_or_part(request, "year/year.html", "year/_year.html", {"page": page})


@require_safe
def on_offer(request: HttpRequest) -> HttpResponseBase:
    """List what is on offer, as a page or a file."""
    form = OffersForm(request.GET, columns=pages.OFFER_COLUMNS)
    asked = pages.Asked(**form.asked())
    outlook.freshen(on=clock.today(), at=clock.now())
    if kind := export.wanted(request):
        rows = queries.offer_rows(asked, sort=form.sort_text)
        return export.respond(kind, name="on-offer", on=clock.today(), columns=pages.OFFER_COLUMNS, rows=rows)
    page = queries.offers(asked, sort=form.sort_text, number=form.page_number)
    return page_or_part(request, "year/on_offer.html", "year/_on_offer.html", {"page": page, "form": form})
