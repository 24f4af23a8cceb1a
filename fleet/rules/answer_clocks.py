"""The last days of an answer: by when to file, and to have the old part back."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from fleet.rules.dates import limit
from fleet.rules.facts import Repair
from fleet.rules.findings import Answer, Result
from fleet.rules.terms import Terms


@dataclass(frozen=True, slots=True)
class Clocks:
    """The last days to file a claim and to have the old part back; None where there is none or its day is not known."""

    file_by: dt.date | None
    part_back_by: dt.date | None


def clocks(answer: Answer, terms: Terms, repairs: Iterable[Repair], component: str, *, on: dt.date) -> Clocks:
    """Find the clocks of an answer that is covered or covered_if, from the failure asked about and its repair on file."""
    if answer.result not in (Result.COVERED, Result.COVERED_IF):
        return Clocks(None, None)
    same = [repair for repair in repairs if repair.component == component and repair.failed_on == on]
    days = {
        "failed_on": on,
        "repaired_on": max((repair.repaired_on for repair in same if repair.repaired_on), default=None),
        "part_taken_on": max((repair.part_taken_on for repair in same if repair.part_taken_on), default=None),
    }
    rules = terms.claims
    back = rules.part_back_within_days if answer.kind == "parts" and rules.part_wanted_back else None
    return Clocks(
        _after(days[rules.file_counted_from], rules.file_within_days),
        _after(days[rules.part_back_counted_from], back),
    )


def _after(anchor: dt.date | None, within: int | None) -> dt.date | None:
    return None if anchor is None or within is None else limit(anchor, within)
