"""Money in plain English: the lines of an expected credit, what is out, what came back, what a missed registration cost."""

import datetime as dt
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.money import Age, Credit, Item, Line, Missed, Recovery, Standing
from fleet.rules.wording.names import PAYERS, component, days, listed, lower, upper

_MINUS = "\N{MINUS SIGN}"
_NAMES = {
    Item.PARTS: "Parts",
    Item.LABOR: "Labor",
    Item.CALL: "The call",
    Item.HOURS: "Hours",
    Item.REFRIGERANT: "Refrigerant",
    Item.RECLAIM: "Reclaiming refrigerant",
    Item.HANDLING: "Handling the part",
    Item.FREIGHT: "Freight",
    Item.FEE: "Less the fee",
}
_OPEN = "if what is open turns out so"


def dollars(amount: Decimal) -> str:
    """Write an amount in dollars and cents; what is smaller than a cent shows.

    >>> dollars(Decimal("1202.65")), dollars(Decimal("-35")), dollars(Decimal("11.025"))
    ('$1,202.65', '−$35.00', '$11.025')
    """
    digits = max(2, -int(amount.normalize().as_tuple().exponent)) if amount else 2
    return f"{_MINUS if amount < 0 else ''}${abs(amount):,.{digits}f}"


def credit_line(line: Line) -> str:
    """Write one line of an expected credit with its arithmetic.

    >>> credit_line(Line(Item.HOURS, "labor", Standing.COUNTS, (Decimal("4.5"), Decimal("88.00")), "compressor"))
    'Hours for the compressor: 4.5 × $88.00 = $396.00.'
    """
    name = _name(line)
    match line.standing:
        case Standing.COUNTS:
            return f"{name}: {_sum(line)}."
        case Standing.PERHAPS:
            return f"{name}: {_sum(line)}, {_OPEN}."
        case Standing.NOT_COVERED:
            return f"{name}: not covered."
        case Standing.NOT_RECORDED if line.item is Item.LABOR:
            return f"{name}: the time it took is not on file."
        case Standing.NOT_RECORDED:
            return f"{name}: the cost is not on file."
        case Standing.NOT_DONE:
            return f"{name}: none was recovered."
        case Standing.NOT_IN_ALLOWANCE:
            return f"{name}: the allowance has nothing for it."
        case _ as never:
            assert_never(never)


def credit_for(line: Line) -> str:
    """Write what a line of an expected credit is for, where its amount stands beside it.

    >>> credit_for(Line(Item.HOURS, "labor", Standing.COUNTS, (Decimal("4.5"), Decimal("88.00")), "compressor"))
    'Hours for the compressor: 4.5 × $88.00'
    """
    name = ": ".join(filter(None, (_name(line), _product(line))))
    return f"{name}, {_OPEN}" if line.standing is Standing.PERHAPS else name


def _name(line: Line) -> str:
    if not line.what:
        return _NAMES[line.item]
    return f"Hours for {component(line.what)}" if line.item is Item.HOURS else f"{_NAMES[line.item]} {line.what}"


def _sum(line: Line) -> str:
    return " = ".join(filter(None, (_product(line), dollars(line.amount))))


def _product(line: Line) -> str:
    """Write what was multiplied; nothing where the amount stands as it is."""
    if len(line.factors) == 1:
        return ""
    first, rate = line.factors
    unit = " lb" if line.item is Item.REFRIGERANT else ""
    return f"{first.normalize():f}{unit} \N{MULTIPLICATION SIGN} {dollars(rate)}"


def credit(found: Credit) -> str:
    """Write what is expected in all.

    >>> credit(Credit((), Decimal("65.00"), Decimal("533.00")))
    'Expected: $65.00; $533.00 if what is open turns out so.'
    """
    more = "" if found.possible == found.total else f"; {dollars(found.possible)} {_OPEN}"
    return f"Expected: {dollars(found.total)}{more}."


def age(band: Age) -> str:
    """A band of days, in words.

    >>> age(Age(11, 30, 2, Decimal("370.50"))), age(Age(61, None, 0, Decimal(0)))
    ('11 to 30 days', '61 days or more')
    """
    return f"{days(band.first)} or more" if band.last is None else f"{band.first} to {days(band.last)}"


def recovery(found: Recovery) -> str:
    """Write what came back of what could have been credited.

    >>> recovery(Recovery("maker", 3, Decimal("1300.00"), Decimal("550.00"), Decimal(0), Decimal("700.00")))
    'Of $1,300.00 that could be claimed, $550.00 came back: 42%.'
    """
    if found.share is None:
        return f"Nothing could be claimed; {dollars(found.recovered)} came back."
    share = (Decimal(found.share.numerator) * 100 / Decimal(found.share.denominator)).quantize(
        Decimal(1), ROUND_HALF_UP
    )
    return f"Of {dollars(found.claimable)} that could be claimed, {dollars(found.recovered)} came back: {share}%."


def missed(found: Missed) -> str:
    """Write what a missed registration cost on one failure."""
    told = "never registered" if found.registered_on is None else f"registered on {in_words(found.registered_on)}"
    return (
        f"{upper(PAYERS[found.payer])} would have paid {dollars(found.amount)} for {listed(found.kinds)}: "
        f"{told}, the limit was {in_words(found.deadline)}."
    )


def in_all(found: Recovery, *, since: dt.date) -> str:
    """Write what came back in all since a day.

    >>> in_all(Recovery("", 3, Decimal("1300.00"), Decimal("550.00"), Decimal(0), Decimal(0)), since=dt.date(2026, 3, 1))
    'For failures since March 1, 2026: of $1,300.00 that could be claimed, $550.00 came back: 42%.'
    """
    return f"For failures since {in_words(since)}: {lower(recovery(found))}"


def fronted(ages: Sequence[Age]) -> str:
    """Write what we have laid out and wait for, and how much of it is old.

    >>> fronted((Age(0, 10, 1, Decimal("120.00")), Age(61, None, 1, Decimal("80.00"))))
    '$200.00 is out on 2 claims, $80.00 of it for 61 days or more.'
    >>> fronted(())
    'Nothing is out.'
    """
    claims, amount = sum(band.claims for band in ages), sum((band.amount for band in ages), Decimal(0))
    if not claims:
        return "Nothing is out."
    oldest = ages[-1]
    old = "" if not oldest.amount else f", {dollars(oldest.amount)} of it for {age(oldest)}"
    return f"{dollars(amount)} is out on {claims:,} claim{'' if claims == 1 else 's'}{old}."


def labor_short(failures: int, cost: Decimal, short: Decimal) -> str:
    """Write by how much our hours cost more than payers pay for them.

    >>> labor_short(2, Decimal("510.00"), Decimal("161.50"))
    'Our hours on 2 failures whose labor a payer bears cost $510.00; payers should pay $161.50 less than that.'
    """
    if not failures:
        return "No payer bears the labor of any of these failures."
    of = f"Our hours on {failures:,} failure{'' if failures == 1 else 's'} whose labor a payer bears cost {dollars(cost)}"
    if short > 0:
        return f"{of}; payers should pay {dollars(short)} less than that."
    return f"{of}; payers should pay all of it{'' if not short else f', and {dollars(-short)} more'}."


def missed_in_all(failures: int, amount: Decimal) -> str:
    """Write what missed registrations cost in all.

    >>> missed_in_all(1, Decimal("412.50")), missed_in_all(0, Decimal(0))
    ('Missed registrations cost $412.50 on 1 failure.', 'No missed registration cost anything.')
    """
    if not failures:
        return "No missed registration cost anything."
    return f"Missed registrations cost {dollars(amount)} on {failures:,} failure{'' if failures == 1 else 's'}."
