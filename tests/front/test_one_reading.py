"""The unit page says one thing: its first lines, its life line, its table and its answer give the same last days."""

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import clock, models
from fleet.coverage.pages.answers import Question, usual
from fleet.coverage.queries import failing
from fleet.front.queries import units
from fleet.rules.findings import Result
from tests import any_facts

# After these words stands a last day, and after nothing else.
_LAST = re.compile(r"(?:until|possibly|ended) ([A-Z][a-z]+\.? \d{1,2}, \d{4})")


def last_days(text: str) -> set[dt.date]:
    """The last days that a text names, whether its months are whole or cut to three letters."""
    return {_day(name) for name in _LAST.findall(text)}


def _day(name: str) -> dt.date:
    month, number, year = name.replace(",", "").split()
    return dt.datetime.strptime(f"{month[:3]} {number} {year}", "%b %d %Y").replace(tzinfo=dt.UTC).date()


def drawn(rows, today: dt.date) -> set[dt.date]:
    """The last days, certain and possible, that the rows of one promise in the table give on a day.

    What is over has its last certain and its last possible day; what is still to come, those of the run that begins next. A run ends
    where what was possible is certain again, which needs another part.
    """
    promised = [row for row in rows if row.state in ("covered", "possible")]
    running = [row for row in promised if row.last is None or row.last >= today]
    if not running:
        certain = max((row.last for row in promised if row.state == "covered"), default=None)
        return {day for day in (certain, max((row.last for row in promised), default=None)) if day}
    run = [running[0]]
    for row in running[1:]:
        follows = run[-1].last is not None and row.first == run[-1].last + dt.timedelta(days=1)
        if not follows or row.state == "covered":
            break
        run.append(row)
    certain = [row.last for row in promised if row.state == "covered" and row not in running and run[0].first <= today]
    for row in run:
        if row.state != "covered":
            break
        certain.append(row.last)
    return {day for day in (certain[-1] if certain else None, run[-1].last) if day}


def by_promise(line) -> dict[tuple[str, str, str], list]:
    """The table's rows by promise: the title of its terms, its kind of cost, its components."""
    found: dict[tuple[str, str, str], list] = {}
    for row in line.table:
        found.setdefault((row.title, row.cost, row.components), []).append(row)
    return found


def contradictions(told, book, on: dt.date) -> Iterator[str]:
    """Where the parts of a unit's page give different last days."""
    read = units.read(told, on=on)
    promises = units.promises(told, read)
    line = units.lifeline(told, read, (), on=on)
    rows = by_promise(line)
    for promise, band in zip(promises, line.drawings[0].bands, strict=True):
        mine = rows[promise.title, promise.kind, promise.components or "everything"]
        if last_days(band.caption) != drawn(mine, on):
            yield f"life line: {band.name}: {band.caption}, but the table has {mine}"
    said = {sentence.split(":")[0].lower(): sentence for sentence in units.sentences(told, read, on=on)}
    of_kind = {kind: set().union(*(drawn(rows[key], on) for key in rows if key[1] == kind)) for kind in said}
    for kind, sentence in said.items():
        if kind in ("parts", "labor", "refrigerant") and not last_days(sentence) <= of_kind[kind]:
            yield f"first lines: {sentence} but the table has {of_kind[kind]}"
    for component in usual(told.row.role)[:4]:
        part = failing.part(told, book, Question(component, on=on, asked=on))
        for shown in part.answers:
            if shown.result in (Result.COVERED, Result.COVERED_IF):
                mine = _of(promises, rows, shown, component)
                if last_days(shown.words) != drawn(mine, on):
                    yield f"answer for the {component}: {shown.words} but the table has {mine}"


def _of(promises, rows, shown, component: str):
    named = [one for one in promises if one.title == shown.title and one.kind == shown.kind]
    promise = next((one for one in named if component in one.names), None) or next(
        one for one in named if "*" in one.names
    )
    return rows[promise.title, promise.kind, promise.components or "everything"]


@pytest.mark.any_database
@pytest.mark.django_db
def test_no_page_of_the_demo_company_contradicts_itself(demo_company):
    demo_company.load()
    book = units.terms_on_file()
    told = units.fleet_facts(list(models.Unit.objects.filter(removed_on=None)), book)
    found = [f"{one.row.serial}: {text}" for one in told.values() for text in contradictions(one, book, clock.today())]
    assert not found, "\n".join(found)


FLEETS = st.tuples(
    any_facts.UNITS, st.lists(any_facts.holdings(), min_size=1, max_size=3), any_facts.DAYS, any_facts.DAYS
)


@settings(max_examples=150, deadline=None)
@given(FLEETS)
def test_no_page_of_any_unit_contradicts_itself(drawn_facts):
    """Papers of one fleet are told apart by their titles; the unit has what could be recorded by the day of asking."""
    unit, holdings, day, other = drawn_facts
    on = max(day, other, dt.date(2020, 1, 1))
    held = []
    for number, (holding, payer) in enumerate(zip(holdings, ("maker", "labor plan", "installer"), strict=False)):
        terms = replace(holding.terms, code=f"t{number}", title=f"Paper {number}", payer=payer)
        held.append(replace(holding, terms=terms))
    row = SimpleNamespace(role="outdoor", removed_on=None, serial="S", pk=1)
    told = SimpleNamespace(row=row, unit=unit, holdings=tuple(held))
    book = SimpleNamespace(
        by_code={one.terms.code: one.terms for one in held}, pks={one.terms.code: n for n, one in enumerate(held)}
    )
    found = list(contradictions(told, book, on))
    assert not found, "\n".join(found)
