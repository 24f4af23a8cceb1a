"""Pages of a large fleet against those of a small one, one indexed query in a bare template, and the framework's own list."""

import datetime as dt
import json
import sys
from decimal import Decimal
from typing import Any

from tests.bench import fleets, offices
from tests.bench.timing import best, tell, tell_queries

SMALL = 1000
# A dozen sites: the fewest with a row or a few in each list, since one that is empty looks nothing up for its rows.
ONE = 60
TIMES = 10
MOST_QUERIES = 30
COMPARED = "coverage ending"


def main(units: int) -> None:
    """Time the same pages in a process for each size."""
    fewer = min(SMALL, units)
    one, small, large = (_measured(size) for size in (ONE, fewer, units))
    times, floors = large["times"], large["floors"]
    for name in times:
        tell(f"{name}, {units:,} units | {fewer:,} units", times[name], small["times"][name], 2)
    for name in times:
        tell(f"{name} | one indexed query in a bare template", times[name], floors["bare"], 10)
    tell(f"{COMPARED} | the framework's own list", times[COMPARED], floors["framework"], 0.5)
    for name, queries in large["queries"].items():
        tell_queries(name, queries, one["queries"][name], MOST_QUERIES)


def _measured(units: int) -> dict[str, Any]:
    offices.loaded(units)
    found: dict[str, Any] = offices.told("pages", units, "work")
    return found


def _work() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client, override_settings
    from django.test.utils import CaptureQueriesContext

    from fleet import clock, models
    from fleet.care.actions import care_sheets
    from fleet.derived import refresh

    call_command("collectstatic", interactive=False, verbosity=0)
    # Asked as of the day that the fleet was written for, else each next morning's dues would have to be worked out first.
    clock.today = lambda: fleets.TODAY
    care_sheets.load_file(fleets.SHEET, by=None, on=clock.today())
    refresh.catch_up(on=clock.today())
    let_fail(models)
    owner, _ = models.User.objects.get_or_create(username="owner", role="owner")
    client = Client()
    client.force_login(owner)
    pages = _addresses(models)
    times = {name: best(lambda at=at: _get(client, at), times=TIMES) for name, at in pages.items()}
    queries = {}
    for name, at in pages.items():
        with CaptureQueriesContext(connection) as asked:
            _get(client, at)
        queries[name] = len(asked)
    with override_settings(ROOT_URLCONF="tests.bench.floor"):
        bare, framework = (best(lambda at=at: _get(client, at), times=TIMES) for at in ("/", "/framework"))
    print(json.dumps({"times": times, "queries": queries, "floors": {"bare": bare, "framework": framework}}))


def let_fail(models) -> None:
    """Let one unit in twenty have failed in the last three years, and claim a third of those, some of them filed."""
    from fleet.claims.actions import claims
    from fleet.derived import refresh
    from fleet.rules.claims import State

    if models.Failure.objects.exists():
        return
    units = list(models.Unit.objects.order_by("pk").values_list("pk", "installed_on")[::20])
    days = [fleets.TODAY - dt.timedelta(days=2 + 7 * number % 1000) for number in range(len(units))]
    failures = models.Failure.objects.bulk_create(
        models.Failure(
            unit_id=pk,
            component="indoor fan motor",
            failed_on=max(day, installed_on),
            repaired_on=max(day, installed_on),
            part_taken_on=max(day, installed_on),
            parts_cost=200,
            labor_minutes=90,
        )
        for (pk, installed_on), day in zip(units, days, strict=True)
    )
    refresh.refresh([pk for pk, _ in units], on=fleets.TODAY)
    terms = models.Terms.objects.get(code="bench-maker")
    for number, failure in enumerate(failures[::3]):
        claim = claims.open(failure.pk, terms.pk, because="Asked all the same.", by=None, on=fleets.TODAY)
        if number % 2:
            told = {"version": claim.version, "by": None, "on": fleets.TODAY, "amount": Decimal(200)}
            claims.step(claim.pk, to=State.FILED, day=fleets.TODAY, **told)


def _addresses(models) -> dict[str, str]:
    """Name the pages: those about one thing are of the unit in the middle of the fleet."""
    unit = models.Unit.objects.order_by("pk")[models.Unit.objects.count() // 2]
    site = unit.system.site_id
    return {
        "unit page": f"/units/{unit.pk}",
        "site page": f"/sites/{site}",
        "coverage ending": "/coverage-ending?days=365",
        "on our desk": "/on-our-desk",
        "what is due": "/due",
        "what is due, by site": "/due?listed=by+site",
        "care of a site": f"/sites/{site}/care",
        "registrations missed": "/registrations?state=missed",
        "registrations confirmed": "/registrations?state=confirmed",
        "missing information": "/missing-information",
        "one system's registration": f"/systems/{unit.system_id}/registration",
        "claims": "/claims",
        "one claim": f"/claims/{models.Claim.objects.order_by('pk')[models.Claim.objects.count() // 2].pk}",
        "deadlines": "/deadlines",
        "failures": "/failures",
        "money": "/money",
    }


def _get(client, at: str) -> None:
    response = client.get(at)
    assert response.status_code == 200, (at, response.status_code)


if __name__ == "__main__":
    if len(sys.argv) > 2:
        _work()
    else:
        main(int(sys.argv[1]))
