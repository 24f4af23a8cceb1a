"""Where the money of failures stands in a period, by payer and by manufacturer, every figure with the rows that it adds up."""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from django.db.models import Count, F, Max, QuerySet

from fleet import models
from fleet.claims.pages import money as pages
from fleet.claims.queries.claim_sums import cents, dollars, total
from fleet.claims.queries.money_lost import DENIED, MISSED, Period, missed_in_all
from fleet.elements.cells import Cell, Column
from fleet.elements.chart import Bar, bar
from fleet.elements.listing import Filter, List
from fleet.rules import money as rules
from fleet.rules import money_parts as parts
from fleet.rules.claims import ZERO, State
from fleet.rules.money_parts import LOST, Figure
from fleet.rules.wording import money as wording
from fleet.rules.wording.money_parts import FIGURES

# How many rows of a table that may be long the page shows; its files have all of them.
FIRST = 10


class Sums(dict[Figure, Decimal]):
    """Dollars by where they stand; `above` is what came on top of the cost."""

    def __init__(self) -> None:
        super().__init__(dict.fromkeys(Figure, ZERO))
        self.above = ZERO

    def add(self, figure: Figure, amount: Decimal, above: Decimal) -> None:
        """Put some dollars in their place."""
        self[figure] += amount
        self.above += above

    @property
    def cost(self) -> Decimal:
        """All that it cost: every dollar stands in one place."""
        return sum(self.values(), ZERO)

    @property
    def lost(self) -> Decimal:
        """What was lost, whichever way."""
        return sum((self[figure] for figure in LOST), ZERO)


def page(period: Period, *, on: dt.date) -> pages.MoneyPage:
    """The money of the failures of a period."""
    whole, by_payer, by_maker, figures = _added_up(period)
    by_day = _out_by_age(period, on=on)
    hours = _hours(period)
    waits = _waits(period)
    lost = missed_in_all(period)
    denied = DENIED.first(FIRST, on=on, period=period)
    missed = MISSED.first(FIRST, on=on, period=period)
    return pages.MoneyPage(
        since=period.since,
        until=period.until,
        on=on,
        sentences=(
            wording.in_all(whole.cost, whole, whole.lost, whole.above, first=period.since, last=period.until),
            wording.fronted(by_day),
            wording.missed_in_all(lost.failures, lost.cost),
            *filter(None, [wording.component_not_known(_component_not_known(period))]),
        ),
        labor=wording.labor_short(lost.with_labor, lost.labor, lost.short),
        figures=tuple(figures),
        by_payer=_bars(by_payer),
        by_age=_ages(by_day),
        tables=(
            _whole("payer", "By payer", _named(by_payer), period, on=on),
            _whole("maker", "By manufacturer of the unit", _named(by_maker), period, on=on),
            _whole("age", "Outstanding, by days since filing", by_day, period, on=on),
            _whole("hours", "Our labor, by manufacturer of the unit", hours, period, on=on),
            _whole("waits", "Days from filing to credit, by payer", waits, period, on=on),
            pages.Named(
                denied.columns, denied.rows, denied.count, "denied", "Denied, written off or withdrawn, and why"
            ),
            pages.Named(missed.columns, missed.rows[:FIRST], lost.rows, "missed", "What missed registrations cost"),
        ),
    )


def _whole(name: str, title: str, found: Sequence[Any], period: Period, *, on: dt.date) -> pages.Named:
    of = TABLES[name]
    return pages.Named(of.columns, of.shown(found, on=on), len(found), name, title)


# ------------------------------------------------------------------------------------------------- added up


def _in(period: Period) -> QuerySet[models.MoneyPart]:
    return models.MoneyPart.objects.filter(failed_on__range=period.days)


def _component_not_known(period: Period) -> int:
    """How many failures of a period there are of which nobody knows yet what failed."""
    return models.Failure.objects.filter(failed_on__range=period.days, voided_on=None, component="").count()


def _added_up(
    period: Period,
) -> tuple[Sums, dict[str, Sums], dict[str, Sums], list[pages.FigureLine]]:
    """In all, by payer, by manufacturer, and each figure with how many rows it adds up."""
    grouped = _in(period).order_by().values("figure", "payer_name", "maker")
    told = grouped.annotate(rows=Count("*"), amount=total(cents("amount")), above_cost=total(cents("above")))
    whole, by_payer, by_maker = Sums(), defaultdict[str, Sums](Sums), defaultdict[str, Sums](Sums)
    counts: dict[Figure, list[Any]] = {figure: [0, ZERO] for figure in Figure}
    for row in told:
        figure, amount, above = Figure(row["figure"]), dollars(row["amount"]), dollars(row["above_cost"])
        counts[figure][0] += row["rows"]
        counts[figure][1] += above
        places = [whole, by_maker[row["maker"]], *([by_payer[row["payer_name"]]] if row["payer_name"] else [])]
        for place in places:
            place.add(figure, amount, above)
    lines = [
        pages.FigureLine(figure.value, FIGURES[figure], whole[figure], counts[figure][1], counts[figure][0])
        for figure in Figure
    ]
    return whole, dict(by_payer), dict(by_maker), lines


def _named(sums: Mapping[str, Sums]) -> list[SimpleNamespace]:
    return [SimpleNamespace(name=name, sums=one) for name, one in sorted(sums.items())]


def _out_by_age(period: Period, *, on: dt.date) -> tuple[rules.Age, ...]:
    out = _in(period).filter(figure=Figure.OUT).order_by().values("claim__filed_on")
    told = out.annotate(claims=Count("*"), amount=total(cents("amount"))).values_list(
        "claim__filed_on", "claims", "amount"
    )
    return rules.aged(((day, claims, dollars(amount)) for day, claims, amount in told if day), on=on)


def _hours(period: Period) -> list[SimpleNamespace]:
    rows = models.MoneyRow.objects.filter(failed_on__range=period.days, minutes__gt=0).order_by().values("maker")
    told = rows.annotate(failures=Count("*"), all_minutes=total(F("minutes")), cost=total(cents("hours_cost")))
    return [
        SimpleNamespace(
            name=row["maker"],
            failures=row["failures"],
            hours=(Decimal(row["all_minutes"]) / 60).quantize(Decimal("0.1")),
            cost=dollars(row["cost"]),
        )
        for row in told.order_by("maker")
    ]


def _waits(period: Period) -> tuple[parts.Waits, ...]:
    credited = models.ClaimStep.objects.filter(
        claim__failed_on__range=period.days,
        claim__state=State.CREDITED,
        claim__filed_on__isnull=False,
        asked_for=State.CREDITED,
    )
    told = credited.order_by().values("claim").annotate(last_on=Max("on"))
    rows = told.values_list("claim__payer_name", "claim__filed_on", "last_on")
    return parts.waits((payer, filed_on, last_on) for payer, filed_on, last_on in rows if filed_on is not None)


def _bars(found: Mapping[str, Sums]) -> tuple[Bar, ...]:
    def whole(one: Sums) -> Decimal:
        return one[Figure.CREDITED] + one[Figure.OUT] + one[Figure.TO_CLAIM] + one.lost

    longest = max(map(whole, found.values()), default=ZERO)
    return tuple(
        bar(
            name,
            wording.of_payer(one, one.lost),
            (("came", one[Figure.CREDITED]), ("out", one[Figure.OUT]), ("lost", one.lost)),
            whole(one),
            longest,
        )
        for name, one in sorted(found.items())
    )


def _ages(found: Sequence[rules.Age]) -> tuple[Bar, ...]:
    longest = max((one.amount for one in found), default=ZERO)
    return tuple(
        bar(
            wording.age(one),
            f"{wording.dollars(one.amount)} on {one.claims:,} claim{'' if one.claims == 1 else 's'}",
            (("out", one.amount),),
            one.amount,
            longest,
        )
        for one in found
    )


def _sum(figure: Figure) -> Callable[[Any], Decimal]:
    return lambda row: row.sums[figure]


_OF_PAYERS = (
    Column("credited", "Credited", "money", value=_sum(Figure.CREDITED)),
    Column("out", "Outstanding", "money", value=_sum(Figure.OUT)),
    Column("to_claim", "Can still be claimed", "money", value=_sum(Figure.TO_CLAIM)),
    Column("denied", "Denied", "money", value=_sum(Figure.DENIED)),
    Column("unapproved", "Not approved", "money", value=_sum(Figure.UNAPPROVED)),
    Column("too_late", "Too late to claim", "money", value=_sum(Figure.TOO_LATE)),
)
_ABOVE = Column("above", "Above cost", "money", value=lambda row: row.sums.above)


def _payers(filters: Any, on: dt.date) -> list[SimpleNamespace]:
    return _named(_added_up(filters.period)[1])


def _makers(filters: Any, on: dt.date) -> list[SimpleNamespace]:
    return _named(_added_up(filters.period)[2])


def _table(name: str, rows: Callable[[Any, dt.date], Any], *columns: Column) -> List:
    return List(file=f"money-{name}", caption="", rows=rows, usual="", filters=(Filter("period"),), columns=columns)


TABLES = {
    "payer": _table("payer", _payers, Column("payer", "Payer", value="name"), *_OF_PAYERS, _ABOVE),
    "maker": _table(
        "maker",
        _makers,
        Column("maker", "Manufacturer", value="name"),
        Column("cost", "Cost", "money", value=lambda row: row.sums.cost),
        *_OF_PAYERS,
        Column("customer_paid", "Customer paid", "money", value=_sum(Figure.CUSTOMER_PAID)),
        Column("customer_owes", "Customer owes", "money", value=_sum(Figure.CUSTOMER_OWES)),
        Column("ours", "Ours", "money", value=_sum(Figure.OURS)),
        _ABOVE,
    ),
    "age": _table(
        "age",
        lambda filters, on: _out_by_age(filters.period, on=on),
        Column("days", "Filed", value=wording.age),
        Column("claims", "Claims", "number"),
        Column("amount", "Outstanding", "money"),
    ),
    "hours": _table(
        "hours",
        lambda filters, on: _hours(filters.period),
        Column("maker", "Manufacturer", value="name"),
        Column("failures", "Failures", "number"),
        Column("hours", "Hours", "number"),
        Column("cost", "Cost", "money"),
    ),
    "waits": _table(
        "waits",
        lambda filters, on: _waits(filters.period),
        Column("payer", "Payer", value="payer_name"),
        Column("claims", "Claims credited", "number"),
        Column("median", "Median days", "number"),
        Column("slowest", "Slowest, days", "number"),
    ),
    "denied": DENIED,
    "missed": MISSED,
}


def rows(of: str, period: Period, *, on: dt.date) -> Iterator[tuple[Cell, ...]]:
    """The cells of every row of one table."""
    table = TABLES[of]
    return table.all(table.filters_for(period=period), on=on)
