"""Peak memory while loading, rechecking and exporting, against the same at a tenth of the size."""

import json
import resource
import sys

from tests.bench import fleets, offices
from tests.bench.timing import tell

WORKS = ("recheck", "export")


def main(units: int) -> None:
    """Run each work in a process of its own, at both sizes, and compare the peaks."""
    tenth = units // 10
    peaks = {("load", size): offices.loaded(size)["peak"] for size in (tenth, units)}
    peaks |= {(work, size): offices.told("memory", size, work) for size in (tenth, units) for work in WORKS}
    for work in ("load", *WORKS):
        tell(f"memory of {work}, {units:,} | a tenth of it", peaks[work, units], peaks[work, tenth], 1.2)


def _work(work: str) -> None:
    import django

    django.setup()
    from fleet.coverage.queries.ending import ENDING
    from fleet.derived import recheck

    if work == "recheck":
        assert list(recheck.differences(on=fleets.TODAY)) == []
    else:
        assert sum(1 for _ in ENDING.all(ENDING.filters_for(days=365), on=fleets.TODAY)) > 0
    print(json.dumps(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))


if len(sys.argv) > 2:
    _work(sys.argv[2])
else:
    main(int(sys.argv[1]))
