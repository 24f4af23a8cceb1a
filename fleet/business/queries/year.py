"""The year ahead as its page shows it, from what was worked out last; and the work to sell, as a list."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from fleet import models
from fleet.business.pages import year as pages
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Row, Table
from fleet.elements.listing import Filter, List, Listing, text_in
from fleet.elements.named import local_moment
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules import hours, revenue, words
from fleet.rules.dates import DAY, add_months
from fleet.rules.registration import State as Registered
from fleet.rules.wording import money as money_words
from fleet.rules.wording import year as wording

FIRST = 8
_HOUR, _CENT, _ZERO = Decimal(60), Decimal("0.01"), Decimal(0)


def page(*, months: int, waiting: bool, on: dt.date) -> pages.YearPage:
    """So many whole months after the running one, as they were worked out last, and the running one beside them."""
    row = models.Outlook.objects.first()
    if row is None:
        return pages.YearPage(months, "", waiting)
    content = row.content
    running, ahead = _ahead(row, months, on=on)
    offers = OFFERS.first(FIRST, on=on)
    totals = {band: sum((month.money[band] for month in ahead), _ZERO) for band in pages.BANDS}
    return pages.YearPage(
        months,
        wording.worked_out(_moment(row), waiting=waiting),
        waiting,
        sentences=tuple(filter(None, _sentences(content, ahead, totals, _on_offer(offers.selected)))),
        running=_running(running, on=on),
        drawing=_drawing(ahead),
        by_month=Table(MONTHS.columns, MONTHS.shown(ahead, on=on), len(ahead)),
        each=Table(_EACH, tuple(_each(content, ahead, totals)), len(pages.BANDS)),
        others=_others(content),
        offers=offers,
        without_sheet=care_sheet() is None,
        nothing=not any(totals.values()),
    )


def _moment(row: models.Outlook) -> str:
    return local_moment(row.at)


def _ahead(row: models.Outlook, months: int, *, on: dt.date) -> tuple[pages.Ahead | None, list[pages.Ahead]]:
    """The running month, and so many after it. An outlook of a former month has its first months behind it."""
    running = on.replace(day=1)
    after = add_months(running, 1)
    every = _months(row.content["months"])
    ahead = [month for month in every if month.first >= after]
    return next((month for month in every if month.first == running), None), ahead[:months]


def _months(stored: Sequence[Mapping[str, Any]]) -> list[pages.Ahead]:
    days = [dt.date.fromisoformat(month["month"]) for month in stored]
    on_hand = house.hours_on_hand(days[0], days[-1])
    return [
        pages.Ahead(
            day,
            {band: Decimal(month["money"][band]) for band in pages.BANDS},
            {band: Decimal(month["minutes"][band]) for band in pages.BANDS},
            month["minutes_due"] / _HOUR,
            month["minutes_late"] / _HOUR,
            on_hand.get(day),
            _visits(month["beyond"]),
            _visits(month["booked"]),
        )
        for day, month in zip(days, stored, strict=True)
    ]


def _visits(stored: Mapping[str, Any]) -> pages.Visits:
    return pages.Visits(stored["visits"], Decimal(stored["price"]))


def _sum(each: Iterable[pages.Visits]) -> pages.Visits:
    visits = tuple(each)
    return pages.Visits(sum(one.count for one in visits), sum((one.price for one in visits), _ZERO))


def _running(month: pages.Ahead | None, *, on: dt.date) -> str:
    if month is None:
        return ""
    on_hand = month.hours_on_hand
    if on_hand is not None:
        on_hand = hours.still_on_hand(on_hand, house.working_days(), today=on)
    bands = [(pages.TITLES[band].lower(), month.money[band]) for band in pages.BANDS]
    return wording.running(month.first, bands, month.hours_due, month.hours_overdue, on_hand)


def _sentences(
    content: Mapping[str, Any], ahead: Sequence[pages.Ahead], totals: Mapping[str, Decimal], on_offer: str
) -> Iterator[str]:
    rate = revenue.RenewalRate(Decimal(content["rate"]["rate"]), measured=content["rate"]["measured"])
    last_day = add_months(ahead[-1].first, 1) - DAY
    yield wording.contracted(totals["contracted"], len(ahead), last_day, content["sites_sold"])
    yield wording.renewals(totals["renewals"], rate)
    yield on_offer
    short = [
        (month.first, month.hours_on_hand, month.hours_due - month.hours_on_hand)
        for month in ahead
        if month.hours_on_hand is not None and month.hours_due > month.hours_on_hand
    ]
    unknown = sum(month.hours_on_hand is None for month in ahead)
    overdue = sum((month.hours_overdue for month in ahead), _ZERO)
    yield wording.hours(sum((month.hours_due for month in ahead), _ZERO), short, unknown, overdue)
    beyond, booked = _sum(month.beyond for month in ahead), _sum(month.booked for month in ahead)
    yield wording.beyond(beyond.count, beyond.price)
    yield wording.booked(booked.count, booked.price)


def _others(content: Mapping[str, Any]) -> tuple[str, ...]:
    ending, claims, registration = content["ending"], content["claims"], content["registration"]
    payers = {payer: sum(one["coverages"] for one in ending if one["payer"] == payer) for payer in _payers(ending)}
    closes = registration["next_closes_on"]
    return (
        wording.ending(sum(payers.values()), list(payers.items())),
        wording.claims(
            Decimal(claims["out"]),
            claims["claims_out"],
            Decimal(claims["recovered"]),
            Decimal(claims["claimable"]),
        ),
        wording.registration(
            _units(Registered.TO_DO),
            _units(Registered.MISSED),
            None if closes is None else dt.date.fromisoformat(closes),
        ),
    )


def _units(state: Registered) -> int:
    """The units that a registration is in a state of, each once, as people count them."""
    return models.HoldingRow.objects.filter(registration=state).values("unit").distinct().count()


def _payers(ending: Iterable[Mapping[str, Any]]) -> Iterable[str]:
    ending_for = {one["payer"] for one in ending}
    return [payer for payer in words.PAYERS if payer in ending_for]


# ------------------------------------------------------------------------------------------------------- drawn, and tables


def _drawing(ahead: Sequence[pages.Ahead]) -> pages.Drawing:
    top = pages.nice(max(month.money[band] for month in ahead for band in pages.BANDS))
    words = [
        wording.month(month.first, [(pages.TITLES[band].lower(), month.money[band]) for band in pages.BANDS])
        for month in ahead
    ]
    strips = []
    for band in pages.BANDS:
        values = [month.money[band] for month in ahead]
        total = money_words.dollars(sum(values, _ZERO))
        bars = pages.bars(band, values, top, words)
        strips.append(pages.Strip(band, pages.TITLES[band], total, _round(top), bars))
    return pages.Drawing((*strips, _hours(ahead)))


def _hours(ahead: Sequence[pages.Ahead]) -> pages.Strip:
    top = pages.nice(max(max(month.hours_due, month.hours_on_hand or _ZERO) for month in ahead))
    words = [f"{month.first:%B %Y}: {wording.tenths(month.hours_due)} h needed, {_on_hand(month)}" for month in ahead]
    within_hours = [min(month.hours_due, _limit(month)) for month in ahead]
    more = [month.hours_due - inside for month, inside in zip(ahead, within_hours, strict=True)]
    due = pages.bars("due", within_hours, top, words)
    above = [_lifted(bar, due[place]) for place, bar in enumerate(pages.bars("short", more, top, words)) if bar.height]
    lines = tuple(
        pages.Line(
            pages.percent(place + 0.04, len(ahead)),
            pages.percent(place + 0.96, len(ahead)),
            pages.HEAD + pages.HIGH - int(month.hours_on_hand / top * pages.HIGH),
        )
        for place, month in enumerate(ahead)
        if month.hours_on_hand is not None
    )
    total = wording.tenths(sum((month.hours_due for month in ahead), _ZERO))
    return pages.Strip(
        "hours",
        "Hours needed",
        total,
        f"{top:,f} h",
        (*due, *above),
        lines,
        pages.ticks([month.first for month in ahead]),
    )


def _limit(month: pages.Ahead) -> Decimal:
    return month.hours_due if month.hours_on_hand is None else month.hours_on_hand


def _lifted(bar: pages.Bar, below: pages.Bar) -> pages.Bar:
    return pages.Bar(bar.sort, bar.x, bar.width, below.y - bar.height, bar.height, bar.words)


def _on_hand(month: pages.Ahead) -> str:
    return (
        "hours on hand not entered"
        if month.hours_on_hand is None
        else wording.compared(month.hours_on_hand, month.hours_due - month.hours_on_hand)
    )


def _round(top: Decimal) -> str:
    return f"${top:,.0f}"


def _compared(month: pages.Ahead) -> str:
    if month.hours_on_hand is None:
        return "not entered"
    short = month.hours_due - month.hours_on_hand
    return f"{wording.tenths(short)} h short" if short > 0 else "enough"


def _all_months(filters: Any, on: dt.date) -> list[pages.Ahead]:
    row = models.Outlook.objects.first()
    return [] if row is None else _ahead(row, filters.months, on=on)[1]


MONTHS = List(
    file="year-ahead",
    caption="Money and hours by month",
    rows=_all_months,
    usual="",
    filters=(Filter("months", usual=pages.CHOICES[0]),),
    columns=(
        Column("month", "Month", "month", value="first"),
        Column("contracted", "Contracted", "money", value=lambda month: month.money["contracted"]),
        Column("renewals", "Renewals", "money", value=lambda month: month.money["renewals"]),
        Column("on_offer", "Work to sell", "money", value=lambda month: month.money["on offer"]),
        Column("hours_due", "Hours needed", "figure", value=lambda month: _cents(month.hours_due)),
        Column("hours_on_hand", "Hours on hand", "figure"),
        Column("short", "Enough?", value=_compared),
    ),
)
_EACH = (
    Column("band", "Band"),
    Column("amount", "In these months", "money"),
    Column("heads", "Heads", "number"),
    Column("per_head", "For each head", "money"),
    Column("hours", "Technician hours", "figure"),
    Column("per_hour", "For each technician hour", "money"),
)


def _each(content: Mapping[str, Any], ahead: Sequence[pages.Ahead], totals: Mapping[str, Decimal]) -> Iterator[Row]:
    for band in pages.BANDS:
        heads = content["heads"]["offered" if band == "on offer" else "sold"]
        hours = sum((month.minutes[band] for month in ahead), _ZERO) / _HOUR
        values = (
            pages.TITLES[band],
            totals[band],
            heads,
            _cents(totals[band] / heads) if heads else None,
            hours,
            _cents(totals[band] / hours) if hours else None,
        )
        yield Row(tuple(map(Cell, values)))


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)


# ------------------------------------------------------------------------------------------------------------ work to sell


def _say(row: models.Offer) -> str:
    return wording.offer(row.heads, row.tasks, row.late, row.first_on, row.price)


def _on_offer(offers: QuerySet[models.Offer]) -> str:
    sums = offers.aggregate(price=Sum("price"), sites=Count("pk"))
    return wording.on_offer(sums["price"] or _ZERO, sums["sites"])


def _lead(listing: Listing) -> dict[str, Any]:
    row = models.Outlook.objects.first()
    return {
        "sentence": _on_offer(listing.selected),
        "worked_out": "" if row is None else wording.worked_out(_moment(row), waiting=False),
    }


OFFERS = List(
    file="on-offer",
    caption="Work to sell within a year",
    rows=lambda filters, on: models.Offer.objects.select_related("site__customer"),
    lead=_lead,
    usual="-price",
    tie=("site_id",),
    columns=(
        named.customer("site__customer", with_phone=True),
        Column("phone", "Phone", value="site.customer.phone", shown=False),
        named.site("site", "site_care"),
        Column("heads", "Heads", "number", order=("heads",)),
        Column("tasks", "Tasks", "number", order=("tasks",)),
        Column("late", "Overdue", "number", value=lambda row: row.late or None, order=("late",)),
        Column("visits", "Visits", "number"),
        Column("first_on", "First visit", "day", order=("first_on",)),
        Column("price", "List price", "money", order=("price",)),
        Column("say", "What to say", value=_say),
    ),
    filters=(
        Filter("late", "Which", [("late", "with overdue tasks")], blank="all", where=lambda late: Q(late__gt=0)),
        Filter("text", "Customer, site or town has", where=text_in("site__name", "site__city", "site__customer__name")),
    ),
)
