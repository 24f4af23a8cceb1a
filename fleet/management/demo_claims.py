"""The demo company's claims: failures of its history file, asked of their payers, each somewhere else on its way."""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from fleet import models
from fleet.claims.actions import claims
from fleet.claims.actions import suppliers as supplying
from fleet.claims.queries.claims import of_failure
from fleet.derived import refresh
from fleet.rules.claims import State
from fleet.rules.dates import DAY

HOURLY_RATE = Decimal("115.00")
SUPPLIER: dict[str, Any] = {
    "name": "Pellbrook Parts Counter",
    "phone": "207-555-0177",
    "file_within_days": 30,
    "file_counted_from": "repaired_on",
    "part_back_within_days": 45,
    "part_back_counted_from": "failed_on",
    "old_part": "return",
    "fee": Decimal("15.00"),
}


class Step(NamedTuple):
    """One step: so many days after the repair."""

    after: int
    to: State
    amount: str = ""
    reason: str = ""
    last: bool = False
    reference: str = ""


class Asked(NamedTuple):
    """A payer asked for one failure, found by its reference in the history file; days count from its repair."""

    reference: str
    payer: str
    steps: Sequence[Step] = ()
    number: str = ""
    form: bool = False
    part_back: int | None = None
    through_supplier: bool = False
    forgone: str = ""


_FILED, _MORE, _ALL, _PART = State.FILED, State.ASKED_FOR_MORE, State.APPROVED, State.PART_APPROVED
_NO, _CREDIT, _OFF, _BACK = State.DENIED, State.CREDITED, State.WRITTEN_OFF, State.WITHDRAWN

CLAIMS = (
    Asked(
        "TW-0843", "maker",
        [Step(8, _FILED, "1212.00"), Step(40, _ALL, "1212.00"), Step(58, _CREDIT, "1212.00", reference="CR 88102")],
        number="TV 30551", form=True, part_back=15,
    ),
    Asked(
        "TW-0554", "maker",
        [
            Step(12, _FILED, "862.00"),
            Step(33, _NO, reason="They were not asked for prior approval before the compressor was replaced."),
            Step(90, _OFF, reason="Asked again by phone on two days; they stand by it."),
        ],
        number="TV 21877", form=True, part_back=20,
    ),
    Asked(
        "TW-1580", "maker",
        [Step(5, _FILED, "203.75"), Step(20, _ALL, "203.75"), Step(41, _CREDIT, "203.75", reference="CR 90417")],
        number="TV 41206", form=True, part_back=9,
    ),
    Asked(
        "TW-1612", "labor plan",
        [
            Step(4, _FILED, "102.00"),
            Step(18, _NO, reason="No proof of yearly maintenance came with it."),
            Step(25, _FILED, "102.00", "Both yearly records were sent."),
            Step(40, _ALL, "102.00"),
            Step(61, _CREDIT, "102.00", reference="Q-5501"),
        ],
        number="QD 7718",
    ),
    Asked(
        "TW-1612", "maker",
        [
            Step(4, _FILED, "38.00"),
            Step(30, _NO, reason="The number off the old part was never sent."),
            Step(45, _OFF, reason="The old igniter was thrown away; nothing is left to send."),
        ],
        number="B 60114",
    ),
    Asked(
        "TW-1808", "maker",
        [
            Step(10, _FILED, "321.75"),
            Step(35, _PART, "280.00", "They pay the price of their own list."),
            Step(50, _CREDIT, "140.00", reference="KM 204-1"),
            Step(78, _CREDIT, "140.00", reference="KM 204-2"),
        ],
        number="K-11820", part_back=8,
    ),
    Asked(
        "TW-2072", "maker",
        [
            Step(12, _FILED, "237.00"),
            Step(24, _MORE, reason="Readings before the repair."),
            Step(30, _FILED),
            Step(52, _ALL, "237.00"),
            Step(70, _CREDIT, "120.00", reference="CR 97730"),
        ],
        number="TV 52290", form=True, part_back=14,
    ),
    Asked("TW-2250", "maker", [Step(3, _BACK, reason="A loose plug was the cause; the board went back on the truck.")]),
    Asked(
        "TW-2401", "maker",
        [Step(8, _FILED, "64.25"), Step(30, _ALL, "64.25"), Step(45, _CREDIT, "64.25", reference="CR 99015")],
        number="TV 55871", form=True, part_back=11,
    ),
    Asked(
        "TW-2472", "maker",
        [Step(6, _FILED, "145.50"), Step(25, _ALL, "145.50"), Step(33, _CREDIT, "145.50", reference="KM 377")],
        number="K-13009", part_back=7,
    ),
    Asked("TW-2401", "labor plan", [Step(6, _FILED, "113.00"), Step(30, _ALL, "113.00")], number="QD 9120"),
    Asked(
        "TW-2517", "maker",
        [Step(9, _FILED, "164.00"), Step(60, _NO, reason="The old part came back after its last day.")],
        number="K-13244", part_back=31,
    ),
    Asked("TW-2562", "maker", forgone="A few feet of hose: less than an hour at the desk costs."),
    Asked(
        "TW-2569", "maker",
        [Step(20, _FILED, "17.00"), Step(40, _MORE, reason="A photo of the nameplate that can be read.")],
        number="TV 60077", form=True,
    ),
    Asked("TW-2620", "maker", [Step(5, _FILED, "168.75")], number="K-14102"),
    Asked("TW-2656", "maker", through_supplier=True),
    Asked(
        "TW-2657", "maker",
        [Step(6, _FILED, "68.00"), Step(14, _PART, "60.00", "They take their own list's price for the valve.")],
        number="TV 60391", form=True,
    ),
)  # fmt: skip


def bring(*, by: models.User, today: dt.date) -> None:
    """Open the claims and take them on, each step on its own day; what is kept is then worked out as of today."""
    _, is_new = models.House.objects.get_or_create(pk=1, defaults={"hourly_rate": HOURLY_RATE})
    if is_new:
        # What every failure cost hangs on our rate, whether it is claimed or not.
        refresh.refresh_claimed(on=today)
    supplier = supplying.add(told=SUPPLIER, by=by, on=today)
    told = models.HistoryRow.objects.filter(table="failure", reference__in=[one.reference for one in CLAIMS])
    failures = {reference: int(pk or 0) for reference, pk in told.values_list("reference", "object_id")}
    for asked in CLAIMS:
        _claim(models.Failure.objects.get(pk=failures[asked.reference]), asked, supplier, by=by, today=today)
    units = models.Failure.objects.filter(pk__in=failures.values()).values_list("unit_id", flat=True)
    refresh.refresh(sorted(set(units)), on=today)


def _claim(
    failure: models.Failure, asked: Asked, supplier: models.Supplier, *, by: models.User, today: dt.date
) -> None:
    repaired_on = failure.repaired_on or failure.failed_on
    opened_on = repaired_on + DAY
    found = of_failure(failure.pk, on=opened_on)
    assert found is not None
    terms = next((offer.terms_pk for offer in found.promised if offer.payer == asked.payer), None)
    if terms is None:
        return  # years from now, by the fixed days of the printed terms, that payer promises nothing here
    if asked.forgone:
        claims.forgo(failure.pk, terms, because=asked.forgone, by=by, on=repaired_on + 5 * DAY)
        return
    row = claims.open(failure.pk, terms, supplier=supplier if asked.through_supplier else None, by=by, on=opened_on)
    edits: dict[str, Any] = {"reference": asked.number}
    if asked.form:
        edits["form_on"] = failure.failed_on
    if asked.part_back is not None:
        edits["part_back_on"] = repaired_on + asked.part_back * DAY
    claims.change(row.pk, version=row.version, edits=edits, by=by, on=today)
    for step in asked.steps:
        row.refresh_from_db(fields=["version"])
        day = repaired_on + step.after * DAY
        claims.step(
            row.pk,
            version=row.version,
            to=step.to,
            day=day,
            amount=Decimal(step.amount) if step.amount else None,
            reason=step.reason,
            last=step.last,
            reference=step.reference,
            by=by,
            on=day,
        )
