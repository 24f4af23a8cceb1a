"""Planning a year of visits of every site: the time, and the memory, against gathering the work of the same sites alone.

All sites share the hours on hand, so all must be at hand at once: what is bounded is what each of them takes.
"""

import json
import resource
import sys
import time
from decimal import Decimal

from tests.bench import fleets, offices
from tests.bench.timing import tell

WORKS = ("gather", "plan")


def main(units: int) -> None:
    """Run each in a process of its own, and compare; the last row holds what a site takes at both sizes against each other."""
    tenth = units // 10
    for size in (tenth, units):
        offices.loaded(size)
        offices.told("visits", size, "care")
    took = {(work, size): offices.told("visits", size, work) for size in (tenth, units) for work in WORKS}
    gathered, planned = took["gather", units], took["plan", units]
    what = f"a year's visits of {gathered['sites']:,} sites planned | their work gathered"
    tell(what, planned["seconds"], gathered["seconds"], 4)
    tell(f"memory of that, {planned['peak'] // 1024:,} MB", planned["peak"], gathered["peak"], 2)
    tell("time a site of that | at a tenth of it", _each(planned), _each(took["plan", tenth]), 1.5)


def _each(told: dict[str, float]) -> float:
    return told["seconds"] / told["sites"]


def _work(units: int, work: str) -> None:
    import django

    django.setup()
    from fleet.care.actions import care
    from fleet.care.facts import visits
    from fleet.care.queries import visits_told
    from fleet.facts import house
    from fleet.facts.care import care_sheet
    from fleet.rules.dates import add_months

    if work == "care":
        if care_sheet() is None:
            care.load_file(fleets.SHEET, by=None, on=fleets.TODAY)
        print("null")
        return
    sheet = care_sheet()
    assert sheet is not None
    house.working()
    began = time.process_time()
    if work == "gather":
        sites = len(list(visits.works(sheet, on=fleets.TODAY, today=fleets.TODAY)))
    else:
        until = add_months(fleets.TODAY, 12)
        # Five minutes a day for each site, as much as their tasks ask for; five units stand at one.
        hours = Decimal(units) / 60
        found = visits_told.told(first=fleets.TODAY, until=until, today=fleets.TODAY, hours_a_day=hours)
        sites = len({visit["customer"] for visit in found})
    seconds = time.process_time() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(json.dumps({"sites": sites, "seconds": seconds, "peak": peak}))


if len(sys.argv) > 2:
    _work(int(sys.argv[1]), sys.argv[2])
else:
    main(int(sys.argv[1]))
