"""The life line's geometry, with literal numbers, and what it says in words."""

import datetime as dt

import pytest

from fleet.front.pages import lifeline
from fleet.front.pages.lifeline_drawing import Event, Promise
from fleet.rules.findings import Result
from fleet.rules.stretches import Stretch
from tests.facts import day

TODAY = dt.date(2010, 1, 1)


def stretch(first, last, result=Result.COVERED, *, waiting=False):
    return Stretch(day(first), last and day(last), result, waiting)


def promise(*stretches, payer="maker", kind="parts", components="", title="Warranty"):
    return Promise(payer, kind, components, title, stretches)


def draw(*promises, events=(), today=TODAY, known=()):
    return lifeline.draw(promises, events, today=today, known=[day(one) for one in known])


def drawn(line, layout="narrow"):
    return next(drawing for drawing in line.drawings if drawing.layout == layout)


# 1000 days from January 1, 2009 to September 27, 2011, both counted: a tenth of a percent each.
THOUSAND = ("2009-01-01", "2011-09-27")


def test_a_bar_has_its_days_share_of_the_width():
    line = draw(promise(stretch("2009-01-01", "2009-04-10"), stretch("2009-04-11", THOUSAND[1], Result.COVERED_IF)))
    (band,) = drawn(line).bands
    assert [(bar.x, bar.width, bar.state) for bar in band.bars] == [(0.0, 10.0, "covered"), (10.0, 90.0, "covered_if")]
    assert drawn(line).today == 36.5


def test_at_a_desk_the_strip_begins_where_the_names_end():
    line = draw(promise(stretch("2009-01-01", "2009-04-10"), stretch("2009-04-11", THOUSAND[1], Result.COVERED_IF)))
    (band,) = drawn(line, "wide").bands
    assert drawn(line, "wide").strip == 30.0
    assert [(bar.x, bar.width) for bar in band.bars] == [(30.0, 7.0), (37.0, 63.0)]
    assert drawn(line, "wide").today == 55.55


def test_nothing_has_no_bar_and_waiting_days_have_one_of_their_own():
    line = draw(
        promise(
            stretch("2009-01-01", "2009-01-10", Result.NOT_COVERED, waiting=True),
            stretch("2009-01-11", THOUSAND[1]),
            stretch("2011-09-28", None, Result.NOT_COVERED),
        )
    )
    (band,) = drawn(line).bands
    assert [(bar.x, bar.width, bar.state) for bar in band.bars] == [(0.0, 1.0, "waiting"), (1.0, 99.0, "covered")]


def test_a_promise_without_a_last_day_runs_to_the_open_end():
    line = draw(promise(stretch("2009-01-01", None)))
    (bar,) = drawn(line).bands[0].bars
    assert (bar.x, bar.width, bar.open_ended) == (0.0, 100.0, True)
    assert line.last == dt.date(2013, 1, 1)


def test_a_promise_whose_start_nobody_knows_is_drawn_over_the_whole_line_as_unknown():
    line = draw(promise(), known=["2009-01-01"])
    (bar,) = drawn(line).bands[0].bars
    assert (bar.x, bar.width, bar.state) == (0.0, 100.0, "cannot_say")
    assert (line.first, line.last) == (dt.date(2009, 1, 1), TODAY)


def test_the_line_always_reaches_today():
    line = draw(promise(stretch("2001-01-01", "2006-01-01")))
    assert (line.first, line.last) == (dt.date(2001, 1, 1), TODAY)
    assert 99 < drawn(line).today < 100
    assert drawn(line).today_from_right


def test_a_band_stands_below_the_one_before_and_the_marks_below_them_all():
    line = draw(
        promise(stretch(*THOUSAND)),
        promise(stretch(*THOUSAND), payer="labor plan", kind="labor"),
        events=[Event("failure", day("2009-04-11"), "Compressor"), Event("maintenance", day("2009-07-20"), "Cleaning")],
    )
    narrow, wide = drawn(line, "narrow"), drawn(line, "wide")
    assert [band.y for band in wide.bands] == [32, 72]
    assert [lane.y for lane in wide.lanes] == [117, 143]
    assert wide.height == 182
    assert [band.y for band in narrow.bands] == [61, 119]
    assert [(lane.sort, lane.marks[0].x) for lane in narrow.lanes] == [("failure", 10.0), ("maintenance", 20.0)]


def test_marks_too_near_to_tell_apart_are_one_mark_that_tells_of_each():
    events = [Event("failure", day(on), what) for on, what in (("2009-04-11", "Sensor"), ("2009-04-12", "Louver"))]
    ((mark,),) = [lane.marks for lane in drawn(draw(promise(stretch(*THOUSAND)), events=events)).lanes]
    assert (mark.x, mark.words) == (10.0, "April 11, 2009: Sensor\nApril 12, 2009: Louver")


def test_each_year_has_a_tick_and_as_many_numbers_as_there_is_room_for():
    line = draw(promise(stretch("2009-06-01", "2019-06-01")))
    assert [tick.year for tick in drawn(line, "wide").ticks] == [str(year) for year in range(2010, 2020)]
    assert [tick.year for tick in drawn(line, "narrow").ticks] == [
        "2010",
        "",
        "2012",
        "",
        "2014",
        "",
        "2016",
        "",
        "2018",
        "",
    ]


@pytest.mark.parametrize(
    ("stretches", "said"),
    [
        pytest.param([], "start not known", id="start not known"),
        pytest.param([stretch("2009-01-01", "2010-01-01")], "until Jan 1, 2010", id="its last day is today"),
        pytest.param([stretch("2009-01-01", "2009-12-31")], "ended Dec 31, 2009", id="its last day was yesterday"),
        pytest.param(
            [stretch("2010-01-02", "2011-01-01")], "from Jan 2, 2010 until Jan 1, 2011", id="it begins tomorrow"
        ),
        pytest.param(
            [stretch("2009-01-01", "2011-01-01"), stretch("2011-01-02", "2014-01-01", Result.COVERED_IF)],
            "until Jan 1, 2011, possibly Jan 1, 2014",
            id="possible after certain",
        ),
        pytest.param(
            [stretch("2009-01-01", "2014-01-01", Result.COVERED_IF)],
            "possibly until Jan 1, 2014",
            id="possible only",
        ),
        pytest.param([stretch("2009-01-01", None)], "for life", id="no last day"),
        pytest.param([stretch("2009-01-01", None, Result.NOT_COVERED)], "nothing", id="never anything"),
    ],
)
def test_a_caption_says_what_a_promise_comes_to_today(stretches, said):
    assert lifeline.caption(stretches, on=TODAY) == said


def test_a_payer_with_two_papers_has_their_titles_beside_its_bands():
    line = draw(
        promise(stretch(*THOUSAND), title="Compressor warranty", components="compressor"),
        promise(stretch(*THOUSAND), title="Limited warranty"),
        promise(stretch(*THOUSAND), payer="installer", title="Our workmanship", kind="labor"),
    )
    assert [(band.name, band.components, band.caption) for band in drawn(line).bands] == [
        ("Manufacturer: parts", "compressor", "until Sep 27, 2011, Compressor warranty"),
        ("Manufacturer: parts", "", "until Sep 27, 2011, Limited warranty"),
        ("Our warranty: labor", "", "until Sep 27, 2011"),
    ]


def test_titles_that_begin_alike_are_told_apart_by_their_ends():
    line = draw(
        promise(stretch(*THOUSAND), title="Product promise, dealer book 2"),
        promise(stretch(*THOUSAND), title="Product promise, dealer book 3"),
    )
    assert [band.caption for band in drawn(line).bands] == [
        "until Sep 27, 2011, … book 2",
        "until Sep 27, 2011, … book 3",
    ]


def test_without_any_day_there_is_nothing_to_draw():
    assert not draw(promise()).dated
    assert draw(promise(), known=["2009-01-01"]).dated


def test_the_same_stands_in_words_and_in_a_table():
    line = draw(
        promise(stretch(*THOUSAND), stretch("2011-09-28", None, Result.NOT_COVERED)),
        events=[Event("failure", day("2009-04-11"), "Compressor")],
    )
    assert line.words == (
        "From January 1, 2009 to September 27, 2011. Manufacturer, parts: until Sep 27, 2011. 1 failure."
    )
    assert [(row.who, row.cost, row.components, row.state, row.first, row.last) for row in line.table] == [
        ("Manufacturer", "parts", "everything", "covered", dt.date(2009, 1, 1), dt.date(2011, 9, 27))
    ]
