"""A life line as a browser gets it: every shape at its place, and nothing that somebody typed as markup."""

import xml.etree.ElementTree as ET

import pytest

from fleet.front.pages.lifeline_drawing import Band, Bar, Drawing, Lane, Mark, Tick
from fleet.templatetags.lifeline import draw

EVIL = "<b onclick=\"x('&')\">"


def line(*, text="Parts", open_ended=False, today_from_right=False):
    bar = Bar(10.5, 20.25, "covered", open_ended, f"{text}: covered", "url(#band_maker)")
    band = Band("maker", text, "compressor", "to March 8, 2034", 40, 56, 30, (bar,))
    lanes = (Lane("failure", "Failures", 90, 86, (Mark(33.0, text), Mark(34.0, "fan motor"))),)
    ticks = (Tick(10.0, "2024"), Tick(20.0, ""))
    return Drawing("desk", 18.0, 82.0, 120, 100, 16, (band,), lanes, ticks, 55.5, today_from_right)


def shapes(drawing, name, of="class"):
    return [found for found in ET.fromstring(drawing).iter(name) if found.get(of)]


def test_everything_stands_at_its_place():
    found = draw(line(), "Parts to March 8, 2034")
    root = ET.fromstring(found)
    assert (root.get("height"), root.get("aria-labelledby")) == ("120", "line_desk said_line_desk")
    assert root.find("desc").text == "Parts to March 8, 2034"
    assert [(one.get("class"), one.get("x1"), one.get("y2")) for one in shapes(found, "line")] == [
        ("year", "10.0%", "100"),
        ("lesser year", "20.0%", "100"),
        ("axis", "18.0%", "100"),
        ("halo today", "55.5%", "100"),
        ("today", "55.5%", "100"),
    ]
    assert [(one.get("class"), one.get("x"), one.get("width"), one.get("data-state")) for one in root.iter("rect")] == [
        ("track", "18.0%", "82.0%", None),
        ("bar", "10.5%", "20.25%", "covered"),
    ]
    assert ["".join(one.itertext()) for one in root.iter("text")] == [
        "2024", "today", "Parts, compressor", "to March 8, 2034", "Failures",
    ]  # fmt: skip
    assert [(one.get("x"), one.find("title").text) for one in root.iter("svg") if one.find("path") is not None] == [
        ("33.0%", "Parts"),
        ("34.0%", "fan motor"),
    ]


@pytest.mark.parametrize(("open_ended", "arrows"), [(False, 0), (True, 1)])
def test_a_promise_without_an_end_goes_on(open_ended, arrows):
    assert draw(line(open_ended=open_ended), "").count('class="onward"') == arrows


@pytest.mark.parametrize(("from_right", "anchor"), [(False, None), (True, "end")])
def test_today_is_written_on_the_side_that_has_room(from_right, anchor):
    today = next(one for one in shapes(draw(line(today_from_right=from_right), ""), "text") if one.text == "today")
    assert today.get("text-anchor") == anchor


def test_what_somebody_typed_is_never_markup():
    found = draw(line(text=EVIL), EVIL)
    assert "<b " not in found
    assert ET.fromstring(found).find("desc").text == EVIL
