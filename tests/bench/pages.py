"""Pages of a large fleet against the same pages of a small one, and against one indexed query in a bare template."""

import json
import os
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from tests.bench import fleets
from tests.bench.timing import best, tell

SMALL = 1000


def main(units: int) -> None:
    """Time the same pages in a process for each size; whatever `load` left is thrown away with the folder."""
    small, large = _timed(min(SMALL, units)), _timed(units)
    for name in small:
        if name != "floor":
            tell(f"{name}, {units:,} units | {SMALL:,} units", large[name], small[name], 1.3)
    for name in large:
        if name != "floor":
            tell(f"{name} | one indexed query in a bare template", large[name], large["floor"], 2.5)


def _timed(units: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory(prefix="fleet-bench-") as folder:
        command = [sys.executable, "-m", "tests.bench.pages", str(units), "timed"]
        environment = os.environ | {"DATA_DIR": folder, "ALLOWED_HOSTS": "testserver"}
        done = subprocess.run(command, env=environment, check=True, capture_output=True, text=True)
        found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
        return found


def _work(units: int) -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client, override_settings

    from fleet import clock, models
    from fleet.actions import installs, kept, terms

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    terms.load_tables([tomllib.loads(text) for text in fleets.TERMS], on=fleets.TODAY)
    path = Path(os.environ["DATA_DIR"]) / "installs.csv"
    fleets.write_installs(path, units)
    installs.load(path, by=None, on=fleets.TODAY)
    kept.catch_up(on=clock.today())
    models.User.objects.create_user("owner", password="a long enough password", role="owner")
    client = Client()
    client.force_login(models.User.objects.get())
    unit = models.Unit.objects.order_by("pk")[units // 2]
    addresses = {
        "unit page": f"/units/{unit.pk}",
        "site page": f"/sites/{unit.system.site_id}",
        "coverage ending": "/coverage-ending?days=365",
        "look-up of a serial": f"/look-up?text={unit.serial[2:8]}",
    }
    found = {name: best(lambda at=at: _get(client, at), times=15) for name, at in addresses.items()}
    with override_settings(ROOT_URLCONF="tests.bench.floor"):
        found["floor"] = best(lambda: _get(client, "/"), times=15)
    print(json.dumps(found))


def _get(client: object, at: str) -> None:
    response = client.get(at)  # type: ignore[attr-defined]
    assert response.status_code == 200, (at, response.status_code)


if len(sys.argv) > 2:
    _work(int(sys.argv[1]))
else:
    main(int(sys.argv[1]))
