"""The unit's page."""

from django.http import Http404, HttpRequest, HttpResponse


def unit(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one unit."""
    raise Http404


def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer what would be paid if a component failed on a day."""
    raise Http404
