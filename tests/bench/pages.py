"""Pages of a large fleet against the same pages of a small one, and against one indexed query in a bare template."""

import datetime as dt
import json
import sys
from decimal import Decimal

from tests.bench import fleets, offices
from tests.bench.timing import best, tell

SMALL = 1000
TIMES = 15


def main(units: int) -> None:
    """Time the same pages in a process for each size."""
    small, large = _timed(min(SMALL, units)), _timed(units)
    for name in small:
        if name != "floor":
            tell(f"{name}, {units:,} units | {SMALL:,} units", large[name], small[name], 1.3)
    for name in large:
        if name != "floor":
            tell(f"{name} | one indexed query in a bare template", large[name], large["floor"], 2.5)


def _timed(units: int) -> dict[str, float]:
    offices.loaded(units)
    found: dict[str, float] = offices.told("pages", units, "work")
    return found


def _work() -> None:
    import django

    django.setup()
    from django.core.management import call_command
    from django.test import Client, override_settings

    from fleet import clock, models
    from fleet.care.actions import care
    from fleet.derived import refresh

    call_command("collectstatic", interactive=False, verbosity=0)
    # Asked as of the day that the fleet was written for, else each next morning's dues would have to be worked out first.
    clock.today = lambda: fleets.TODAY
    care.load_file(fleets.SHEET, by=None, on=clock.today())
    refresh.catch_up(on=clock.today())
    _let_fail(models)
    owner, _ = models.User.objects.get_or_create(username="owner", role="owner")
    client = Client()
    client.force_login(owner)
    found = {name: best(lambda at=at: _get(client, at), times=TIMES) for name, at in _addresses(models).items()}
    with override_settings(ROOT_URLCONF="tests.bench.floor"):
        found["floor"] = best(lambda: _get(client, "/"), times=TIMES)
    print(json.dumps(found))


def _let_fail(models) -> None:
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
        "look-up of a serial": f"/look-up?text={unit.serial[2:8]}",
        "coverage ending": "/coverage-ending?days=365",
        "waiting on us": "/waiting-on-us",
        "what is due": "/due",
        "what is due, by site": "/due?listed=by+site",
        "care of a site": f"/sites/{site}/care",
        "registrations missed": "/registrations?state=missed",
        "registrations confirmed": "/registrations?state=confirmed",
        "facts wanted": "/facts-wanted",
        "one system's registration": f"/systems/{unit.system_id}/registration",
        "claims": "/claims",
        "one claim": f"/claims/{models.Claim.objects.order_by('pk')[models.Claim.objects.count() // 2].pk}",
        "claims' clocks": "/claims/clocks",
        "failures": "/failures",
        "money": "/money",
        "import": "/import",
        "new install": "/new-install",
        "merge of a unit": f"/units/{unit.pk}/merge",
        "house sold": f"/sites/{site}/sold",
    }


def _get(client, at: str) -> None:
    response = client.get(at)
    assert response.status_code == 200, (at, response.status_code)


if __name__ == "__main__":
    if len(sys.argv) > 2:
        _work()
    else:
        main(int(sys.argv[1]))
