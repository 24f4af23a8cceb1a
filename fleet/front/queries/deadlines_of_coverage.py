"""Deadlines of coverage: what is to be registered, and whom a sale is to be told to."""

import datetime as dt
from collections.abc import Iterator, Sequence
from types import SimpleNamespace
from typing import Any

from django.db.models import Count, F, Min, Q, QuerySet, Value

from fleet import models
from fleet.derived.claim_rows import payer_name
from fleet.derived.rows import unpack_lost
from fleet.elements import named
from fleet.elements.cells import Link
from fleet.facts import TermsBook, Told
from fleet.front.queries.deadline_rows import BIG, NONE, ORDER, Source
from fleet.front.queries.deadline_rows import row as row_of
from fleet.rules import deadlines as rules
from fleet.rules import lost as losses
from fleet.rules import registration
from fleet.rules.deadlines import Deadline, Kind
from fleet.rules.lost import Lost
from fleet.rules.registration import State
from fleet.rules.starts import start_of
from fleet.rules.terms import Terms
from fleet.rules.wording import deadlines as wording


def _holdings(filters: Any, condition: Q, kind: Kind, day: str) -> QuerySet[models.HoldingRow, Any]:
    """A row for each system and terms whose units have the same last day."""
    rows = models.HoldingRow.objects.filter(condition).order_by()
    if filters.payer:
        rows = rows.filter(terms__payer=filters.payer)
    if filters.text:
        rows = rows.filter(named.text_of_unit("unit", site="system__site")(filters.text))
    found = rows.values(
        what=Value(kind.value),
        rank=Value(1, output_field=BIG),
        last=F(day),
        first_key=F("system_id"),
        second_key=F("terms_id"),
    )
    return found.annotate(units=Count("pk"), sample=Min("unit_id")).order_by(*ORDER)


def _to_register(filters: Any, on: dt.date) -> QuerySet[models.HoldingRow, Any]:
    return _holdings(filters, Q(registration=State.TO_DO), Kind.REGISTER, "deadline")


def _to_notify(filters: Any, on: dt.date) -> QuerySet[models.HoldingRow, Any]:
    return _holdings(filters, Q(notify_by__gte=on), Kind.NOTIFY, "notify_by")


def _complete_holdings(rows: Sequence[Any], book: TermsBook, on: dt.date) -> Iterator[SimpleNamespace]:
    samples = models.HoldingRow.objects.filter(
        unit__in=[row["sample"] for row in rows] or NONE, terms__in=[row["second_key"] for row in rows] or NONE
    ).select_related("unit__system__site__customer")
    holdings = {(row.unit_id, row.terms_id): row for row in samples}
    for row in rows:
        holding = holdings[row["sample"], row["second_key"]]
        kind = Kind(row["what"])
        yield _of_coverage(
            kind,
            book.by_code[book.codes[holding.terms_id]],
            row["last"],
            unpack_lost(holding.at_stake if kind is Kind.REGISTER else holding.notify_stake),
            holding.unit,
            units=row["units"],
            sold_on=holding.notify_sold_on,
            mark=f"{kind.value}/{row['first_key']}/{row['second_key']}/{row['last']}",
        )


def _of_coverage(
    kind: Kind,
    terms: Terms,
    last: dt.date | None,
    lost: tuple[Lost, ...],
    unit: models.Unit,
    *,
    units: int = 1,
    sold_on: dt.date | None = None,
    mark: str,
) -> SimpleNamespace:
    """What is to be registered, or whom a sale is to be told to, of one unit or of several of its system."""
    name, system = payer_name(terms), unit.system
    if kind is Kind.REGISTER:
        who = rules.registers(terms.registration.by if terms.registration else "either")
        link = Link("registration", system.pk)
    else:
        who, link = rules.WHO[kind], Link("site", system.site_id)
    return row_of(
        Deadline(kind, last, who, lost=lost),
        payer=terms.payer,
        payer_name=name,
        to_do=wording.to_do(kind, name, sold_on=sold_on),
        worth=wording.worth(None, lost, units=units),
        link=link,
        unit=unit if units == 1 else None,
        site=system.site,
        note=f"{system.name}, {units} units" if units > 1 else "",
        mark=mark,
    )


SOURCES: tuple[Source, ...] = (
    Source((Kind.REGISTER,), _to_register, _complete_holdings),
    Source((Kind.NOTIFY,), _to_notify, _complete_holdings),
)


def of_unit(told: Told, on: dt.date) -> Iterator[SimpleNamespace]:
    """What is to be registered, and whom a sale is to be told to, of one unit, from its facts."""
    for holding in told.holdings:
        row, terms, start = told.row, holding.terms, start_of(told.unit, holding)
        if registration.standing(told.unit, holding, start=start.day, asked=on).state is State.TO_DO:
            last = registration.deadline(told.unit, holding)
            lost = losses.by_not_registering(told.unit, holding, on=on)
            yield _of_coverage(Kind.REGISTER, terms, last, lost, row, mark=_mark(Kind.REGISTER, row, terms))
        if notice := losses.to_notify(told.unit, holding, start=start.day, on=on):
            mark = _mark(Kind.NOTIFY, row, terms)
            yield _of_coverage(Kind.NOTIFY, terms, notice.last, notice.lost, row, sold_on=notice.sold_on, mark=mark)


def _mark(kind: Kind, row: models.Unit, terms: Terms) -> str:
    return f"{kind.value}/{row.pk}/{terms.code}"
