"""A browser on a wire: requests to a real server, on connections that are kept open, and what becomes of those."""

import http.client
import time
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from fleet import models
from tests import company
from tests.hostile import Answer


class Wire:
    """Somebody of a role, or with a session; one connection after the other, each kept open as long as the server likes."""

    def __init__(self, port: int, role: str = "owner", session: str = "") -> None:
        self.door = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.role, self.used, self.last, self.before = role, 0, time.monotonic(), ""
        self.cookies: dict[str, str] = {}
        self.token, self.session = "", session
        self.log_in()

    def log_in(self) -> None:
        """Take up a session, whatever became of the login."""
        self.cookies = {settings.SESSION_COOKIE_NAME: self.session or session_of(self.role)}
        page = self.send("GET", "/password", {})
        _, _, rest = page.body.decode().partition('name="csrfmiddlewaretoken" value="')
        self.token = rest.partition('"')[0]

    def send(self, method: str, address: str, sent: Any, *, kind: str = "", part: bool = False) -> Answer:
        """Send one request as a browser does, on the connection that is open: names with their values, or a body of a kind."""
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if part:
            headers["HX-Request"] = "true"
        body: bytes | None = sent if kind else None
        if not kind and method == "GET" and sent:
            address += ("&" if "?" in address else "?") + urlencode(sent, doseq=True)
        elif not kind and method != "GET":
            # As a form does that may hold files.
            body, kind = encode_multipart(BOUNDARY, {"csrfmiddlewaretoken": self.token, **sent}), MULTIPART_CONTENT
        if kind:
            headers |= {"Content-Type": kind, "X-CSRFToken": self.token}
        answer = self._exchange(method, address, body, headers)
        for cookie in (answer.headers.get_all("Set-Cookie") or ()) if answer.headers else ():
            name, _, value = cookie.partition(";")[0].partition("=")
            if name != settings.SESSION_COOKIE_NAME or value:
                self.cookies[name] = value.strip('"')
        return answer

    def _exchange(self, method: str, address: str, body: bytes | None, headers: dict[str, str]) -> Answer:
        began = time.monotonic()
        idle, self.last = began - self.last, began
        try:
            self.door.request(method, address, body=body, headers=headers)
            response = self.door.getresponse()
            answer = Answer(response.status, response.read(), response.headers)
            self.used += 1
        except (OSError, http.client.HTTPException) as why:
            self.door.close()
            answer = Answer(
                dropped=f"{why!r:.80}; request {self.used} of its connection after {idle:.2f} s, "
                f"{time.monotonic() - began:.2f} s after it began, {len(body or b'')} bytes; before it {self.before}"
            )
            self.used = 0
        self.last, self.before = time.monotonic(), f"{answer.status} {method} {address[:60]} {len(body or b'')} bytes"
        return answer


def session_of(role: str) -> str:
    """A session of somebody of a role, whatever became of that login."""
    models.User.objects.filter(username=role).update(is_active=True, role=role)
    return company.as_role(role).cookies[settings.SESSION_COOKIE_NAME].value
