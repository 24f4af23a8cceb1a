"""The layouts command: the promised shape, in the care sheet's order, and files that cannot be."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from fleet.care.actions import care_sheets
from tests import rows
from tests.paths import HOUSE_SHEET

pytestmark = pytest.mark.django_db
HOUSE = HOUSE_SHEET

FILE = """
years = 10
[[layout]]
name = "Six wall heads"
install_price = "21800.00"
heads = [{ style = "wall", count = 6 }]
[[layout]]
name = "Łazienka"
install_price = "19400.50"
heads = [{ style = "ducted", count = 2 }]
outdoor_units = 2
"""


@pytest.fixture
def sheet():
    care_sheets.load_file(HOUSE, by=None, on=rows.TODAY)


def run(path, **how):
    out = StringIO()
    call_command("layouts", path, stdout=out, **how)
    return out.getvalue()


def written(tmp_path, text=FILE):
    path = tmp_path / "layouts.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_promised_shape(sheet, tmp_path):
    found = json.loads(run(written(tmp_path), json=True))
    assert list(found) == ["years", "layouts"]
    assert found["years"] == 10
    six, two = found["layouts"]
    assert list(six) == [
        "name", "tasks", "owner_minutes", "technician_minutes", "visits", "care_cost", "install_price", "total",
    ]  # fmt: skip
    assert six["tasks"][0] == {"task": "filter wash", "by": "owner", "times": 720}
    assert {one["task"]: one["times"] for one in six["tasks"]}["drain clearing"] == 60
    # 720 washes of ten minutes, and the outdoor unit hosed twice a year; what is put in and what ten years of care cost.
    assert (six["owner_minutes"], six["visits"], six["install_price"]) == (7400, 10, "21800.00")
    assert (six["care_cost"], six["total"]) == ("11320.00", "33120.00")
    assert (two["name"], two["install_price"]) == ("Łazienka", "19400.50")
    assert {one["task"]: one["times"] for one in two["tasks"]}["outdoor rinse"] == 20


def test_for_people(sheet, tmp_path):
    text = run(written(tmp_path))
    assert "Six wall heads: 6 wall heads on 1 outdoor unit. Over 10 years: 720 washes by the customer" in text
    assert "load calculation" in text


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("years = 10", "years = 0", "layouts.toml: years: a whole number from 1 to 100"),
        ('style = "wall"', 'style = "tower"', "layout\\[1\\].heads\\[1\\].style"),
        ('"21800.00"', "21800.00", "layout\\[1\\].install_price: an amount in quotes"),
        ("years = 10", "years = ", "layouts.toml"),
    ],
)
def test_a_broken_file_is_refused_with_its_key(sheet, tmp_path, old, new, said):
    with pytest.raises(CommandError, match=said):
        run(written(tmp_path, FILE.replace(old, new, 1)))


def test_a_file_that_is_not_there(sheet, tmp_path):
    with pytest.raises(CommandError, match="No such file"):
        run(tmp_path / "none.toml")


def test_without_a_care_sheet(tmp_path):
    with pytest.raises(CommandError, match="No care sheet is in force"):
        run(written(tmp_path))
