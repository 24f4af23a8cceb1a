"""Money in plain English: the lines of an expected credit, what is out, what came back, what a missed registration cost."""

from decimal import ROUND_HALF_UP, Decimal
from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.money import Age, Credit, Item, Line, Missed, Recovery, Standing
from fleet.rules.wording.names import PAYERS, component, days, listed, upper

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


def _name(line: Line) -> str:
    if not line.what:
        return _NAMES[line.item]
    return f"Hours for {component(line.what)}" if line.item is Item.HOURS else f"{_NAMES[line.item]} {line.what}"


def _sum(line: Line) -> str:
    if len(line.factors) == 1:
        return dollars(line.amount)
    first, rate = line.factors
    unit = " lb" if line.item is Item.REFRIGERANT else ""
    return f"{first.normalize():f}{unit} \N{MULTIPLICATION SIGN} {dollars(rate)} = {dollars(line.amount)}"


def credit(found: Credit) -> str:
    """Write what is expected in all.

    >>> credit(Credit((), Decimal("65.00"), Decimal("533.00")))
    'Expected: $65.00; $533.00 if what is open turns out so.'
    """
    more = "" if found.possible == found.total else f"; {dollars(found.possible)} {_OPEN}"
    return f"Expected: {dollars(found.total)}{more}."


def age(band: Age) -> str:
    """Name a band of days.

    >>> age(Age(11, 30, 2, Decimal("370.50"))), age(Age(61, None, 0, Decimal(0)))
    ('11 to 30 days', '61 days or more')
    """
    return f"{days(band.first)} or more" if band.last is None else f"{band.first} to {days(band.last)}"


def recovery(found: Recovery) -> str:
    """Write what came back of what could have been credited.

    >>> recovery(Recovery("maker", 3, Decimal("1300.00"), Decimal("550.00"), Decimal(0), Decimal("700.00")))
    'Of $1,300.00 that could be claimed, $550.00 came back: 42 %.'
    """
    if found.share is None:
        return f"Nothing could be claimed; {dollars(found.recovered)} came back."
    share = (Decimal(found.share.numerator) * 100 / Decimal(found.share.denominator)).quantize(
        Decimal(1), ROUND_HALF_UP
    )
    return f"Of {dollars(found.claimable)} that could be claimed, {dollars(found.recovered)} came back: {share} %."


def missed(found: Missed) -> str:
    """Write what a missed registration cost on one failure."""
    told = "never registered" if found.registered_on is None else f"registered on {in_words(found.registered_on)}"
    return (
        f"{upper(PAYERS[found.payer])} would have paid {dollars(found.credit.total)} for {listed(found.kinds)}: "
        f"{told}, the limit was {in_words(found.deadline)}."
    )
