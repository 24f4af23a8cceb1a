"""The pages of a site and of a customer."""

from django.http import Http404, HttpRequest, HttpResponse


def site(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one site."""
    raise Http404


def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one customer."""
    raise Http404
