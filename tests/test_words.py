"""What the demo company's people read, page by page and paper by paper: plain American, and none of the words given up.

Files and JSON keep ISO 8601, ISO 3166-2 and their own words; only what people read is looked at here.
"""

import io
import re
from collections import Counter, deque
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import urljoin, urlsplit

import pytest
from django.core.management import call_command, load_command_class
from django.db import connection
from django.test import Client
from django.urls import resolve
from pypdf import PdfReader

from fleet.models.people import Role, User
from tests import company
from tests.demo_company import DemoCompany
from tests.paths import ROOT

MONTHS = (
    "January|February|March|April|May|June|July|August|September|October|November|December"
    "|Jan|Feb|Mar|Apr|Jun|Jul|Aug|Sep|Sept|Oct|Nov|Dec"
)
# What was said before, or would be understood by nobody who says it to a caller.
GIVEN_UP = {
    "a day before its month": rf"\b\d{{1,2}} (?:{MONTHS})\.? \d{{4}}\b",
    "a day in figures": r"(?<![\w/.-])\d{1,2}/\d{1,2}/(?:\d{2}|\d{4})(?![\w/])",
    "a day as files write it": r"(?<!as )\b20\d\d-\d\d-\d\d\b",
    "a code of a state": r"\b(?:US|CA)-[A-Z]{2}\b",
    "dues": r"\b[Dd]ues\b",
    "owner's own work": r"\bowner'?s'? own (?:work|tasks?)\b|\bby:? owner\b|\bby the owner\b",
    "the installer pays": r"\binstaller (?:pays|may pay|owes)\b",
    "have the old part back by": r"\bhave the (?:old )?part back by\b",
    "if what is open turns out so": r"\bif what is open\b|\bturns out so\b",
    "told in time": r"\b[Tt]old in time\b",
    "nobody can say": r"\b[Nn]obody can say\b",
    "is worth asking": r"\bis worth asking\b",
    "Care of": r"\bCare of\b",
    "Region, Postcode": r"\bRegion\b|\b[Pp]ostcode\b",
    "leave for a repair": r"\btheir leave\b|\bleave (?:from|of) the\b|\bask(?:ed)? (?:for )?leave\b|\bgave (?:their )?leave\b",
    "clocks": r"\b[Cc]locks?\b(?! (?:is|was|of this computer))",
    "it counts no more": r"\bcounts? no more\b",
    "not asked for": r"\bIt is not asked\b|\brecord that it is not asked\b",
    "payers differ": r"\b[Pp]ayers differ\b",
    "facts wanted": r"\b[Ff]acts wanted\b",
    "on offer": r"\b[Oo]n offer\b",
    "gathering": r"\b[Gg]athering\b",
    "asked for more": r"\b[Aa]sked for more\b",
    "outside what is fine": r"\boutside what is fine\b",
    "see what it does": r"\b[Ss]ee what it does\b",
    "what became of it": r"\b[Ww]hat became of it\b",
    "take it up again, call it off": r"\b[Tt]ake (?:it|this) up again\b|\b[Cc]all (?:it|this|the visit) off\b|\bcalled off\b",
    "take it, bring it": r"^(?:Take it|Bring it)$",
    "told by mistake": r"\b[Tt]old (?:twice|by mistake)\b",
    "that do not belong together": r"\bdo not belong together\b",
    "password forgotten": r"\bPassword forgotten\b",
    "prove dead": r"\b[Pp]rove (?:it )?dead\b",
    "air the room": r"\b[Aa]ir the room\b",
    "amps against the plate": r"\bheld against the plate\b",
    "gas line temperature": r"\b[Gg]as line temperature\b",
    "certified people alone": r"\b[Cc]ertified people alone\b",
    "another firm": r"\b(?:another|other) firms?'?s?\b|\banother firm's\b",
    "till receipt": r"\btill receipt\b",
    "two cores bare": r"\bcores bare\b",
    "put in by": r"\b[Pp]ut in by\b",
    "page before": r"\b[Pp]age before\b",
    "owner home": r"\bowner home\b",
    "hours short of hours on hand": r"\d h short \(of\b",
    "a claim on a payer": r"\b[Cc]laim(?: \d+)? on [A-Z]",
    "negative days": r"[−-]\d+ days? left",
    "no list is like that": r"\bis like that\b|\bare like that\b",
    "ask for less": r"\bAsk for less\b",
    "what fails and when": r"\b[Ww]hat fails and when\b",
    "waiting on us": r"\b[Ww]aiting on us\b",
    "maker": r"\b[Mm]akers?\b(?! of)",
    "a count of days that nobody can feel": r"\b(?:\d{1,3},\d{3}|\d{5,}) days (?:left|before|ago|late|after)\b",
}
PATTERNS = {name: re.compile(pattern, re.MULTILINE) for name, pattern in GIVEN_UP.items()}
# Of each address so many pages: units and sites of one shape would say the same again. The owner sees all that there is, so that
# what the others see is only looked at for what it has besides; a paper is the same for whoever prints it.
PAGES_EACH = {Role.OWNER: 3, Role.OFFICE: 2, Role.TECHNICIAN: 3}
LISTED_ONCE = ("as", "sort", "page", "part")


class Page(HTMLParser):
    """What a page says to whoever reads or hears it, and where its links go."""

    SAID = ("placeholder", "title", "aria-label", "alt", "data-title")
    BLOCKS = frozenset(
        [
            "p",
            "li",
            "td",
            "th",
            "dt",
            "dd",
            "h1",
            "h2",
            "h3",
            "h4",
            "option",
            "label",
            "button",
            "a",
            "summary",
            "legend",
            "caption",
            "div",
            "br",
        ]
    )

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self._said: list[str] = []
        self._unread = 0
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        if tag in ("script", "style"):
            self._unread += 1
        if tag in self.BLOCKS:
            self._said.append("\n")
        if tag == "a" and values.get("href"):
            self.links.append(values["href"] or "")
        self._said.extend(f"\n{values[name]}\n" for name in self.SAID if values.get(name))

    def handle_endtag(self, tag: str) -> None:
        self._unread -= tag in ("script", "style")
        if tag in self.BLOCKS:
            self._said.append("\n")

    def handle_data(self, data: str) -> None:
        if not self._unread:
            self._said.append(data)

    @property
    def words(self) -> str:
        """One line for each thing said."""
        lines = (" ".join(line.split()) for line in "".join(self._said).splitlines())
        return "\n".join(line for line in lines if line)


class Said(NamedTuple):
    """A page or paper by its address, and its words."""

    where: str
    words: str


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: Any, demo_company: DemoCompany) -> Iterator[None]:
    with django_db_blocker.unblock():
        demo_company.load()
        yield
        call_command("flush", interactive=False, verbosity=0)
        if connection.vendor == "sqlite":
            connection.cursor().execute("VACUUM")  # else its free pages would let other tests' disks never fill


def everything(client: Client, role: Role) -> Iterator[Said]:
    """All that the links of a role's pages lead to, breadth first: pages as text, papers as theirs."""
    ahead, seen, each = deque(["/"]), {"/"}, Counter[str]()
    linked_from: dict[str, str] = {}
    while ahead:
        address = ahead.popleft()
        name = resolve(urlsplit(address).path).view_name
        each[name] += 1
        if each[name] > PAGES_EACH[role]:
            continue
        answer = client.get(address, follow=True)
        assert answer.status_code == 200, f"{address}: {answer.status_code}, linked from {linked_from.get(address)}"
        kind = answer["Content-Type"]
        if kind == "application/pdf" and role is Role.OWNER:
            body = b"".join(answer.streaming_content) if answer.streaming else answer.content  # type: ignore[attr-defined]
            yield Said(address, "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(body)).pages))
        if not kind.startswith("text/html"):
            continue
        page = Page(answer.content.decode())
        yield Said(address, page.words)
        for link in page.links:
            there = urlsplit(urljoin(address, link))
            whole = there.path + (f"?{there.query}" if there.query else "")
            if there.scheme or there.netloc or whole in seen or any(f"{key}=" in there.query for key in LISTED_ONCE):
                continue
            seen.add(whole)
            linked_from[whole] = address
            ahead.append(whole)


def faults(said: Said) -> Iterator[str]:
    for name, pattern in PATTERNS.items():
        for match in pattern.finditer(said.words):
            begin = max(said.words.rfind("\n", 0, match.start()), match.start() - 60)
            yield f"{said.where}: {name}: {said.words[begin + 1 : match.end() + 40].splitlines()[0]}"


def first_of_each(pages: Iterator[Said]) -> list[str]:
    """Each fault once, where it first stands: the same sentence may stand on hundreds of pages."""
    once: dict[str, str] = {}
    for said in pages:
        for fault in faults(said):
            once.setdefault(fault.split(": ", 1)[1], fault)
    return list(once.values())


@pytest.mark.slow
@pytest.mark.any_database
@pytest.mark.django_db
@pytest.mark.parametrize("role", list(Role))
def test_no_page_or_paper_says_what_was_given_up(demo: None, role: Role) -> None:
    client = Client()
    client.force_login(User.objects.filter(role=role).first() or company.person(role))
    pages = list(everything(client, role))
    assert len(pages) > 20
    found = first_of_each(iter(pages))
    assert not found, "\n" + "\n".join(found)


@pytest.mark.parametrize(
    "path", sorted((ROOT / "fleet/management/commands").glob("[a-z]*.py")), ids=lambda path: path.stem
)
def test_no_command_says_what_was_given_up(path: Path) -> None:
    """A command's options and the columns it names are promised: `--maker` stays."""
    help_text = load_command_class("fleet", path.stem).create_parser("manage.py", path.stem).format_help()
    words = re.sub(r"--maker MAKER|\bmaker, ?model, ?serial\S*", "", " ".join(help_text.split()))
    assert list(faults(Said(path.stem, words))) == []


@pytest.mark.parametrize(
    "path", [ROOT / "README.md", *sorted((ROOT / "templates").rglob("*.txt"))], ids=lambda path: path.name
)
def test_no_mail_and_no_readme_says_what_was_given_up(path: Path) -> None:
    assert list(faults(Said(path.name, path.read_text()))) == []


@pytest.mark.parametrize("name", list(GIVEN_UP))
def test_each_thing_given_up_would_be_seen(name: str) -> None:
    """A pattern that matches nothing would hold nothing."""
    assert any(PATTERNS[name].search(line) for line in BEFORE.splitlines()), name


BEFORE = """\
Ended on 8 March 2024.
On 3/8/24 it failed.
Wren set the day it was filed to 2026-09-15.
Boothbay, US-ME
85 dues of ours are late
the owner's own work
installer pays
have the old part back by
maker pays if what is open turns out so
Told in time it would have run to
nobody can say who pays
the maker is worth asking
Care of Whitlock
Region (as US-ME), Postcode
they gave their leave on
Clocks of claims
it counts no more
It is not asked
Payers differ
Facts wanted
On offer
gathering
asked for more
why that day, if it is outside what is fine
see what it does
What became of it?
Call it off
Take it
told twice
That name and password do not belong together
Password forgotten?
prove dead
air the room
amps are held against the plate
gas line temperature
certified people alone handle refrigerant
another firm
till receipt
two cores bare
put in by
page before
owner home
60 h short (of 60 h on hand)
Claim 14 on Tarvane
−43 days left
No agreement is like that
Ask for less above
What fails and when
Waiting on us
21,932 days left
"""
