"""Cautions for dangerous work, each said where that work is. The manufacturer's manual, local codes and the license come first.

Common practice of the trade where no source is named; what names one was written from memory of it.
"""

from fleet.rules.caresheet import Task

# Falls kill from a roof as from a ladder; neither is what a crawlspace threatens with.
_ACCESS = {
    "high": "Use a ladder that does not conduct, on firm and level ground, with someone holding it, and do not stand on its top "
    "steps.",
    "roof": "Use fall protection, tie the ladder off three feet above the roof edge, and stay off a roof that is wet, icy or in "
    "the wind.",
    "crawlspace": "Tell someone before you crawl in and once you are out. Stay out where you smell gas, or see water or a bare "
    "wire; wear a mask.",
}
# US EPA and CDC on household cleaners: never mix them, bleach least of all.
CLEANERS = (
    "One cleaner at a time: never mix cleaners, since bleach with an acid or with ammonia makes a poisonous gas. Rinse one away "
    "before you use another."
)
# US EPA, A Brief Guide to Mold: an N95 respirator, gloves, goggles without vents; ten square feet.
MOLD = (
    "Where you see or smell mold, wear an N95 respirator, gloves and goggles without vents. More than about ten square feet of "
    "it is not cleaned on such a visit: tell the office."
)
LIVE = (
    "Measure live parts only if you are qualified to: with a meter rated for the circuit, insulated gloves and eye protection, "
    "and nobody in reach. Amps and volts are live; for all else, power off and verify it is de-energized."
)
_LIVE_READINGS = frozenset({"amps", "volts", "capacitor", "insulation resistance"})


def of_access(access: str) -> str:
    """What to beware of on the way to a unit; blank where nothing is known of it.

    >>> of_access("normal")
    ''
    """
    return _ACCESS.get(access, "")


def of_task(task: Task) -> tuple[str, ...]:
    """The care sheet's cautions for a task, and what holds for all cleaning that a technician does."""
    cleaning = (CLEANERS, MOLD) if task.by == "technician" and task.dirt else ()
    return (*task.cautions, *(text for text in cleaning if text not in task.cautions))


def of_reading(reading: str) -> str:
    """What to beware of when something is measured; blank where nothing live is touched.

    >>> of_reading("supply air temperature")
    ''
    """
    return LIVE if reading in _LIVE_READINGS else ""
