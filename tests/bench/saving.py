"""Saving one form against inserting and updating the same rows bare: a claim's reference, a failure, a write-up of 8 heads."""

import datetime as dt
import json
import sys
import uuid
from collections.abc import Callable
from typing import Any

from tests.bench import fleets, offices
from tests.bench.timing import best, tell

HEADS = 8
TIMES = 15


def main(units: int) -> None:
    """Time each in an office of that size."""
    offices.loaded(units)
    for name, (ours, floor) in offices.told("saving", units, "work").items():
        tell(f"saving {name} | the same rows bare", ours, floor, 10)


def _work() -> None:
    import django

    django.setup()
    from fleet import models
    from fleet.care.actions import care_sheets, write_ups
    from fleet.claims.actions import claims, failures
    from fleet.derived import refresh
    from tests.bench.pages import let_fail

    care_sheets.load_file(fleets.SHEET, by=None, on=fleets.TODAY)
    let_fail(models)
    owner, _ = models.User.objects.get_or_create(username="owner", role="owner")
    claim = models.Claim.objects.select_related("failure").order_by("pk").first()
    system = claim.failure.unit.system
    heads = list(system.units.filter(role="head"))
    for number in range(HEADS - len(heads)):
        heads.append(_one_more(models, heads[0], number))
    refresh.refresh([head.pk for head in heads], on=fleets.TODAY)
    told = {
        "key": str(uuid.uuid4()),
        "day": fleets.TODAY.isoformat(),
        "technician": "Robin Vale",
        "units": [{"unit": str(head.pk), "done": ["coil cleaning"], "dirt_coil": "1"} for head in heads],
    }
    failed = {"component": "sensor", "failed_on": (fleets.TODAY - dt.timedelta(days=3)).isoformat()}
    by: Any = {"by": owner, "on": fleets.TODAY}
    forms: dict[str, tuple[Callable[[], Any], Callable[[], Any]]] = {
        "a claim's reference": (
            lambda: claims.change(claim.pk, version=claim.version, edits={"reference": "NR-5521"}, **by),
            lambda: models.Claim.objects.filter(pk=claim.pk).update(reference="NR-5521"),
        ),
        "a failure": (lambda: failures.record(claim.failure.unit_id, failed, **by), lambda: None),
        f"a write-up of {HEADS} heads": (
            lambda: write_ups.record(system.site_id, told, sent=told, **by),
            lambda: None,
        ),
    }
    print(json.dumps({name: _timed(save, also) for name, (save, also) in forms.items()}))


def _one_more(models: Any, head: Any, number: int) -> Any:
    serial = f"BENCH{number}"
    unit = models.Unit.objects.create(
        system=head.system, role="head", style="wall", maker=head.maker, model=head.model, serial=serial,
        maker_key=head.maker_key, model_key=head.model_key, serial_key=serial,
        installed_on=head.installed_on, started_on=head.started_on, room=f"More {number}",
    )  # fmt: skip
    models.Place.objects.create(unit=unit, system=head.system)
    return unit


def _timed(save: Callable[[], Any], also: Callable[[], Any]) -> tuple[float, float]:
    """The time of saving, and of bare writes of the rows that came of it; each run is undone."""
    from django.apps import apps
    from django.db import transaction
    from django.db.models import Max

    from fleet.derived.refresh import WORKED_OUT

    def undone(work: Callable[[], Any]) -> Any:
        with transaction.atomic():
            done = work()
            transaction.set_rollback(True)
        return done

    tables = list(apps.get_app_config("fleet").get_models())

    def saved() -> list[tuple[Any, list[Any]]]:
        last = {table: table._default_manager.aggregate(last=Max("pk"))["last"] or 0 for table in tables}
        save()
        found = [(table, list(table._default_manager.filter(pk__gt=last[table]))) for table in tables]
        return [(table, rows) for table, rows in found if rows]

    written = undone(saved)

    def bare() -> None:
        for table, rows in written:
            if table in WORKED_OUT:
                # They came in place of others.
                of = "unit" if hasattr(rows[0], "unit_id") else "failure"
                table._default_manager.filter(**{f"{of}__in": {getattr(row, f"{of}_id") for row in rows}}).delete()
            table._default_manager.bulk_create(rows)
        also()

    return best(lambda: undone(save), TIMES), best(lambda: undone(bare), TIMES)


if __name__ == "__main__":
    if len(sys.argv) > 2:
        _work()
    else:
        main(int(sys.argv[1]))
