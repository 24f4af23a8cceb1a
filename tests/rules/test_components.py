"""What a unit can lose: which components units of a role have."""

import pytest

from fleet.rules import components, words

EVERY_ROLE = {"outdoor", "head", "branch box", "air handler", "furnace", "dehumidifier", "pump", "other"}
# The same table, written down by hand from the trade's side: each component with the units that have one.
HAVING = {
    "compressor": {"outdoor"},
    "outdoor coil": {"outdoor"},
    "outdoor fan motor": {"outdoor"},
    "reversing valve": {"outdoor"},
    "capacitor": {"outdoor", "air handler", "furnace"},
    "contactor": {"outdoor", "air handler", "furnace"},
    "indoor coil": {"head", "air handler", "furnace"},
    "indoor fan motor": {"head", "air handler", "furnace"},
    "blower wheel": {"head", "air handler", "furnace"},
    "heat exchanger": {"furnace"},
    "igniter": {"furnace"},
    "gas valve": {"furnace"},
    "branch box": {"branch box"},
    "expansion valve": {"outdoor", "head", "air handler", "furnace", "branch box"},
    "drain pan": {"head", "air handler", "furnace", "dehumidifier"},
    "drain line": {"head", "air handler", "furnace", "dehumidifier"},
    "filter": {"head", "air handler", "furnace", "dehumidifier"},
    "drain pump": {"head", "air handler", "furnace", "dehumidifier", "pump"},
    "louver": {"head"},
    "remote control": {"head"},
    "wired controller": {"head", "air handler", "furnace"},
    "panel": {"outdoor", "head", "air handler", "furnace"},
    "line set": {"outdoor", "head", "air handler", "branch box"},
    "flare joint": {"outdoor", "head", "air handler", "branch box"},
    "refrigerant": {"outdoor", "head", "air handler", "branch box"},
    "dehumidifier sealed system": {"dehumidifier"},
    "humidistat": {"dehumidifier"},
    "control board": EVERY_ROLE,
    "sensor": EVERY_ROLE,
    "wiring": EVERY_ROLE,
    "other": EVERY_ROLE,
}


def test_every_component_has_its_units():
    assert set(HAVING) == set(words.COMPONENTS)
    assert set(words.ROLES) == EVERY_ROLE


@pytest.mark.parametrize("component", words.COMPONENTS)
def test_a_role_has_it_or_not(component):
    assert {role for role in words.ROLES if components.has(role, component)} == HAVING[component]
    assert components.roles(component) == HAVING[component]


def test_a_role_or_component_that_nobody_knows_has_nothing():
    assert not components.has("balloon", "louver")
    assert not components.has("head", "wings")
