"""Drafts of forms, which a browser keeps: which one was sent, where its form stands, and whether it was saved.

A form that is sent has `_draft` (the draft's key and when it was sent, in milliseconds) and `_page` (where the form stands).
No view sees either. Where a save was made, a cookie `saved-KEY` tells the browser to let go of the draft, as it was then.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from django.contrib.messages import ERROR, INFO, SUCCESS, get_messages
from django.http import HttpRequest, HttpResponse
from django.utils.http import url_has_allowed_host_and_scheme

_SENT = re.compile(r"([0-9a-z-]{8,60})\.([0-9]{1,16})")
_COOKIE_KEPT_FOR = 7 * 24 * 60 * 60  # seconds; a page of the same browser reads it long before


@dataclass(frozen=True, slots=True)
class Draft:
    """What a form said of its draft: `key`; `at`, when it was sent; `page`, an address of ours (blank: not known)."""

    key: str
    at: str
    page: str

    @property
    def sent(self) -> str:
        """What the form said, to say it again."""
        return f"{self.key}.{self.at}"


class DraftsMiddleware:
    """Read what a form says of its draft, and answer whether that was saved. Stands behind the door of who may do what."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        draft: Draft | None = getattr(request, "draft", None)
        if draft is not None and _was_saved(request, response):
            response.set_cookie(
                f"saved-{draft.key}",
                draft.at,
                max_age=_COOKIE_KEPT_FOR,
                secure=request.is_secure(),
                samesite="Lax",
            )
        return response

    def process_view(self, request: HttpRequest, *_: Any) -> None:
        """Take what is said of the draft out of what the view reads; whoever may not do this is stopped before."""
        if request.method != "POST" or "_draft" not in request.POST:
            return
        matched = _SENT.fullmatch(request.POST["_draft"])
        if matched is not None:
            request.draft = Draft(matched[1], matched[2], page_of(request))  # type: ignore[attr-defined]
        sent = request.POST.copy()
        sent.pop("_draft", None)
        sent.pop("_page", None)
        request.POST = sent  # type: ignore[assignment]


def page_of(request: HttpRequest) -> str:
    """The page of ours that a form was sent from, as the form says it or the browser; blank where neither does."""
    given = request.POST.get("_page", "")
    if given.startswith("/") and url_has_allowed_host_and_scheme(given, None):
        return given
    referer = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(referer, {request.get_host()}):
        return ""
    parts = urlsplit(referer)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


def saved(request: HttpRequest) -> None:
    """Say of a save that is answered with a page instead of the way to one that it was made."""
    request.draft_saved = True  # type: ignore[attr-defined]


def _was_saved(request: HttpRequest, response: HttpResponse) -> bool:
    """A save leads on to a page; one that leads on with nothing but an error to tell was refused."""
    if getattr(request, "draft_saved", False):
        return True
    levels = {message.level for message in getattr(get_messages(request), "_queued_messages", ())}
    return 300 <= response.status_code < 400 and (ERROR not in levels or bool(levels & {INFO, SUCCESS}))
