"""Every condition that a tier may ask: yes, no or open, and why."""

import datetime as dt
from bisect import bisect_left

from fleet.rules import registration
from fleet.rules.dates import DAY, add_months, limit
from fleet.rules.facts import Holding, Site, Unit
from fleet.rules.findings import Code, Judgement, Reason, Verdict

# Facts of the unit that answer a condition as they stand.
_RECORDED = {
    "recognized installer": "recognized_installer",
    "licensed installer": "licensed_installer",
}
_USES = ("owner home", "rental", "business")


def judge(condition: str, unit: Unit, holding: Holding, *, start: dt.date, on: dt.date, asked: dt.date) -> Judgement:
    """Judge one condition for a failure on a day; the day of asking only decides whether a limit has passed."""
    if condition == "registered":
        return registration.judge(unit, holding, start=start, asked=asked)
    if condition == "first owner":
        return _first_owner(unit, holding, start=start, on=on, asked=asked)
    if condition == "yearly maintenance":
        return _yearly_maintenance(unit, start=start, on=on)
    if condition in _USES:
        use = unit.site_on(on).use_on(on)
        return _plain(condition, None if not use else use == condition)
    if condition == "original site":
        if unit.moved_on is not None and unit.moved_on <= on:
            return Judgement(Verdict.NO, (Reason(Code.CONDITION_FAILED, what=condition, day=unit.moved_on),))
        return _plain(condition, unit.original_site)
    if condition == "away from coast":
        return _plain(condition, "coast" not in unit.surroundings)
    if condition == "matched system":
        match = unit.match_on(on)
        return (
            _plain(condition, unit.matched_system) if match is None else _plain(condition, match.matched, match.first)
        )
    return _plain(condition, getattr(unit, _RECORDED[condition]))


def _plain(
    condition: str,
    known: bool | None,  # noqa: FBT001 - the three-valued fact is the subject itself
    since: dt.date | None = None,
) -> Judgement:
    if known is None:
        return Judgement(Verdict.OPEN, (Reason(Code.CONDITION_OPEN, what=condition, day=since),))
    if known:
        return Judgement(Verdict.YES, (Reason(Code.CONDITION_MET, what=condition, day=since),))
    return Judgement(Verdict.NO, (Reason(Code.CONDITION_FAILED, what=condition, day=since),))


def _first_owner(unit: Unit, holding: Holding, *, start: dt.date, on: dt.date, asked: dt.date) -> Judgement:
    """Yes unless the house was sold after the start and on or before the failure; each such sale must have gone along."""
    found = [
        _sale(sold_on, next_sale, site, holding, asked=asked)
        for sold_on, next_sale, site in _sales(unit)
        if start < sold_on <= on
    ]
    if not found:
        return _plain("first owner", known=True)
    for verdict in (Verdict.NO, Verdict.OPEN):
        deciding = tuple(reason for sale_verdict, reason in found if sale_verdict is verdict)
        if deciding:
            return Judgement(verdict, deciding)
    return Judgement(Verdict.YES, tuple(reason for _, reason in found))


def notice_by(unit: Unit, holding: Holding, *, start: dt.date, asked: dt.date) -> tuple[dt.date, dt.date] | None:
    """The sale that the payer can still be told of in time, and the last day for it; None where there is none.

    Of several such sales the one whose last day comes first.
    """
    open_notices = [
        (reason.until, reason.day)
        for sold_on, next_sale, site in _sales(unit)
        if start < sold_on <= asked
        for _, reason in [_sale(sold_on, next_sale, site, holding, asked=asked)]
        if reason.code is Code.NOTIFY_BY and reason.until is not None and reason.day is not None
    ]
    last, sold_on = min(open_notices, default=(None, None))
    return None if last is None or sold_on is None else (sold_on, last)


def _sales(unit: Unit) -> list[tuple[dt.date, dt.date | None, Site]]:
    """List the sales of the house the unit stood in, each with the next one; a new house's closing is no sale."""
    found = []
    for number, stay in enumerate(unit.stays):
        left_on = unit.stays[number + 1].first if number + 1 < len(unit.stays) else None
        closed_on = stay.site.closed_on
        sold = [day for day in sorted(set(stay.site.sold_on)) if closed_on is None or day > closed_on]
        for place, day in enumerate(sold):
            if (stay.first is None or stay.first <= day) and (left_on is None or day < left_on):
                found.append((day, sold[place + 1] if place + 1 < len(sold) else None, stay.site))
    return found


def _sale(
    sold_on: dt.date, next_sale: dt.date | None, site: Site, holding: Holding, *, asked: dt.date
) -> tuple[Verdict, Reason]:
    rules = holding.terms.transfer
    if rules is None:
        return Verdict.NO, Reason(Code.SOLD, day=sold_on)
    lawful = [place for place in rules.automatic_in if place.first is None or sold_on >= place.first]
    if rules.rule == "automatic" or any(place.region == site.region for place in lawful):
        return Verdict.YES, Reason(Code.TRANSFER_AUTOMATIC, day=sold_on)
    no = Reason(Code.SOLD, day=sold_on)
    if rules.rule == "notice":
        within = limit(sold_on, rules.within_days or 0)
        last = within if next_sale is None else min(within, next_sale - DAY)
        given = [day for day in holding.notified_on if sold_on <= day <= last]
        if given:
            return Verdict.YES, Reason(Code.TRANSFER_IN_TIME, day=min(given), until=last)
        if asked <= last:
            return Verdict.OPEN, Reason(Code.NOTIFY_BY, day=sold_on, until=last)
        no = Reason(Code.TRANSFER_MISSED, day=sold_on, until=last)
    if lawful and not site.region:
        return Verdict.OPEN, Reason(Code.PLACE_UNKNOWN, what="region", day=sold_on)
    return Verdict.NO, no


def _yearly_maintenance(unit: Unit, *, start: dt.date, on: dt.date) -> Judgement:
    """Ask for a technician's record in each twelve months that were complete on the day of the failure."""
    gaps = tuple(
        Reason(Code.MAINTENANCE_GAP, day=first, until=after - DAY)
        for first, after in complete_years(start, on)
        if not _has_day(unit.maintained_on, first, after)
    )
    if gaps:
        return Judgement(Verdict.OPEN, gaps)
    return _plain("yearly maintenance", known=True)


def complete_years(start: dt.date, on: dt.date) -> list[tuple[dt.date, dt.date]]:
    """List the twelve-month periods from a start that were complete on a day: each as its first day and the day after it."""
    found = []
    first, months = start, 12
    while (after := add_months(start, months)) <= on:
        found.append((first, after))
        first, months = after, months + 12
    return found


def _has_day(days: tuple[dt.date, ...], first: dt.date, after: dt.date) -> bool:
    place = bisect_left(days, first)
    return place < len(days) and days[place] < after


def changes(unit: Unit, holding: Holding) -> set[dt.date]:
    """List the days on which some condition may be judged otherwise than the day before, but for yearly maintenance.

    A limit of registration or of notice has passed, the house is sold, its use changes, the unit stands elsewhere, the
    outdoor unit of its system was exchanged.
    """
    found = {stay.first for stay in unit.stays if stay.first is not None}
    found |= {match.first for match in unit.matches}
    found |= {use.first for stay in unit.stays for use in stay.site.uses if use.first is not None}
    last = registration.deadline(unit, holding)
    if last is not None:
        found.add(last + DAY)
    sales = {sold_on for sold_on, _, _ in _sales(unit)}
    rules = holding.terms.transfer
    if rules is not None and rules.rule == "notice":
        found |= {limit(sold_on, rules.within_days or 0) + DAY for sold_on in sales}
    return found | sales
