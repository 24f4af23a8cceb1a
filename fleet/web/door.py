"""What a request must be before anything reads it: of a size that somebody could want, and in the one encoding."""

import codecs
import contextlib
import logging
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls.converters import IntConverter
from django.utils.log import log_response

from fleet.web import as_json
from fleet.web.drafts import page_of

# A file of 100,000 installs fits several times; so do the photos of a day.
LARGEST = 200 * 1024 * 1024
# What nobody read of a request is read to its end as far as this, so that its connection can serve the next one.
LEFT_OVER = 10 * 1024 * 1024
_AT_ONCE = 64 * 1024
_LARGEST_ID = 2**63 - 1


class IdConverter(IntConverter):
    """A number in an address, as far as a row's can go: beyond that, there is no such page."""

    def to_python(self, value: str) -> int:
        """Read it; raises ValueError, which means that no address fits."""
        number = int(value)
        if number > _LARGEST_ID:
            raise ValueError(value[:20])
        return number


class LabelConverter:
    """The code of a label in an address that is short and may be in capitals, as a QR code has it: `L/K7QM3RTX9W`."""

    regex = "[Ll]/[0-9A-Za-z]{1,40}"

    def to_python(self, value: str) -> str:
        """Read it."""
        return value[2:].upper()

    def to_url(self, value: object) -> str:
        """Write it."""
        return f"L/{value}"


class DoorMiddleware:
    """Refuse, also from whoever has no login, what would fill the disk or be misread."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if _length(request) > LARGEST:
            return self._refused(request, _too_large(request))
        is_utf8, request.encoding = _is_utf8(request), "utf-8"  # which Django knows by that name alone
        if is_utf8:
            response = self.get_response(request)
        else:
            response = self._refused(request, render(request, "400.html", {"encoding": True}, status=400))
        _read_to_the_end(request)
        return response

    def _refused(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        log_response("%s: %s", response.reason_phrase, request.path, response=response, request=request)
        return response


def _too_large(request: HttpRequest) -> HttpResponse:
    most = LARGEST // (1024 * 1024)
    if as_json.is_wanted(request):
        return as_json.refused(413, f"At most {most} MB can be sent at once.")
    return render(request, "413.html", {"most": most}, status=413)


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A request without the token of its login: the page that says so and leads back to the form, and a script asks for a fresh one."""
    if as_json.is_wanted(request):
        return as_json.refused(403, "The page was older than the login. It will be sent again.", code="token")
    page = page_of(request) if "_draft" in request.POST else ""
    return render(request, "403_csrf.html", {"page": page, "reason": reason}, status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for an address that is nobody's. Unlike Django's it does not read what was sent, which may be unreadable."""
    if as_json.is_wanted(request):
        return as_json.refused(404, "This is no longer on file here. Tell the office; nothing was recorded.")
    return render(request, "404.html", status=404)


def _read_to_the_end(request: HttpRequest) -> None:
    """Read what is left of a request.

    Otherwise gunicorn closes a connection on which 64 kB or more lie unread, without a word, and whatever a browser sends
    on it next is lost.
    """
    with contextlib.suppress(OSError):  # whoever sent it has gone
        for _ in range(LEFT_OVER // _AT_ONCE):
            if not request.read(_AT_ONCE):
                break


def _length(request: HttpRequest) -> int:
    # A request that does not say its length has no body here: the server reads none.
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0


def _is_utf8(request: HttpRequest) -> bool:
    """Whether what is sent says that it is UTF-8, or says nothing, or says what nobody knows, which is read as UTF-8."""
    charset = (request.content_params or {}).get("charset", "utf-8")
    try:
        return codecs.lookup(charset).name in ("utf-8", "ascii")
    except (LookupError, ValueError):
        return True


class OneLine(logging.Filter):
    """A request that was refused is one line in the log: what went wrong is in the request, not in the program."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record through, one of a refused request without the way that led there."""
        if 400 <= getattr(record, "status_code", 500) < 500:
            record.exc_info = record.exc_text = record.stack_info = None
            record.levelno, record.levelname = logging.WARNING, "WARNING"
        return True
