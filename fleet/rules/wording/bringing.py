"""What to bring to a visit, by the work that is asked for and the units it is on. Common practice; the manufacturer's manual first."""

from collections.abc import Iterable, Iterator

from fleet.rules.caresheet import Task

_ACCESS = {
    "high": "a stepladder that reaches the head from firm ground, and someone to hold it",
    "roof": "a ladder that extends three feet above the roof edge, and fall protection",
    "crawlspace": "a flashlight, coveralls and a mask for the crawlspace",
}


def bring(tasks: Iterable[Task], accesses: Iterable[str]) -> tuple[str, ...]:
    """List what to bring, each thing once.

    >>> bring((), ("high", "normal", "high"))[1:]
    ('a stepladder that reaches the head from firm ground, and someone to hold it',)
    """
    return tuple(dict.fromkeys(_things(tuple(tasks), tuple(accesses))))


def _things(tasks: tuple[Task, ...], accesses: tuple[str, ...]) -> Iterator[str]:
    yield "a lock and tag for the disconnect, and a meter to verify it is de-energized"
    for access in accesses:
        if access in _ACCESS:
            yield _ACCESS[access]
    for task in tasks:
        yield from _for(task)


def _for(task: Task) -> Iterator[str]:
    if task.dirt:
        yield "a washing bib with its bucket, a low-pressure sprayer and towels"
    if task.dirt == "coil":
        yield "coil cleaner that the manufacturer allows, gloves and eye protection"
    if task.dirt == "wheel":
        yield "a soft brush for the blower wheel"
    if task.per == "drain line":
        yield "a wet vacuum for the drain line, and a measuring cup"
    if task.per == "outdoor":
        yield "a hose for the outdoor coil, and a clamp meter"
    if task.per == "pump":
        yield "water to test the pump with"
    if "ducted" in task.styles:
        yield "a manometer for the static pressure, and a filter of the size on file"
