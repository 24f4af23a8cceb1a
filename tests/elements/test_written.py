"""A paper written on screen makes the table that its file makes, whatever is typed, and a file of it reads back the same."""

import datetime as dt
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.coverage.pages.terms_written import NODES
from fleet.elements import written
from fleet.elements.written import Field, Pairs, Part, Rows
from fleet.facts.terms import to_document
from fleet.rules import terms_table
from fleet.rules.tables import BadTable
from tests.paths import FIXTURES

PAPERS = sorted((FIXTURES / "terms").glob("*.toml"))


@pytest.mark.parametrize("path", PAPERS, ids=lambda path: path.stem)
def test_form_to_file_to_form_gives_each_paper_back_word_for_word(path):
    table = tomllib.loads(path.read_text())
    filled = written.typed(NODES, table)
    made = written.table(NODES, filled)
    assert to_document(made) == to_document(table)
    again = tomllib.loads(written.toml(NODES, made))
    assert again == made
    assert written.typed(NODES, again) == filled
    assert terms_table.read(again) == terms_table.read(table)


def places(drawn):
    """Every place that a page draws, rows and what they hold among them."""
    for one in drawn:
        yield one
        yield from places(one.inner)


@pytest.mark.parametrize("path", PAPERS, ids=lambda path: path.stem)
def test_what_is_drawn_and_sent_again_untouched_is_the_same(path):
    table = tomllib.loads(path.read_text())
    drawn = written.drawn(NODES, written.typed(NODES, table), {})
    sent: dict[str, list[str]] = {}
    for one in places(drawn):
        if one.shape in ("rows", "pairs"):
            sent[f"{one.name}#"] = [str(len(one.inner))]
        elif one.shape == "words":
            sent[one.name] = [word for word, _ in one.chosen_first if word in one.value]
        elif one.shape == "flag":
            sent |= {one.name: ["yes"]} if one.value else {}
        elif one.shape != "part":
            sent[one.name] = [one.value]
    assert to_document(written.table(NODES, sent)) == to_document(table)


@pytest.mark.parametrize(
    ("path", "change"),
    [
        ("code", {"code": ["Not A Code"]}),
        ("installed_from", {"installed_from": ["March 8"]}),
        ("coverage[2].tiers[1]", {"coverage[2].tiers[1].months": [""]}),
        ("coverage[2].tiers[1].months", {"coverage[2].tiers[1].months": ["many"]}),
        ("coverage[1].waits_days", {"coverage[1].waits_days": ["-1"]}),
        ("coverage[1].components", {"coverage[1].components": ["*", "compressor"]}),
        ("registration.within_days", {"registration.within_days": [""]}),
        ("allowance.call", {"allowance.call": ["seventy"]}),
        ("allowance.hours.compressor", {"allowance.hours[1].amount": ["1,5"]}),
        ("claims.fee", {"claims.fee": ["1.234"]}),
        ("starts[1].from", {"starts[1].from": ["yesterday"]}),
    ],
)
def test_what_a_reader_refuses_is_named_as_its_field_is(path, change):
    table = tomllib.loads((FIXTURES / "terms" / "quarterdeck-ten-2021.toml").read_text())
    filled = written.typed(NODES, table) | change
    with pytest.raises(BadTable) as refused:
        terms_table.read(written.table(NODES, filled))
    assert path in [fault.where for fault in refused.value.faults]
    drawn = written.drawn(NODES, filled, {path: ["wrong"]})
    at = [one for one in places(drawn) if one.faults]
    assert len(at) == 1
    assert path in (at[0].name, "allowance.hours.compressor")
    assert drawn[
        [one.name.split("[")[0].split(".")[0] for one in drawn].index(path.split("[")[0].split(".")[0])
    ].is_wrong


ROWS = (
    Rows(
        "tiers",
        "Terms",
        "Term",
        (Field("months", "Months", "whole"), Rows("inner", "Inner", "One", (Field("a", "A"),))),
    ),
)


def test_a_row_is_added_at_the_end_and_removed_with_all_that_it_holds():
    filled = written.typed(ROWS, {"tiers": [{"months": 1, "inner": [{"a": "x"}]}, {"months": 2}, {"months": 3}]})
    more = written.with_row(filled, "tiers")
    assert [len(one.inner) for one in written.drawn(ROWS, more, {})] == [4]
    less = written.without_row(filled, "tiers[1]")
    assert written.table(ROWS, less) == {"tiers": [{"months": 2}, {"months": 3}]}
    assert written.table(ROWS, written.without_row(filled, "tiers[3]")) == {
        "tiers": [{"months": 1, "inner": [{"a": "x"}]}, {"months": 2}]
    }


@pytest.mark.parametrize("row", ["tiers[0]", "tiers[4]", "tiers", "frob[1]", "tiers[x]", "", "tiers[999]"])
def test_a_row_that_is_not_there_is_not_removed(row):
    filled = written.typed(ROWS, {"tiers": [{"months": 1}, {"months": 2}, {"months": 3}]})
    assert written.table(ROWS, written.without_row(filled, row)) == written.table(ROWS, filled)


@pytest.mark.parametrize("count", ["", "x", "-1", "9999999", "2.5", "100000000000"])
def test_a_number_of_rows_that_is_none_makes_no_rows(count):
    assert written.table(ROWS, {"tiers#": [count]}) == {}


def test_there_is_an_end_to_adding_rows():
    filled = {"tiers#": ["60"]}
    assert written.with_row(filled, "tiers")["tiers#"] == ["60"]
    assert len(written.drawn(ROWS, {"tiers#": ["999"]}, {})[0].inner) == 60


TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=30)
FLAT = (
    Field("text", "Text"),
    Field("number", "Number", "whole"),
    Field("day", "Day", "day"),
    Field("flag", "Flag", "flag"),
    Field("not_flag", "Not", "flag", means=False),
    Field("words", "Words", "words"),
    Part("part", "Part", (Field("a", "A"), Field("b", "B", "words"))),
    Rows("rows", "Rows", "Row", (Field("a", "A"), Rows("deep", "Deep", "One", (Field("b", "B"),)))),
    Pairs("pairs", "Pairs", "Pair"),
)
TABLES = st.fixed_dictionaries(
    {},
    optional={
        "text": TEXTS,
        "number": st.integers(-(10**8), 10**8),
        "day": st.dates(dt.date(1000, 1, 1)),
        "flag": st.booleans(),
        "words": st.lists(TEXTS, min_size=1),
        "part": st.fixed_dictionaries({"a": TEXTS}, optional={"b": st.lists(TEXTS, min_size=1)}),
        "rows": st.lists(
            st.fixed_dictionaries(
                {"a": TEXTS},
                optional={"deep": st.lists(st.fixed_dictionaries({"b": TEXTS}), min_size=1, max_size=2)},
            ),
            min_size=1,
            max_size=3,
        ),
        "pairs": st.dictionaries(TEXTS, TEXTS, min_size=1, max_size=3),
    },
)


@given(TABLES)
def test_any_table_written_as_a_file_reads_back_as_it_was(table):
    assert tomllib.loads(written.toml(FLAT, table)) == table


def test_a_flag_that_means_no_is_ticked_where_the_file_says_no():
    assert written.typed(FLAT, {"not_flag": False})["not_flag"] == ["yes"]
    assert written.table(FLAT, {"not_flag": ["yes"]}) == {"not_flag": False}
    assert "not_flag" not in written.typed(FLAT, {"not_flag": True})


def test_what_is_blank_is_left_out():
    assert written.table(FLAT, {"text": [" "], "number": [""], "day": [""], "words": [], "part.a": [""]}) == {}
