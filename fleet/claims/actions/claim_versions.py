"""Two at once: a claim is written as it was seen or not at all, and whoever comes second is told who did what meanwhile."""

from collections.abc import Iterable, Mapping
from typing import Any

from fleet import models
from fleet.derived import claim_rows
from fleet.refusals import Conflict
from fleet.rules import claims as rules
from fleet.rules.claims import State
from fleet.rules.dates import in_words
from fleet.rules.wording import claim_steps as wording


def seen(row: models.Claim, version: int) -> None:
    """Raise Conflict where somebody changed a claim since this version of it was seen."""
    if row.version != version:
        raise _conflict(row)


def set_to(row: models.Claim, values: Mapping[str, Any]) -> None:
    """Write a claim as it was seen, or not at all."""
    as_seen = models.Claim.objects.filter(pk=row.pk, version=row.version)
    if not as_seen.update(version=row.version + 1, **values):
        raise _conflict(row)
    row.version += 1


def set_by(row: models.Claim, steps: Iterable[models.ClaimStep]) -> None:
    """Write where a claim stands, and its money, by the steps that it took."""
    after = rules.standing(claim_rows.taken(steps))
    set_to(row, {name: getattr(after, name) for name in rules.Standing.__dataclass_fields__})


def _conflict(row: models.Claim) -> Conflict:
    version = models.Claim.objects.values_list("version", flat=True).get(pk=row.pk)
    return Conflict(_who_did_what(row), "version", now={"version": version})


def _who_did_what(row: models.Claim) -> str:
    """What happened to a claim last, and who did it, in a sentence."""
    step = row.steps.select_related("by").order_by("-number").first()
    changed = models.Change.objects.filter(table="claim", object_id=row.pk).select_related("by").order_by("-pk").first()
    if changed is not None and (step is None or changed.at > step.at):
        what = "has undone a step" if changed.field == "step" else f"changed the {changed.field.replace('_', ' ')}"
        by, did = changed.by, f"{what} of this claim"
    elif step is not None:
        by, did = step.by, f"moved this claim to “{wording.STATES[State(step.went_to)]}” on {in_words(step.on)}"
    else:
        by, did = None, "changed this claim"
    return f"{by or 'Somebody'} {did} meanwhile. Nothing of yours was saved."
