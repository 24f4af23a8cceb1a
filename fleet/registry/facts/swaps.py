"""Two heads of one system whose rooms, or whose serials, were swapped: what changes places, and whether it can be undone."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fleet import models

# What of a unit changes places: with the rooms what is of the spot, with the serials what stands on a nameplate.
FIELDS = {
    "rooms": ("room", "drain", "access", "surroundings", "filter_size"),
    "serials": ("serial", "maker", "model", "manufactured_on", "plate_charge_oz", "plate_amps"),
}
FIELD = "swapped"
_MARK = re.compile(r"(rooms|serials) with unit (\d{1,18})")
OF_A_SWAP = re.compile(r"(rooms|serials) swapped (back )?with ")


@dataclass(frozen=True, slots=True)
class Swap:
    """What was swapped, and with which unit."""

    what: str
    other: int


def written(swap: Swap) -> str:
    """A swap as the log keeps it.

    >>> read(written(Swap("rooms", 7)))
    Swap(what='rooms', other=7)
    """
    return f"{swap.what} with unit {swap.other}"


def read(text: str) -> Swap | None:
    """What the log keeps of a swap; None where it is none."""
    match = _MARK.fullmatch(text)
    return None if match is None else Swap(match[1], int(match[2]))


def why_not(changes: Iterable[models.Change]) -> Mapping[int, str]:
    """Why each of these swaps, by the key of its change, cannot be undone; blank where it can. Two queries for all of them."""
    swaps = {change.pk: (change, swap) for change in changes if (swap := read(change.after)) is not None}
    if not swaps:
        return {}
    pks = {pk for change, swap in swaps.values() for pk in (change.object_id, swap.other)}
    units = models.Unit.objects.in_bulk(pks)
    later = models.Change.objects.filter(table="unit", object_id__in=pks, pk__gt=min(swaps))
    said = list(later.values_list("object_id", "field", "pk"))
    return {pk: _why_not(change, swap, units, said) for pk, (change, swap) in swaps.items()}


def _why_not(
    change: models.Change, swap: Swap, units: Mapping[int, models.Unit], said: Iterable[tuple[int, str, int]]
) -> str:
    pair = (change.object_id, swap.other)
    if any(pk not in units for pk in pair):
        return "One of the two is no longer on file."
    one, other = (units[pk] for pk in pair)
    if one.removed_on or other.removed_on or one.system_id != other.system_id:
        return "The two are no longer in one system."
    if any(unit in pair and field in FIELDS[swap.what] and pk > change.pk for unit, field, pk in said):
        return f"Their {swap.what} were changed again since."
    return ""
