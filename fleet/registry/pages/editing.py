"""Facts as they are put right on a form, and two things side by side before they are made one."""

from dataclasses import dataclass

LABELS = {
    "name": "Name", "phone": "Phone", "email": "E-mail", "street": "Street", "city": "City", "region": "Region, such as US-ME",
    "postcode": "Postcode", "new_construction": "New construction", "closed_on": "Closing day of the new house",
    "drive_minutes": "Drive there and back, minutes", "gate_code": "Gate code", "use": "Use", "role": "Role", "style": "Style",
    "room": "Room", "maker": "Maker", "model": "Model", "serial": "Serial", "purchased_on": "Purchased",
    "installed_on": "Installed", "started_on": "Started", "manufactured_on": "Manufactured",
    "installed_by": "Put in by (blank: us)", "installer": "Who put it in", "recognized_installer": "Recognized by the maker",
    "licensed_installer": "Licensed installer", "matched_system": "Matched system", "original_site": "First site of this unit",
    "drain": "Drain", "surroundings": "Surroundings", "access": "Access", "refrigerant": "Refrigerant",
    "plate_charge_oz": "Charge on the plate, oz", "plate_amps": "Amps on the plate", "notes": "Notes", "customer": "Customer",
    "system": "System", "gone_on": "Gone on", "gone_how": "How it went", "contact": "Contact", "payer told": "Payer told",
    "nobody_knows": "Nobody knows", "taken_back": "Taken back",
}  # fmt: skip


def label(field: str) -> str:
    """Say a field in words.

    >>> label("started_on"), label("repaired_on")
    ('Started', 'Repaired on')
    """
    return LABELS.get(field) or field.removesuffix("_id").replace("_", " ").capitalize()


@dataclass(frozen=True, slots=True)
class Shown:
    """One thing as its form begins: what each field shows, as a file would write it."""

    kind: str
    pk: int
    name: str
    fields: tuple[tuple[str, str], ...]
    handed_on: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """A fact that two tell differently."""

    field: str
    label: str
    kept: str
    gone: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """One that this may be merged with."""

    pk: int
    name: str
    note: str


@dataclass(frozen=True, slots=True)
class MergePage:
    """A thing, those it may be one with, and beside the one chosen what the two tell differently."""

    kind: str
    pk: int
    name: str
    note: str
    candidates: tuple[Candidate, ...]
    other: Candidate | None = None
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True)
class LifePage:
    """A unit whose life goes on elsewhere: where it stands, and where it may move to.

    `told` is what may be taken back of it, newest first: what a form sends for it, and what it was.
    """

    pk: int
    name: str
    model: str
    where: str
    serial: str
    gone: str
    is_idle: bool
    sites: tuple[str, ...]
    systems: tuple[str, ...]
    told: tuple[tuple[str, str], ...] = ()
