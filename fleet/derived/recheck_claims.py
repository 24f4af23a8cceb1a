"""What is kept of failures and claims, held against what their facts and steps give."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from fleet import models
from fleet.derived import claim_rows
from fleet.derived.failure_money import MoneyValues, PartValues
from fleet.facts import TermsBook, Told
from fleet.facts.house import house
from fleet.rules.claims import State, standing


class Differs(NamedTuple):
    """One kept thing of a unit that is not what it should be (None: nothing is kept, or should be)."""

    unit: str
    row: str
    kept: str | None
    worked_out: str | None


def differences(told: Mapping[int, Told], book: TermsBook, *, on: dt.date) -> Iterator[Differs]:
    """Report each clock, the money of a failure with its parts, and each claim that differs."""
    failed = [pk for pk, unit in told.items() if unit.row.failures.all()]
    if not failed:
        return
    ours = house()
    have = _rows(failed)
    for pk, failures in claim_rows.failures_of(failed).items():
        name = str(told[pk].row)
        rows = list(claim_rows.kept_of(told[pk], failures, book, ours, on=on))
        want = {_name(row): row for row in rows if not isinstance(row, claim_rows.ClaimValues)}
        stored = have.get(pk, {})
        for row_name in sorted(set(want) | set(stored)):
            if want.get(row_name) != stored.get(row_name):
                yield Differs(name, row_name, _text(stored.get(row_name)), _text(want.get(row_name)))
        should = {row.claim_id: row for row in rows if isinstance(row, claim_rows.ClaimValues)}
        for failure in failures:
            for claim in failure.claims.all():
                yield from _claim(name, claim, should[claim.pk])


_TABLES = (
    (models.ClockRow, claim_rows.ClockValues),
    (models.MoneyRow, MoneyValues),
    (models.MoneyPart, PartValues),
)


def _rows(unit_ids: list[int]) -> dict[int, dict[str, claim_rows.ClockValues | MoneyValues | PartValues]]:
    found: dict[int, dict[str, claim_rows.ClockValues | MoneyValues | PartValues]] = {}
    for table, values in _TABLES:
        columns = table.objects.filter(failure__unit__in=unit_ids)
        for unit_id, *told in columns.values_list("failure__unit_id", *values._fields):
            row = values(*told)
            found.setdefault(unit_id, {})[_name(row)] = row
    return found


def _name(row: claim_rows.ClockValues | MoneyValues | PartValues) -> str:
    if isinstance(row, MoneyValues):
        return f"money of failure {row.failure_id}"
    if isinstance(row, PartValues):
        return f"{row.figure} of failure {row.failure_id}{row.payer_name and f' from {row.payer_name}'}"
    return f"clock of {row.kind} of failure {row.failure_id} under terms {row.terms_id}"


def _claim(unit: str, claim: models.Claim, should: claim_rows.ClaimValues) -> Iterator[Differs]:
    have = claim_rows.ClaimValues(claim.pk, *(getattr(claim, name) for name in claim_rows.ClaimValues._fields[1:]))
    if have != should:
        yield Differs(unit, f"claim {claim.pk}", _text(have), _text(should))
    after = standing(claim_rows.taken(claim.steps.all()))
    stands = replace(
        after,
        state=State(claim.state),
        asked=claim.asked,
        approved=claim.approved,
        credited=claim.credited,
        filed_on=claim.filed_on,
        last_step_on=claim.last_step_on,
    )
    if stands != after:
        yield Differs(unit, f"claim {claim.pk} after its steps", str(stands), str(after))


def _text(row: claim_rows.ClockValues | claim_rows.ClaimValues | MoneyValues | PartValues | None) -> str | None:
    return None if row is None else ", ".join(f"{name}={value}" for name, value in row._asdict().items())
