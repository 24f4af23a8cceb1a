"""Reasons, needs, answers, payments and the state of a registration, each as a sentence."""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.findings import Answer, Code, Payment, Reason, Result
from fleet.rules.registration import Standing, State
from fleet.rules.wording.names import (
    ASKED,
    CAUSES,
    CONDITIONS,
    DATES,
    PAYERS,
    PEOPLE,
    component,
    dated,
    is_we,
    listed,
    lower,
    pays,
    region,
    span,
    subject,
    term,
    upper,
)

# --------------------------------------------------------------------------------------------------------- reasons


def sentence(reason: Reason, *, on: dt.date) -> str:
    """A reason as one sentence; `on` is the day of the failure.

    >>> sentence(Reason(Code.ENDED, what="60 months", until=dt.date(2020, 4, 14)), on=dt.date(2020, 5, 7))
    'The 5-year term ended on April 14, 2020, 23 days before the failure.'
    """
    return f"{_reason(reason, on)}{_would_have(reason)}."


def _reason(reason: Reason, on: dt.date) -> str:  # noqa: C901 - one case for each code
    what, day, until = reason.what, reason.day, reason.until
    match reason.code:
        case Code.TIER_USED:
            return f"{upper(term(what))}{' has no last day' if until is None else dated(until, ' runs until ')}"
        case Code.CONDITION_MET:
            return f"{CONDITIONS[what][0]}{_since_the_exchange(day)}"
        case Code.REGISTERED_IN_TIME:
            return f"Registered{dated(day)}, {_before_limit(day, until)}"
        case Code.REGISTERED_WITH_NUMBER:
            return f"Registered{dated(day)} under number {what}; the day that the deadline counts from is not on file"
        case Code.REGISTERED_LATE:
            return f"Registered{dated(day)}, {_gap(until, day)} late: the deadline was{dated(until, ' ')}"
        case Code.NOT_REGISTERED:
            return f"Not registered; the deadline was{dated(until, ' ')}"
        case Code.REGISTRATION_NOT_REQUIRED:
            return f"Registration is not required in {region(what)}" if what else "These terms require no registration"
        case Code.REGISTRATION_ACCEPTED_LATE:
            return f"The payer accepted the late registration in writing{dated(day, '; it was registered on ')}"
        case Code.REGISTER_BY:
            return f"Not registered yet; the deadline is{dated(until, ' ')}"
        case Code.ANCHOR_UNKNOWN:
            registered = "Registered" if day else "Not registered yet"
            return f"{registered}{dated(day)}; the deadline counts from {DATES[what]}, which is not on file"
        case Code.PLACE_UNKNOWN:
            unknown = f"depends on {_PLACE[what]}, which is not on file"
            if day is not None:
                return f"The house was sold{dated(day)}; whether the new owner kept the coverage {unknown}"
            return f"Not registered in time; whether that matters {unknown}"
        case Code.START_UNKNOWN:
            return f"Coverage counts from {DATES[what]}, which is not on file"
        case Code.START_ASSUMED:
            return f"We assume that coverage started{dated(day)}, going by {DATES[what]}"
        case Code.BEFORE_START:
            return f"Coverage starts{dated(day)}, {_gap(on, day)} after the failure"
        case Code.WAITING_DAYS:
            return f"Coverage started{dated(day)}; after its waiting period it pays from{dated(until, ' ')} on"
        case Code.ENDED:
            return f"{upper(term(what))} ended{dated(until)}, {_gap(until, on)} before the failure"
        case Code.EDGE_DAY:
            return _edge(until, on)
        case Code.COMPONENT_NOT_LISTED:
            return f"These terms do not cover {component(what)}"
        case Code.CAUSE_EXCLUDED:
            return f"These terms do not cover this cause: {CAUSES.get(what, what)}"
        case Code.CONDITION_OPEN:
            return f"Nobody recorded whether {CONDITIONS[what][2]}{_since_the_exchange(day)}"
        case Code.CONDITION_FAILED:
            if what == "original site" and day:
                return f"It was moved to another site{dated(day)}"
            return f"{CONDITIONS[what][1]}{_since_the_exchange(day)}"
        case Code.SOLD:
            return f"The house was sold{dated(day)}, and the new owner did not keep the coverage"
        case Code.TRANSFER_IN_TIME:
            return f"The payer was notified of the sale{dated(day)}, {_before_limit(day, until)}"
        case Code.TRANSFER_MISSED:
            return f"The house was sold{dated(day)}, and the payer was not notified by{dated(until, ' ')}"
        case Code.TRANSFER_AUTOMATIC:
            return f"The house was sold{dated(day)}, and the new owner kept the coverage automatically"
        case Code.NOTIFY_BY:
            return f"The house was sold{dated(day)}; the payer must be notified by{dated(until, ' ')}"
        case Code.MAINTENANCE_GAP:
            return f"No technician's maintenance is on file{dated(day, ' from ')}{dated(until, ' to ')}"
        case Code.PART_REPLACED:
            runs = "ran" if until is not None and until < on else "runs"
            return f"{upper(component(what))} was replaced{dated(day)}; the new part's own coverage {runs} until{dated(until, ' ')}"
        case Code.UNIT_EXCHANGED:
            if what == "came":
                return f"This unit took another one's place{dated(day)}; an earlier failure is that unit's"
            return f"This unit was exchanged{dated(day)}; a failure since then is the new unit's"
        case Code.UNIT_REMOVED:
            return f"This unit was removed{dated(day)}"
        case Code.NO_TERMS:
            return "No terms on file cover this unit"
        case _ as never:
            assert_never(never)


_PLACE = {"region": "the state", "use": "what the building is used for"}


def _since_the_exchange(day: dt.date | None) -> str:
    """Since when a condition is as it is, where the exchange of an outdoor unit decided; blank where none did."""
    return "" if day is None else f" since the outdoor unit was exchanged on {in_words(day)}"


def _gap(first: dt.date | None, later: dt.date | None) -> str:
    return "some days" if first is None or later is None else span((later - first).days)


def _before_limit(day: dt.date | None, until: dt.date | None) -> str:
    if day is None or until is None:
        return "in time"
    return "the last day for it" if day == until else f"{_gap(day, until)} before the deadline"


def _edge(until: dt.date | None, on: dt.date) -> str:
    if until is None or until == on:
        return f"The failure is on the last day,{dated(until or on, ' ')}"
    return f"The last day,{dated(until, ' ')}, is the day {'after' if until > on else 'before'} the failure"


# What would have had to be otherwise, by the condition that failed: what a paper asks for, and after the sentence before it
# some of that in shorter words.
_OTHERWISE = ASKED | {
    "recognized installer": "if a recognized installer had installed it",
    "licensed installer": "if a licensed installer had installed it",
    "matched system": "in a matched system",
    "original site": "if it had not been moved",
    "yearly maintenance": "if it had been maintained every year",
}


def _would_have(reason: Reason) -> str:
    """How far coverage would have run if this one thing had been otherwise; blank where that is not known."""
    if reason.would_reach is None:
        return ""
    otherwise = {
        Code.REGISTERED_LATE: "if it had been registered in time",
        Code.NOT_REGISTERED: "if it had been registered in time",
        Code.SOLD: "if the house had not been sold",
        Code.TRANSFER_MISSED: "if they had been notified in time",
        Code.CONDITION_FAILED: _OTHERWISE.get(reason.what, "otherwise"),
    }.get(reason.code, "otherwise")
    return f". {upper(otherwise)}, coverage would have run until {in_words(reason.would_reach)}"


# ----------------------------------------------------------------------------------------------------------- needs


def need(reason: Reason, *, on: dt.date) -> str:  # noqa: C901 - one case for each code
    """What somebody must do or find so that the answer gets certain; `on` is the day of the failure.

    >>> need(Reason(Code.REGISTER_BY, what="owner", until=dt.date(2021, 4, 30)), on=dt.date(2021, 4, 1))
    'Register by April 30, 2021; the homeowner must do it.'
    """
    what, day, until = reason.what, reason.day, reason.until
    match reason.code:
        case Code.REGISTER_BY:
            whose = "" if what == "either" else f"; {PEOPLE[what]} must do it"
            return f"Register by{dated(until, ' ')}{whose}."
        case Code.ANCHOR_UNKNOWN:
            return f"Find {DATES[what]}: the registration deadline counts from it."
        case Code.START_UNKNOWN:
            return f"Find {DATES[what]}."
        case Code.START_ASSUMED:
            return f"Find proof of when it started: we assume{dated(day, ' ')}, going by {DATES[what]}."
        case Code.PLACE_UNKNOWN:
            return "Find out which state the site is in." if what == "region" else "Find out what the site is used for."
        case Code.CONDITION_OPEN:
            return f"Find out whether {CONDITIONS[what][2]}{_since_the_exchange(day)}."
        case Code.NOTIFY_BY:
            return f"Notify the payer by{dated(until, ' ')} that the house was sold{dated(day)}."
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
            return "Nothing needs to be done."
        case _ as never:
            assert_never(never)


def provided(reason: Reason) -> str:
    """An open reason as what must hold, to follow "if"."""
    match reason.code:
        case Code.REGISTER_BY:
            return f"it is registered by{dated(reason.until, ' ')}"
        case Code.ANCHOR_UNKNOWN:
            return f"it was registered in time ({DATES[reason.what]} is not on file)"
        case Code.PLACE_UNKNOWN if reason.day is None:
            return f"registration is not required there ({_PLACE[reason.what]} is not on file)"
        case Code.PLACE_UNKNOWN:
            return f"the new owner kept the coverage after the sale{dated(reason.day, ' of ')}"
        case Code.NOTIFY_BY:
            return f"the payer is notified of the sale by{dated(reason.until, ' ')}"
        case Code.MAINTENANCE_GAP:
            return f"a technician maintained it{dated(reason.day, ' between ')}{dated(reason.until, ' and ')}"
        case Code.START_ASSUMED:
            return f"it did start{dated(reason.day)}"
        case _:
            return f"{CONDITIONS[reason.what][2]}{_since_the_exchange(reason.day)}"


# --------------------------------------------------------------------------------------------------------- answers

# What only goes along with a "no", and does not head it.
_BESIDE = (Code.PART_REPLACED, Code.START_ASSUMED, Code.EDGE_DAY)


def answer_line(answer: Answer, *, on: dt.date) -> str:
    """The headline of one answer: who pays until when; `on` is the day of the failure.

    >>> answer_line(Answer("t", "installer", "labor", Result.COVERED, (), last=dt.date(2027, 3, 8)), on=dt.date(2026, 3, 2))
    'We pay until March 8, 2027.'
    """
    payer = answer.payer
    match answer.result:
        case Result.COVERED:
            known = "for the life of the unit" if answer.lifetime else f"until{dated(answer.last, ' ')}"
            return f"{upper(pays(payer))} {known}{_possibly(answer)}."
        case Result.COVERED_IF:
            return f"{upper(subject(payer))} may pay {_hoped(answer)}."
        case Result.NOT_COVERED:
            return f"{does_not_pay(payer)}: {_why_not(answer.reasons, on)}."
        case Result.CANNOT_SAY:
            return f"We cannot say whether {pays(payer)}: {lower(_reason(answer.reasons[0], on))}."
        case _ as never:
            assert_never(never)


def does_not_pay(payer: str) -> str:
    """That a payer does not pay, as the beginning of a sentence."""
    return f"{upper(subject(payer))} {'do' if is_we(payer) else 'does'} not pay"


def _possibly(answer: Answer) -> str:
    if answer.possible_lifetime:
        return ", possibly for the life of the unit"
    return dated(answer.possible_last, ", possibly until ")


def longer(last: dt.date | None, hangs_on: Iterable[Reason]) -> str:
    """How far a promise may still run (None: for the life of the unit) and what that hangs on.

    >>> longer(dt.date(2031, 3, 1), [Reason(Code.REGISTER_BY, what="either", until=dt.date(2021, 4, 30))])
    'Until March 1, 2031 if it is registered by April 30, 2021.'
    """
    return f"{upper(_so_far(last, hangs_on))}."


def _hoped(answer: Answer) -> str:
    """The last day of the tier that the needs are about, which need not be the longest possible, and those needs."""
    last = next(reason.until for reason in answer.reasons if reason.code is Code.TIER_USED)
    return _so_far(last, answer.needs)


def _so_far(last: dt.date | None, reasons: Iterable[Reason]) -> str:
    until = "for the life of the unit" if last is None else f"until {in_words(last)}"
    return f"{until} if {listed(dict.fromkeys(map(provided, reasons)))}"


def _why_not(reasons: Sequence[Reason], on: dt.date) -> str:
    """The first thing that decided, and how far the term would have run had one thing been otherwise."""
    deciding = _deciding(reasons)
    return f"{lower(_reason(deciding, on))}{_would_have(missed(reasons) or deciding)}"


def why_over(reasons: Sequence[Reason], ended: dt.date) -> str:
    """That coverage ended on a day, and how far it would have run had one thing been otherwise."""
    miss = missed(reasons)
    return f"coverage ended {in_words(ended)}{_would_have(miss) if miss else ''}"


def missed(reasons: Iterable[Reason]) -> Reason | None:
    """The one thing that would have made a term reach further; None where there is none."""
    return next((reason for reason in reasons if reason.would_reach is not None), None)


def has_ended(reasons: Sequence[Reason]) -> bool:
    """Whether what decided a "no" is that a term is over."""
    return _deciding(reasons).code is Code.ENDED


def _deciding(reasons: Sequence[Reason]) -> Reason:
    return next((reason for reason in reasons if reason.code not in _BESIDE), reasons[0])


def standing(where: Standing, *, asked: dt.date) -> str:
    """Where a registration stands on the day of asking."""
    reason = where.reason
    match where.state:
        case State.NOT_REQUIRED:
            return f"{_reason(reason, asked)}."
        case State.WAITING:
            return f"Waiting for a date: the deadline counts from {DATES[reason.what]}."
        case State.TO_DO:
            if where.deadline == asked:
                return f"Register today, the last day for it:{dated(where.deadline, ' ')}."
            return f"Register by{dated(where.deadline, ' ')}, {_gap(asked, where.deadline)} from today."
        case State.SENT:
            return f"Sent{dated(where.day)}; its number is not on file yet."
        case State.CONFIRMED:
            return f"Confirmed{dated(where.day, '; registered on ')}."
        case State.MISSED:
            return f"Missed: {lower(_reason(reason, asked))}."
        case _ as never:
            assert_never(never)


def payment(who: Payment, hangs_on: Iterable[Reason] = ()) -> str:
    """Who pays one kind of cost; `hangs_on` is what must hold where they only may pay.

    >>> payment(Payment("labor", "labor plan if", ("maker",)))
    'Labor: the labor plan may pay; ask the manufacturer first.'
    """
    if who.pays == "cannot say":
        paid = "not clear who pays"
    elif who.pays.endswith(" if"):
        condition = listed(dict.fromkeys(map(provided, hangs_on)))
        paid = f"{subject(who.pays.removesuffix(' if'))} may pay{f', if {condition}' if condition else ''}"
    else:
        paid = pays(who.pays)
    asked = listed(PAYERS[name] for name in who.worth_asking)
    if not asked:
        return f"{upper(who.kind)}: {paid}."
    return f"{upper(who.kind)}: {paid}; ask {asked}{'' if who.pays == 'cannot say' else ' first'}."
