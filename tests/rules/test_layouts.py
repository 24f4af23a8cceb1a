"""What does a layout ask for over the years? The number of heads decides."""

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import caresheet, layouts
from fleet.rules.caresheet import CareSheet
from fleet.rules.layouts import Layout, Outcome
from fleet.rules.tables import BadTable
from tests.caring import entry, money, sheet
from tests.paths import HOUSE_SHEET

HOUSE = HOUSE_SHEET

WASH = entry("wash", by="owner", every_months=1, minutes=10, price="0.00")
LINE = entry("line", per="drain line", minutes=15, price="60.00", further_price="40.00")


def layout(outdoor_units: int = 1, install_price: str = "0.00", **heads: int) -> Layout:
    return Layout("Layout", money(install_price), tuple(heads.items()), outdoor_units)


def compared(one: Layout, *entries: dict[str, Any], years: int = 1, **named: Any) -> Outcome:
    return layouts.compare(one, sheet(*entries, **named), years=years)


def times(found: Outcome) -> dict[str, int]:
    return {count.task.code: count.times for count in found.tasks}


def test_eight_wall_heads_or_one_cassette():
    """CP-06, common practice without a source: 96 washes a year and 8 drain lines, or 12 and 1."""
    assert times(compared(layout(wall=8), WASH, LINE)) == {"wash": 96, "line": 8}
    assert times(compared(layout(cassette=1), WASH, LINE)) == {"wash": 12, "line": 1}


@pytest.mark.parametrize(
    ("per", "minutes"),
    [
        # 20 for each of 3 heads, 40 more for each of 2 cassettes and 5 for the floor head; 25 to set up; two rounds.
        pytest.param("head", 2 * (60 + 80 + 5 + 25), id="each head by its style"),
        pytest.param("drain line", 2 * (60 + 80 + 5 + 25), id="each has a drain line of its own"),
    ],
)
def test_a_style_asks_for_minutes_more(per, minutes):
    found = compared(
        layout(cassette=2, floor=1),
        entry("clean", per=per, style_minutes={"cassette": 40, "floor": 5, "wall": 99}),
        years=2,
        setup_minutes=25,
    )
    assert found.technician_minutes == minutes
    only = entry("clean", per=per, styles=["floor"], style_minutes={"cassette": 40, "floor": 5})
    assert compared(layout(cassette=2, floor=1), only).technician_minutes == 25


def test_the_house_sheet_says_the_same():
    house = caresheet.read(tomllib.loads(HOUSE.read_text(encoding="utf-8")))
    for one, washes, lines in ((layout(wall=8), 96, 8), (layout(cassette=1), 12, 1)):
        found = times(layouts.compare(one, house, years=1))
        assert (found["filter wash"], found["drain clearing"]) == (washes, lines)
        assert "dehumidifier service" not in found


@pytest.mark.parametrize(
    ("per", "styles", "expected"),
    [
        ("head", [], 9),
        ("head", ["wall"], 6),
        ("head", ["wall", "ducted"], 8),
        ("head", ["floor"], None),
        ("drain line", [], 9),
        ("drain line", ["ducted", "cassette"], 3),
        ("outdoor", [], 2),
        ("system", [], 1),
        ("dehumidifier", [], None),
        ("pump", [], None),
    ],
)
def test_what_a_task_is_done_for(per, styles, expected):
    found = compared(
        layout(outdoor_units=2, wall=6, ducted=2, cassette=1), entry("clean", per=per, styles=styles), WASH
    )
    assert times(found).get("clean") == expected


@pytest.mark.parametrize(
    ("every_months", "years", "expected"), [(12, 10, 10), (60, 10, 2), (60, 4, 0), (18, 2, 1), (7, 1, 1), (13, 1, 0)]
)
def test_how_often_it_falls(every_months, years, expected):
    assert times(compared(layout(wall=1), entry("clean", every_months=every_months), years=years)) == {
        "clean": expected
    }


@pytest.mark.parametrize(
    ("steps", "years", "expected"),
    [
        ([12], 10, 10),
        ([6, 12], 1, 2),
        ([4, 6], 1, 4),
        ([12, 60], 10, 10),
        ([18, 12], 3, 4),
        ([24], 1, 0),
        ([13], 1, 0),
    ],
)
def test_visits_are_the_months_in_which_any_technicians_task_falls(steps, years, expected):
    """Of every 4 and every 6 months: months 4, 6, 8 and 12 of a year."""
    tasks = [entry(f"every {step}", every_months=step) for step in steps]
    assert compared(layout(wall=1), *tasks, WASH, years=years).visits == expected


def test_a_task_that_does_not_apply_makes_no_visit():
    assert compared(layout(wall=1), LINE, entry("duct", styles=["ducted"], every_months=1)).visits == 1


def test_the_owners_minutes_and_ours():
    """Three heads over two years: 72 washes of 10 minutes; 6 lines of 15 and two visits of 20 for setting up."""
    found = compared(layout(wall=3), WASH, LINE, years=2, setup_minutes=20)
    assert (found.owner_minutes, found.technician_minutes, found.visits) == (720, 6 * 15 + 2 * 20, 2)


def test_care_costs_the_price_once_and_the_further_price_for_the_others():
    found = compared(layout(wall=3, install_price="9000.00"), WASH, LINE, years=2)
    assert str(found.care_cost) == "280.00"
    assert str(found.total) == "9280.00"
    assert str(compared(layout(wall=1), LINE, years=2).care_cost) == "120.00"


def test_the_tasks_stand_in_the_care_sheets_order():
    found = compared(layout(wall=1), LINE, WASH, entry("a clean"))
    assert [count.task.code for count in found.tasks] == ["line", "wash", "a clean"]


def test_six_wall_heads_against_a_pair_of_ducted_heads():
    """Worked by hand over ten years: cleaned coils and wheels for each wall head, a check for each ducted one."""
    rules = (
        WASH,
        LINE,
        entry("coil", styles=["wall"], minutes=30, price="120.00", further_price="90.00"),
        entry("wheel", styles=["wall"], every_months=60, minutes=120, price="250.00"),
        entry("duct", styles=["ducted"], every_months=6, minutes=30, price="80.00", further_price="60.00"),
    )
    wall = compared(layout(wall=6, install_price="21000.00"), *rules, years=10, setup_minutes=20)
    ducted = compared(layout(ducted=2, install_price="24500.00"), *rules, years=10, setup_minutes=20)
    assert times(wall) == {"wash": 720, "line": 60, "coil": 60, "wheel": 12}
    assert times(ducted) == {"wash": 240, "line": 20, "duct": 40}
    assert (wall.visits, ducted.visits) == (10, 20)
    assert (wall.technician_minutes, ducted.technician_minutes) == (900 + 1800 + 1440 + 200, 300 + 1200 + 400)
    assert str(wall.care_cost) == "11300.00"  # 10 × 260 and 10 × 570 and 2 × 1500
    assert str(ducted.care_cost) == "3800.00"  # 10 × 100 and 20 × 140
    assert (str(wall.total), str(ducted.total)) == ("32300.00", "28300.00")


ENTRIES = st.lists(
    st.builds(
        lambda number, **named: entry(f"task {number}", **named),
        st.integers(0, 10**6),
        by=st.sampled_from(["owner", "technician"]),
        per=st.sampled_from(["head", "drain line", "outdoor", "system"]),
        every_months=st.integers(1, 60),
        minutes=st.integers(0, 200),
        price=st.integers(0, 500).map(lambda number: f"{number}.50"),
    ),
    min_size=1,
    max_size=6,
    unique_by=lambda one: one["code"],
)
HEADS = st.dictionaries(st.sampled_from(["wall", "floor", "cassette", "ducted"]), st.integers(1, 8), min_size=1)


@given(
    entries=ENTRIES,
    heads=HEADS,
    style=st.sampled_from(["wall", "floor", "cassette", "ducted"]),
    years=st.integers(1, 15),
)
def test_one_more_head_never_asks_for_less(entries, heads, style, years):
    rules: CareSheet = sheet(*entries, setup_minutes=20)
    one, more = layout(**heads), layout(**heads | {style: heads.get(style, 0) + 1})
    before, after = (layouts.compare(which, rules, years=years) for which in (one, more))
    assert before.technician_minutes <= after.technician_minutes
    assert before.owner_minutes <= after.owner_minutes
    assert before.visits <= after.visits
    assert before.care_cost <= after.care_cost


@given(entries=ENTRIES, heads=HEADS)
def test_the_order_of_the_heads_does_not_matter(entries, heads):
    rules = sheet(*entries)
    turned = Layout("Layout", money("0.00"), tuple(reversed(heads.items())))
    there, back = layouts.compare(layout(**heads), rules, years=10), layouts.compare(turned, rules, years=10)
    assert (there.tasks, there.care_cost, there.visits) == (back.tasks, back.care_cost, back.visits)


# ------------------------------------------------------------------------------------------------------------- the file

FILE = """
years = 10
[[layout]]
name = "Six wall heads"
install_price = "21000.00"
heads = [{ style = "wall", count = 6 }]
outdoor_units = 2
[[layout]]
name = "A pair of ducted heads"
install_price = "24500.00"
heads = [{ style = "ducted", count = 2 }]
"""


def test_a_file_of_layouts():
    found = layouts.read(tomllib.loads(FILE))
    assert found.years == 10
    assert found.layouts == (
        Layout("Six wall heads", money("21000.00"), (("wall", 6),), 2),
        Layout("A pair of ducted heads", money("24500.00"), (("ducted", 2),), 1),
    )


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("years = 10", "", "years"),
        ("years = 10", "years = 0", "years"),
        ("years = 10", "years = 10\ncolor = 1", "color"),
        ('name = "Six wall heads"', "", "layout[1].name"),
        ('name = "Six wall heads"', 'name = "A pair of ducted heads"', "layout[2].name"),
        ('install_price = "21000.00"', "", "layout[1].install_price"),
        ('install_price = "21000.00"', "install_price = 21000", "layout[1].install_price"),
        ('heads = [{ style = "wall", count = 6 }]', "", "layout[1].heads"),
        ('style = "wall"', 'style = "tower"', "layout[1].heads[1].style"),
        ("count = 6", "count = 0", "layout[1].heads[1].count"),
        ("count = 6", "count = 6, room = 1", "layout[1].heads[1].room"),
        ("outdoor_units = 2", "outdoor_units = 0", "layout[1].outdoor_units"),
        ("outdoor_units = 2", "outdoor = 2", "layout[1].outdoor"),
    ],
)
def test_a_broken_file_is_refused_with_its_key(old, new, where):
    assert old in FILE
    with pytest.raises(BadTable) as refused:
        layouts.read(tomllib.loads(FILE.replace(old, new)))
    assert where in {fault.where for fault in refused.value.faults}
