"""Reasons, needs, answers, payments and the state of a registration, each as a sentence."""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.findings import Answer, Code, Payment, Reason, Result
from fleet.rules.registration import Standing, State
from fleet.rules.wording.names import (
    CAUSES,
    CONDITIONS,
    DATES,
    PAYERS,
    component,
    dated,
    days,
    listed,
    lower,
    term,
    upper,
)

# --------------------------------------------------------------------------------------------------------- reasons


def sentence(reason: Reason, *, on: dt.date) -> str:
    """Write a reason as one sentence; `on` is the day of the failure.

    >>> sentence(Reason(Code.ENDED, what="60 months", until=dt.date(2020, 4, 14)), on=dt.date(2020, 5, 7))
    'The 5-year term ended on April 14, 2020, 23 days before.'
    """
    return f"{_reason(reason, on)}{_would_have(reason)}."


def _reason(reason: Reason, on: dt.date) -> str:  # noqa: C901 - one case for each code
    what, day, until = reason.what, reason.day, reason.until
    match reason.code:
        case Code.TIER_USED:
            return f"{upper(term(what))}{' has no last day' if until is None else dated(until, ' runs to ')}"
        case Code.CONDITION_MET:
            return CONDITIONS[what][0]
        case Code.REGISTERED_IN_TIME:
            return f"Registered{dated(day)}, {_before_limit(day, until)}"
        case Code.REGISTERED_WITH_NUMBER:
            return f"Registered{dated(day)} under number {what}; the day that the limit counts from is not on file"
        case Code.REGISTERED_LATE:
            return f"Registered {_gap(until, day)} late:{dated(day)}, the limit was{dated(until, ' ')}"
        case Code.NOT_REGISTERED:
            return f"Not registered; the limit was{dated(until, ' ')}"
        case Code.REGISTRATION_NOT_REQUIRED:
            return f"Registering is not required in {what}" if what else "These terms ask for no registration"
        case Code.REGISTRATION_ACCEPTED_LATE:
            return f"The payer accepted the late registration in writing{dated(day, '; it was registered on ')}"
        case Code.REGISTER_BY:
            return f"Not registered yet; the limit is{dated(until, ' ')}"
        case Code.ANCHOR_UNKNOWN:
            told = "Registered" if day else "Not registered yet"
            return f"{told}{dated(day)}; the limit counts from {DATES[what]}, which is not on file"
        case Code.PLACE_UNKNOWN:
            unknown = f"depends on the site's {what}, which is not on file"
            if day is not None:
                return f"The house was sold{dated(day)}; whether the promise went along {unknown}"
            return f"Not registered in time; whether that matters {unknown}"
        case Code.START_UNKNOWN:
            return f"The start is not known: {DATES[what]} is not on file"
        case Code.START_ASSUMED:
            return f"The start,{dated(day, ' ')}, is assumed from {DATES[what]}"
        case Code.BEFORE_START:
            return f"These terms start{dated(day)}, {_gap(on, day)} after"
        case Code.WAITING_DAYS:
            return f"Started{dated(day)}; after waiting days, nothing is paid for before{dated(until, ' ')}"
        case Code.ENDED:
            return f"{upper(term(what))} ended{dated(until)}, {_gap(until, on)} before"
        case Code.EDGE_DAY:
            return _edge(until, on)
        case Code.COMPONENT_NOT_LISTED:
            return f"These terms do not pay for {component(what)}"
        case Code.CAUSE_EXCLUDED:
            return f"These terms exclude this cause: {CAUSES.get(what, what)}"
        case Code.CONDITION_OPEN:
            return f"Nobody recorded whether {CONDITIONS[what][2]}"
        case Code.CONDITION_FAILED:
            return f"It was moved to another site{dated(day)}" if day else CONDITIONS[what][1]
        case Code.SOLD:
            return f"The house was sold{dated(day)}, and the promise did not go along"
        case Code.TRANSFER_IN_TIME:
            return f"The payer was told of the sale{dated(day)}, {_before_limit(day, until)}"
        case Code.TRANSFER_MISSED:
            return f"The house was sold{dated(day)}, and the payer was not told by{dated(until, ' ')}"
        case Code.TRANSFER_AUTOMATIC:
            return f"The house was sold{dated(day)}, and the promise went along by itself"
        case Code.NOTIFY_BY:
            return f"The house was sold{dated(day)}; the payer must be told by{dated(until, ' ')}"
        case Code.MAINTENANCE_GAP:
            return f"No technician's maintenance is on file{dated(day, ' from ')}{dated(until, ' to ')}"
        case Code.PART_REPLACED:
            runs = "ran" if until is not None and until < on else "runs"
            return f"{upper(component(what))} was replaced{dated(day)}; the new part's own term {runs} to{dated(until, ' ')}"
        case Code.UNIT_EXCHANGED:
            if what == "came":
                return f"This unit came in exchange{dated(day)}; a failure before that is the earlier unit's"
            return f"This unit was exchanged{dated(day)}; a failure since then is the new unit's"
        case Code.UNIT_REMOVED:
            return f"This unit was taken out{dated(day)}"
        case Code.NO_TERMS:
            return "This unit holds no terms on file"
        case _ as never:
            assert_never(never)


def _gap(first: dt.date | None, later: dt.date | None) -> str:
    return "some days" if first is None or later is None else days((later - first).days)


def _before_limit(day: dt.date | None, until: dt.date | None) -> str:
    if day is None or until is None:
        return "in time"
    return "the last day for it" if day == until else f"{_gap(day, until)} before the limit"


def _edge(until: dt.date | None, on: dt.date) -> str:
    if until is None or until == on:
        return f"The failure is on the last day,{dated(until or on, ' ')}"
    return f"The last day,{dated(until, ' ')}, is the day {'after' if until > on else 'before'} the failure"


def _would_have(reason: Reason) -> str:
    """How far the term would have run if this one thing had been otherwise; blank where that is not known."""
    if reason.would_reach is None:
        return ""
    otherwise = {
        Code.REGISTERED_LATE: "registered in time",
        Code.NOT_REGISTERED: "registered in time",
        Code.SOLD: "without the sale",
        Code.TRANSFER_MISSED: "told in time",
    }.get(reason.code, "otherwise")
    return f"; {otherwise} it would have run to {in_words(reason.would_reach)}"


# ----------------------------------------------------------------------------------------------------------- needs


def need(reason: Reason, *, on: dt.date) -> str:  # noqa: C901 - one case for each code
    """Write what somebody must do or find so that the answer gets certain; `on` is the day of the failure.

    >>> need(Reason(Code.REGISTER_BY, what="owner", until=dt.date(2021, 4, 30)), on=dt.date(2021, 4, 1))
    'Register by April 30, 2021; the owner must do it.'
    """
    what, day, until = reason.what, reason.day, reason.until
    match reason.code:
        case Code.REGISTER_BY:
            whose = "" if what == "either" else f"; the {what} must do it"
            return f"Register by{dated(until, ' ')}{whose}."
        case Code.ANCHOR_UNKNOWN:
            return f"Find {DATES[what]}: the limit for registering counts from it."
        case Code.START_UNKNOWN:
            return f"Find {DATES[what]}."
        case Code.START_ASSUMED:
            return f"Find proof of the start:{dated(day, ' ')} is assumed from {DATES[what]}."
        case Code.PLACE_UNKNOWN:
            return "Find the region of the site." if what == "region" else "Find out what the site is used for."
        case Code.CONDITION_OPEN:
            return f"Find out whether {CONDITIONS[what][2]}."
        case Code.NOTIFY_BY:
            return f"Tell the payer by{dated(until, ' ')} that the house was sold{dated(day)}."
        case Code.MAINTENANCE_GAP:
            return f"Find a record of a technician's maintenance{dated(day, ' from ')}{dated(until, ' to ')}."
        case Code.EDGE_DAY:
            return f"Keep proof of the day it failed: {lower(_edge(until, on))}."
        case (
            Code.TIER_USED | Code.CONDITION_MET | Code.CONDITION_FAILED | Code.REGISTERED_IN_TIME
            | Code.REGISTERED_WITH_NUMBER | Code.REGISTERED_LATE | Code.NOT_REGISTERED | Code.REGISTRATION_NOT_REQUIRED
            | Code.REGISTRATION_ACCEPTED_LATE | Code.BEFORE_START | Code.WAITING_DAYS | Code.ENDED
            | Code.COMPONENT_NOT_LISTED | Code.CAUSE_EXCLUDED | Code.SOLD | Code.TRANSFER_IN_TIME | Code.TRANSFER_MISSED
            | Code.TRANSFER_AUTOMATIC | Code.PART_REPLACED | Code.UNIT_EXCHANGED | Code.UNIT_REMOVED | Code.NO_TERMS
        ):  # fmt: skip
            return "Nothing is to be done."
        case _ as never:
            assert_never(never)


def _provided(reason: Reason) -> str:
    """Write an open reason as what must hold: `Covered ... if ...`."""
    match reason.code:
        case Code.REGISTER_BY:
            return f"it is registered by{dated(reason.until, ' ')}"
        case Code.ANCHOR_UNKNOWN:
            return f"it was registered in time, counted from {DATES[reason.what]}"
        case Code.PLACE_UNKNOWN if reason.day is None:
            return "registering is not required there"
        case Code.PLACE_UNKNOWN:
            return f"the promise went along with the sale{dated(reason.day, ' of ')}"
        case Code.NOTIFY_BY:
            return f"the payer is told of the sale by{dated(reason.until, ' ')}"
        case Code.MAINTENANCE_GAP:
            return f"a technician maintained it{dated(reason.day, ' between ')}{dated(reason.until, ' and ')}"
        case Code.START_ASSUMED:
            return f"it did start{dated(reason.day)}"
        case _:
            return CONDITIONS[reason.what][2]


# --------------------------------------------------------------------------------------------------------- answers

# What only goes along with a "no", and does not head it.
_BESIDE = (Code.PART_REPLACED, Code.START_ASSUMED, Code.EDGE_DAY)


def answer_line(answer: Answer, *, on: dt.date) -> str:
    """Write the headline of one answer; `on` is the day of the failure."""
    payer = PAYERS[answer.payer]
    match answer.result:
        case Result.COVERED:
            known = "for the life of the unit" if answer.lifetime else f"until{dated(answer.last, ' ')}"
            return f"Covered by {payer} {known}{_perhaps(answer)}."
        case Result.COVERED_IF:
            return f"Covered by {payer} {lower(_hoped(answer))}."
        case Result.NOT_COVERED:
            return f"Not covered by {payer}: {_why_not(answer.reasons, on)}."
        case Result.CANNOT_SAY:
            return f"Cannot say whether {payer} covers it: {lower(_reason(answer.reasons[0], on))}."
        case _ as never:
            assert_never(never)


def _perhaps(answer: Answer) -> str:
    if answer.possible_lifetime:
        return ", perhaps for the life of the unit"
    return dated(answer.possible_last, ", perhaps until ")


def longer(last: dt.date | None, hangs_on: Iterable[Reason]) -> str:
    """Write how far a promise may still run (None: for the life of the unit) and what that hangs on.

    >>> longer(dt.date(2031, 3, 1), [Reason(Code.REGISTER_BY, what="either", until=dt.date(2021, 4, 30))])
    'Until March 1, 2031 if it is registered by April 30, 2021.'
    """
    return f"{_so_far(last, hangs_on)}."


def _hoped(answer: Answer) -> str:
    """The last day of the tier that the needs are about, which need not be the longest possible, and those needs."""
    last = next(reason.until for reason in answer.reasons if reason.code is Code.TIER_USED)
    return _so_far(last, answer.needs)


def _so_far(last: dt.date | None, provided: Iterable[Reason]) -> str:
    until = "For the life of the unit" if last is None else f"Until {in_words(last)}"
    return f"{until} if {listed(dict.fromkeys(map(_provided, provided)))}"


def _why_not(reasons: Sequence[Reason], on: dt.date) -> str:
    """The first thing that decided, and how far the term would have run had one thing been otherwise."""
    deciding = next((reason for reason in reasons if reason.code not in _BESIDE), reasons[0])
    missed = next((reason for reason in reasons if reason.would_reach is not None), deciding)
    return f"{lower(_reason(deciding, on))}{_would_have(missed)}"


def standing(found: Standing, *, asked: dt.date) -> str:
    """Write where a registration stands on the day of asking."""
    reason = found.reason
    match found.state:
        case State.NOT_REQUIRED:
            return f"Not required: {lower(_reason(reason, asked))}."
        case State.WAITING:
            return f"Waiting for a date: the limit counts from {DATES[reason.what]}."
        case State.TO_DO:
            if found.deadline == asked:
                return f"To do today, the last day for it:{dated(found.deadline, ' ')}."
            return f"To do: {_gap(asked, found.deadline)} left, until{dated(found.deadline, ' ')}."
        case State.SENT:
            return f"Sent{dated(found.day)}; its number is not on file yet."
        case State.CONFIRMED:
            return f"Confirmed{dated(found.day, '; registered on ')}."
        case State.MISSED:
            return f"Missed: {lower(_reason(reason, asked))}."
        case _ as never:
            assert_never(never)


def payment(found: Payment) -> str:
    """Write who pays one kind of cost.

    >>> payment(Payment("labor", "labor plan if", ("maker",)))
    'Labor: the labor plan pays if what is open turns out so; the maker is worth asking.'
    """
    if found.pays == "cannot say":
        paid = "nobody can say who pays"
    elif found.pays.endswith(" if"):
        paid = f"{PAYERS[found.pays.removesuffix(' if')]} pays if what is open turns out so"
    else:
        paid = f"{PAYERS[found.pays]} pays"
    asked = listed(PAYERS[name] for name in found.worth_asking)
    worth = f"; {asked} {'is' if len(found.worth_asking) == 1 else 'are'} worth asking" if asked else ""
    return f"{upper(found.kind)}: {paid}{worth}."
