"""What a unit can lose: the components that units of each role have."""

from fleet.rules import words

# Common practice, no published source: an invented branch box or pump may differ, and its failure is then listed apart.
_ROLES: dict[str, frozenset[str]] = {
    component: frozenset(roles)
    for names, roles in (
        (("compressor", "outdoor coil", "outdoor fan motor", "reversing valve"), ("outdoor",)),
        (("capacitor", "contactor"), ("outdoor", "air handler", "furnace")),
        (("indoor coil", "indoor fan motor", "blower wheel"), ("head", "air handler", "furnace")),
        (("heat exchanger", "igniter", "gas valve"), ("furnace",)),
        (("branch box",), ("branch box",)),
        (("expansion valve",), ("outdoor", "head", "air handler", "furnace", "branch box")),
        (("drain pan", "drain line", "filter"), ("head", "air handler", "furnace", "dehumidifier")),
        (("drain pump",), ("head", "air handler", "furnace", "dehumidifier", "pump")),
        (("louver", "remote control"), ("head",)),
        (("wired controller",), ("head", "air handler", "furnace")),
        (("panel",), ("outdoor", "head", "air handler", "furnace")),
        (("line set", "flare joint", "refrigerant"), ("outdoor", "head", "air handler", "branch box")),
        (("dehumidifier sealed system", "humidistat"), ("dehumidifier",)),
        (("control board", "sensor", "wiring", "other"), words.ROLES),
    )
    for component in names
}


def roles(component: str) -> frozenset[str]:
    """The roles whose units have such a component; none of a component that nobody knows."""
    return _ROLES.get(component, frozenset())


def has(role: str, component: str) -> bool:
    """Whether a unit of this role has such a component."""
    return role in roles(component)
