"""Coverage that ends soon: the owner's first page."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.coverage.forms.ending import EndingForm
from fleet.coverage.pages import ending as pages
from fleet.coverage.queries import ending as queries
from fleet.elements import makers
from fleet.web import export
from fleet.web.htmx import page_or_part


@require_safe
def ending(request: HttpRequest) -> HttpResponseBase:
    """List the promises that end in the next days, as a page or a file."""
    form = EndingForm(request.GET, makers=makers.of_terms())
    asked, on = pages.Asked(**form.asked()), clock.today()
    if kind := export.wanted(request):
        rows = queries.rows(asked, sort=form.sort_text, on=on)
        return export.respond(kind, name="coverage-ending", on=on, columns=pages.COLUMNS, rows=rows)
    page = queries.page(asked, sort=form.sort_text, number=form.page_number, on=on)
    return page_or_part(request, "ending/ending.html", "ending/_list.html", {"page": page, "form": form})
