"""What a call's page and the desk say of a call."""

import datetime as dt

from fleet.rules.calls import Reason, UpToUs, Work
from fleet.rules.dates import in_words
from fleet.rules.payers import BY_CODE


def up_to_us(one: UpToUs, *, today: dt.date) -> str:
    """Why a call is up to us, as a sentence.

    >>> late = UpToUs(Reason.NOT_BOOKED, dt.date(2026, 3, 4))
    >>> up_to_us(late, today=dt.date(2026, 3, 4))
    'Nobody has booked a visit. Book one today.'
    >>> up_to_us(late, today=dt.date(2026, 3, 5))
    'Nobody has booked a visit. One should have been booked by March 4, 2026.'
    """
    day = in_words(one.since)
    before = in_words(one.since - dt.timedelta(days=1))
    match one.reason:
        case Reason.PROMISE_MISSED:
            return f"We promised to come by {before}."
        case Reason.NOT_BOOKED:
            late = f"One should have been booked by {day}."
            return f"Nobody has booked a visit. {'Book one today.' if one.since >= today else late}"
        case Reason.PART_LATE:
            return f"The part was expected on {before} and has not arrived."
        case Reason.PART_ARRIVED:
            return f"The part arrived on {day} and no visit is booked."
        case Reason.VISIT_PAST:
            return f"The visit of {before} has not been written up."


def may_be_call_back(work: Work) -> str:
    """The work of ours that a call may come back to.

    >>> may_be_call_back(Work(dt.date(2026, 3, 1), "Repair", "Ike"))
    'This may be a call-back: repair by Ike on March 1, 2026.'
    """
    who = f" by {work.technician}" if work.technician else ""
    return f"This may be a call-back: {work.kind[:1].lower()}{work.kind[1:]}{who} on {in_words(work.on)}."


def payer(code: str) -> str:
    """Who pays, by the code of an answer's `pays`; "if" after it: once something still open is proved.

    >>> payer("installer"), payer("maker if"), payer("customer")
    ('we do', 'perhaps the manufacturer', 'the customer')
    """
    name = code.removesuffix(" if")
    said = BY_CODE[name].pays if name in BY_CODE else "the customer" if name == "customer" else "not clear"
    return f"perhaps {said}" if code.endswith(" if") else said
