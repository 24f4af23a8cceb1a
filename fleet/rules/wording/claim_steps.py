"""What a claim did and may do, in plain English: where it stands, a step it took, a step that it may take."""

import datetime as dt
from decimal import Decimal

from fleet.rules.claims import OVER, Standing, State
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import dated, days

_DO = {
    State.FILED: "File it",
    State.ASKED_FOR_MORE: "They ask for more",
    State.APPROVED: "They approve all of it",
    State.PART_APPROVED: "They approve a part",
    State.DENIED: "They deny it",
    State.CREDITED: "A credit came",
    State.WRITTEN_OFF: "Write it off",
    State.WITHDRAWN: "Withdraw it",
}
_FILE_AGAIN = {
    State.ASKED_FOR_MORE: "Send them what they ask for",
    State.DENIED: "File it again",
    State.CREDITED: "The payer corrected it: open it again",
}
_DID = {
    State.FILED: "Filed",
    State.ASKED_FOR_MORE: "The payer asked for more",
    State.APPROVED: "Approved in full",
    State.PART_APPROVED: "Approved in part",
    State.DENIED: "Denied",
    State.CREDITED: "Credited",
    State.WRITTEN_OFF: "Written off",
    State.WITHDRAWN: "Withdrawn",
}
_FILED_AGAIN = {
    State.ASKED_FOR_MORE: "What they asked for was sent",
    State.DENIED: "Filed again",
    State.CREDITED: "Opened again by the payer's correction",
}
_REASON = {
    State.FILED: "What has changed since",
    State.ASKED_FOR_MORE: "What they ask for",
    State.PART_APPROVED: "Why only a part",
    State.DENIED: "Why they deny it",
    State.CREDITED: "Why they pay less than they approved",
    State.WRITTEN_OFF: "Why it is written off",
    State.WITHDRAWN: "Why it is withdrawn",
}
_AMOUNT = {
    State.FILED: "Asked for, in dollars",
    State.APPROVED: "Approved, in dollars",
    State.PART_APPROVED: "Approved, in dollars",
    State.CREDITED: "Credited, in dollars",
}


def to_do(state: State, to: State) -> str:
    """The words for a step that a claim may take.

    >>> to_do(State.DENIED, State.FILED), to_do(State.APPROVED, State.CREDITED)
    ('File it again', 'A credit came')
    """
    return _FILE_AGAIN.get(state, _DO[to]) if to is State.FILED else _DO[to]


def done(came_from: State, to: State) -> str:
    """The words for a step that a claim took.

    >>> done(State.ASKED_FOR_MORE, State.FILED)
    'What they asked for was sent'
    """
    return _FILED_AGAIN.get(came_from, _DID[to]) if to is State.FILED else _DID[to]


def reason_label(state: State, to: State) -> str:
    """Ask for the reason of a step."""
    return "What the payer corrected" if state is State.CREDITED and to is State.FILED else _REASON.get(to, "Why")


def amount_label(to: State) -> str:
    """Ask for the amount of a step."""
    return _AMOUNT.get(to, "Amount, in dollars")


def stands(found: Standing, *, opened_on: dt.date, asked: dt.date) -> str:
    """Where a claim stands, since when, and what of its money is still out, in a sentence.

    >>> stood = Standing(State.FILED, Decimal("320.00"), filed_on=dt.date(2024, 3, 8), last_step_on=dt.date(2024, 3, 8))
    >>> stands(stood, opened_on=dt.date(2024, 3, 1), asked=dt.date(2024, 3, 20))
    'Filed on March 8, 2024, 12 days ago; $320.00 is asked for.'
    """
    ago = _ago(found.last_step_on or opened_on, asked)
    match found.state:
        case State.GATHERING:
            return f"Being gathered since{dated(opened_on, ' ')}; not filed yet."
        case State.FILED:
            said = "Filed" if found.last_step_on == found.filed_on else "Filed last"
            return f"{said}{dated(found.last_step_on)}, {ago}; {dollars(found.asked)} is asked for{_so_far(found)}."
        case State.ASKED_FOR_MORE:
            return f"The payer asked for more{dated(found.last_step_on)}, {ago}."
        case State.APPROVED | State.PART_APPROVED:
            part = "" if found.state is State.APPROVED else " in part"
            out = max(found.approved - found.credited, Decimal(0))
            return (
                f"Approved{part}{dated(found.last_step_on if not found.credited else None)}: {dollars(found.approved)}, "
                f"of which {dollars(found.credited)} was credited and {dollars(out)} is still out."
            )
        case State.DENIED:
            return f"Denied{dated(found.last_step_on)}, {ago}; {dollars(found.asked)} was asked for."
        case State.CREDITED:
            return f"Credited: {dollars(found.credited)} of {dollars(found.asked)} asked for, the last{dated(found.last_step_on)}."
        case State.WRITTEN_OFF:
            return f"Written off{dated(found.last_step_on)}; {dollars(found.credited)} had been credited."
        case _:
            return f"Withdrawn{dated(found.last_step_on)}; nothing is asked for."


def _so_far(found: Standing) -> str:
    return f", {dollars(found.credited)} was credited so far" if found.credited else ""


def _ago(day: dt.date, asked: dt.date) -> str:
    gone = (asked - day).days
    return "today" if gone == 0 else f"{days(gone)} ago"


def waits_on(state: State) -> str:
    """Whom a claim waits on, in a word; blank where it is over.

    >>> waits_on(State.FILED), waits_on(State.DENIED), waits_on(State.CREDITED)
    ('the payer', 'us', '')
    """
    if state in OVER:
        return ""
    return "us" if state in (State.GATHERING, State.ASKED_FOR_MORE, State.DENIED) else "the payer"
