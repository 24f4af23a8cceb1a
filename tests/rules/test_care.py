"""When is a task next? Each clause of the rules of care, on both sides of its edge."""

import random
import tomllib
from dataclasses import replace

import pytest
from dateutil.rrule import MONTHLY, YEARLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import care, caresheet
from fleet.rules.care import Idle, State
from fleet.rules.dates import add_months
from fleet.rules.tables import BadTable
from tests.caring import day, done, due, dues, entry, graded, sheet, skipped, span, task, unit, worked_out
from tests.paths import HOUSE_SHEET

HOUSE = HOUSE_SHEET

# --------------------------------------------------------------------------------------------- from the anchor to the due


def test_first_due_counts_from_the_start_and_then_from_the_day_done():
    assert span(due(task())) == ("2021-04-15", "2021-05-15", "2021-06-14")
    assert span(due(task(), done("2022-02-03"))) == ("2023-01-04", "2023-02-03", "2023-03-05")
    assert due(task(), done("2022-02-03"), done("2021-02-03")).last_done == day("2022-02-03")


@pytest.mark.parametrize(
    ("started_on", "installed_on", "expected"),
    [
        ("2020-06-01", "2020-05-15", "2021-06-01"),
        (None, "2020-05-15", "2021-05-15"),
        ("2020-06-01", None, "2021-06-01"),
    ],
)
def test_the_start_is_the_day_it_was_started_or_else_put_in(started_on, installed_on, expected):
    assert due(task(), unit(started_on=started_on, installed_on=installed_on)).due_on == day(expected)


def test_no_start_and_never_done_is_no_due_but_a_fact_wanted():
    found = worked_out(task(), unit(installed_on=None))
    assert found.dues == ()
    assert [(one.serial, one.what) for one in found.wanted] == [("H1", "start")]


def test_no_start_but_done_is_a_due():
    found = worked_out(task(counts_from="due day"), unit(installed_on=None), done("2026-03-01"))
    assert found.wanted == ()
    assert found.dues[0].due_on == day("2027-03-01")


def test_a_record_later_than_the_day_asked_does_not_count_yet():
    assert due(task(), done("2026-03-01"), on="2026-02-28").last_done is None
    assert due(task(), done("2026-03-01"), on="2026-03-01").last_done == day("2026-03-01")


def test_months_are_added_to_the_anchor_and_clamped():
    assert due(task(every_months=6), done("2024-08-31")).due_on == day("2025-02-28")
    assert due(task(), done("2024-02-29")).due_on == day("2025-02-28")


# ------------------------------------------------------------------------------------------- tasks that keep their season

SEASON = task(counts_from="due day")  # first due May 15, 2021, 30 days either way


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        pytest.param("2021-04-14", "2022-04-14", id="the day before it opens"),
        pytest.param("2021-04-15", "2022-05-15", id="the day it opens"),
        pytest.param("2021-05-15", "2022-05-15", id="the due day"),
        pytest.param("2021-06-14", "2022-05-15", id="the last day"),
        pytest.param("2021-06-15", "2022-06-15", id="late"),
    ],
)
def test_done_inside_the_window_counts_from_the_due_day(on, expected):
    assert due(SEASON, done(on)).due_on == day(expected)
    assert due(SEASON, done(on)).last_done == day(on)


def test_the_season_is_kept_record_by_record():
    """Each time done three weeks early, it still does not drift; a plain count from the day done would be in February."""
    early = [done(f"{year}-04-{24 - 2 * (year - 2021)}") for year in range(2021, 2026)]
    assert due(SEASON, *early).due_on == day("2026-05-15")


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        pytest.param("2021-05-01", "2022-05-15", id="the next day"),
        pytest.param("2021-05-30", "2022-05-15", id="late days after the first"),
        pytest.param("2021-05-31", "2022-05-31", id="a day more"),
    ],
)
def test_a_second_record_soon_after_moves_nothing(second, expected):
    found = due(SEASON, done("2021-04-30"), done(second))
    assert (found.due_on, found.last_done) == (day(expected), day(second))


def test_a_record_that_moved_nothing_also_counts_as_the_record_before():
    """April 30 met the due day; May 25 and June 20 each follow the one before within 30 days, and neither moves anything."""
    assert due(SEASON, done("2021-04-30"), done("2021-05-25"), done("2021-06-20")).due_on == day("2022-05-15")


def test_the_next_round_may_open_within_late_days_of_the_last():
    """It then meets that round, soon after or not."""
    often = task(counts_from="due day", every_months=2, early_days=30, late_days=30)
    assert due(often, done("2020-08-10")).due_on == day("2020-09-15")
    assert due(often, done("2020-08-10"), done("2020-08-15")).due_on == day("2020-09-15")
    assert due(often, done("2020-08-10"), done("2020-08-16")).due_on == day("2020-11-15")


def test_without_a_start_the_replay_begins_at_the_first_record():
    nameless = unit(installed_on=None)
    assert due(SEASON, nameless, done("2021-03-01"), done("2022-03-31")).due_on == day("2023-03-01")
    assert due(SEASON, nameless, done("2021-03-01"), done("2022-04-01")).due_on == day("2023-04-01")


def test_two_heads_of_a_line_written_on_one_day_are_one_record():
    line = task(per="drain line", counts_from="due day")
    heads = (unit("H1", drain="A"), unit("H2", drain="A"))
    assert due(line, *heads, done("2021-05-20", "H1"), done("2021-05-20", "H2")).due_on == day("2022-05-15")


# --------------------------------------------------------------------------------------------------------------- shortening


@pytest.mark.parametrize(
    ("surroundings", "expected"),
    [
        ("", "2021-05-15"),
        ("smoke", "2021-05-15"),
        ("pets", "2020-11-13"),
        ("pets;dust", "2020-09-14"),
        ("dust", "2020-09-14"),
    ],
)
def test_the_strongest_single_factor_shortens(surroundings, expected):
    """A year of 365 days by 0.5 is 182 days, by 0.3343 it is 122, both rounded down."""
    kinds = [{"when": "pets", "times": "0.5"}, {"when": "dust", "times": "0.3343"}]
    assert due(task(shorten=kinds), unit(surroundings=surroundings)).due_on == day(expected)


@pytest.mark.parametrize(("floor", "days"), [(0, 1), (100, 100), (200, 200), (365, 365), (400, 365)])
def test_never_sooner_than_the_floor_nor_later_than_without(floor, days):
    rule = task(shorten=[{"when": "pets", "times": "0.001"}], floor_days=floor)
    assert (due(rule, unit(surroundings="pets")).due_on - day("2020-05-15")).days == days


def test_the_factor_is_exact():
    """0.7 of 90 days is 63 days; in binary floating point it is 62.99… and would round down to 62."""
    rule = task(shorten=[{"when": "coast", "times": "0.7"}], every_months=3)
    assert (day("2021-04-15") - day("2021-01-15")).days == 90
    assert due(rule, unit(surroundings="coast", installed_on="2021-01-15")).due_on == day("2021-03-19")


# ----------------------------------------------------------------------------------------------------------- preferred months


@pytest.mark.parametrize(
    ("installed", "months", "expected"),
    [
        pytest.param("2020-04-10", [4], ("2021-03-11", "2021-04-10", "2021-05-10"), id="in such a month already"),
        pytest.param("2020-05-15", [4], ("2021-04-15", "2021-04-30", "2021-06-14"), id="earlier inside the window"),
        pytest.param("2020-05-15", [6], ("2021-04-15", "2021-06-01", "2021-06-14"), id="later inside the window"),
        pytest.param("2020-05-15", [4, 6], ("2021-04-15", "2021-04-30", "2021-06-14"), id="the nearer of two"),
        pytest.param("2020-05-20", [4, 6], ("2021-04-20", "2021-06-01", "2021-06-19"), id="the nearer is later"),
        pytest.param("2020-02-15", [1, 3], ("2021-01-16", "2021-03-01", "2021-03-17"), id="both as near or nearer"),
        pytest.param("2020-08-15", [4], ("2021-03-16", "2021-04-15", "2021-05-15"), id="back to the middle of the run"),
        pytest.param(
            "2020-08-15", [3, 4], ("2021-03-01", "2021-03-31", "2021-04-30"), id="of the whole run, rounded down"
        ),
        pytest.param(
            "2020-08-15", [12, 1], ("2020-12-01", "2020-12-31", "2021-01-30"), id="a run over the turn of the year"
        ),
        pytest.param("2020-03-15", [11, 5], ("2020-10-16", "2020-11-15", "2020-12-15"), id="the latest earlier run"),
    ],
)
def test_a_preferred_month_moves_the_due(installed, months, expected):
    assert span(due(task(months=months), unit(installed_on=installed))) == expected


@pytest.mark.parametrize(
    ("installed", "months", "expected"),
    [
        ("2020-05-30", [4], "2021-04-30"),
        ("2020-05-31", [4], "2021-04-15"),
        ("2020-05-02", [6], "2021-06-01"),
        ("2020-05-01", [6], "2021-05-01"),
    ],
)
def test_the_windows_first_and_last_day_count(installed, months, expected):
    """30 days before May 30 is April 30; 30 days after May 2 is June 1. The June before would be too early to go back to."""
    assert due(task(months=months), unit(installed_on=installed)).due_on == day(expected)


def test_of_two_days_equally_near_the_earlier():
    """June 30 and August 1 are both 16 days from July 16; from July August 17 1 is nearer."""
    rule = task(months=[6, 8])
    assert due(rule, unit(installed_on="2020-07-16")).due_on == day("2021-06-30")
    assert due(rule, unit(installed_on="2020-07-17")).due_on == day("2021-08-01")


@pytest.mark.parametrize(
    ("installed", "expected"),
    [
        pytest.param("2020-01-03", "2020-05-16", id="the middle is a third after the start"),
        pytest.param("2020-01-15", "2020-05-16", id="just"),
        pytest.param("2020-01-16", "2020-05-31", id="a day less: the last day of the run"),
        pytest.param("2020-01-30", "2020-05-31", id="just"),
        pytest.param("2020-01-31", "2021-01-31", id="a day less: it stays"),
    ],
)
def test_never_moved_to_less_than_a_third_of_the_interval(installed, expected):
    """Of 366 days a third is 122, after January May 15 16: 31 days of May have their middle on the 16th."""
    assert due(task(months=[5]), unit(installed_on=installed)).due_on == day(expected)


def test_a_day_inside_the_window_may_be_too_early_as_well():
    """The window opens 300 days early: May lies in it, but before a third of the year has passed."""
    rule = task(months=[2], early_days=300, late_days=5)
    assert due(rule, unit(installed_on="2020-12-15")).due_on == day("2021-12-15")
    assert due(rule, unit(installed_on="2020-10-15")).due_on == day("2021-02-28")


def test_the_run_counts_whole_even_where_it_begins_before_the_anchor():
    """March to May has its middle on April 15, though the run begins before the start; half a year may be moved by two thirds."""
    rule = task(months=[3, 4, 5], shorten=[{"when": "pets", "times": "0.5"}])
    for installed_on, expected in (
        ("2020-02-13", "2020-04-15"),
        ("2020-02-14", "2020-04-15"),
        ("2020-02-15", "2020-05-31"),
        ("2020-03-31", "2020-05-31"),
        ("2020-04-01", "2020-09-30"),
    ):
        assert due(rule, unit(installed_on=installed_on, surroundings="pets")).due_on == day(expected), installed_on


@pytest.mark.parametrize(
    ("named", "moved"),
    [
        ({}, True),
        ({"by": "owner"}, False),
        ({"every_months": 11}, False),
        ({"every_months": 12}, True),
        ({"every_months": 24}, True),
    ],
)
def test_only_a_technicians_task_of_a_year_or_more_is_moved(named, moved):
    rule = task(months=[1], **named)
    plain = add_months(day("2020-05-15"), rule.every_months)
    assert (due(rule).due_on != plain) == moved


def test_a_task_that_likes_every_month_is_not_moved():
    assert due(task(months=list(range(1, 13)))).due_on == day("2021-05-15")


def test_a_moved_due_is_what_the_record_met():
    """Due May 15, moved to April 30: the next counts from April 30, unless it was done late."""
    rule = task(months=[4], counts_from="due day")
    assert due(rule, done("2021-05-02")).due_on == day("2022-04-30")
    assert due(rule, done("2021-06-14")).due_on == day("2022-04-30")
    assert due(rule, done("2021-06-15")).due_on == day("2022-04-15")


# ---------------------------------------------------------------------------------------------------------------------- dirt

WHEEL = task(dirt="wheel", counts_from="due day", late_days=60)  # first due May 15, 2021


@pytest.mark.parametrize(
    ("grade", "expected"),
    [
        (0, ("2021-04-15", "2021-05-15", "2021-07-14")),
        (1, ("2021-04-15", "2021-05-15", "2021-07-14")),
        (2, ("2020-09-30", "2020-10-30", "2020-11-29")),
        (3, ("2020-08-31", "2020-09-30", "2020-10-30")),
    ],
)
def test_dirt_makes_it_due_sooner(grade, expected):
    assert span(due(WHEEL, graded("2020-09-30", grade))) == expected


def test_late_days_shorter_than_thirty_hold_for_dirt_too():
    assert due(task(dirt="wheel", late_days=10), graded("2020-09-30", 3)).late_after == day("2020-10-10")


@pytest.mark.parametrize(
    ("graded_on", "expected"),
    [("2021-04-14", "2021-05-14"), ("2021-04-15", "2021-05-15"), ("2021-05-01", "2021-05-15")],
)
def test_dirt_counts_only_where_it_is_earlier(graded_on, expected):
    found = due(WHEEL, graded(graded_on, 2))
    assert found.due_on == day(expected)
    assert found.window.graded == (expected == "2021-05-14")


def test_dirt_is_held_against_the_day_after_any_move_and_is_not_moved():
    rule = task(dirt="coil", months=[4])  # May 15 moves to April 30
    assert due(rule, graded("2021-03-31", 2, part="coil")).due_on == day("2021-04-30")
    assert due(rule, graded("2021-03-30", 2, part="coil")).due_on == day("2021-04-29")
    assert due(rule, graded("2020-11-01", 2, part="coil")).due_on == day("2020-12-01")


def test_a_task_listens_to_its_own_part():
    assert due(WHEEL, graded("2020-09-30", 3, part="coil")).due_on == day("2021-05-15")
    assert due(task(), graded("2020-09-30", 3)).due_on == day("2021-05-15")


@pytest.mark.parametrize(
    ("graded_on", "expected"),
    [("2021-05-09", "2022-05-10"), ("2021-05-10", "2022-05-15"), ("2021-05-11", "2021-05-11")],
)
def test_dirt_seen_on_the_day_of_cleaning_was_before_it(graded_on, expected):
    assert due(WHEEL, done("2021-05-10"), graded(graded_on, 3)).due_on == day(expected)


def test_the_latest_grade_counts_even_if_it_is_milder():
    assert due(WHEEL, graded("2020-09-30", 3), graded("2020-10-05", 1)).due_on == day("2021-05-15")
    assert due(WHEEL, graded("2020-09-30", 3), graded("2020-10-05", 2)).due_on == day("2020-11-04")


def test_of_two_on_one_day_the_worse():
    assert due(WHEEL, graded("2020-09-30", 1), graded("2020-09-30", 3)).due_on == day("2020-09-30")
    assert due(WHEEL, graded("2020-09-30", 3), graded("2020-09-30", 1)).due_on == day("2020-09-30")


def test_a_record_that_meets_dirt_counts_from_the_day_done():
    """Graded 2 on March 20: due April 19 instead of May 15; done inside that window it still counts from the day done."""
    assert due(WHEEL, graded("2021-03-20", 2), done("2021-04-25")).due_on == day("2022-04-25")


def test_dirt_seen_on_the_records_own_day_does_not_make_it_such_a_due():
    assert due(WHEEL, done("2021-04-25", dirt_wheel=3)).due_on == day("2022-05-15")
    assert due(WHEEL, graded("2021-04-24", 3), done("2021-04-25")).due_on == day("2022-04-25")


def test_dirt_may_open_the_next_round_for_a_second_record():
    """Done April 30 for May 15. Nine days later again: it moves nothing, unless the wheel was blocked the day before."""
    assert due(WHEEL, done("2021-04-30"), done("2021-05-09")).due_on == day("2022-05-15")
    assert due(WHEEL, done("2021-04-30"), graded("2021-05-08", 3), done("2021-05-09")).due_on == day("2022-05-09")
    assert due(WHEEL, done("2021-04-30"), graded("2021-05-09", 3), done("2021-05-09")).due_on == day("2022-05-15")


def test_dirt_makes_a_due_by_itself():
    nameless = unit(installed_on=None)
    assert dues(WHEEL, nameless, graded("2026-09-30", 1)) == ()
    found = worked_out(WHEEL, nameless, graded("2026-09-30", 2))
    assert (span(found.dues[0]), found.wanted) == (("2026-09-30", "2026-10-30", "2026-11-29"), ())
    assert due(WHEEL, nameless, graded("2026-09-30", 2), done("2026-10-01")).due_on == day("2027-10-01")


def test_dirt_belongs_to_the_unit_it_is_written_on():
    first, second = dues(WHEEL, unit("H1"), unit("H2"), graded("2020-09-30", 3, "H2"))
    assert (first.due_on, second.due_on) == (day("2021-05-15"), day("2020-09-30"))


def test_dirt_written_with_another_task_counts():
    assert due(WHEEL, done("2020-09-30", code="filter wash", dirt_wheel=3)).due_on == day("2020-09-30")
    assert due(WHEEL, replace(skipped("2020-09-30"), dirt_wheel=3)).due_on == day("2020-09-30")


# ---------------------------------------------------------------------------------------------------- lines and whole systems

LINE = task(per="drain line")
CHECK = task(per="system")


def test_heads_with_the_same_drain_text_share_a_line():
    heads = [unit("H3", drain="A"), unit("H1", drain="B"), unit("H2", drain="A"), unit("H4"), unit("H5")]
    assert [(found.serial, found.units) for found in dues(LINE, *heads)] == [
        ("H1", ("H1",)),
        ("H2", ("H2", "H3")),
        ("H4", ("H4",)),
        ("H5", ("H5",)),
    ]


def test_other_units_have_a_line_only_where_it_is_named():
    units = [unit("H1"), unit("O1", "outdoor"), unit("A1", "air handler", drain="C"), unit("A2", "air handler")]
    assert [found.serial for found in dues(LINE, *units)] == ["A1", "H1"]


def test_a_line_takes_the_earliest_start_the_latest_record_and_all_surroundings():
    heads = (unit("H1", drain="A", installed_on="2020-07-01"), unit("H2", drain="A", surroundings="dust"))
    assert due(LINE, *heads).due_on == day("2021-05-15")
    assert due(LINE, *heads, done("2024-03-01", "H2"), done("2023-01-01", "H1")).last_done == day("2024-03-01")
    rule = task(per="drain line", shorten=[{"when": "dust", "times": "0.5"}])
    assert due(rule, *heads).due_on == day("2020-11-13")


def test_a_start_that_is_not_known_does_not_matter_where_another_is():
    found = worked_out(CHECK, unit("H1", installed_on=None), unit("H2"))
    assert (found.dues[0].due_on, found.wanted) == (day("2021-05-15"), ())


@pytest.mark.parametrize(
    ("units", "stands"),
    [
        ([unit("A1"), unit("Z2", "outdoor"), unit("Z1", "outdoor")], "Z1"),
        ([unit("B1"), unit("A9", "branch box")], "A9"),
        ([unit("B1"), unit("", key="1")], "B1"),
    ],
)
def test_a_system_stands_under_its_first_outdoor_serial_or_else_its_first(units, stands):
    assert due(CHECK, *units).serial == stands


def test_a_role_and_its_styles():
    units = [
        unit("H1"),
        unit("H2", style="floor"),
        unit("H3", style="ducted"),
        unit("O1", "outdoor"),
        unit("D1", "dehumidifier"),
    ]
    assert [found.serial for found in dues(task(styles=["wall", "ducted"]), *units)] == ["H1", "H3"]
    assert [found.serial for found in dues(task(), *units)] == ["H1", "H2", "H3"]
    assert [found.serial for found in dues(task(per="outdoor"), *units)] == ["O1"]
    assert [found.serial for found in dues(task(per="dehumidifier"), *units)] == ["D1"]


def test_a_head_without_a_style_is_wanted_where_a_task_asks_styles():
    blank = unit("H2", style="")
    assert worked_out(task(), blank).wanted == ()
    found = worked_out(task(styles=["wall"]), unit("H1"), blank)
    assert [one.serial for one in found.dues] == ["H1"]
    assert [(one.serial, one.what) for one in found.wanted] == [("H2", "style")]


# ------------------------------------------------------------------------------------- records on a unit a task is not for


def test_a_record_on_a_unit_the_task_is_not_for_counts_for_everything_it_is_for():
    units = (unit("H1"), unit("H2"), unit("O1", "outdoor"))
    assert [one.last_done for one in dues(LINE, *units, done("2024-03-01", "O1"))] == [day("2024-03-01")] * 2
    assert [one.last_done for one in dues(LINE, *units, done("2024-03-01", "H1"))] == [day("2024-03-01"), None]


def test_a_head_of_another_style_is_such_a_unit():
    rule = task(styles=["wall"])
    units = (unit("H1"), unit("H2"), unit("H3", style="floor"))
    assert [one.last_done for one in dues(rule, *units, done("2024-03-01", "H3"))] == [day("2024-03-01")] * 2


def test_a_skip_on_such_a_unit_counts_likewise():
    units = (unit("H1"), unit("H2"), unit("O1", "outdoor"))
    found = dues(LINE, *units, skipped("2026-11-01", "2026-12-24", "O1"))
    assert [one.not_before for one in found] == [day("2026-12-24")] * 2


def test_a_record_counts_in_its_own_system_only():
    elsewhere = (unit("H9"), done("2024-03-01", "H1"))
    assert due(task(), *elsewhere).last_done is None


# ----------------------------------------------------------------------------------------- idle, taken out, exchanged, moved


@pytest.mark.parametrize(
    ("on", "count"), [("2023-12-31", 1), ("2024-01-01", 0), ("2024-05-31", 0), ("2024-06-01", 1), ("2026-01-01", 1)]
)
def test_an_idle_unit_has_no_dues(on, count):
    assert len(dues(task(), unit(idle=("2024-01-01", "2024-06-01")), on=on)) == count


@pytest.mark.parametrize(("on", "count"), [("2023-12-31", 1), ("2024-01-01", 0)])
def test_a_unit_taken_out_has_no_dues(on, count):
    assert len(dues(task(), unit(left_on="2024-01-01"), on=on)) == count


def test_back_in_use_it_starts_anew_where_that_is_later():
    back = unit(idle=("2024-01-01", "2024-06-01"))
    assert due(task(), back, done("2023-05-15")).due_on == day("2025-06-01")
    assert due(task(), back, done("2023-05-15")).last_done == day("2023-05-15")
    assert due(task(), back, done("2024-06-02")).due_on == day("2025-06-02")
    assert due(task(), back, done("2023-05-15"), on="2023-12-31").due_on == day("2024-05-15")
    assert due(task(), back, done("2023-05-15"), on="2024-06-01").due_on == day("2025-06-01")


def test_back_in_use_before_the_due_day_that_was_met_changes_nothing():
    """Done April 20 for May 15; idle for a week in between."""
    assert due(SEASON, unit(idle=("2021-04-25", "2021-05-02")), done("2021-04-20")).due_on == day("2022-05-15")
    assert due(SEASON, unit(idle=("2021-04-25", "2021-05-16")), done("2021-04-20")).due_on == day("2022-05-16")


def test_the_replay_starts_anew_on_the_way():
    """Back on June 1, 2023; the round from there is due on June 1, 2024 and keeps that season."""
    back = unit(idle=("2022-01-01", "2023-06-01"))
    assert due(SEASON, back, done("2021-05-15"), done("2024-05-10")).due_on == day("2025-06-01")
    assert due(SEASON, unit(), done("2021-05-15"), done("2024-05-10")).due_on == day("2025-05-10")


def test_no_start_is_known_but_the_day_it_came_back():
    assert due(task(), unit(installed_on=None, idle=("2024-01-01", "2024-06-01"))).due_on == day("2025-06-01")


def test_the_new_serial_starts_anew_with_the_record_of_the_old():
    old = unit("H1", left_on="2024-06-01")
    new = unit("H2", replaced_on="2024-06-01", took_over=("H1",))
    found = due(task(), old, new, done("2024-05-15"))
    assert (found.serial, found.due_on, found.last_done) == ("H2", day("2025-06-01"), day("2024-05-15"))
    before = due(task(), old, new, done("2024-05-15"), on="2024-05-31")
    assert (before.serial, before.due_on) == ("H1", day("2025-05-15"))
    assert due(task(), old, new, done("2024-05-15"), on="2024-06-01").serial == "H2"


def test_dirt_went_with_the_old_serial():
    old = unit("H1", left_on="2024-06-01")
    new = unit("H2", replaced_on="2024-06-01", took_over=("H1",))
    assert due(WHEEL, old, new, graded("2024-05-15", 3)).due_on == day("2025-06-01")
    assert due(WHEEL, old, new, graded("2024-06-15", 3, "H2")).due_on == day("2024-06-15")


def test_a_line_or_system_starts_anew_when_all_its_units_did():
    one_back = (unit("H1", drain="A", idle=("2024-01-01", "2024-06-01")), unit("H2", drain="A"))
    both_back = (one_back[0], unit("H2", drain="A", idle=("2024-01-01", "2024-07-01")))
    for rule in (LINE, CHECK):
        assert due(rule, *one_back, done("2023-05-15")).due_on == day("2024-05-15")
        assert due(rule, *both_back, done("2023-05-15")).due_on == day("2025-07-01")


def test_a_line_has_a_due_while_one_of_its_units_is_in_use():
    heads = (unit("H1", drain="A", idle=("2024-01-01", "2030-01-01")), unit("H2", drain="A"))
    found = due(LINE, *heads, done("2023-05-15", "H1"))
    assert (found.serial, found.units, found.last_done) == ("H2", ("H2",), day("2023-05-15"))


def test_what_was_done_on_a_unit_that_left_counts_on_for_the_system():
    left = unit("H1", left_on="2024-01-01")
    assert due(CHECK, left, unit("H2"), done("2023-05-15", "H1")).due_on == day("2024-05-15")


@pytest.mark.parametrize(
    ("on", "counts"), [("2020-05-14", False), ("2020-05-15", True), ("2023-12-31", True), ("2024-01-01", False)]
)
def test_from_the_systems_start_and_only_until_it_left(on, counts):
    left = unit("H1", left_on="2024-01-01", installed_on="2019-01-01")
    assert due(CHECK, left, unit("H2"), done(on, "H1")).last_done == (day(on) if counts else None)


def test_but_not_for_a_system_put_in_anew():
    left, new = unit("H1", left_on="2024-01-01"), unit("H2", installed_on="2024-01-01")
    for on in ("2024-01-01", "2026-11-24"):
        assert due(CHECK, left, new, done("2023-05-15", "H1"), on=on).due_on == day("2025-01-01")


def test_what_was_done_before_it_joined_counts_for_itself_only():
    """A head from another system brings its own record, not that system's check."""
    moved = unit("H1", joined_on="2024-01-01", installed_on="2022-01-01")
    both = sheet(entry("clean"), entry("check", per="system"))
    found = dues(both, moved, unit("H2"), done("2023-05-15"), done("2023-05-15", code="check"))
    assert {(one.task.code, one.serial): one.last_done for one in found} == {
        ("clean", "H1"): day("2023-05-15"),
        ("clean", "H2"): None,
        ("check", "H1"): None,
    }
    joining = dues(both, moved, unit("H2"), done("2024-01-01", code="check"))
    assert joining[-1].last_done == day("2024-01-01")


@pytest.mark.parametrize(("on", "count"), [("2023-12-31", 0), ("2024-01-01", 1)])
def test_a_unit_has_dues_in_a_system_from_the_day_it_joined(on, count):
    assert len(dues(task(), unit(joined_on="2024-01-01"), on=on)) == count


def test_several_times_idle_the_last_time_back_counts():
    spells = (Idle(day("2021-01-01"), day("2021-02-01")), Idle(day("2023-01-01"), day("2023-02-01")))
    assert due(task(), replace(unit(), idle=spells)).due_on == day("2024-02-01")
    assert dues(task(), replace(unit(), idle=(*spells, Idle(day("2025-01-01"))))) == ()


# ------------------------------------------------------------------------------------------------------ skips and the state


def test_a_skip_moves_nothing_but_may_say_not_before():
    found = due(task(), done("2025-05-15"), skipped("2026-05-20", "2026-12-01"))
    assert (found.due_on, found.last_done, found.not_before) == (
        day("2026-05-15"),
        day("2025-05-15"),
        day("2026-12-01"),
    )
    assert due(task(), skipped("2026-05-20")).not_before is None


@pytest.mark.parametrize(("on", "expected"), [("2026-05-19", None), ("2026-05-20", None), ("2026-05-21", "2026-12-01")])
def test_only_a_skip_after_the_day_last_done_holds(on, expected):
    found = due(task(), done("2026-05-20"), skipped(on, "2026-12-01"))
    assert found.not_before == (expected and day(expected))


def test_the_latest_day_among_the_skips_holds_and_is_shown_even_when_past():
    skips = (skipped("2026-05-20", "2026-09-01"), skipped("2026-06-20", "2026-08-01"))
    found = due(task(), *skips)
    assert (found.not_before, found.state(day("2026-11-24"))) == (day("2026-09-01"), State.LATE)


@pytest.mark.parametrize(
    ("on", "state"),
    [
        ("2026-08-31", State.WAITING),
        ("2026-09-01", State.AHEAD),
        ("2027-04-14", State.AHEAD),
        ("2027-04-15", State.DUE),
        ("2027-06-14", State.DUE),
        ("2027-06-15", State.LATE),
    ],
)
def test_where_a_due_stands(on, state):
    found = due(task(), done("2026-05-15"), skipped("2026-06-20", "2026-09-01"))
    assert found.state(day(on)) is state


def test_waiting_comes_first_even_where_it_is_late():
    assert due(task(), skipped("2026-06-20", "2026-12-01")).state(day("2026-11-30")) is State.WAITING


@pytest.mark.parametrize(
    ("last", "state"),
    [
        (None, State.NO_RECORD),
        ("2026-09-23", State.NO_RECORD),
        ("2026-09-24", State.LATE),
        ("2026-10-30", State.DUE),
        ("2026-11-20", State.AHEAD),
    ],
)
def test_an_owners_task_that_nobody_wrote_down(last, state):
    """Two months before November 24 is September 24: not yet more than two intervals ago."""
    wash = task(by="owner", every_months=1, early_days=7, late_days=7)
    told = () if last is None else (done(last),)
    assert due(wash, *told).state(day("2026-11-24")) is state


def test_a_technicians_task_is_late_however_long_ago():
    assert due(task()).state(day("2026-11-24")) is State.LATE


# -------------------------------------------------------------------------------------------------------------------- prices


def test_the_first_in_order_of_serial_has_the_price_the_others_the_further_price():
    rule = task(price="60.00", further_price="40.00")
    found = dues(rule, unit("H10"), unit("H9"), unit("H1"))
    assert [(one.serial, str(one.price)) for one in found] == [("H1", "60.00"), ("H10", "40.00"), ("H9", "40.00")]
    assert [str(one.price) for one in dues(task(), unit("H1"), unit("H2"))] == ["50.00", "50.00"]


def test_only_a_due_takes_the_first_price():
    rule = task(price="60.00", further_price="40.00")
    assert [str(one.price) for one in dues(rule, unit("H1", installed_on=None), unit("H2"))] == ["60.00"]


# ----------------------------------------------------------------------------------------------------------- counting onward


def test_counting_on_from_a_due_is_what_a_record_would_bring():
    """Planning ahead and writing it down later give the same next due."""
    for rule in (
        task(),
        SEASON,
        WHEEL,
        task(months=[4], counts_from="due day"),
        task(shorten=[{"when": "pets", "times": "0.4"}]),
    ):
        told = (unit(surroundings="pets"), done("2024-05-20"), graded("2024-09-30", 2))
        planned = due(rule, *told)
        for on in (planned.opens_on, planned.due_on, planned.late_after, add_months(planned.late_after, 3)):
            later = due(rule, *told, done(on.isoformat()), on="2031-01-01")
            assert replace(planned.after(on), price=later.price) == later


RULES = st.builds(
    task,
    by=st.sampled_from(["owner", "technician"]),
    every_months=st.sampled_from([1, 3, 6, 12, 18, 24, 60]),
    early_days=st.integers(0, 90),
    late_days=st.integers(0, 90),
    counts_from=st.sampled_from(["day done", "due day"]),
    months=st.lists(st.integers(1, 12), unique=True, max_size=6),
    dirt=st.sampled_from(["wheel", "coil"]),
    floor_days=st.integers(0, 200),
    shorten=st.sampled_from([[], [{"when": "pets", "times": "0.5"}], [{"when": "pets", "times": "0.07"}]]),
)
ANY_DAY = st.dates(day("2019-01-01"), day("2026-11-24"))
RECORDS = st.lists(
    st.builds(
        care.Record,
        unit=st.sampled_from(["H1", "H2", "O1"]),
        day=ANY_DAY,
        task=st.sampled_from(["clean", ""]),
        what=st.sampled_from([care.DONE, care.SKIPPED]),
        dirt_wheel=st.sampled_from([None, None, 0, 1, 2, 3]),
        dirt_coil=st.sampled_from([None, None, 0, 1, 2, 3]),
        not_before=st.none() | ANY_DAY,
    ),
    max_size=8,
)
UNITS = (unit("H1", surroundings="pets", drain="A"), unit("H2", style="floor", drain="A"), unit("O1", "outdoor"))


@given(rule=RULES, per=st.sampled_from(["head", "drain line", "system"]), records=RECORDS, seed=st.integers())
def test_the_order_in_which_things_are_told_does_not_matter(rule, per, records, seed):
    rule = replace(rule, per=per)
    told = [*UNITS, *records]
    random.Random(seed).shuffle(told)
    assert worked_out(rule, *told) == worked_out(rule, *UNITS, *records)


@given(rule=RULES, records=RECORDS)
def test_a_due_lies_in_its_window_and_after_its_anchor(rule, records):
    for found in dues(rule, *UNITS, *records):
        assert found.opens_on <= found.due_on <= found.late_after
        assert found.window.graded or found.due_on > found.anchor


@given(rule=RULES, records=RECORDS)
def test_hard_surroundings_never_make_it_later_and_dirt_neither(rule, records):
    """Of a task that no month moves, where nothing was done yet."""
    rule = replace(rule, months=())
    mild = replace(UNITS[0], surroundings=frozenset())
    records = [record for record in records if record.what == care.SKIPPED]
    clean = [replace(record, dirt_wheel=None, dirt_coil=None) for record in records]
    assert due(rule, UNITS[0], *records).due_on <= due(rule, mild, *records).due_on <= due(rule, mild, *clean).due_on


# ---------------------------------------------------------------------------------- where a plain recurrence loses visits


@pytest.mark.parametrize(
    ("start", "every_months", "plain", "ours"),
    [
        pytest.param(
            "2024-08-31",
            6,
            ["2025-08-31", "2026-08-31", "2027-08-31"],
            ["2025-02-28", "2025-08-28", "2026-02-28"],
            id="RR-18",
        ),
        pytest.param(
            "2024-01-31",
            1,
            ["2024-03-31", "2024-05-31", "2024-07-31"],
            ["2024-02-29", "2024-03-29", "2024-04-29"],
            id="RR-14",
        ),
        pytest.param(
            "2014-12-31",
            1,
            ["2015-01-31", "2015-03-31", "2015-05-31"],
            ["2015-01-31", "2015-02-28", "2015-03-28"],
            id="RR-21",
        ),
        pytest.param(
            "2024-02-29",
            12,
            ["2028-02-29", "2032-02-29", "2036-02-29"],
            ["2025-02-28", "2026-02-28", "2027-02-28"],
            id="RR-15",
        ),
        pytest.param("2096-02-29", 12, ["2104-02-29"], ["2097-02-28", "2098-02-28"], id="RR-16"),
    ],
)
def test_no_round_is_lost_to_a_short_month(start, every_months, plain, ours):
    """RFC 5545 3.3.10: a day that a month does not have is skipped, and with it the visit. Ours comes on the last day instead."""
    rule = rrule(MONTHLY, interval=every_months, dtstart=day(start), count=1 + len(plain))
    assert [str(one.date()) for one in rule][1:] == plain
    found = due(task(every_months=every_months), unit(installed_on=start), on="2110-01-01")
    for expected in ours:
        assert found.due_on == day(expected)
        found = found.after(found.due_on)


def test_a_year_has_twelve_washes_and_two_rinses_whatever_day_it_starts():
    """A plain monthly recurrence from the 31st has seven days in a year; RFC 5545's yearly one from February 29 one in four years."""
    for start in ("2024-08-31", "2024-01-31", "2024-02-29", "2023-12-30"):
        for every, times in ((1, 12), (6, 2), (12, 1)):
            found = due(task(every_months=every), unit(installed_on=start))
            for _ in range(times):
                last = found.due_on
                found = found.after(last)
            assert (last.year, last.month) == (day(start).year + 1, day(start).month)
    assert len(list(rrule(MONTHLY, dtstart=day("2024-01-31"), until=day("2024-12-31")))) == 7
    assert len(list(rrule(YEARLY, dtstart=day("2024-02-29"), until=day("2027-12-31")))) == 1


# ----------------------------------------------------------------------------------------------------------- the care sheet


def test_a_care_sheet_says_what_it_says():
    found = sheet(
        entry("wash", by="owner", every_months=1, further_price="0.50", floor_days=14, cautions=["Power off"]),
        entry("line", per="drain line"),
        setup_minutes=25,
        access_minutes={"roof": 30},
        style_factor={"cassette": "1.5"},
    )
    assert (found.code, found.setup_minutes) == ("house", 25)
    assert [found.extra_minutes(word) for word in ("roof", "high", "normal", "")] == [30, 0, 0, 0]
    assert [str(found.weight(style)) for style in ("cassette", "wall", "")] == ["1.5", "1", "1"]
    wash = found.task("wash")
    assert (str(wash.price), str(wash.further_price), wash.floor_days, wash.cautions) == (
        "50.00",
        "0.50",
        14,
        ("Power off",),
    )
    assert (wash.counts_from, wash.months, wash.dirt, wash.styles) == ("day done", (), "", ())
    assert found.task("line").further_price == found.task("line").price
    assert found.task("rinse") is None


@pytest.mark.parametrize(
    ("broken", "where"),
    [
        ({"by": "tenant"}, "task[1].by"),
        ({"per": "room"}, "task[1].per"),
        ({"styles": ["round"]}, "task[1].styles"),
        ({"per": "outdoor", "styles": ["wall"]}, "task[1].styles"),
        ({"every_months": 0}, "task[1].every_months"),
        ({"every_months": "12"}, "task[1].every_months"),
        ({"early_days": -1}, "task[1].early_days"),
        ({"late_days": 1.5}, "task[1].late_days"),
        ({"minutes": True}, "task[1].minutes"),
        ({"price": 50}, "task[1].price"),
        ({"price": "fifty"}, "task[1].price"),
        ({"price": None}, "task[1].price"),
        ({"further_price": 40.0}, "task[1].further_price"),
        ({"counts_from": "start"}, "task[1].counts_from"),
        ({"months": [0]}, "task[1].months"),
        ({"months": [13]}, "task[1].months"),
        ({"months": [3, 3]}, "task[1].months"),
        ({"months": 3}, "task[1].months"),
        ({"months": [True]}, "task[1].months"),
        ({"dirt": "filter"}, "task[1].dirt"),
        ({"shorten": [{"when": "cats", "times": "0.5"}]}, "task[1].shorten[1].when"),
        ({"shorten": [{"when": "pets", "times": 0.5}]}, "task[1].shorten[1].times"),
        ({"shorten": [{"when": "pets"}]}, "task[1].shorten[1].times"),
        ({"shorten": [{"when": "pets", "times": "0.5"}] * 2}, "task[1].shorten[2].when"),
        ({"shorten": [{"when": "pets", "times": "0.5", "until": 3}]}, "task[1].shorten[1].until"),
        ({"cautions": "hot"}, "task[1].cautions"),
        ({"source": "House rules"}, "task[1].source"),
        ({"source": {"page": "2"}}, "task[1].source.title"),
        ({"checked_on": "2026-08-01"}, "task[1].checked_on"),
        ({"color": "red"}, "task[1].color"),
        ({"title": " "}, "task[1].title"),
    ],
)
def test_a_broken_task_is_refused_with_its_key(broken, where):
    named = {key: value for key, value in entry(**broken).items() if value is not None}
    with pytest.raises(BadTable) as refused:
        caresheet.read({"code": "house", "task": [named]})
    assert where in {fault.where for fault in refused.value.faults}


@pytest.mark.parametrize(
    ("broken", "where"),
    [
        ({"code": None}, "code"),
        ({"task": []}, "task"),
        ({"task": None}, "task"),
        ({"task": [entry(), entry()]}, "task[2].code"),
        ({"setup_minutes": "20"}, "setup_minutes"),
        ({"access_minutes": {"ladder": 20}}, "access_minutes.ladder"),
        ({"access_minutes": {"roof": -1}}, "access_minutes.roof"),
        ({"style_factor": {"round": "1.5"}}, "style_factor.round"),
        ({"style_factor": {"wall": 1.5}}, "style_factor.wall"),
        ({"tasks": []}, "tasks"),
    ],
)
def test_a_broken_care_sheet_is_refused_with_its_key(broken, where):
    values = {"code": "house", "task": [entry()]} | broken
    with pytest.raises(BadTable) as refused:
        caresheet.read({key: value for key, value in values.items() if value is not None})
    assert where in {fault.where for fault in refused.value.faults}


@pytest.mark.parametrize("key", sorted(entry()))
def test_what_a_task_must_say(key):
    named = entry()
    del named[key]
    with pytest.raises(BadTable) as refused:
        caresheet.read({"code": "house", "task": [named]})
    assert [fault.where for fault in refused.value.faults] == [f"task[1].{key}"]


# ------------------------------------------------------------------------------------------------------ the house's own sheet


@pytest.fixture(scope="module")
def house() -> caresheet.CareSheet:
    return caresheet.read(tomllib.loads(HOUSE.read_text(encoding="utf-8")))


def test_the_house_sheet_says_where_each_number_comes_from(house):
    assert all(rule.source_title for rule in house.tasks)
    assert all(rule.cautions for rule in house.tasks if rule.by == "technician")


@pytest.mark.parametrize(
    ("code", "by", "per", "every_months"),
    [
        pytest.param(
            "filter wash", "owner", "head", 1, id="CP-01 common practice, no source; MNT-01 every 1 to 2 months"
        ),
        pytest.param("drain clearing", "technician", "drain line", 12, id="CP-02 common practice, no source"),
        pytest.param("coil cleaning", "technician", "head", 12, id="MNT-02 look at the coil every year"),
        pytest.param("blower wheel check", "technician", "head", 12, id="CP-03 common practice, no source: yearly"),
    ],
)
def test_the_house_sheet_keeps_to_what_is_usual(house, code, by, per, every_months):
    found = house.task(code)
    assert (found.by, found.per, found.every_months) == (by, per, every_months)


def test_the_house_sheet_has_wheels_cleaned_by_the_fifth_year(house):
    """CP-03, common practice without a source: in the fourth or fifth year at the latest, sooner where dirt was seen."""
    found = house.task("blower wheel cleaning")
    assert 48 <= found.every_months <= 60
    assert found.dirt == "wheel"


def test_by_the_sea_the_customer_rinses_often_and_we_twice_a_year(house):
    """Every 1 to 2 months near the sea, as public pages of the trade say; nobody sends a technician that often."""
    coast = unit("O1", "outdoor", surroundings="coast", installed_on="2026-01-15")
    found = {
        one.task.code: (one.task.by, (one.due_on - coast.start).days) for one in dues(house, coast, on="2026-01-20")
    }
    assert found["hose rinse"] == ("owner", 45)
    by, days = found["outdoor rinse"]
    assert (by, 120 <= days <= 245) == ("technician", True)


def test_the_house_sheet_rinses_nothing_in_a_frost(house):
    assert house.task("outdoor rinse").not_months == (12, 1, 2)
    assert not set(house.task("outdoor rinse").months) & {12, 1, 2}


@pytest.mark.parametrize(
    ("style", "minutes"),
    [
        pytest.param("wall", 120, id="cleaners' public pages: 120 the first time"),
        pytest.param("floor", 150, id="150"),
        pytest.param("cassette", 180, id="180"),
        pytest.param("ducted", 180, id="common practice, no source"),
    ],
)
def test_the_house_sheet_knows_how_long_a_wheel_takes(house, style, minutes):
    assert house.task("blower wheel cleaning").minutes_for(style) == minutes


@pytest.mark.parametrize(
    ("told", "codes"),
    [
        pytest.param(
            {"style": "wall"}, {"filter wash", "drain clearing", "coil cleaning", "blower wheel check", "blower wheel cleaning"},
            id="wall head",
        ),
        pytest.param(
            {"style": "ducted"},
            {"ducted filter", "drain clearing", "ducted check", "blower wheel check", "blower wheel cleaning"},
            id="ducted head: no monthly wash, and a wheel like the others",
        ),
        pytest.param(
            {"style": "cassette"},
            {
                "filter wash", "drain clearing", "coil cleaning", "blower wheel check", "blower wheel cleaning",
                "built-in pump test",
            },
            id="cassette: its built-in pump too",
        ),
        pytest.param({"role": "outdoor"}, {"hose rinse", "outdoor rinse"}, id="outdoor unit"),
        pytest.param({"role": "furnace"}, {"furnace filter", "furnace check"}, id="furnace"),
        pytest.param(
            {"role": "air handler", "drain": "A"},
            {"air handler filter", "air handler check", "drain clearing"},
            id="air handler with a drain line",
        ),
        pytest.param({"role": "branch box"}, {"branch box check"}, id="branch box"),
        pytest.param({"role": "pump"}, {"pump test"}, id="pump"),
        pytest.param({"role": "dehumidifier"}, {"dehumidifier filter", "dehumidifier service"}, id="dehumidifier"),
    ],
)  # fmt: skip
def test_the_house_sheet_has_work_for_every_kind_of_unit(house, told, codes):
    """Besides what is of the whole system: a check in spring, and one before the heating season."""
    found = {one.task.code for one in dues(house, unit("X1", **{"role": "head"} | told))}
    assert found == codes | {"electrical check", "heating check"}


def test_the_house_sheet_works_between_the_peaks(house):
    """MNT-03: a professional check in spring and fall; the months of the peaks are kept for breakdowns."""
    yearly = [rule for rule in house.tasks if rule.by == "technician"]
    assert all(rule.months and not set(rule.months) & {1, 6, 7, 8, 12} for rule in yearly)


@pytest.mark.parametrize(
    ("title", "is_so"),
    [
        ("Wash the filters", True),
        ("Change the furnace filter", True),
        ("Filter: wash it", True),
        ("Service the dehumidifier: filter, coil, pan and drain", True),
        ("Clean the coil", False),
        ("Look at the prefiltering", False),
    ],
)
def test_a_task_is_on_a_filter_where_its_title_says_so(title, is_so):
    assert task(title=title).on_filter is is_so


@pytest.mark.parametrize(
    ("on", "not_before", "is_open"),
    [
        ("2026-02-21", None, False),
        ("2026-02-22", None, True),
        ("2026-04-30", None, True),
        ("2026-03-09", "2026-03-10", False),
        ("2026-03-10", "2026-03-10", True),
        ("2026-02-21", "2026-02-20", False),
    ],
)
def test_a_due_is_open_from_the_first_day_of_its_window_also_where_nobody_knows_of_a_wash(on, not_before, is_open):
    wash = due(task(by="owner", every_months=1, early_days=7, late_days=14), unit(started_on="2026-02-01"))
    assert (wash.opens_on, wash.state(day("2026-03-01"))) == (day("2026-02-22"), State.NO_RECORD)
    assert replace(wash, not_before=not_before and day(not_before)).open_on(day(on)) is is_open
