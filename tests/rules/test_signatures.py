"""Strokes of a signature: read and written back exactly, and what is none refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import signatures
from fleet.rules.signatures import BOX, LONGEST, UNSIGNED, NoSignature
from fleet.rules.wording import signatures as wording

POINTS = st.tuples(st.integers(0, BOX[0]), st.integers(0, BOX[1]))
STROKES = st.lists(st.lists(POINTS, min_size=1, max_size=20).map(tuple), min_size=1, max_size=8).map(tuple)


@given(STROKES)
def test_what_is_written_is_read_back_exactly(strokes):
    text = signatures.write(strokes)
    if len({point for stroke in strokes for point in stroke}) == 1:
        with pytest.raises(NoSignature):
            signatures.read(text)
    else:
        assert signatures.read(text) == strokes


@given(st.text(alphabet="0123456789,; -.", max_size=40))
def test_whatever_else_is_refused_or_reads_back_as_it_stands(text):
    try:
        strokes = signatures.read(text)
    except NoSignature:
        return
    assert signatures.read(signatures.write(strokes)) == strokes


@pytest.mark.parametrize(
    ("text", "holds"),
    [
        ("0,0 600,200", True), ("0,0 601,200", False), ("0,0 600,201", False), ("1,1", False), ("1,1;1,1", False),
        ("1,1 1,2", True), ("1,1;1,2", True), ("", False), ("1,1 ", False), ("1,1;;2,2", False), ("1;2", False),
        ("-1,2 3,4", False), ("1.5,2 3,4", False), ("١,٢ 3,4", False), ("1,1 2,2\n", False), ("<svg>", False),
        (" ".join(["100,100"] + ["200,200"] * ((LONGEST - 7) // 8)), True),
        (" ".join(["100,100"] + ["200,200"] * ((LONGEST - 7) // 8 + 1)), False),
    ],
)  # fmt: skip
def test_the_edges_of_a_signature(text, holds):
    if holds:
        assert signatures.write(signatures.read(text))
    else:
        with pytest.raises(NoSignature):
            signatures.read(text)


def test_every_reason_has_its_words():
    assert set(wording.UNSIGNED) == set(UNSIGNED)
