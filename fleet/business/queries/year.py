"""The year ahead as its page shows it, from what was worked out last; and what is on offer, as a list."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db.models import Q, QuerySet, Sum
from django.utils import timezone

from fleet import models
from fleet.business.pages import year as pages
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.elements.pieces import moment
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules import revenue, words
from fleet.rules.wording import money as money_words
from fleet.rules.wording import year as wording

CHUNK = 500
FIRST = 8
_HOUR, _CENT, _ZERO = Decimal(60), Decimal("0.01"), Decimal(0)
_ORDER = {
    "price": ("price", "site_id"),
    "first_on": ("first_on", "site_id"),
    "late": ("late", "site_id"),
    "heads": ("heads", "site_id"),
    "tasks": ("tasks", "site_id"),
    "customer": ("site__customer__name", "site_id"),
    "site": ("site__name", "site_id"),
}
_FIELDS = (
    "site_id", "heads", "tasks", "visits", "late", "first_on", "price", "site__name", "site__customer_id",
    "site__customer__name", "site__customer__phone",
)  # fmt: skip
USUAL = "-price"


def page(*, months: int, waiting: bool) -> pages.YearPage:
    """Show so many months ahead, as they were worked out last."""
    row = models.Outlook.objects.first()
    if row is None:
        return pages.YearPage(months, "", waiting)
    content = row.content
    ahead = _months(content["months"][:months])
    calls = tuple(map(_call, _ordered(models.Offer.objects.all(), Sort("price", falling=True))[:FIRST]))
    count = models.Offer.objects.count()
    totals = {band: sum((month.money[band] for month in ahead), _ZERO) for band in pages.BANDS}
    return pages.YearPage(
        months,
        wording.worked_out(_moment(row), waiting=waiting),
        waiting,
        sentences=tuple(filter(None, _sentences(content, ahead, totals, count))),
        drawing=_drawing(ahead),
        by_month=pages.Table(pages.MONTH_COLUMNS, tuple(map(_month_row, ahead))),
        each=pages.Table(pages.EACH_COLUMNS, tuple(_each(content, totals, months))),
        others=_others(content),
        calls=calls,
        offer_count=count,
        without_sheet=care_sheet() is None,
        nothing=not any(totals.values()),
    )


def _moment(row: models.Outlook) -> str:
    return moment(row.at.astimezone(timezone.get_default_timezone()))


def _months(told: Sequence[Mapping[str, Any]]) -> list[pages.Ahead]:
    days = [dt.date.fromisoformat(month["month"]) for month in told]
    on_hand = house.hours_on_hand(days[0], days[-1])
    return [
        pages.Ahead(
            day,
            {band: Decimal(month["money"][band]) for band in pages.BANDS},
            month["minutes_due"] / _HOUR,
            on_hand.get(day),
        )
        for day, month in zip(days, told, strict=True)
    ]


def _sentences(
    content: Mapping[str, Any], ahead: Sequence[pages.Ahead], totals: Mapping[str, Decimal], offers: int
) -> Iterator[str]:
    rate = revenue.RenewalRate(Decimal(content["rate"]["rate"]), measured=content["rate"]["measured"])
    yield wording.contracted(totals["contracted"], len(ahead), content["sites_sold"])
    yield wording.renewals(totals["renewals"], rate)
    yield wording.on_offer(totals["on offer"], offers)
    short = [
        (month.first, month.hours_due - month.hours_on_hand)
        for month in ahead
        if month.hours_on_hand is not None and month.hours_due > month.hours_on_hand
    ]
    unknown = sum(month.hours_on_hand is None for month in ahead)
    yield wording.hours(sum((month.hours_due for month in ahead), _ZERO), short, unknown)
    yield wording.beyond(content["beyond"]["visits"], Decimal(content["beyond"]["price"]))


def _others(content: Mapping[str, Any]) -> tuple[str, ...]:
    ending, claims, registration = content["ending"], content["claims"], content["registration"]
    payers = {payer: sum(one["coverages"] for one in ending if one["payer"] == payer) for payer in _payers(ending)}
    closes = registration["next_closes_on"]
    return (
        wording.ending(sum(payers.values()), 0, list(payers.items())),
        wording.claims(
            Decimal(claims["out"]),
            claims["claims_out"],
            Decimal(claims["recovered"]),
            Decimal(claims["claimable"]),
        ),
        wording.registration(
            registration["to do"], registration["missed"], None if closes is None else dt.date.fromisoformat(closes)
        ),
    )


def _payers(ending: Iterable[Mapping[str, Any]]) -> Iterable[str]:
    found = {one["payer"] for one in ending}
    return [payer for payer in words.PAYERS if payer in found]


# ------------------------------------------------------------------------------------------------------- drawn, and tables


def _drawing(ahead: Sequence[pages.Ahead]) -> pages.Drawing:
    top = pages.nice(max(month.money[band] for month in ahead for band in pages.BANDS))
    words = [wording.month(month.first, [(band, month.money[band]) for band in pages.BANDS]) for month in ahead]
    strips = []
    for band in pages.BANDS:
        values = [month.money[band] for month in ahead]
        total = money_words.dollars(sum(values, _ZERO))
        bars = pages.bars(band, values, top, words)
        strips.append(pages.Strip(band, pages.TITLES[band], total, _round(top), bars))
    return pages.Drawing((*strips, _hours(ahead)))


def _hours(ahead: Sequence[pages.Ahead]) -> pages.Strip:
    top = pages.nice(max(max(month.hours_due, month.hours_on_hand or _ZERO) for month in ahead))
    words = [f"{month.first:%B %Y}: {wording.tenths(month.hours_due)} hours due, {_on_hand(month)}" for month in ahead]
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
        "Hours due",
        total,
        f"{top:,f} hours",
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
        "hours on hand not entered" if month.hours_on_hand is None else f"{wording.tenths(month.hours_on_hand)} on hand"
    )


def _round(top: Decimal) -> str:
    return f"${top:,.0f}"


def _month_row(month: pages.Ahead) -> Row:
    short = None if month.hours_on_hand is None else month.hours_due - month.hours_on_hand
    compared = "not entered" if short is None else f"{wording.tenths(short)} too few" if short > 0 else "enough"
    return (
        Cell(f"{month.first:%B %Y}"),
        *(Cell(month.money[band]) for band in pages.BANDS),
        Cell(wording.tenths(month.hours_due), shape="figure"),
        Cell("" if month.hours_on_hand is None else wording.tenths(month.hours_on_hand), shape="figure"),
        Cell(compared),
    )


def month_rows(*, months: int) -> Iterator[Row]:
    """Give the table of months for a file."""
    row = models.Outlook.objects.first()
    for month in [] if row is None else _months(row.content["months"][:months]):
        told = _month_row(month)
        yield (*told[:4], Cell(_cents(month.hours_due)), Cell(month.hours_on_hand), told[6])


def _each(content: Mapping[str, Any], totals: Mapping[str, Decimal], months: int) -> Iterator[Row]:
    minutes = {
        band: sum((Decimal(month["minutes"][band]) for month in content["months"][:months]), _ZERO)
        for band in pages.BANDS
    }
    for band in pages.BANDS:
        heads = content["heads"]["offered" if band == "on offer" else "sold"]
        hours = minutes[band] / _HOUR
        yield (
            Cell(pages.TITLES[band]),
            Cell(totals[band]),
            Cell(heads),
            Cell(_cents(totals[band] / heads) if heads else None),
            Cell(wording.tenths(hours), shape="figure"),
            Cell(_cents(totals[band] / hours) if hours else None),
        )


def _cents(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)


# --------------------------------------------------------------------------------------------------------- what is on offer


def offers(asked: pages.Asked, *, sort: str, number: int) -> pages.OffersPage:
    """Show one page of what is on offer."""
    row = models.Outlook.objects.first()
    chosen = sort_of(sort, pages.OFFER_COLUMNS, otherwise=USUAL)
    found = _found(asked)
    summed = found.aggregate(price=Sum("price"))
    count = found.count()
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    rows = tuple(_offer_rows(_ordered(found, chosen)[first : first + PER_PAGE]))
    return pages.OffersPage(
        asked,
        Listing(pages.OFFER_COLUMNS, rows, count, chosen, number),
        "" if row is None else wording.worked_out(_moment(row), waiting=False),
        wording.on_offer(summed["price"] or _ZERO, count),
    )


def offer_rows(asked: pages.Asked, *, sort: str) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.OFFER_COLUMNS, otherwise=USUAL)
    yield from _offer_rows(_ordered(_found(asked), chosen).iterator(chunk_size=CHUNK))


def _found(asked: pages.Asked) -> QuerySet[models.Offer]:
    found = models.Offer.objects.all()
    if asked.late:
        found = found.filter(late__gt=0)
    if asked.text:
        found = found.filter(
            Q(site__name__icontains=asked.text)
            | Q(site__city__icontains=asked.text)
            | Q(site__customer__name__icontains=asked.text)
        )
    return found


def _ordered(found: QuerySet[models.Offer], sort: Sort) -> QuerySet[models.Offer, Any]:
    first, rest = _ORDER[sort.name]
    return found.order_by(f"{'-' if sort.falling else ''}{first}", rest).values_list(*_FIELDS, named=True)


def _offer_rows(found: Iterable[Any]) -> Iterator[Row]:
    for row in found:
        yield (
            Cell(row.site__customer__name, Link("customer", row.site__customer_id), note=row.site__customer__phone),
            Cell(row.site__customer__phone),
            Cell(row.site__name, Link("site_care", row.site_id)),
            Cell(row.heads),
            Cell(row.tasks),
            Cell(row.late or None),
            Cell(row.visits),
            Cell(row.first_on),
            Cell(row.price),
            Cell(_say(row)),
        )


def _say(row: Any) -> str:
    return wording.offer(row.heads, row.tasks, row.late, row.first_on, row.price)


def _call(row: Any) -> pages.Call:
    return pages.Call(
        row.site__customer_id,
        row.site__customer__name,
        row.site__customer__phone,
        row.site_id,
        row.site__name,
        _say(row),
    )
