"""Kept rows whose day has come are worked out again before anybody reads them."""

import threading
from collections.abc import Callable
from typing import Any

from django.db import IntegrityError, OperationalError
from django.http import HttpRequest, HttpResponse

from fleet import clock
from fleet.derived import refresh
from fleet.web import access, busy

_one_at_a_time = threading.Lock()


class FreshMiddleware:
    """Before each page: one indexed look whether time alone has changed a row, and the work if it has."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Catch up, unless the address shows no rows; where something longer is being saved, nothing stale is shown."""
        if request.resolver_match is None or access.needs_no_login(request.resolver_match.view_name):
            return None
        try:
            catch_up()
        except OperationalError as failure:
            if (answer := busy.answer(request, failure)) is None:
                raise
            return answer
        return None


def catch_up() -> None:
    """Work out what is due; threads of one process wait for the first that found it."""
    if not _is_due():
        return
    with _one_at_a_time:
        try:
            if _is_due():
                refresh.catch_up(on=clock.today())
        except IntegrityError:
            # Another process wrote the same rows first, so they are fresh; unless that is not why.
            if _is_due():
                raise


def _is_due() -> bool:
    return refresh.is_due(on=clock.today())
