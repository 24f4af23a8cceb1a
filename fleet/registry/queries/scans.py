"""What the codes of a photo mean on file: a label of ours, or the serial of a unit."""

from collections.abc import Iterable, Sequence

from fleet import models
from fleet.elements.named import link
from fleet.registry.facts.codes import Code
from fleet.registry.pages.scans import Match, Read
from fleet.rules import label_codes
from fleet.rules.lookalike import folded
from fleet.rules.plates import candidates

# More codes than this no nameplate has.
MOST = 12


def read(codes: Sequence[Code]) -> tuple[Read, ...]:
    """Each code with what it means, in two queries."""
    codes = codes[:MOST]
    serials = {folded(one): one for code in codes for one in candidates(code.text) if folded(one)}
    units = _units(serials)
    ours = [label_codes.read(code.text) if "/" in code.text else "" for code in codes]
    labels = {
        label.code: label
        for label in models.Label.objects.filter(code__in=[code for code in ours if code]).select_related(
            "unit__system__site__customer"
        )
    }
    return tuple(_read(number, code, labels.get(ours[number]), units) for number, code in enumerate(codes))


def _read(number: int, code: Code, label: models.Label | None, units: dict[str, list[models.Unit]]) -> Read:
    if label is not None:
        matches = (_match(label.unit),) if label.unit else ()
        return Read(number, code.kind, f"label {label}", "", matches, label.pk, label.unit is None)
    likely = candidates(code.text)
    serial = next((one for one in likely if units.get(folded(one))), likely[0])
    return Read(number, code.kind, code.text, serial, tuple(map(_match, units.get(folded(serial), ()))))


def of_serial(serial: str) -> tuple[Match, ...]:
    """The units of a serial, whichever way its look-alikes are read; in service first."""
    return tuple(map(_match, _units([folded(serial)]).get(folded(serial), ())))


def _units(serials: Iterable[str]) -> dict[str, list[models.Unit]]:
    """Units by their serials, look-alikes folded; in service first."""
    wanted = [one for one in serials if one]
    if not wanted:
        return {}
    entries = models.LookupEntry.objects.filter(kind="unit", part="serial", folded__in=wanted)
    by_key = dict(entries.values_list("object_id", "folded"))
    rows = models.Unit.objects.filter(pk__in=by_key).select_related("system__site__customer")
    found: dict[str, list[models.Unit]] = {}
    for row in sorted(rows, key=lambda row: (row.removed_on is not None, row.pk)):
        found.setdefault(by_key[row.pk], []).append(row)
    return found


def _match(unit: models.Unit) -> Match:
    site = unit.system.site
    return Match(link(unit), site.pk, f"{site.customer}, {site.street or site.name}")
