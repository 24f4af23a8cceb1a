"""Coverage that ends soon: the owner's first page."""

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.coverage.queries.ending import ENDING
from fleet.web import lists


@require_safe
def ending(request: HttpRequest) -> HttpResponseBase:
    """List the promises that end in the next days, as a page or a file."""
    return lists.respond(request, ENDING, "ending/ending.html", on=clock.today())
