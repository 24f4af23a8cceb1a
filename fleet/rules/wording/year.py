"""The year ahead in plain English."""

import datetime as dt
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from fleet.rules.dates import in_words
from fleet.rules.revenue import RenewalRate
from fleet.rules.wording.money import dollars

_HOUR, _NO_HOURS = Decimal(60), Decimal(0)


def contracted(amount: Decimal, months: int, last_day: dt.date, sites: int) -> str:
    """Write what agreements bill in whole months, through a last day.

    >>> through = dt.date(2027, 11, 30)
    >>> contracted(Decimal("3200.00"), 12, through, 18).replace(in_words(through), "that day")
    'In the 12 months through that day, agreements already in place bill $3,200.00. They cover 18 sites today.'
    >>> contracted(Decimal(0), 12, through, 1).replace(in_words(through), "that day")
    'In the 12 months through that day, agreements already in place bill $0.00. They cover 1 site today.'
    """
    covered = "1 site" if sites == 1 else f"{sites:,} sites"
    return (
        f"In the {months} months through {in_words(last_day)}, agreements already in place bill"
        f" {dollars(amount)}. They cover {covered} today."
    )


def running(
    first: dt.date,
    bands: Sequence[tuple[str, Decimal]],
    due: Decimal,
    overdue: Decimal,
    on_hand: Decimal | None,
) -> str:
    """Write what is left of the running month, which stands beside the whole ones.

    >>> running(dt.date(2026, 11, 1), [("contracted", Decimal("20.00"))], Decimal(36), Decimal("30.5"), Decimal("23.8"))
    'The rest of November 2026 comes on top of that: $20.00 contracted; visits need 36 h, 30.5 h of it overdue; 23.8 h still on hand.'
    >>> running(dt.date(2026, 11, 1), [("contracted", Decimal(0))], Decimal(0), Decimal(0), None)
    'The rest of November 2026 comes on top of that: $0.00 contracted; visits need 0 h.'
    """
    money = ", ".join(f"{dollars(amount)} {band}" for band, amount in bands)
    parts = [money, f"visits need {tenths(due)} h{_overdue(overdue)}"]
    if on_hand is not None:
        parts.append(f"{tenths(on_hand)} h still on hand")
    return f"The rest of {first:%B %Y} comes on top of that: {'; '.join(parts)}."


def _overdue(hours_: Decimal) -> str:
    return f", {tenths(hours_)} h of it overdue" if hours_ else ""


def booked(visits: int, price: Decimal) -> str:
    """Write the visits that are booked where no agreement pays for them, nothing where there are none.

    >>> booked(2, Decimal("412.00"))
    '2 visits are booked where no agreement pays for them, $412.00 at list price.'
    >>> booked(0, Decimal(0))
    ''
    """
    if not visits:
        return ""
    which = (
        "1 visit is booked where no agreement pays for it"
        if visits == 1
        else (f"{visits:,} visits are booked where no agreement pays for them")
    )
    return f"{which}, {dollars(price)} at list price."


def renewals(amount: Decimal, rate: RenewalRate) -> str:
    """Write what renewals would bring, and where the rate comes from.

    >>> renewals(Decimal("900.00"), RenewalRate(Decimal("0.85"), measured=False))
    'Renewals would add $900.00 if 85% renew. That is your own figure; fewer than 20 have come up so far.'
    >>> renewals(Decimal("900.00"), RenewalRate(Decimal("0.75"), measured=True))
    'Renewals would add $900.00 if 75% renew, the share that has renewed so far.'
    """
    share = f"{(rate.rate * 100).quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f}%"
    whose = (
        ", the share that has renewed so far."
        if rate.measured
        else ". That is your own figure; fewer than 20 have come up so far."
    )
    return f"Renewals would add {dollars(amount)} if {share} renew{whose}"


def on_offer(amount: Decimal, sites: int) -> str:
    """Write what could be sold: the work that falls due where there is no agreement.

    >>> on_offer(Decimal("41000.00"), 52)
    'Work to sell: 52 sites without an agreement have work due in the 12 months from today, $41,000.00 at list price.'
    >>> on_offer(Decimal(0), 0)
    'No work to sell: agreements cover everything that comes due.'
    """
    if not amount:
        return "No work to sell: agreements cover everything that comes due."
    where = "1 site without an agreement has" if sites == 1 else f"{sites:,} sites without an agreement have"
    return f"Work to sell: {where} work due in the 12 months from today, {dollars(amount)} at list price."


def beyond(visits: int, price: Decimal) -> str:
    """Write the visits that agreements did not sell, nothing where there are none.

    >>> beyond(3, Decimal("412.00"))
    '3 planned visits go beyond what agreements include, $412.00 at list price. Decide who pays for them.'
    >>> beyond(0, Decimal(0))
    ''
    """
    if not visits:
        return ""
    count, them = ("1 planned visit goes", "it") if visits == 1 else (f"{visits:,} planned visits go", "them")
    return f"{count} beyond what agreements include, {dollars(price)} at list price. Decide who pays for {them}."


def hours(
    due: Decimal, short: Sequence[tuple[dt.date, Decimal, Decimal]], unknown: int, overdue: Decimal = _NO_HOURS
) -> str:
    """Write the hours that visits need, how many are overdue, and the months that have fewer on hand: on hand, and short.

    >>> hours(Decimal("540.5"), [(dt.date(2026, 12, 1), Decimal(60), Decimal("37.25"))], 0)
    'Visits need 540.5 h. December 2026: 60 h on hand, 37.3 h short.'
    >>> hours(Decimal(100), [], 2)
    'Visits need 100 h. Every month entered has enough; 2 months are not entered.'
    >>> hours(Decimal(100), [], 12, Decimal(50))
    'Visits need 100 h, 50 h of it overdue.'
    """
    needed = f"Visits need {tenths(due)} h{_overdue(overdue)}"
    if short:
        months = "; ".join(f"{month:%B %Y}: {compared(on_hand, more)}" for month, on_hand, more in short[:3])
        others = f"; {len(short) - 3} more months are short" if len(short) > 3 else ""
        return f"{needed}. {months}{others}."
    if unknown >= 12:
        return f"{needed}."
    left = f"; {unknown} month{' is' if unknown == 1 else 's are'} not entered" if unknown else ""
    return f"{needed}. Every month entered has enough{left}."


def compared(on_hand: Decimal, short: Decimal) -> str:
    """Write hours on hand beside those that are short.

    >>> compared(Decimal(60), Decimal(50)), compared(Decimal(60), Decimal(-5))
    ('60 h on hand, 50 h short', '60 h on hand, enough')
    """
    return f"{tenths(on_hand)} h on hand, {f'{tenths(short)} h short' if short > 0 else 'enough'}"


def tenths(hours_: Decimal) -> str:
    """Write hours to the tenth.

    >>> tenths(Decimal("1.25")), tenths(Decimal("1204"))
    ('1.3', '1,204')
    """
    rounded = hours_.quantize(Decimal("0.1"), ROUND_HALF_UP)
    return f"{rounded:,f}".removesuffix(".0")


_WHOSE = {"maker": "the manufacturer's", "labor plan": "a labor plan's", "installer": "our own"}


def ending(coverages: int, payers: Sequence[tuple[str, int]]) -> str:
    """Write how many coverages end, and whose they are.

    >>> ending(300, [("maker", 260), ("installer", 40)])
    "300 coverages end within a year: 260 are the manufacturer's, 40 our own."
    >>> ending(1, [("maker", 1)]), ending(0, [])
    ("1 coverage ends within a year: the manufacturer's.", 'No coverage ends within a year.')
    """
    if not coverages:
        return "No coverage ends within a year."
    if coverages == 1:
        return f"1 coverage ends within a year: {_WHOSE[payers[0][0]]}."
    first, *others = (f"{number:,}{{}} {_WHOSE[payer]}" for payer, number in payers)
    whose = ", ".join([first.format(" is" if payers[0][1] == 1 else " are"), *(one.format("") for one in others)])
    return f"{coverages:,} coverages end within a year: {whose}."


def registration(to_do: int, missed: int, closes: dt.date | None) -> str:
    """Write how many units are to be registered, the next by when, and for how many that was missed.

    >>> registration(31, 4, dt.date(2026, 11, 26))
    '31 units to register, the next by November 26, 2026; 4 missed.'
    >>> registration(0, 0, None)
    'No units to register; none missed.'
    """
    first = (
        "No units to register" if not to_do else "1 unit to register" if to_do == 1 else f"{to_do:,} units to register"
    )
    by = f", the next by {in_words(closes)}" if to_do and closes else ""
    return f"{first}{by}; {f'{missed:,}' if missed else 'none'} missed."


def claims(out: Decimal, count: int, recovered: Decimal, claimable: Decimal) -> str:
    """Write the money of claims.

    >>> claims(Decimal("475.75"), 5, Decimal("1212.00"), Decimal("2000.00"))
    '$475.75 is out on 5 claims. Of the $2,000.00 that could be claimed for last year’s failures, $1,212.00 came back.'
    """
    out_now = (
        "Nothing is out on claims"
        if not out
        else f"{dollars(out)} is out on {count:,} claim{'' if count == 1 else 's'}"
    )
    if not claimable:
        return f"{out_now}."
    return f"{out_now}. Of the {dollars(claimable)} that could be claimed for last year\N{RIGHT SINGLE QUOTATION MARK}s failures, {dollars(recovered)} came back."


def offer(heads: int, tasks: int, late: int, first_on: dt.date, price: Decimal) -> str:
    """Write what to say to a customer on the telephone.

    >>> offer(3, 9, 2, dt.date(2026, 12, 4), Decimal("640.00"))
    'Your 3 heads have 9 maintenance tasks due within a year, 2 of them overdue. We could come on December 4, 2026. At list price the year is $640.00.'
    >>> offer(0, 1, 0, dt.date(2026, 12, 4), Decimal("60.00"))
    'Your system has 1 maintenance task due within a year. We could come on December 4, 2026. At list price the year is $60.00.'
    """
    whose = "Your system has" if not heads else "Your head has" if heads == 1 else f"Your {heads} heads have"
    overdue = f", {late} of them overdue" if late else ""
    return (
        f"{whose} {tasks} maintenance task{'' if tasks == 1 else 's'} due within a year{overdue}. We could come on"
        f" {in_words(first_on)}. At list price the year is {dollars(price)}."
    )


def month(name: dt.date, bands: Sequence[tuple[str, Decimal]]) -> str:
    """Write one month of a drawing.

    >>> month(dt.date(2026, 12, 1), [("contracted", Decimal("20.00"))])
    'December 2026: $20.00 contracted'
    """
    return f"{name:%B %Y}: {', '.join(f'{dollars(amount)} {band}' for band, amount in bands)}"


def worked_out(moment: str, *, waiting: bool) -> str:
    """When the year was worked out, and whether that is being done again, in a sentence or two.

    >>> worked_out("November 25, 2026, 4:12 AM", waiting=False)
    'Worked out on November 25, 2026, 4:12 AM.'
    """
    again = " Something has changed since; it is being worked out again." if waiting else ""
    return f"Worked out on {moment}.{again}"


def hours_entered(year: int, months: int, hours_: Decimal) -> str:
    """Write how much of a year's hours on hand is known.

    >>> hours_entered(2027, 12, Decimal(840))
    'The technicians have 840 h in 2027.'
    >>> hours_entered(2027, 1, Decimal("60.5")), hours_entered(2027, 0, Decimal(0))
    ('60.5 h are entered for 1 of the 12 months of 2027.', 'No hours are entered for 2027 yet.')
    """
    if not months:
        return f"No hours are entered for {year} yet."
    if months == 12:
        return f"The technicians have {tenths(hours_)} h in {year}."
    return f"{tenths(hours_)} h are entered for {months} of the 12 months of {year}."
