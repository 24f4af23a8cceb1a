"""What a claim did and may do, in plain English: where it stands, a step it took, a step that it may take."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal

from fleet.rules.claims import OVER, Standing, State
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import dated, days, listed

# A claim's state as people read it; files keep the words of `State`.
STATES = {
    State.GATHERING: "not filed yet",
    State.FILED: "filed",
    State.ASKED_FOR_MORE: "more information needed",
    State.APPROVED: "approved",
    State.PART_APPROVED: "partly approved",
    State.DENIED: "denied",
    State.CREDITED: "credited",
    State.WRITTEN_OFF: "written off",
    State.WITHDRAWN: "withdrawn",
}
_DO = {
    State.FILED: "File this claim",
    State.ASKED_FOR_MORE: "Record that they need more information",
    State.APPROVED: "Record approval in full",
    State.PART_APPROVED: "Record partial approval",
    State.DENIED: "Record denial",
    State.CREDITED: "Record a credit",
    State.WRITTEN_OFF: "Write off this claim",
    State.WITHDRAWN: "Withdraw this claim",
}
_FILE_AGAIN = {
    State.ASKED_FOR_MORE: "Send the information they need",
    State.PART_APPROVED: "File this claim again for the rest",
    State.DENIED: "File this claim again",
    State.CREDITED: "Reopen: the payer corrected its credit",
}
_DID = {
    State.FILED: "Filed",
    State.ASKED_FOR_MORE: "The payer needed more information",
    State.APPROVED: "Approved in full",
    State.PART_APPROVED: "Approved in part",
    State.DENIED: "Denied",
    State.CREDITED: "Credited",
    State.WRITTEN_OFF: "Written off",
    State.WITHDRAWN: "Withdrawn",
}
_FILED_AGAIN = {
    State.ASKED_FOR_MORE: "The information they needed was sent",
    State.PART_APPROVED: "Filed again for the rest",
    State.DENIED: "Filed again",
    State.CREDITED: "Reopened by the payer's correction",
}
_REASON = {
    State.FILED: "What has changed since",
    State.ASKED_FOR_MORE: "What information they need",
    State.PART_APPROVED: "Why only part of it",
    State.DENIED: "Why they denied it",
    State.CREDITED: "Why they are paying less than they approved",
    State.WRITTEN_OFF: "Why you are writing it off",
    State.WITHDRAWN: "Why you are withdrawing it",
}
_AMOUNT = {
    State.FILED: "Claimed, in dollars",
    State.APPROVED: "Approved, in dollars",
    State.PART_APPROVED: "Approved, in dollars",
    State.CREDITED: "Credited, in dollars",
}


def to_do(state: State, to: State) -> str:
    """The words for a step that a claim may take.

    >>> to_do(State.DENIED, State.FILED), to_do(State.APPROVED, State.CREDITED)
    ('File this claim again', 'Record a credit')
    """
    return _FILE_AGAIN.get(state, _DO[to]) if to is State.FILED else _DO[to]


def done(came_from: State, to: State) -> str:
    """The words for a step that a claim took.

    >>> done(State.ASKED_FOR_MORE, State.FILED)
    'The information they needed was sent'
    """
    return _FILED_AGAIN.get(came_from, _DID[to]) if to is State.FILED else _DID[to]


def beyond_approved(more: Decimal, approved: Decimal) -> str:
    """That a credit brings more than was approved, as somebody is asked to confirm it.

    >>> beyond_approved(Decimal("20.00"), Decimal("320.00"))
    'This is $20.00 more than the $320.00 that was approved. Check the amount, then confirm it.'
    """
    return f"This is {dollars(more)} more than the {dollars(approved)} that was approved. Check the amount, then confirm it."


def papers_missing(texts: Sequence[str]) -> str:
    """What a claim is filed without, as somebody is asked to confirm it.

    >>> papers_missing(("photo of the nameplate", "readings"))
    'Still missing: photo of the nameplate and readings. Add what you can, or confirm that you are filing without it.'
    """
    return f"Still missing: {listed(texts)}. Add what you can, or confirm that you are filing without it."


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
    'Filed on March 8, 2024, 12 days ago, for $320.00.'
    """
    ago = _ago(found.last_step_on or opened_on, asked)
    match found.state:
        case State.GATHERING:
            return f"Not filed yet; opened{dated(opened_on)}, {ago}."
        case State.FILED:
            said = "Filed" if found.last_step_on == found.filed_on else "Filed last"
            return f"{said}{dated(found.last_step_on)}, {ago}, for {dollars(found.asked)}{_so_far(found)}."
        case State.ASKED_FOR_MORE:
            return f"The payer has needed more information since{dated(found.last_step_on, ' ')}, {ago}."
        case State.APPROVED | State.PART_APPROVED:
            part = "" if found.state is State.APPROVED else " in part"
            out = max(found.approved - found.credited, Decimal(0))
            return (
                f"Approved{part}{dated(found.last_step_on if not found.credited else None)}: {dollars(found.approved)}; "
                f"{dollars(found.credited)} has been credited and {dollars(out)} is still to come."
            )
        case State.DENIED:
            return f"Denied{dated(found.last_step_on)}, {ago}; we claimed {dollars(found.asked)}."
        case State.CREDITED:
            return f"Credited: {dollars(found.credited)} of the {dollars(found.asked)} claimed, the last of it{dated(found.last_step_on)}."
        case State.WRITTEN_OFF:
            return f"Written off{dated(found.last_step_on)}; {dollars(found.credited)} had been credited."
        case _:
            return f"Withdrawn{dated(found.last_step_on)}; nothing is claimed."


def _so_far(found: Standing) -> str:
    return f"; {dollars(found.credited)} has been credited so far" if found.credited else ""


def _ago(day: dt.date, asked: dt.date) -> str:
    gone = (asked - day).days
    return "today" if gone == 0 else f"{days(gone)} ago"


def waits_on(state: State) -> str:
    """Whose move is next on a claim; blank where it is closed.

    >>> waits_on(State.FILED), waits_on(State.DENIED), waits_on(State.CREDITED)
    ('the payer’s', 'ours', '')
    """
    if state in OVER:
        return ""
    return "ours" if state in (State.GATHERING, State.ASKED_FOR_MORE, State.DENIED) else "the payer’s"
