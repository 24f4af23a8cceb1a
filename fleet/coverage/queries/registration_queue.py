"""The queue of registrations: which are wanted by when, system by system, and what the missed ones lost."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from django.db.models import Count, Min, Q, QuerySet

from fleet import facts as gather
from fleet import models
from fleet.coverage.pages import registrations as pages
from fleet.coverage.queries.registration_lead import sentences
from fleet.derived import rows as kept
from fleet.derived.claim_rows import payer_name
from fleet.elements import named_fields
from fleet.elements.counting import Counted, as_far_as, reach, up_to
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.elements.named import address
from fleet.models.prepared import counted, prepared
from fleet.rules import wording, words
from fleet.rules.dates import in_words
from fleet.rules.registration import Standing, State
from fleet.rules.terms import Terms
from fleet.rules.wording.lost import lost as lost_words

CHUNK = 500
# How far the queue is counted: its rows, and the units in them.
MOST, MOST_UNITS = 500, 2_000
# How many units are looked at for each row that is wanted; few systems have more.
_AHEAD = 20

_SITE = "system__site"
_GROUP = ("deadline", "system_id", "terms_id")
# The first of each is what is sorted by; the rest keeps equal ones in one order, so that no page repeats a row.
_ORDER = {
    "deadline": ("deadline", "system_id", "terms_id"),
    "system": ("system__name", "deadline", "system_id", "terms_id"),
    "customer": (f"{_SITE}__customer__name", "deadline", "system_id", "terms_id"),
    "payer": ("terms__maker", "deadline", "system_id", "terms_id"),
    "units": ("units", "deadline", "system_id", "terms_id"),
}
_FILE = (
    "unit_id", "terms_id", "registration", "deadline", "lost", "unit__room", "unit__maker", "unit__model",
    "unit__serial", "unit__installed_on", "unit__started_on", "system_id",
)  # fmt: skip
_OF_CUSTOMER = named_fields.linked(f"{_SITE}__customer", "customer")
_SHOWN = (
    "unit_id", "terms_id", "registration", "registration_day", "deadline", "reason", "lost", "system_id", "system__name",
    f"{_SITE}__name", *_OF_CUSTOMER.fields,
)  # fmt: skip


def payers() -> tuple[str, ...]:
    """List those with whom something may be registered, to choose from."""
    return tuple(sorted({payer_name(terms) for terms in with_registration().values()}, key=str.casefold))


def with_registration() -> dict[int, Terms]:
    """Give the terms that ask for registering, by their keys."""
    book = gather.terms_on_file()
    return {book.pks[terms.code]: terms for terms in book.all if terms.registration}


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.RegistrationsPage:
    """Show one page of the queue: a row for each system and terms whose units have the same last day."""
    chosen = _sort(asked, sort)
    count, units, found = _page(asked, chosen, number)
    number = within(number, count.number)
    return pages.RegistrationsPage(
        asked=asked,
        on=on,
        listing=Listing(pages.COLUMNS, tuple(group_rows(found, on=on)), count.number, chosen, number, count.more),
        units=units.number,
        more_units=units.more,
        sentences=sentences(on=on),
        nothing_on_file=not found and not models.HoldingRow.objects.exists(),
    )


def _page(asked: pages.Asked, sort: Sort, number: int) -> tuple[Counted, Counted, Sequence[Any]]:
    """Count the rows and their units, and give the rows of one page."""
    most, terms = reach(MOST, number), _terms_of(asked)
    if not asked.text and number == 1:
        return (
            as_far_as(most, _count_rows, asked.state, terms),
            as_far_as(MOST_UNITS, _count_units, asked.state, terms),
            _first_page(asked.state, terms, sort=sort, most=PER_PAGE),
        )
    found = _narrowed(_standing_so(asked.state, terms), asked.text)
    count = up_to(most, _groups(found))
    first = (within(number, count.number) - 1) * PER_PAGE
    return count, up_to(MOST_UNITS, found), list(_ordered(_groups(found), sort)[first : first + PER_PAGE])


@counted
def _count_rows(state: str, terms: Collection[int] | None, *, most: int) -> QuerySet[models.HoldingRow, Any]:
    # In the order of the index, so that no more of it is read than is counted.
    return _standing_so(state, terms).order_by(*_GROUP).values_list(*_GROUP).distinct()[:most]


@counted
def _count_units(state: str, terms: Collection[int] | None, *, most: int) -> QuerySet[models.HoldingRow, Any]:
    return _standing_so(state, terms).order_by().values_list("registration")[:most]


@prepared
def _first_page(
    state: str, terms: Collection[int] | None, *, sort: Sort, most: int
) -> QuerySet[models.HoldingRow, Any]:
    return _ordered(_groups(_standing_so(state, terms)), sort)[:most]


def nearest(state: str, number: int, *, on: dt.date) -> tuple[bool, tuple[Row, ...]]:
    """Give the first few rows of the queue in a state, and whether there are more.

    They are looked for among the first rows of the index: grouping the whole queue would cost more the larger the fleet.
    """
    ahead = _ahead(state, limit=number * _AHEAD)
    keys = list(dict.fromkeys(ahead))
    first = keys[:number]
    days = [day for day, _, _ in first]
    groups = _groups_of(state, None if None in days else max(days, default=None), {system for _, system, _ in first})
    known = {tuple(row[name] for name in _GROUP): row for row in groups}
    more = len(keys) > number or len(ahead) == number * _AHEAD
    return more, tuple(group_rows([known[key] for key in first], on=on))


@prepared
def _ahead(state: str, *, limit: int) -> QuerySet[models.HoldingRow, Any]:
    found = models.HoldingRow.objects.filter(registration=state)
    return found.order_by(*_GROUP, "unit_id").values_list(*_GROUP)[:limit]


@prepared
def _groups_of(state: str, until: dt.date | None, systems: Iterable[int]) -> QuerySet[models.HoldingRow, Any]:
    """Group the rows of some systems; where their last days are known, no more of the index is read than up to the last."""
    found = models.HoldingRow.objects.filter(registration=state, system__in=systems)
    return _groups(found if until is None else found.filter(deadline__lte=until))


def _sort(asked: pages.Asked, sort: str) -> Sort:
    """What was missed last may still be mended, so there the latest comes first."""
    return sort_of(sort, pages.COLUMNS, otherwise="-deadline" if asked.state == State.MISSED else "deadline")


def _terms_of(asked: pages.Asked) -> Collection[int] | None:
    """Give the terms that the queue is narrowed to; None where it is to none.

    Terms that ask for no registering have holdings too, for which none is required.
    """
    if asked.state not in (State.NOT_REQUIRED, State.CONFIRMED) and not asked.payer:
        return None
    return [pk for pk, terms in with_registration().items() if asked.payer in ("", payer_name(terms))]


def _standing_so(state: str, terms: Collection[int] | None) -> QuerySet[models.HoldingRow]:
    found = models.HoldingRow.objects.filter(registration=state)
    return found if terms is None else found.filter(terms__in=terms)


def _narrowed(found: QuerySet[models.HoldingRow], text: str) -> QuerySet[models.HoldingRow]:
    if not text:
        return found
    texts = Q(**{f"{_SITE}__name__icontains": text}) | Q(**{f"{_SITE}__customer__name__icontains": text})
    if key := words.key(text):
        texts |= Q(unit__serial_key__contains=key) | Q(unit__model_key__contains=key)
    return found.filter(texts)


def _groups(found: QuerySet[models.HoldingRow]) -> QuerySet[models.HoldingRow, Any]:
    return found.order_by().values(*_GROUP).annotate(units=Count("pk"), sample=Min("unit_id"))


def _ordered(groups: QuerySet[models.HoldingRow, Any], sort: Sort) -> QuerySet[models.HoldingRow, Any]:
    falling = "-" if sort.falling else ""
    return groups.order_by(*(f"{falling}{name}" for name in _ORDER[sort.name]))


def group_rows(rows: Sequence[Mapping[str, Any]], *, on: dt.date) -> Iterator[Row]:
    """Draw rows of the queue; where one stands is said of one of its units."""
    if not rows:
        return
    book = gather.terms_on_file()
    samples = _samples({row["sample"] for row in rows}, {row["terms_id"] for row in rows})
    sample = {(row.unit_id, row.terms_id): row for row in samples}
    asked = _reminded({row["system_id"] for row in rows})
    reminded = {(system, terms): day for system, terms, day in asked}
    for group in rows:
        row = sample[group["sample"], group["terms_id"]]
        paper = book.by_code[book.codes[row.terms_id]]
        text = _standing_words(row, paper, on=on)
        if asked_on := reminded.get((row.system_id, row.terms_id)):
            text = f"{text} Owner asked on {in_words(asked_on)}."
        yield (
            Cell(row.system__name, Link("registration", row.system_id), row.system__site__name),
            _OF_CUSTOMER.cell(row),
            Cell(payer_name(paper)),
            Cell(group["units"]),
            Cell(row.deadline),
            Cell(_left(row, on=on)),
            Cell(text),
        )


def _left(row: Any, *, on: dt.date) -> int | None:
    """Days are left only where something is to do."""
    if row.registration != State.TO_DO or row.deadline is None:
        return None
    return int((row.deadline - on).days)


@prepared
def _samples(units: Iterable[int], terms: Iterable[int]) -> QuerySet[models.HoldingRow, Any]:
    return models.HoldingRow.objects.filter(unit__in=units, terms__in=terms).values_list(*_SHOWN, named=True)


@prepared
def _reminded(systems: Iterable[int]) -> QuerySet[models.Reminder, Any]:
    found = models.Reminder.objects.filter(system__in=systems).order_by("reminded_on")
    return found.values_list("system_id", "terms_id", "reminded_on")


def _standing_words(row: Any, terms: Terms, *, on: dt.date) -> str:
    standing, rules = kept.standing_of(row), terms.registration
    found = [_short(standing, on=on)]
    if standing.state is State.MISSED:
        found.extend(f"{lost_words(one)}." for one in kept.lost_of(row))
    elif rules is not None and rules.by == "owner" and standing.state in (State.TO_DO, State.WAITING):
        found.append("Only the owner may register.")
    return " ".join(filter(None, found))


def _short(standing: Standing, *, on: dt.date) -> str:
    """Where it stands, without what the columns beside it say."""
    return "" if standing.state is State.TO_DO else wording.standing(standing, asked=on)


def file_rows(asked: pages.Asked, *, on: dt.date) -> Iterator[Row]:
    """Give a row for every unit of the queue by last day, a few hundred at a time in memory."""
    found = _narrowed(_standing_so(asked.state, _terms_of(asked)), asked.text)
    ordered = found.order_by("deadline", "unit_id", "terms_id").values_list(*_FILE, named=True)
    book = gather.terms_on_file()
    for chunk in _chunks(ordered.iterator(chunk_size=CHUNK)):
        systems = models.System.objects.select_related("site__customer").in_bulk({row.system_id for row in chunk})
        for row in chunk:
            yield _file_row(row, systems[row.system_id], book.by_code[book.codes[row.terms_id]], on=on)


def _chunks(rows: Iterable[Any]) -> Iterator[list[Any]]:
    for _, numbered in groupby(enumerate(rows), key=lambda pair: pair[0] // CHUNK):
        yield [row for _, row in numbered]


def _file_row(row: Any, system: models.System, terms: Terms, *, on: dt.date) -> Row:
    site, gone = system.site, kept.lost_of(row)
    values = (
        site.customer.name, site.customer.phone, site.customer.email, site.name, address(site), system.name,
        row.unit__room, row.unit__maker, row.unit__model, row.unit__serial, row.unit__installed_on,
        row.unit__started_on, payer_name(terms), terms.code, row.registration, row.deadline, _left(row, on=on),
        "; ".join(map(lost_words, gone)),
    )  # fmt: skip
    return tuple(Cell(value) for value in values)
