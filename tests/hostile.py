"""Requests that nobody means well, seeded. Most begin as a page's own form, filled in as the page has it, with one value spoiled.

    python -m tests.hostile_server [--requests 20000] [--seed 1] [--postgres]

sends them to a real server on the demo company in a folder that is thrown away, and says what broke or was dropped.
"""

import collections
import html.parser
import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from fleet import models
from fleet.web import access
from tests import company

HOSTILE = [
    "", " ", "0", "-1", "1", "2", "3", str(2**31), str(2**63 - 1), str(2**63), str(-(2**63) - 1), "9" * 5_000, "1e30", "-1e30",
    "1E+400", "1e-400", "NaN", "sNaN", "Infinity", "-inf", "0x10", "٣", "１２", "1_000", "1,5", "true", "on", "yes", "None",
    "2024-02-30", "2024-03-05", "0001-01-01", "9999-12-31", "10000-01-01", "2024-3-5", "3/5/24", "20240305", "24:61", "\0", "a\0b",
    "\n", "a\r\nb", "\u2028", "\ud7ff\ue000", "\U0001f40d" * 50, "ﷺ" * 200, "x" * 100_000, "'\"><script>", "%s%d{}", "../../etc",
    "[]", "{}", '{"a":', "[" * 3_000, "office", "unit", "compressor", "parts", "us", "site", "covered", "1;2;3", "1-2", "1:compressor",
    "99999999999.99", "0.004", "-0", "1e5", "Mar 8, 2024", "March 8, 2024", "2036-07-04T10:00", "12:00", "US-ME", "Maine", "04791-1",
]  # fmt: skip
# What ends the login that everything else needs.
LEFT_OUT = {"logout"}
FILES = [
    ("a.pdf", b"%PDF-1.7\n%%EOF"), ("a.csv", b"serial,day,kind\nA1,2024-03-05,failure\n"), ("a.csv", b"\xff\xfe\0"), ("a.png", b"\x89PNG\r\n"),
    ("a.xlsx", b"PK\x03\x04"), ("a.csv", b""), ("\u202egnp.exe", b"MZ"), ("a.toml", b"code = "),
]  # fmt: skip
LIKELY = {
    "date": ["2024-03-05", "2026-02-27", "2019-06-01"],
    "number": ["1", "2", "40"],
    "month": ["2026-11"],
    "email": ["a@example.com"],
}
KEPT = ("hidden", "submit")


@dataclass
class Field:
    """What a form's field may be sent with: the values that its page gives, what is chosen already, and its kind."""

    name: str
    kind: str
    values: list[str] = field(default_factory=list)
    chosen: list[str] = field(default_factory=list)


@dataclass
class Form:
    """A form as a browser reads it."""

    action: str
    method: str
    fields: dict[str, Field] = field(default_factory=dict)


class Forms(html.parser.HTMLParser):
    """The forms of a page."""

    def __init__(self, page: str, address: str) -> None:
        super().__init__()
        self.found: list[Form] = []
        self._address, self._field = address, None
        self._text: list[str] | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Take in a form, and what stands in it."""
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.found.append(Form(told.get("action") or self._address, told.get("method", "get").lower()))
        elif self.found and tag in ("input", "select", "textarea", "button") and told.get("name"):
            kind = told.get("type", "submit" if tag == "button" else "text") if tag in ("input", "button") else tag
            self._field = self.found[-1].fields.setdefault(told["name"], Field(told["name"], kind))
            if tag in ("input", "button"):
                self._field.values.append(told.get("value", "on" if kind in ("checkbox", "radio") else ""))
                if "checked" in told:
                    self._field.chosen.append(self._field.values[-1])
            elif tag == "textarea":
                self._text = []
        elif tag == "option" and self._field is not None:
            self._field.values.append(told.get("value", ""))
            if "selected" in told:
                self._field.chosen.append(told.get("value", ""))

    def handle_data(self, data: str) -> None:
        """Take in what stands in a field of several lines."""
        if self._text is not None:
            self._text.append(data)

    def handle_endtag(self, tag: str) -> None:
        """A field of several lines is whole."""
        if tag == "textarea" and self._text is not None and self._field is not None:
            self._field.values.append("".join(self._text))
            self._text = None


@dataclass
class Answer:
    """What came back; `dropped` says how, where nothing did, and `why` what a server error was."""

    status: int = 0
    body: bytes = b""
    headers: Any = None
    dropped: str = ""
    why: str = ""


class Way(Protocol):
    """How requests travel: within this process, or over a wire."""

    def send(self, method: str, address: str, sent: Any, *, kind: str = "", part: bool = False) -> Answer:
        """Send one request: names with their values, or a body of a kind; `part` as htmx asks for one."""

    def log_in(self) -> None:
        """Begin as somebody whom nothing is forbidden."""


class InProcess:
    """Django's own client."""

    def __init__(self) -> None:
        self.log_in()

    def log_in(self) -> None:
        """Log the owner in, whatever became of the login."""
        models.User.objects.filter(username="owner").update(is_active=True, role="owner")
        self.client: Client = company.as_role("owner")
        self.client.raise_request_exception = False

    def send(self, method: str, address: str, sent: Any, *, kind: str = "", part: bool = False) -> Answer:
        """Send it through every layer but the server's own."""
        headers = {"HTTP_HX_REQUEST": "true"} if part else {}
        if kind:
            response = self.client.generic(method, address, sent, content_type=kind, **headers)
        else:
            response = getattr(self.client, method.lower())(address, sent, **headers)
        why = getattr(response, "exc_info", None)
        if response.streaming:
            collections.deque(response, maxlen=0)  # read to its end, as a server does, which closes the file
        return Answer(
            response.status_code,
            b"" if response.streaming else response.content,
            response.headers,
            why=f"{why[1]!r:.300}" if why else "",
        )


def names() -> list[str]:
    """The names of all fields of all forms, some of them as a form of many rows writes them."""

    def below(form: type[forms.BaseForm]) -> Iterator[type[forms.BaseForm]]:
        yield form
        for one in form.__subclasses__():
            yield from below(one)

    fields = {name for form in below(forms.Form) for name in form.base_fields}
    return sorted(
        fields | {f"was_{name}" for name in fields} | {"next", "as", "key", "to", "check", "with", "task", "here"}
    )


def numbers() -> dict[str, list[int]]:
    """By the first word of an address, the rows that it is about, the newest first."""
    tables = {
        "units": models.Unit, "sites": models.Site, "customers": models.Customer, "systems": models.System,
        "failures": models.Failure, "claims": models.Claim, "terms": models.Terms, "visits": models.Booking,
        "agreements": models.Agreement, "people": models.User, "contacts": models.Contact, "suppliers": models.Supplier,
        "statements": models.Statement, "statement-lines": models.StatementLine, "import": models.Import,
        "write-ups": models.WriteUp, "documents": models.Document, "care-records": models.MaintenanceRecord,
        "calls": models.Call, "call-parts": models.CallPart, "new-install": models.System, "labels": models.Label,
        "our-promises": models.OwnPromise, "agreement-bills": models.AgreementBill, "refrigerant": models.RefrigerantEntry,
    }  # fmt: skip
    return {
        word: list(table.objects.order_by("-pk").values_list("pk", flat=True)[:60]) for word, table in tables.items()
    }


class Fuzzer:
    """Makes requests, one after the other, and tells of those that broke."""

    def __init__(self, seed: int, way: Way) -> None:
        self.random = random.Random(seed)
        self.way = way
        self.names, self.numbers = names(), numbers()
        self.table = {name: where for name, where in access.table().items() if name not in LEFT_OUT}
        self.with_forms: list[str] = []
        self.count = self.filled = 0

    def run(self, count: int) -> Iterator[str]:
        """Make so many requests; each that broke, in words."""
        while self.count < count:
            yield from (self.fill_in() if self.random.random() < 0.5 else self.shout())
            if self.count % 200 < 2:
                self.numbers = numbers()

    def address(self, name: str) -> str:
        """An address by its name, of a row that there is, mostly."""
        choose, converters = self.random.choice, self.table[name].pattern.converters
        rows = self.numbers.get(str(self.table[name].pattern).partition("/")[0]) or [1]
        path = reverse(name, kwargs={key: "x" if key in ("token", "uidb64") else 1 for key in converters})
        known = str(choose(rows)) if self.random.random() < 0.95 else choose([str(2**63), "9" * 5_000, "0"])
        return re.sub(r"/1(?=/|$)", f"/{known}", path)

    def fill_in(self) -> Iterator[str]:
        """Ask for a page, fill one of its forms in, spoil a value, and send it."""
        known = self.with_forms and self.random.random() < 0.7
        name = self.random.choice(self.with_forms if known else list(self.table))
        address = self.address(name)
        page = self.way.send("GET", address, {})
        yield from self.broke(page, f"GET {name} {address[:60]}")
        is_page = page.status == 200 and page.headers["Content-Type"].startswith("text/html")
        found = Forms(page.body.decode(), address).found if is_page else []
        found = [form for form in found if form.fields and "logout" not in form.action]
        if not found:
            return
        if name not in self.with_forms:
            self.with_forms.append(name)
        # What writes is what there is to break; the look-up stands on every page.
        form = self.random.choice([form for form in found if form.method == "post"] or found)
        sent = self.values(form)
        spoiled = self.spoil(sent)
        answer = self.way.send(form.method.upper(), form.action, sent, part=self.random.random() < 0.2)
        self.filled += 1
        yield from self.broke(answer, f"{form.method.upper()} {form.action[:80]} spoiled {spoiled} in {_short(sent)}")

    def values(self, form: Form) -> dict[str, list[Any]]:
        """What a person in a hurry would send: what stands there, and something where nothing does."""
        sent: dict[str, list[Any]] = {}
        choose, chance = self.random.choice, self.random.random
        buttons = [one.name for one in form.fields.values() if one.kind == "submit"]
        for one in form.fields.values():
            usual = one.chosen or one.values[:1]
            if one.kind == "submit":
                values = [choose(one.values)] if one.name == buttons[0] or chance() < 0.3 else []
            elif one.kind == "checkbox":
                values = [value for value in one.values if value in one.chosen or chance() < 0.5]
            elif one.kind in ("select", "radio"):
                values = [choose(one.values)] if one.values and (chance() < 0.6 or not one.chosen) else usual
            elif one.kind == "file":
                file, content = choose(FILES)
                values = [SimpleUploadedFile(file, content)] if chance() < 0.7 else []
            elif any(usual) or one.kind == "hidden":
                values = usual
            else:
                values = [choose(LIKELY.get(one.kind, ["", "Ida Marsh", "12.50", "2026-02-27"]))]
            if values:
                sent[one.name] = values
        return sent

    def spoil(self, sent: dict[str, list[Any]]) -> str:
        """Spoil one value, or leave one out, or send one twice; sometimes nothing. What was spoiled."""
        names = [name for name in sent if name != "csrfmiddlewaretoken"]
        if not names or self.random.random() < 0.1:
            return "nothing"
        name, how = self.random.choice(names), self.random.random()
        if how < 0.8:
            sent[name] = [self.random.choice(HOSTILE)]
        elif how < 0.9:
            del sent[name]
        else:
            sent[name] = [*sent[name], self.random.choice(HOSTILE)]
        return name

    def shout(self) -> Iterator[str]:
        """Send what no page asks for: names of any form, bodies of any kind, in any encoding."""
        name = self.random.choice(list(self.table))
        address, how = self.address(name), self.random.random()
        chosen = self.random.sample(self.names, self.random.randint(0, 12))
        sent: Any = {one: [self.random.choice(HOSTILE) for _ in range(self.random.choice([1, 1, 2]))] for one in chosen}
        part = self.random.random() < 0.2
        if how < 0.35:
            # A browser sends no longer address, and a server takes none.
            sent = {one: [value[:100] for value in values] for one, values in sent.items()}
            answer = self.way.send("GET", address, sent, part=part)
        elif how < 0.9:
            answer = self.way.send("POST", address, sent, part=part)
        elif how < 0.95:
            kind = self.random.choice(
                ["application/json", "text/plain", "multipart/form-data; boundary=b", "multipart/form-data", "x/y"]
            )
            sent = self.random.choice(HOSTILE).encode("utf-8", "surrogatepass")
            answer = self.way.send("POST", address, sent, kind=kind, part=part)
        else:
            charset = self.random.choice(["utf-16", "latin-1", "punycode", "x"])
            method = self.random.choice(["GET", "POST", "PUT", "DELETE", "OPTIONS", "HEAD"])
            kind = f"application/x-www-form-urlencoded; charset={charset}"
            answer = self.way.send(method, address, b"a=%ff&b=%00", kind=kind)
        yield from self.broke(answer, f"{name} {address[:60]} {_short(sent) if isinstance(sent, dict) else sent[:60]}")

    def broke(self, answer: Answer, what: str) -> Iterator[str]:
        """Count a request, log in again where it ended the login, and tell of it if it broke."""
        self.count += 1
        if answer.dropped:
            yield f"dropped ({answer.dropped}): {what}"
        elif answer.status >= 500:
            yield f"{answer.status} {what} {answer.why}"
        elif str((answer.headers or {}).get("Location", "")).startswith("/login"):
            self.way.log_in()


def _short(sent: dict[str, Sequence[Any]]) -> dict[str, list[str]]:
    return {name: [str(one)[:40] for one in values] for name, values in sent.items() if name != "csrfmiddlewaretoken"}
