"""What the form of a write-up says, in the shape of a message; every name of a field says its unit and task."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django.http import QueryDict

MOST_ROWS = 20
# What the form asks of a failure, beside whether it is repaired.
FAILED = (
    "unit",
    "component",
    "cause",
    "leak_at",
    "fault_code",
    "notes",
    "part_serial",
    "new_part_number",
    "new_part_serial",
    "labor_minutes",
)
# And of refrigerant moved, beside the tick that an odd weight is right.
WEIGHED = ("unit", "move", "refrigerant", "ounces", "cylinder", "who", "certificate", "note")
# What is said of the stop as a whole; a signature is the text of its strokes.
WHOLE = ("key", "booking", "day", "technician", "minutes", "notes", "sure", "signed_by", "signature", "unsigned")
_OF_CALL = re.compile(r"call-(\d{1,12})-outcome")
_OF_UNIT = re.compile(
    r"(done|skip|until|wheel|coil|notes|mode|fan|running|other|othervalue|read)-(\d{1,12})(?:[:-](.*))?"
)


def message_of(data: QueryDict) -> dict[str, Any]:
    """A form's content in the shape of a message; what was ticked for all alike counts where nothing else was said."""
    of: dict[str, dict[str, Any]] = {}
    given_of: dict[str, dict[str, str]] = {}
    for name in data:
        match = _OF_UNIT.fullmatch(name)
        if match and (text := str(data[name]).strip()):
            what, unit, which = match.groups()
            given_of.setdefault(unit, {})[f"{what}:{which or ''}"] = text
    for ask in data.getlist("asked"):
        unit, _, task = ask.partition(":")
        given = given_of.setdefault(unit, {})
        if (data.get("everything") or data.get(f"all-{task}")) and f"skip:{task}" not in given:
            given[f"done:{task}"] = "on"
    for unit, given in given_of.items():
        of[unit] = _unit(unit, given)
    return {
        **{name: data.get(name, "") for name in WHOLE},
        "units": list(of.values()),
        "failures": list(_failures(data)),
        "refrigerant": list(_refrigerant(data)),
        "calls": list(_calls(data)),
    }


def _unit(unit: str, given: Mapping[str, str]) -> dict[str, Any]:
    until = given.get("until:", "")
    how = {"mode": given.get("mode:", ""), "fan": given.get("fan:", ""), "minutes_running": given.get("running:", "")}
    measured = {name.removeprefix("read:"): value for name, value in given.items() if name.startswith("read:")}
    if given.get("other:") or given.get("othervalue:"):
        measured[given.get("other:", "")] = given.get("othervalue:", "")
    return {
        "unit": unit,
        "done": [name.removeprefix("done:") for name in given if name.startswith("done:")],
        "skipped": [
            {"task": name.removeprefix("skip:"), "reason": reason, "not_before": until}
            for name, reason in given.items()
            if name.startswith("skip:")
        ],
        "dirt_wheel": given.get("wheel:", ""),
        "dirt_coil": given.get("coil:", ""),
        "notes": given.get("notes:", "").replace("\r\n", "\n"),
        "readings": [{"reading": name, "value": value, **how} for name, value in measured.items()],
    }


def other_readings(data: Any) -> Iterable[tuple[str, str]]:
    """The readings chosen in the fields for others, each with the key of its unit."""
    for name in data or ():
        if name.startswith("other-"):
            yield name.removeprefix("other-"), str(data[name])


def _calls(data: QueryDict) -> Iterable[dict[str, str]]:
    for name in data:
        if (match := _OF_CALL.fullmatch(name)) and data[name]:
            call = match[1]
            fields = ("outcome", "why", "what", "supplier", "ordered_on", "expected_on")
            yield {"call": call, **{field: data.get(f"call-{call}-{field}", "").strip() for field in fields}}


def _numbers(data: QueryDict, name: str) -> range:
    sent = data.get(f"{name}-rows", "")
    return range(min(int(sent), MOST_ROWS) if sent.isdecimal() and len(sent) < 4 else 0)


def _failures(data: QueryDict) -> Iterable[dict[str, str]]:
    for number in _numbers(data, "failed"):
        given = {name: data.get(f"failed-{number}-{name}", "").strip() for name in FAILED}
        repaired = data.get(f"failed-{number}-repaired", "").strip()
        unit = given.pop("unit")
        if any(given.values()) or unit:
            yield {"unit": unit, **given, "repaired_on": data.get("day", "") if repaired else ""}
        else:
            yield {}


def _refrigerant(data: QueryDict) -> Iterable[dict[str, str]]:
    for number in _numbers(data, "weighed"):
        given = {name: data.get(f"weighed-{number}-{name}", "").strip() for name in (*WEIGHED, "sure")}
        # Who handles it is filled in beforehand, so that alone says nothing.
        yield given if any(value for name, value in given.items() if name != "who") else {}
