"""Registration of a holding: its deadline, the condition "registered", and the state that a list shows."""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from fleet.rules.dates import limit
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Code, Judgement, Reason, Verdict
from fleet.rules.starts import date_of
from fleet.rules.terms import Place, RegistrationTerms


class State(StrEnum):
    """Where the registration of one holding stands."""

    NOT_REQUIRED = "not required"
    WAITING = "waiting for a date"
    TO_DO = "to do"
    SENT = "sent"
    CONFIRMED = "confirmed"
    MISSED = "missed"


@dataclass(frozen=True, slots=True)
class Standing:
    """The state with the day that belongs to it: the deadline, the day it was sent or confirmed, or None; and why."""

    state: State
    day: dt.date | None
    deadline: dt.date | None
    reason: Reason


def deadline(unit: Unit, holding: Holding) -> dt.date | None:
    """The last day on which registering is in time; None while the date it is counted from is unknown."""
    rules = holding.terms.registration
    if rules is None or not rules.required:
        return None
    anchor = date_of(_anchor_name(rules, unit), unit, holding)
    return None if anchor is None else limit(anchor, rules.within_days)


def _anchor_name(rules: RegistrationTerms, unit: Unit) -> str:
    if rules.new_house_counted_from and unit.first_site.new_construction is True:
        return rules.new_house_counted_from
    return rules.counted_from


def judge(unit: Unit, holding: Holding, *, start: dt.date | None, asked: dt.date) -> Judgement:
    """Judge the condition "registered", in this order.

    1. Yes: not required by the terms, or by the law of the place; accepted late in writing; registered on or before the
       deadline; registered with the payer's number on file while the date the limit counts from is unknown.
    2. No: registered after the deadline; not registered and the deadline before the day of asking. But open, where
       region or use is blank and a listed place would fit if they were known.
    3. Open: not registered and the deadline not passed; the date the limit counts from unknown.
    """
    rules = holding.terms.registration
    if rules is None or not rules.required:
        return _yes(Reason(Code.REGISTRATION_NOT_REQUIRED))
    region, use = unit.first_site.region, unit.first_site.use_on(start or asked)
    if any(_lies_in(place, region, use, start) for place in rules.not_required_in):
        return _yes(Reason(Code.REGISTRATION_NOT_REQUIRED, what=region))
    if holding.accepted_late:
        return _yes(Reason(Code.REGISTRATION_ACCEPTED_LATE, day=holding.registered_on))
    last = deadline(unit, holding)
    registered = holding.registered_on
    if last is not None and registered is not None and registered <= last:
        return _yes(Reason(Code.REGISTERED_IN_TIME, day=registered, until=last))
    if last is None:
        if holding.registration_number:
            return _yes(Reason(Code.REGISTERED_WITH_NUMBER, what=holding.registration_number, day=registered))
        return _open(Reason(Code.ANCHOR_UNKNOWN, what=_anchor_name(rules, unit), day=registered))
    if registered is not None:
        no = Reason(Code.REGISTERED_LATE, day=registered, until=last)
    elif last < asked:
        no = Reason(Code.NOT_REGISTERED, until=last)
    else:
        return _open(Reason(Code.REGISTER_BY, what=rules.by, until=last))
    if any(_might_lie_in(place, region, use, start) for place in rules.not_required_in):
        return _open(Reason(Code.PLACE_UNKNOWN, what="use" if region else "region"))
    return Judgement(Verdict.NO, (no,))


def _yes(reason: Reason) -> Judgement:
    return Judgement(Verdict.YES, (reason,))


def _open(reason: Reason) -> Judgement:
    return Judgement(Verdict.OPEN, (reason,))


def _begins_in(place: Place, start: dt.date | None) -> bool:
    return place.started_from is None or (start is not None and start >= place.started_from)


def _lies_in(place: Place, region: str, use: str, start: dt.date | None) -> bool:
    return place.region == region and (not place.uses or use in place.uses) and _begins_in(place, start)


def _might_lie_in(place: Place, region: str, use: str, start: dt.date | None) -> bool:
    return region in ("", place.region) and (not place.uses or use in ("", *place.uses)) and _begins_in(place, start)


def standing(unit: Unit, holding: Holding, *, start: dt.date | None, asked: dt.date) -> Standing:
    """Where the registration stands on a day; confirmed (the payer's number on file) wins over not required."""
    found = judge(unit, holding, start=start, asked=asked)
    last = deadline(unit, holding)
    reason = found.reasons[0]
    late = found.verdict is Verdict.NO or reason.code is Code.PLACE_UNKNOWN
    if late:
        return Standing(State.MISSED, last, last, reason)
    if holding.registration_number:
        return Standing(State.CONFIRMED, holding.registered_on, last, reason)
    if holding.registered_on is not None or holding.accepted_late:
        return Standing(State.SENT, holding.registered_on, last, reason)
    if found.verdict is Verdict.YES:
        return Standing(State.NOT_REQUIRED, None, last, reason)
    if reason.code is Code.ANCHOR_UNKNOWN:
        return Standing(State.WAITING, None, None, reason)
    return Standing(State.TO_DO, last, last, reason)
