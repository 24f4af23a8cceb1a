"""Agreements in plain English."""

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal

from fleet.rules.dates import in_words
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import listed

RENEWS = {
    "by itself": "it renews by itself",
    "by asking": "it renews if they agree",
    "no": "it does not renew",
}
_GOES_ON = {
    "by itself": "It renews by itself on {day}.",
    "by asking": "It comes up for renewal on {day} and renews if they agree.",
    "no": "It runs out on {day} and does not renew.",
}
BILLING = {
    "upfront": "billed at the start of each year",
    "monthly": "billed monthly",
    "per visit": "billed as visits are made",
}


def ordinal(number: int) -> str:
    """Write which one.

    >>> [ordinal(number) for number in (1, 2, 3, 4, 11, 12, 13, 21, 102, 112)]
    ['1st', '2nd', '3rd', '4th', '11th', '12th', '13th', '21st', '102nd', '112th']
    """
    last = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{last}"


def stands(
    state: str, start_on: dt.date, over_on: dt.date, renews: str, ended_on: dt.date | None, why: str, *, year: int
) -> str:
    """Write where an agreement stands.

    >>> days = dt.date(2024, 3, 31), dt.date(2027, 3, 31)
    >>> stands("in force", *days, "by asking", None, "", year=2)
    'In force since March 31, 2024, now in its 3rd year. It comes up for renewal on March 31, 2027 and renews if they agree.'
    >>> stands("to begin", *days, "no", None, "", year=0)
    'It begins on March 31, 2024. It runs out on March 31, 2027 and does not renew.'
    >>> stands("undecided", *days, "by asking", None, "", year=3)
    'Its term ended on March 31, 2027, and nobody has decided whether it goes on. Renew it or end it.'
    >>> stands("over", *days, "no", None, "", year=3)
    'It ran out on March 31, 2027, as agreed, and does not renew.'
    >>> stands("ended", *days, "no", dt.date(2026, 1, 2), "Sold the house", year=2)
    'Ended on January 2, 2026: Sold the house'
    >>> stands("in force", *days, "no", dt.date(2026, 1, 2), "Sold the house", year=1)
    'In force since March 31, 2024, now in its 2nd year. It ends on January 2, 2026: Sold the house'
    """
    if state == "ended" and ended_on is not None:
        return f"Ended on {in_words(ended_on)}: {why}"
    if state == "undecided":
        return f"Its term ended on {in_words(over_on)}, and nobody has decided whether it goes on. Renew it or end it."
    if state == "over":
        return f"It ran out on {in_words(over_on)}, as agreed, and does not renew."
    begun = (
        f"It begins on {in_words(start_on)}"
        if state == "to begin"
        else f"In force since {in_words(start_on)}, now in its {ordinal(year + 1)} year"
    )
    if ended_on is not None:
        return f"{begun}. It ends on {in_words(ended_on)}: {why}"
    return f"{begun}. {_GOES_ON[renews].format(day=in_words(over_on))}"


def line(*, first: bool, style: str, count: int, price: Decimal, factor: Decimal) -> str:
    """Write what some heads cost a visit.

    >>> line(first=True, style="cassette", count=1, price=Decimal("129.00"), factor=Decimal("1.5"))
    'First head, cassette: $129.00 × 1.5'
    >>> line(first=False, style="wall", count=3, price=Decimal("84.00"), factor=Decimal(1))
    '3 further heads, wall: 3 × $84.00'
    """
    which = "First head" if first else "1 further head" if count == 1 else f"{count} further heads"
    of_style = f", {style}" if style else ""
    times = f"{count} × " if count > 1 else ""
    by = f" × {factor.normalize():f}" if factor != 1 else ""
    return f"{which}{of_style}: {times}{dollars(price)}{by}"


def percent(number: Decimal) -> str:
    """Write a share.

    >>> percent(Decimal("7.5000")), percent(Decimal("10.0000"))
    ('7.5%', '10%')
    """
    return f"{number.normalize():f}%"


def visits(sold: int, made: int, booked: int) -> str:
    """Write an agreement year's visits.

    >>> visits(2, 1, 0), visits(2, 3, 0), visits(1, 1, 0)
    ('2 visits sold this year, 1 made: 1 to go.', '2 visits sold this year, 3 made: 1 more than the agreement includes.', '1 visit sold this year, 1 made.')
    >>> visits(4, 1, 2)
    '4 visits sold this year, 1 made and 2 booked: 1 to go.'
    """
    counts = f"{sold} visit{'' if sold == 1 else 's'} sold this year, {made} made"
    if booked:
        counts += f" and {booked} booked"
    left = sold - made - booked
    if left > 0:
        return f"{counts}: {left} to go."
    return f"{counts}." if not left else f"{counts}: {-left} more than the agreement includes."


def renewals_due(number: int, first: dt.date | None, days: int) -> str:
    """Write how many come up soon.

    >>> renewals_due(2, dt.date(2026, 12, 4), 90)
    '2 renewals come up in the next 90 days; ask about the first by December 4, 2026.'
    >>> renewals_due(1, dt.date(2026, 12, 4), 90), renewals_due(0, None, 90)
    ('1 renewal comes up in the next 90 days; ask about it by December 4, 2026.', 'No renewals to ask about in the next 90 days.')
    """
    if not number or first is None:
        return f"No renewals to ask about in the next {days} days."
    count = "1 renewal comes up" if number == 1 else f"{number:,} renewals come up"
    return f"{count} in the next {days} days; ask about {'it' if number == 1 else 'the first'} by {in_words(first)}."


def undecided(number: int) -> str:
    """Write how many terms are over of which nobody has said whether they go on; nothing where there are none.

    >>> undecided(1), undecided(3), undecided(0)
    ('1 agreement is past its term, and nobody has decided whether it goes on.', '3 agreements are past their terms, and nobody has decided whether they go on.', '')
    """
    if not number:
        return ""
    if number == 1:
        return "1 agreement is past its term, and nobody has decided whether it goes on."
    return f"{number:,} agreements are past their terms, and nobody has decided whether they go on."


def in_all(in_force: int) -> str:
    """Write how many agreements there are.

    >>> in_all(23), in_all(1), in_all(0)
    ('23 agreements are in force.', '1 agreement is in force.', 'No agreements are in force.')
    """
    if not in_force:
        return "No agreements are in force."
    return "1 agreement is in force." if in_force == 1 else f"{in_force:,} agreements are in force."


def heads(styles: Sequence[str]) -> str:
    """Write the heads that a price is made of.

    >>> heads(["wall", "wall", "cassette"]), heads([])
    ('3 heads in service: 2 wall, 1 cassette.', 'No heads are in service there, so the price would be $0.00.')
    """
    if not styles:
        return "No heads are in service there, so the price would be $0.00."
    counted = Counter(style or "with no style on file" for style in styles)
    each = ", ".join(f"{count} {style}" for style, count in counted.most_common())
    return f"{len(styles)} head{'' if len(styles) == 1 else 's'} in service: {each}."


def terms(months: int, visits_: int, billing: str, agreed: int) -> str:
    """Write what was agreed.

    >>> terms(12, 2, "monthly", 3)
    '2 visits a year, billed monthly. 12-month terms, 3 of them agreed so far.'
    >>> terms(36, 1, "upfront", 1)
    '1 visit a year, billed at the start of each year. One 36-month term.'
    """
    sold = f"{visits_} visit{'' if visits_ == 1 else 's'} a year, {BILLING[billing]}."
    return (
        f"{sold} One {months}-month term."
        if agreed == 1
        else f"{sold} {months}-month terms, {agreed} of them agreed so far."
    )


# What is to be decided, as a list has it; what it is called in a sentence, one and several; in the order of urgency.
DECISIONS = {
    "over": ("past its term: renew it or end it", "agreement past its term", "agreements past their terms"),
    "refund": ("ended early: decide what to give back", "refund to settle", "refunds to settle"),
    "renewal": ("ask whether they renew", "renewal to ask for", "renewals to ask for"),
    "notice": ("last day to give notice of the renewal", "renewal notice to give", "renewal notices to give"),
    "ending": ("runs out and does not renew: offer a new one", "agreement running out", "agreements running out"),
    "rise": ("announce the new price", "price rise to announce", "price rises to announce"),
    "unpaid": ("billed, and not paid in 30 days: ask for it", "unpaid bill", "unpaid bills"),
}


def to_decide(counts: Mapping[str, int]) -> str:
    """Write how many things are to be decided.

    >>> to_decide({"renewal": 2, "unpaid": 1}), to_decide({})
    ('To decide: 2 renewals to ask for and 1 unpaid bill.', 'Nothing to decide.')
    """
    each = [
        f"{counts[what]:,} {one if counts[what] == 1 else more}"
        for what, (_, one, more) in DECISIONS.items()
        if counts.get(what)
    ]
    return f"To decide: {listed(each)}." if each else "Nothing to decide."


def bill_state(
    state: str, renewals: int, paid: Decimal, amount: Decimal, billed_on: dt.date | None, number: str
) -> str:
    """Write where a bill stands.

    >>> bill_state("planned", 1, Decimal(0), Decimal(200), None, "")
    'planned, if renewed'
    >>> bill_state("billed", 0, Decimal(50), Decimal(200), dt.date(2026, 3, 2), "17")
    'billed March 2, 2026, no. 17; $50.00 of $200.00 paid'
    >>> bill_state("billed", 0, Decimal(0), Decimal(200), dt.date(2026, 3, 2), "")
    'billed March 2, 2026; not paid yet'
    >>> bill_state("paid", 0, Decimal(200), Decimal(200), dt.date(2026, 3, 2), "")
    'billed March 2, 2026; paid'
    """
    if billed_on is None:
        return f"planned, {bill(renewals, past=False)}" if renewals else state
    sent = f"billed {in_words(billed_on)}{f', no. {number}' if number else ''}"
    if state == "paid":
        return f"{sent}; paid"
    return f"{sent}; {f'{dollars(paid)} of {dollars(amount)} paid' if paid else 'not paid yet'}"


def give_back(amount: Decimal) -> str:
    """Write what is given back, or what is still owed.

    >>> give_back(Decimal("99.18")), give_back(Decimal("-16.67")), give_back(Decimal(0))
    ('give back $99.18', 'they still owe $16.67', 'nothing to give back')
    """
    if not amount:
        return "nothing to give back"
    return f"give back {dollars(amount)}" if amount > 0 else f"they still owe {dollars(-amount)}"


WAYS = {"by days": "by days", "by visits": "by visits", "another": "another amount"}


def bill(renewals: int, *, past: bool) -> str:
    """Write how sure a bill is.

    >>> bill(0, past=True), bill(1, past=True), bill(0, past=False), bill(1, past=False), bill(2, past=False)
    ('past', 'past, not agreed', 'agreed', 'if renewed', 'if renewed twice')
    """
    if past:
        return "past, not agreed" if renewals else "past"
    return (
        "agreed"
        if not renewals
        else "if renewed"
        if renewals == 1
        else "if renewed twice"
        if renewals == 2
        else f"if renewed {renewals} times"
    )


FIELDS = {
    "start_on": "first day", "months": "months in a term", "visits_per_year": "visits a year",
    "first_head": "price of the first head", "further_head": "price of each further head", "discount_percent": "discount, %",
    "rise_percent": "yearly price rise, %", "renews": "renewal", "terms_agreed": "terms agreed", "ended_on": "last day",
    "ended_why": "reason for ending", "refund": "what to give back",
}  # fmt: skip
