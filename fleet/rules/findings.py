"""What the rules answer: results, reasons and needs as values; `wording` turns them into sentences."""

import datetime as dt
from dataclasses import dataclass
from enum import Enum, StrEnum


class Result(StrEnum):
    """What the terms say about one failure."""

    COVERED = "covered"
    COVERED_IF = "covered_if"
    NOT_COVERED = "not_covered"
    CANNOT_SAY = "cannot_say"


class Verdict(Enum):
    """Whether a condition holds; a fact that nobody recorded leaves it open."""

    YES = "yes"
    NO = "no"
    OPEN = "open"


class Code(StrEnum):
    """Every reason and need that an answer may carry; outside programs rely on these names."""

    TIER_USED = "tier_used"
    CONDITION_MET = "condition_met"
    REGISTERED_IN_TIME = "registered_in_time"
    REGISTERED_WITH_NUMBER = "registered_with_number"
    REGISTERED_LATE = "registered_late"
    NOT_REGISTERED = "not_registered"
    REGISTRATION_NOT_REQUIRED = "registration_not_required"
    REGISTRATION_ACCEPTED_LATE = "registration_accepted_late"
    REGISTER_BY = "register_by"
    ANCHOR_UNKNOWN = "anchor_unknown"
    PLACE_UNKNOWN = "place_unknown"
    START_UNKNOWN = "start_unknown"
    START_ASSUMED = "start_assumed"
    BEFORE_START = "before_start"
    WAITING_DAYS = "waiting_days"
    ENDED = "ended"
    EDGE_DAY = "edge_day"
    COMPONENT_NOT_LISTED = "component_not_listed"
    CAUSE_EXCLUDED = "cause_excluded"
    CONDITION_OPEN = "condition_open"
    CONDITION_FAILED = "condition_failed"
    SOLD = "sold"
    TRANSFER_IN_TIME = "transfer_in_time"
    TRANSFER_MISSED = "transfer_missed"
    TRANSFER_AUTOMATIC = "transfer_automatic"
    NOTIFY_BY = "notify_by"
    MAINTENANCE_GAP = "maintenance_gap"
    PART_REPLACED = "part_replaced"
    UNIT_EXCHANGED = "unit_exchanged"
    UNIT_REMOVED = "unit_removed"
    NO_TERMS = "no_terms"


@dataclass(frozen=True, slots=True)
class Reason:
    """One code with the facts that its sentence names.

    `what` is a condition, date name or component; `day` the fact's day; `until` the limit or last day it was held against;
    `would_reach` the last day the term would have had if this one thing had been otherwise.
    """

    code: Code
    what: str = ""
    day: dt.date | None = None
    until: dt.date | None = None
    would_reach: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """Whether a condition holds, with the one reason that decided it, or several where several stand open."""

    verdict: Verdict
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """What one payer's terms say about one failure and one kind of cost.

    `first` and `last` are the definite term's days (`lifetime`: it has no last day), `possible_last` the possible term's
    last day where it ends later than the definite one, and `hangs_on` what stands open in it.
    """

    terms: str
    payer: str
    kind: str
    result: Result
    reasons: tuple[Reason, ...]
    needs: tuple[Reason, ...] = ()
    first: dt.date | None = None
    last: dt.date | None = None
    lifetime: bool = False
    possible_last: dt.date | None = None
    possible_lifetime: bool = False
    possible_first: dt.date | None = None
    hangs_on: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Payment:
    """Who pays one kind of cost (with `if` where it hangs on something), and whom else it is worth asking."""

    kind: str
    pays: str
    worth_asking: tuple[str, ...]
