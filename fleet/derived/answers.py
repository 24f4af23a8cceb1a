"""The answer for one failure in the shape that outside programs rely on, and in which it is kept beside a failure."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fleet.rules import answer_clocks, coverage, wording
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Answer, Code, Reason

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Question:
    """A failure asked about: which unit, what failed on which day, why (blank: not said), asked on which day."""

    serial: str
    component: str
    on: dt.date
    asked: dt.date
    maker: str = ""
    model: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Plate:
    """What a unit's answers name it by, as stored."""

    maker: str
    model: str
    serial: str


def answer(asked: Question, plate: Plate, unit: Unit, holdings: Sequence[Holding]) -> Json:
    """Write what the rules say in the promised shape."""
    terms = {holding.terms.code: holding.terms for holding in holdings}
    found = coverage.answers(unit, holdings, asked.component, on=asked.on, asked=asked.asked, cause=asked.cause)
    clocks = [answer_clocks.clocks(one, terms[one.terms], unit.repairs, asked.component, on=asked.on) for one in found]
    payments = coverage.payments(found)
    notes = [] if holdings else [Reason(Code.NO_TERMS)]
    return {
        "maker": plate.maker,
        "model": plate.model,
        "serial": plate.serial,
        "component": asked.component,
        "on": asked.on.isoformat(),
        "asked": asked.asked.isoformat(),
        "answers": [_answer(one, clock, asked) for one, clock in zip(found, clocks, strict=True)],
        "pays": {payment.kind: payment.pays for payment in payments},
        "worth_asking": {payment.kind: list(payment.worth_asking) for payment in payments},
        "notes": [_reason(note, on=asked.on) for note in notes],
    }


def _answer(one: Answer, clock: answer_clocks.Clocks, asked: Question) -> Json:
    found: Json = {
        "terms": one.terms,
        "payer": one.payer,
        "pays_for": one.kind,
        "result": one.result.value,
        "first_day": _day(one.first),
        "last_day": _day(one.last),
        "possible_last_day": _day(one.possible_last),
        "days_left": None if one.last is None else (one.last - asked.asked).days,
        "reasons": [_reason(reason, on=asked.on) for reason in one.reasons],
        "needs": [
            {"code": need.code.value, "text": wording.need(need, on=asked.on), "until": _day(until(need))}
            for need in one.needs
        ],
        "file_by": _day(clock.file_by),
        "part_back_by": _day(clock.part_back_by),
    }
    if one.lifetime:
        found["lifetime"] = True
    if one.possible_lifetime:
        found["possible_lifetime"] = True
    return found


def until(need: Reason) -> dt.date | None:
    """The day by which a need must be met; only limits have one."""
    return need.until if need.code in (Code.REGISTER_BY, Code.NOTIFY_BY) else None


def _reason(reason: Reason, *, on: dt.date) -> Json:
    return {"code": reason.code.value, "text": wording.sentence(reason, on=on)}


def _day(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()
