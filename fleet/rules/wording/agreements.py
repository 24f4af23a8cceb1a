"""Agreements in plain English."""

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from fleet.rules.dates import in_words
from fleet.rules.wording.money import dollars

RENEWS = {
    "by itself": "it renews by itself",
    "by asking": "it renews if they agree",
    "no": "it does not renew",
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
    'In force since March 31, 2024, now in its 3rd year; its term is over on March 31, 2027, and it renews if they agree.'
    >>> stands("to begin", *days, "no", None, "", year=0)
    'It begins on March 31, 2024; its term is over on March 31, 2027, and it does not renew.'
    >>> stands("undecided", *days, "by asking", None, "", year=3)
    'Its term was over on March 31, 2027, and nobody has said whether it goes on: renew it, or end it.'
    >>> stands("over", *days, "no", None, "", year=3)
    'Its term was over on March 31, 2027, and it was agreed that it does not renew.'
    >>> stands("ended", *days, "no", dt.date(2026, 1, 2), "Sold the house", year=2)
    'Ended on January 2, 2026: Sold the house'
    >>> stands("in force", *days, "no", dt.date(2026, 1, 2), "Sold the house", year=1)
    'In force since March 31, 2024, now in its 2nd year; it ends on January 2, 2026: Sold the house'
    """
    if state == "ended" and ended_on is not None:
        return f"Ended on {in_words(ended_on)}: {why}"
    if state == "undecided":
        return f"Its term was over on {in_words(over_on)}, and nobody has said whether it goes on: renew it, or end it."
    if state == "over":
        return f"Its term was over on {in_words(over_on)}, and it was agreed that it does not renew."
    begun = (
        f"It begins on {in_words(start_on)}"
        if state == "to begin"
        else f"In force since {in_words(start_on)}, now in its {ordinal(year + 1)} year"
    )
    if ended_on is not None:
        return f"{begun}; it ends on {in_words(ended_on)}: {why}"
    return f"{begun}; its term is over on {in_words(over_on)}, and {RENEWS[renews]}."


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
    ('2 visits sold this year, 1 made: 1 to go.', '2 visits sold this year, 3 made: 1 more than was sold.', '1 visit sold this year, 1 made.')
    >>> visits(4, 1, 2)
    '4 visits sold this year, 1 made and 2 booked: 1 to go.'
    """
    told = f"{sold} visit{'' if sold == 1 else 's'} sold this year, {made} made"
    if booked:
        told += f" and {booked} booked"
    left = sold - made - booked
    if left > 0:
        return f"{told}: {left} to go."
    return f"{told}." if not left else f"{told}: {-left} more than {'was' if left == -1 else 'were'} sold."


def renewals_due(number: int, first: dt.date | None, days: int) -> str:
    """Write how many come up soon.

    >>> renewals_due(2, dt.date(2026, 12, 4), 90)
    '2 renewals are to be asked for in the next 90 days, the first by December 4, 2026.'
    >>> renewals_due(1, dt.date(2026, 12, 4), 90), renewals_due(0, None, 90)
    ('1 renewal is to be asked for in the next 90 days, by December 4, 2026.', 'No renewal is to be asked for in the next 90 days.')
    """
    if not number or first is None:
        return f"No renewal is to be asked for in the next {days} days."
    told = "1 renewal is" if number == 1 else f"{number:,} renewals are"
    return f"{told} to be asked for in the next {days} days, {'' if number == 1 else 'the first '}by {in_words(first)}."


def undecided(number: int) -> str:
    """Write how many terms are over of which nobody has said whether they go on; nothing where there are none.

    >>> undecided(1), undecided(3), undecided(0)
    ('The term of 1 is over, and nobody has said whether it goes on.', 'The terms of 3 are over, and nobody has said whether they go on.', '')
    """
    if not number:
        return ""
    if number == 1:
        return "The term of 1 is over, and nobody has said whether it goes on."
    return f"The terms of {number:,} are over, and nobody has said whether they go on."


def in_all(in_force: int) -> str:
    """Write how many agreements there are.

    >>> in_all(23), in_all(1), in_all(0)
    ('23 agreements are in force.', '1 agreement is in force.', 'No agreement is in force.')
    """
    if not in_force:
        return "No agreement is in force."
    return "1 agreement is in force." if in_force == 1 else f"{in_force:,} agreements are in force."


def heads(styles: Sequence[str]) -> str:
    """Write the heads that a price is made of.

    >>> heads(["wall", "wall", "cassette"]), heads([])
    ('3 heads in service: 2 wall, 1 cassette.', 'No head is in service there, so its price would be nothing.')
    """
    if not styles:
        return "No head is in service there, so its price would be nothing."
    counted = Counter(style or "of no style on file" for style in styles)
    told = ", ".join(f"{count} {style}" for style, count in counted.most_common())
    return f"{len(styles)} head{' is' if len(styles) == 1 else 's'} in service: {told}."


def terms(months: int, visits_: int, billing: str, agreed: int) -> str:
    """Write what was agreed.

    >>> terms(12, 2, "monthly", 3)
    '2 visits a year, billed monthly. Terms of 12 months, 3 of them agreed so far.'
    >>> terms(36, 1, "upfront", 1)
    '1 visit a year, billed at the start of each year. One term of 36 months is agreed.'
    """
    told = f"{visits_} visit{'' if visits_ == 1 else 's'} a year, {BILLING[billing]}."
    if agreed == 1:
        return f"{told} One term of {months} month{'' if months == 1 else 's'} is agreed."
    return f"{told} Terms of {months} month{'' if months == 1 else 's'}, {agreed} of them agreed so far."


def bill(renewals: int, *, past: bool) -> str:
    """Write how sure a bill is.

    >>> bill(0, past=True), bill(1, past=True), bill(0, past=False), bill(1, past=False), bill(2, past=False)
    ('its day is past', 'its day is past, not agreed', 'agreed', 'if it is renewed', 'if it is renewed 2 times')
    """
    if past:
        return "its day is past, not agreed" if renewals else "its day is past"
    return "agreed" if not renewals else "if it is renewed" if renewals == 1 else f"if it is renewed {renewals} times"


_FIELD = {
    "start_on": "begins on", "months": "months of a term", "visits_per_year": "visits a year", "first_head": "first head",
    "further_head": "further head", "discount_percent": "discount, %", "rise_percent": "rise a year, %",
    "terms_agreed": "terms agreed", "ended_on": "ended on", "ended_why": "why it ended",
}  # fmt: skip


def change(when: str, who: str, field: str, before: str, after: str) -> str:
    """Write what somebody changed.

    >>> change("March 2, 2026, 9:05 AM", "Wren Halloran", "terms_agreed", "1", "2")
    'March 2, 2026, 9:05 AM, Wren Halloran: terms agreed 2, before that 1'
    >>> change("March 2, 2026, 9:05 AM", "a file", "start_on", "", "2026-03-01")
    'March 2, 2026, 9:05 AM, a file: begins on March 1, 2026'
    """
    told = f"{when}, {who}: {_FIELD.get(field, field)} {_plain(after) or 'blank'}"
    return f"{told}, before that {_plain(before)}" if before else told


def _plain(text: str) -> str:
    try:
        return in_words(dt.date.fromisoformat(text))
    except ValueError:
        return text
