"""Deadlines in plain English: what is to be done, what it is worth, who can act, and what must be done before anyone goes out."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from fleet.rules.dates import in_words
from fleet.rules.deadlines import Before, Kind, Who
from fleet.rules.lost import Lost
from fleet.rules.wording.agreements import DECISIONS
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import component as named
from fleet.rules.wording.names import days, listed, lower

KINDS = {
    Kind.REGISTER: "Register",
    Kind.NOTIFY: "Tell of a sale",
    Kind.APPROVAL: "Get prior approval",
    Kind.FORM: "Fill out the claim form",
    Kind.FILE: "File the claim",
    Kind.PART_BACK: "Return the old part",
    Kind.DECIDE: "Decide about an agreement",
    Kind.NOTICE: "Give notice of a renewal",
    Kind.PROMISE: "Our promise ends",
    Kind.COMPONENT: "Say which component failed",
}
# Said wherever a claim would begin.
SAY_WHICH = "Say which component failed once somebody has looked. Then a claim can begin."
WHO = {Who.WE: "we", Who.CUSTOMER: "the customer", Who.EITHER: "we or the customer"}


def to_do(kind: Kind, payer: str, *, component: str = "", sold_on: dt.date | None = None) -> str:
    """What is to be done about a payer; of our own agreements and promises `of_agreement` and `of_promise` say it.

    >>> to_do(Kind.REGISTER, "Northrill"), to_do(Kind.APPROVAL, "Northrill", component="compressor")
    ('Register with Northrill', 'Get prior approval from Northrill before replacing the compressor')
    """
    part = "the part" if component in ("", "other") else f"the {component}"
    match kind:
        case Kind.REGISTER:
            return f"Register with {payer}"
        case Kind.NOTIFY:
            return f"Tell {payer} of the sale{'' if sold_on is None else f' on {in_words(sold_on)}'}"
        case Kind.APPROVAL:
            return f"Get prior approval from {payer} before replacing {part}"
        case Kind.FORM:
            return f"Fill out the claim form for {payer} before picking up the new part"
        case Kind.FILE:
            return f"File the claim with {payer} for {part}"
        case Kind.PART_BACK:
            return f"Return the old part to {payer}: {part.removeprefix('the ')}"
        case Kind.COMPONENT:
            return f"Say which component failed: a claim with {payer} may depend on it"
        case Kind.DECIDE | Kind.NOTICE | Kind.PROMISE:
            return KINDS[kind]


def say_which_by(last: dt.date | None, payer: str, *, on: dt.date) -> str:
    """By when somebody should say which component failed: `last` is the first day on which a claim may run out, of this payer.

    >>> say_which_by(dt.date(2026, 3, 20), "Northrill", on=dt.date(2026, 3, 20))
    'Say which component failed by March 20, 2026. After that day a claim with Northrill may be too late.'
    >>> say_which_by(dt.date(2026, 3, 20), "Northrill", on=dt.date(2026, 3, 21))
    'Say which component failed as soon as you can. The first deadline, March 20, 2026, has passed: a claim with Northrill may be too late.'
    >>> say_which_by(None, "Northrill", on=dt.date(2026, 3, 21))
    'Say which component failed once somebody has looked. A claim with Northrill may depend on it.'
    """
    if last is None:
        return f"Say which component failed once somebody has looked. A claim with {payer} may depend on it."
    if on <= last:
        return f"Say which component failed by {in_words(last)}. After that day a claim with {payer} may be too late."
    return f"Say which component failed as soon as you can. The first deadline, {in_words(last)}, has passed: a claim with {payer} may be too late."


def of_agreement(what: str, reference: str) -> str:
    """What an agreement waits for.

    >>> of_agreement("renewal", "A-1"), of_agreement("notice", "")
    ('Agreement A-1: ask whether they renew', 'Agreement: last day to give notice of the renewal')
    """
    return f"{f'Agreement {reference}'.strip()}: {DECISIONS[what][0]}"


def of_promise(words: str) -> str:
    """That a promise of ours ends, with how it begins.

    >>> of_promise("Should this size not carry the house, we change it")
    'Our promise ends: Should this size not carry the house, we change it'
    """
    line = " ".join(words.split())
    return f"Our promise ends: {line if len(line) <= 80 else f'{line[:77]}...'}"


def agreement_worth(what: str, amount: Decimal | None) -> str:
    """What a decision about an agreement is worth: what is still open of a bill, else the price of the year that it is about.

    >>> agreement_worth("unpaid", Decimal("120.00")), agreement_worth("renewal", Decimal("735.00")), agreement_worth("refund", None)
    ('$120.00 not paid', '$735.00 a year', '')
    """
    if not amount:
        return ""
    return f"{dollars(amount)} {'not paid' if what == 'unpaid' else 'a year'}"


def worth(amount: Decimal | None, lost: Iterable[Lost] = (), *, units: int = 1, kinds: Iterable[str] = ()) -> str:
    """What a deadline is worth: dollars where they are known, else the coverage that hangs on it, else the kinds of cost.

    >>> worth(Decimal("347.00")), worth(None, kinds=("parts", "labor"))
    ('up to $347.00', 'parts and labor')
    >>> worth(None, (Lost("parts", ("*",), 1826, dt.date(2031, 4, 14), dt.date(2036, 4, 14)),), units=4)
    '5 more years of parts on 4 units'
    """
    if amount:
        return f"up to {dollars(amount)}"
    lost = tuple(lost)
    rest = {(one.kind, one.perhaps, _longer(one)) for one in lost if one.components == ("*",)}
    more: dict[str, list[str]] = {}
    for one in lost:
        # What is as long for everything else need not be named for one component.
        if one.components != ("*",) and (one.kind, one.perhaps, _longer(one)) in rest:
            continue
        names = "" if one.components == ("*",) else f" for {listed(map(named, one.components))}"
        up_to = "up to " if one.perhaps else ""
        more.setdefault(f"{up_to}{_longer(one)}\0{names}", []).append(one.kind)
    said = []
    for key, of in more.items():
        length, _, names = key.partition("\0")
        said.append(f"{length} of {listed(of)}{names}")
    if said:
        return "; ".join(said) + ("" if units == 1 else f" on {units:,} units")
    return listed(kinds)


def _longer(one: Lost) -> str:
    if one.days is None:
        return "a lifetime" if one.last is None else "the rest of a lifetime"
    more = "" if one.last is None else "more "
    # A month is the twelfth part of a year of 365.25 days; the nearest whole number of them.
    months = round(Fraction(one.days * 48, 1461))
    if not months:
        return f"{one.days} {more}day{'' if one.days == 1 else 's'}"
    years, rest = divmod(months, 12)
    whole = f"{years} {more}year{'' if years == 1 else 's'}" if years else ""
    part = f"{rest} {more if not years else ''}month{'' if rest == 1 else 's'}" if rest else ""
    return " and ".join(filter(None, (whole, part)))


def days_left(left: int | None, *, ahead: bool) -> str:
    """How long is left, in a cell that has the day beside it.

    >>> days_left(3, ahead=False), days_left(-43, ahead=False), days_left(0, ahead=False), days_left(None, ahead=True)
    ('3 days left', '43 days overdue', 'today', 'before anyone goes out')
    """
    if ahead:
        return "before anyone goes out"
    if left is None:
        return "no day yet"
    if left == 0:
        return "today"
    return f"{days(left)} left" if left > 0 else f"{days(-left)} overdue"


def before(one: Before, payer: str, component: str) -> str:
    """What must be done before anyone goes out, in a sentence of an answer.

    >>> before(Before(Kind.APPROVAL, "northrill-1"), "Northrill", "compressor")
    'Before anyone goes out: get prior approval from Northrill before replacing the compressor.'
    """
    return f"Before anyone goes out: {lower(to_do(one.kind, payer, component=component))}."


def summary(missed: int, this_week: int, first: dt.date | None, steps: int, *, on: dt.date) -> tuple[str, ...]:
    """How many deadlines were missed, how many come within a week, and how many steps come first, in sentences.

    >>> summary(1, 2, dt.date(2026, 3, 5), 0, on=dt.date(2026, 3, 2))
    ('1 deadline was missed and is still open.', '2 deadlines come up within a week, the first on Thursday, March 5, 2026.')
    """
    found = []
    if steps:
        found.append(f"{steps:,} step{' comes' if steps == 1 else 's come'} before anyone goes out.")
    if missed:
        found.append(
            f"{missed:,} deadline{' was' if missed == 1 else 's were'} missed and {'is' if missed == 1 else 'are'} still open."
        )
    if this_week and first is not None:
        near = "today" if first == on else f"on {first:%A}, {in_words(first)}"
        one = this_week == 1
        found.append(
            f"{this_week:,} deadline{' comes' if one else 's come'} up within a week, {'' if one else 'the first '}{near}."
        )
    return tuple(found)
