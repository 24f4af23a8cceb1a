"""Money in plain English: the lines of an expected credit, what is out, what came back, what a missed registration cost."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.missed_registrations import Missed
from fleet.rules.money import Age, Credit, Item, Line, Standing
from fleet.rules.money_parts import Figure
from fleet.rules.wording.names import PAYERS, component, days, listed, upper

_MINUS = "\N{MINUS SIGN}"
_NAMES = {
    Item.PARTS: "Parts",
    Item.LABOR: "Labor",
    Item.CALL: "Service call",
    Item.HOURS: "Hours",
    Item.REFRIGERANT: "Refrigerant",
    Item.RECLAIM: "Reclaiming refrigerant",
    Item.HANDLING: "Handling of the part",
    Item.FREIGHT: "Freight",
    Item.FEE: "Less the claim fee",
}
_OPEN = "if what is still open is proven"
AMOUNT_WANTED = "Enter an amount above zero, in dollars and cents, such as 320.00."


def dollars(amount: Decimal) -> str:
    """Write an amount in dollars and cents; what is smaller than a cent shows.

    >>> dollars(Decimal("1202.65")), dollars(Decimal("-35")), dollars(Decimal("11.025"))
    ('$1,202.65', '−$35.00', '$11.025')
    """
    digits = max(2, -int(amount.normalize().as_tuple().exponent)) if amount else 2
    return f"{_MINUS if amount < 0 else ''}${abs(amount):,.{digits}f}"


# With a dollar sign or without, and commas between thousands or none.
_TYPED = re.compile(r"(?P<minus>[-−]?) ?\$? ?(?P<whole>\d{1,3}(,\d{3})+|\d+)?(?P<rest>\.\d*)?")


def plain_amount(text: str) -> str:
    """An amount as people type it, as a plain number; what is no such amount comes back as it was typed.

    >>> plain_amount("$1,412.50"), plain_amount(" $ 35 "), plain_amount("-$20.00"), plain_amount("1.412,50")
    ('1412.50', '35', '-20.00', '1.412,50')
    """
    match = _TYPED.fullmatch(text.strip())
    if match is None or not (match["whole"] or (match["rest"] or "").strip(".")):
        return text
    whole, rest = (match["whole"] or "0").replace(",", ""), (match["rest"] or "").rstrip(".")
    return f"{'-' if match['minus'] else ''}{whole}{rest}"


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
            return f"{name}: the labor time is not on file."
        case Standing.NOT_RECORDED:
            return f"{name}: the cost is not on file."
        case Standing.NOT_DONE:
            return f"{name}: no recovery is recorded."
        case Standing.NOT_IN_ALLOWANCE:
            return f"{name}: not in this payer’s allowance."
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
    'Expected: $65.00; $533.00 if what is still open is proven.'
    """
    more = "" if found.possible == found.total else f"; {dollars(found.possible)} {_OPEN}"
    return f"Expected: {dollars(found.total)}{more}."


def age(band: Age) -> str:
    """A band of days, in words.

    >>> age(Age(11, 30, 2, Decimal("370.50"))), age(Age(61, None, 0, Decimal(0)))
    ('11 to 30 days', '61 days or more')
    """
    return f"{days(band.first)} or more" if band.last is None else f"{band.first} to {days(band.last)}"


def of_payer(one: Mapping[Figure, Decimal], lost: Decimal) -> str:
    """Where the money of one payer stands.

    >>> of_payer({Figure.CREDITED: Decimal("550.00"), Figure.OUT: Decimal(0), Figure.TO_CLAIM: Decimal("80.00")}, Decimal(0))
    '$550.00 credited, $80.00 can still be claimed.'
    """
    said = (
        (one[Figure.CREDITED], "credited"),
        (one[Figure.OUT], "outstanding"),
        (one[Figure.TO_CLAIM], "can still be claimed"),
        (lost, "lost"),
    )
    return f"{', '.join(f'{dollars(amount)} {what}' for amount, what in said if amount) or 'Nothing'}."


def missed(found: Missed) -> str:
    """Write what a missed registration cost on one failure."""
    told = "never registered" if found.registered_on is None else f"registered on {in_words(found.registered_on)}"
    return (
        f"{upper(PAYERS[found.payer])} would have paid {dollars(found.amount)} for {listed(found.kinds)}: "
        f"{told}; the last day to register was {in_words(found.deadline)}."
    )


def in_all(
    cost: Decimal,
    one: Mapping[Figure, Decimal],
    lost: Decimal,
    above: Decimal,
    *,
    first: dt.date,
    last: dt.date,
) -> str:
    """Where every dollar of the failures of a period stands; what is nothing is left out.

    >>> sums = {figure: Decimal(0) for figure in Figure} | {Figure.CREDITED: Decimal("120.00"), Figure.OURS: Decimal("80.00")}
    >>> in_all(Decimal("200.00"), sums, Decimal(0), Decimal(0), first=dt.date(2026, 1, 1), last=dt.date(2026, 3, 31))
    'Failures from January 1, 2026 to March 31, 2026 cost us $200.00: payers credited $120.00; we bear $80.00 ourselves.'
    """
    period = f"from {in_words(first)} to {in_words(last)}"
    if not cost and not above:
        return f"No money is on file for failures {period}."
    said = (
        (one[Figure.CREDITED], "payers credited {}"),
        (one[Figure.CUSTOMER_PAID], "customers paid {}"),
        (one[Figure.OUT], "{} is outstanding with payers"),
        (one[Figure.CUSTOMER_OWES], "customers owe {}"),
        (one[Figure.TO_CLAIM], "{} can still be claimed"),
        (lost, "{} is lost"),
        (one[Figure.OURS], "we bear {} ourselves"),
    )
    where = "; ".join(text.format(dollars(amount)) for amount, text in said if amount)
    on_top = f" Payers and customers also bring {dollars(above)} more than the work cost." if above else ""
    return f"Failures {period} cost us {dollars(cost)}: {where}.{on_top}"


def fronted(ages: Sequence[Age]) -> str:
    """What is outstanding on the claims of these failures, and how much of it is old.

    >>> fronted((Age(0, 10, 1, Decimal("120.00")), Age(61, None, 1, Decimal("80.00"))))
    'Of these failures, 2 claims are outstanding, $80.00 of it for 61 days or more.'
    >>> fronted(())
    'No claim on these failures is outstanding.'
    """
    claims = sum(band.claims for band in ages)
    if not claims:
        return "No claim on these failures is outstanding."
    oldest = ages[-1]
    old = "" if not oldest.amount else f", {dollars(oldest.amount)} of it for {age(oldest)}"
    return f"Of these failures, {claims:,} claim{' is' if claims == 1 else 's are'} outstanding{old}."


def labor_short(failures: int, cost: Decimal, short: Decimal) -> str:
    """Write by how much our hours cost more than payers pay for them.

    >>> labor_short(2, Decimal("510.00"), Decimal("161.50"))
    'Our labor on 2 failures that payers cover cost $510.00; payers should pay $348.50 of it.'
    """
    if not failures:
        return "No payer covers the labor of any of these failures."
    of = f"Our labor on {failures:,} failure{'' if failures == 1 else 's'} that payers cover cost {dollars(cost)}"
    if short > 0:
        return f"{of}; payers should pay {dollars(cost - short)} of it."
    return f"{of}; payers should pay all of it{'' if not short else f', and {dollars(-short)} more'}."


def component_not_known(failures: int) -> str:
    """That what payers may owe for some failures is in no sum, since nobody knows yet what failed; blank where there is none.

    >>> component_not_known(1)
    'For 1 failure, nobody knows yet which component failed: what payers may owe for it is not counted.'
    >>> component_not_known(0)
    ''
    """
    if not failures:
        return ""
    of, it = ("1 failure", "it") if failures == 1 else (f"{failures:,} failures", "them")
    return f"For {of}, nobody knows yet which component failed: what payers may owe for {it} is not counted."


def missed_in_all(failures: int, amount: Decimal) -> str:
    """Write what missed registrations cost in all.

    >>> missed_in_all(1, Decimal("412.50")), missed_in_all(0, Decimal(0))
    ('Missed registrations cost $412.50 on 1 failure.', 'No missed registration cost anything.')
    """
    if not failures:
        return "No missed registration cost anything."
    return f"Missed registrations cost {dollars(amount)} on {failures:,} failure{'' if failures == 1 else 's'}."
