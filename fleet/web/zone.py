"""The company's own time zone, in which a request asks what day it is."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from fleet.facts import company


class ZoneMiddleware:
    """Before each page: the zone chosen on the company's page, since any process may have saved another one meanwhile.

    It stays until the thread's next request: a file that is still being sent is written in it too.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any) -> None:
        """Make it the current one."""
        timezone.activate(company.zone())
