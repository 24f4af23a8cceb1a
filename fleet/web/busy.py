"""A save for which the database is taken by something longer, or the disk is full: told in words, with what was typed at hand."""

import sqlite3
from collections.abc import Callable
from typing import Any

from django.db import OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fleet.web import access, as_json
from fleet.web.full import is_full

TRY_AGAIN_AFTER = 60  # seconds, for programs that ask


class BusyMiddleware:
    """Where SQLite stayed locked for as long as a save waits, or nothing more fits on the disk, say so: nothing typed is lost."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_: Any) -> HttpResponse | None:
        """Answer before a view misses a file that did not fit on the disk for temporary files."""
        if request.method == "POST":
            request.POST  # noqa: B018 - reads what was sent, as far as it fits
        return told(request, full=True) if _left_out(request) else None

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Answer for a view that could not write; any other failure is not ours."""
        return answer(request, exception)


def answer(request: HttpRequest, exception: Exception) -> HttpResponse | None:
    """What is said where a save has to wait; None where something else went wrong."""
    if is_full(exception):
        return told(request, full=True)
    return told(request) if is_busy(exception) else None


def is_busy(exception: Exception) -> bool:
    """Whether somebody else was writing to SQLite for all the time that was waited."""
    if not isinstance(exception, OperationalError):
        return False
    # The last byte is the kind; what stands above it says more closely how it came to be.
    code = getattr(exception.__cause__, "sqlite_errorcode", 0)
    return code & 0xFF == sqlite3.SQLITE_BUSY


def told(request: HttpRequest, *, full: bool = False) -> HttpResponse:
    """A page saying that a long save is under way, or that the disk is full, with the same to send again.

    A browser that goes back may show the form without what was typed, since no page of ours may be kept; so it stands here.
    A password does not, and chosen files cannot.
    """
    if as_json.is_wanted(request):
        why = "The server’s disk is full." if full else "The server is busy with a long save."
        response: HttpResponse = as_json.refused(507 if full else 503, f"{why} It will be sent again.")
        response["Retry-After"] = str(TRY_AGAIN_AFTER)
        return response
    sent = [(name, value) for name, values in request.POST.lists() for value in values if name != "csrfmiddlewaretoken"]
    is_secret = any("password" in name for name, _ in sent)
    role = getattr(request.user, "role", "")
    context = {
        "sent": [] if is_secret else sent,
        "has_files": bool(request.FILES) or _left_out(request),
        "full": full,
        "sees_work": access.may_see(role, "jobs"),
    }
    response = render(request, "503.html", context, status=507 if full else 503)
    response["Retry-After"] = str(TRY_AGAIN_AFTER)
    return response


def _left_out(request: HttpRequest) -> bool:
    """Whether a file of it found no room (`web.uploads`)."""
    return getattr(request, "no_room", False)
