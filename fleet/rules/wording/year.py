"""The year ahead in plain English."""

import datetime as dt
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from fleet.rules.dates import in_words
from fleet.rules.revenue import RenewalRate
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import listed

_HOUR, _NO_HOURS = Decimal(60), Decimal(0)


def contracted(amount: Decimal, months: int, last_day: dt.date, sites: int) -> str:
    """Write what agreements bill in whole months, through a last day.

    >>> through = dt.date(2027, 11, 30)
    >>> contracted(Decimal("3200.00"), 12, through, 18).replace(in_words(through), "that day")
    'In the 12 months through that day, what is agreed already bills $3,200.00; agreements cover 18 sites today.'
    >>> contracted(Decimal(0), 12, through, 1).replace(in_words(through), "that day")
    'In the 12 months through that day, what is agreed already bills $0.00; agreements cover 1 site today.'
    """
    covered = "1 site" if sites == 1 else f"{sites:,} sites"
    return (
        f"In the {months} months through {in_words(last_day)}, what is agreed already bills {dollars(amount)};"
        f" agreements cover {covered} today."
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
    'What is left of November 2026 stands apart: $20.00 contracted; visits ask for 36 h; 30.5 h of it is overdue; 23.8 h still on hand.'
    >>> running(dt.date(2026, 11, 1), [("contracted", Decimal(0))], Decimal(0), Decimal(0), None)
    'What is left of November 2026 stands apart: $0.00 contracted; visits ask for 0 h.'
    """
    money = ", ".join(f"{dollars(amount)} {band}" for band, amount in bands)
    parts = [f"{money}", f"visits ask for {tenths(due)} h", _overdue(overdue)]
    if on_hand is not None:
        parts.append(f"{tenths(on_hand)} h still on hand")
    return f"What is left of {first:%B %Y} stands apart: {'; '.join(filter(None, parts))}."


def _overdue(hours_: Decimal) -> str:
    return f"{tenths(hours_)} h of it is overdue" if hours_ else ""


def booked(visits: int, price: Decimal) -> str:
    """Write the visits that are booked where no agreement pays for them, nothing where there are none.

    >>> booked(2, Decimal("412.00"))
    '2 visits are booked where no agreement pays for them, at $412.00 by the list.'
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
    return f"{which}, at {dollars(price)} by the list."


def renewals(amount: Decimal, rate: RenewalRate) -> str:
    """Write what renewals would bring, and where the rate comes from.

    >>> renewals(Decimal("900.00"), RenewalRate(Decimal("0.85"), measured=False))
    'Renewals would bring $900.00 more if 85% renew, which is your own figure: fewer than 20 have come up so far.'
    >>> renewals(Decimal("900.00"), RenewalRate(Decimal("0.75"), measured=True))
    'Renewals would bring $900.00 more if 75% renew, as those did that have come up so far.'
    """
    share = f"{(rate.rate * 100).quantize(Decimal('0.1'), ROUND_HALF_UP).normalize():f}%"
    whose = (
        "as those did that have come up so far"
        if rate.measured
        else "which is your own figure: fewer than 20 have come up so far"
    )
    return f"Renewals would bring {dollars(amount)} more if {share} renew, {whose}."


def on_offer(amount: Decimal, sites: int) -> str:
    """Write what could be sold: the work that falls due where there is no agreement.

    >>> on_offer(Decimal("41000.00"), 52)
    'Work at 52 sites without an agreement is on offer within a year, at $41,000.00 by the list; none of it is sold.'
    >>> on_offer(Decimal(0), 0)
    'Nothing is on offer: agreements cover whatever falls due.'
    """
    if not amount:
        return "Nothing is on offer: agreements cover whatever falls due."
    where = "1 site" if sites == 1 else f"{sites:,} sites"
    return (
        f"Work at {where} without an agreement is on offer within a year, at {dollars(amount)} by the list; none of it is"
        " sold."
    )


def beyond(visits: int, price: Decimal) -> str:
    """Write the visits that agreements did not sell, nothing where there are none.

    >>> beyond(3, Decimal("412.00"))
    '3 planned visits go beyond those sold, at $412.00 by the list: somebody must decide who pays.'
    >>> beyond(0, Decimal(0))
    ''
    """
    if not visits:
        return ""
    told = "1 planned visit goes" if visits == 1 else f"{visits:,} planned visits go"
    return f"{told} beyond those sold, at {dollars(price)} by the list: somebody must decide who pays."


def hours(due: Decimal, short: Sequence[tuple[dt.date, Decimal]], unknown: int, overdue: Decimal = _NO_HOURS) -> str:
    """Write the hours that visits ask for, what of it is overdue, and the months that have fewer on hand.

    >>> hours(Decimal("540.5"), [(dt.date(2026, 12, 1), Decimal("37.25"))], 0)
    'Visits ask for 540.5 hours; December 2026 has 37.3 too few.'
    >>> hours(Decimal(100), [], 2)
    'Visits ask for 100 hours; every month entered has enough, 2 months are not entered.'
    >>> hours(Decimal(100), [], 12, Decimal(50))
    'Visits ask for 100 hours; 50 h of it is overdue.'
    """
    told = "; ".join(filter(None, (f"Visits ask for {tenths(due)} hours", _overdue(overdue))))
    if short:
        months = listed([f"{month:%B %Y} has {tenths(hours)} too few" for month, hours in short[:3]])
        more = f", and {len(short) - 3} more months have too few" if len(short) > 3 else ""
        return f"{told}; {months}{more}."
    if unknown >= 12:
        return f"{told}."
    left = f", {unknown} month{' is' if unknown == 1 else 's are'} not entered" if unknown else ""
    return f"{told}; every month entered has enough{left}."


def tenths(hours_: Decimal) -> str:
    """Write hours to the tenth.

    >>> tenths(Decimal("1.25")), tenths(Decimal("1204"))
    ('1.3', '1,204')
    """
    rounded = hours_.quantize(Decimal("0.1"), ROUND_HALF_UP)
    return f"{rounded:,f}".removesuffix(".0")


def ending(coverages: int, units: int, payers: Sequence[tuple[str, int]]) -> str:
    """Write the coverage that ends.

    >>> ending(300, 0, [("maker", 260), ("installer", 40)])
    'In the next 12 months 300 promises end: 260 of the maker, 40 of the installer.'
    >>> ending(0, 0, [])
    'No promise ends in the next 12 months.'
    """
    del units
    if not coverages:
        return "No promise ends in the next 12 months."
    whose = ", ".join(f"{number:,} of the {payer}" for payer, number in payers)
    return f"In the next 12 months {coverages:,} promise{' ends' if coverages == 1 else 's end'}: {whose}."


def registration(to_do: int, missed: int, closes: dt.date | None) -> str:
    """Write where registrations stand.

    >>> registration(31, 4, dt.date(2026, 11, 26))
    '31 registrations are to do, the next by November 26, 2026; 4 were missed.'
    >>> registration(0, 0, None)
    'No registration is to do; none was missed.'
    """
    first = (
        "No registration is to do"
        if not to_do
        else "1 registration is to do"
        if to_do == 1
        else f"{to_do:,} registrations are to do"
    )
    by = f", the next by {in_words(closes)}" if to_do and closes else ""
    late = "none was missed" if not missed else f"{missed:,} {'was' if missed == 1 else 'were'} missed"
    return f"{first}{by}; {late}."


def claims(out: Decimal, count: int, recovered: Decimal, claimable: Decimal) -> str:
    """Write the money of claims.

    >>> claims(Decimal("475.75"), 5, Decimal("1212.00"), Decimal("2000.00"))
    '$475.75 is out on 5 claims; of $2,000.00 that the last year’s failures could claim, $1,212.00 came back.'
    """
    told = (
        "Nothing is out on claims"
        if not out
        else f"{dollars(out)} is out on {count:,} claim{'' if count == 1 else 's'}"
    )
    if not claimable:
        return f"{told}."
    return f"{told}; of {dollars(claimable)} that the last year\N{RIGHT SINGLE QUOTATION MARK}s failures could claim, {dollars(recovered)} came back."


def offer(heads: int, tasks: int, late: int, first_on: dt.date, price: Decimal) -> str:
    """Write what to say to a customer on the telephone.

    >>> offer(3, 9, 2, dt.date(2026, 12, 4), Decimal("640.00"))
    'Your 3 heads have 9 tasks due within a year, 2 of them late; we could come by December 4, 2026. At list price the year is $640.00.'
    >>> offer(0, 1, 0, dt.date(2026, 12, 4), Decimal("60.00"))
    'Your system has 1 task due within a year; we could come by December 4, 2026. At list price the year is $60.00.'
    """
    whose = "Your system has" if not heads else "Your head has" if heads == 1 else f"Your {heads} heads have"
    overdue = f", {late} of them late" if late else ""
    return (
        f"{whose} {tasks} task{'' if tasks == 1 else 's'} due within a year{overdue}; we could come by {in_words(first_on)}."
        f" At list price the year is {dollars(price)}."
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
    again = " Something changed since: it is being worked out again in the background." if waiting else ""
    return f"Worked out on {moment}.{again}"


def hours_entered(year: int, months: int, hours_: Decimal) -> str:
    """Write how much of a year's hours on hand is known.

    >>> hours_entered(2027, 12, Decimal(840))
    'For 2027 the technicians have 840 hours.'
    >>> hours_entered(2027, 1, Decimal("60.5")), hours_entered(2027, 0, Decimal(0))
    ('For 2027, 60.5 hours are entered for 1 of 12 months.', 'For 2027 no hours are entered yet.')
    """
    if not months:
        return f"For {year} no hours are entered yet."
    if months == 12:
        return f"For {year} the technicians have {tenths(hours_)} hours."
    return f"For {year}, {tenths(hours_)} hours are entered for {months} of 12 months."
