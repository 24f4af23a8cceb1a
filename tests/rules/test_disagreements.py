"""What a payer said against what the terms on file say, both sides of each edge."""

import datetime as dt

import pytest

from fleet.rules.disagreements import Ours, Word, differs, ours_in_words
from fleet.rules.findings import Result

FIRST, LAST = dt.date(2021, 4, 14), dt.date(2031, 4, 14)
COVERED = Ours(Result.COVERED, FIRST, LAST)
ENDED = Ours(Result.NOT_COVERED, dt.date(2020, 4, 14), dt.date(2025, 4, 14))
NEVER = Ours(Result.NOT_COVERED)
FOR_LIFE = Ours(Result.COVERED, FIRST, None, lifetime=True)
ONLY_IF = Ours(Result.COVERED_IF, dt.date(2020, 4, 14), dt.date(2025, 4, 14))
UNKNOWN = Ours(Result.CANNOT_SAY)


def yes(last: str = "", on: str = "2026-03-02") -> Word:
    return Word(dt.date.fromisoformat(on), covered=True, last_on=dt.date.fromisoformat(last) if last else None)


def no(on: str = "2026-03-02") -> Word:
    return Word(dt.date.fromisoformat(on), covered=False)


@pytest.mark.parametrize(
    ("word", "ours", "wanted"),
    [
        pytest.param(yes("2031-04-14"), COVERED, False, id="the same last day"),
        pytest.param(yes("2031-04-13"), COVERED, True, id="a day less"),
        pytest.param(yes("2031-04-15"), COVERED, True, id="a day more"),
        pytest.param(yes(), COVERED, False, id="covered, no last day told"),
        pytest.param(no(), COVERED, True, id="not covered, where we say covered"),
        pytest.param(yes("2031-04-14", on="2021-04-13"), COVERED, True, id="the day before it begins"),
        pytest.param(yes("2031-04-14", on="2021-04-14"), COVERED, False, id="the day it begins"),
        pytest.param(yes(), FOR_LIFE, False, id="covered, for life"),
        pytest.param(yes("2031-04-14"), FOR_LIFE, True, id="a last day, where we say for life"),
        pytest.param(no(), FOR_LIFE, True, id="not covered, where we say for life"),
        pytest.param(yes("2025-04-14", on="2025-04-14"), ENDED, False, id="said on the last day, over since"),
        pytest.param(yes("2025-04-14", on="2025-04-15"), ENDED, True, id="said the day after the last"),
        pytest.param(no(on="2025-04-14"), ENDED, True, id="refused on the last day"),
        pytest.param(no(on="2025-04-15"), ENDED, False, id="refused the day after the last"),
        pytest.param(no(), NEVER, False, id="both not covered"),
        pytest.param(yes(), NEVER, True, id="covered, where we say not"),
        pytest.param(yes(), ONLY_IF, True, id="covered, where it hangs on something"),
        pytest.param(no(), ONLY_IF, True, id="not covered, where it hangs on something"),
        pytest.param(yes("2025-04-14", on="2025-04-14"), ONLY_IF, False, id="inside the certain term"),
        pytest.param(yes(), UNKNOWN, True, id="covered, where nobody can say"),
        pytest.param(no(), UNKNOWN, True, id="not covered, where nobody can say"),
        pytest.param(yes(), None, True, id="covered, where no terms speak of it"),
        pytest.param(no(), None, False, id="not covered, and no terms speak of it"),
    ],
)
def test_where_a_payer_and_the_terms_differ(word, ours, wanted):
    assert differs(word, ours) is wanted


@pytest.mark.parametrize(
    ("ours", "wanted"),
    [
        (None, "no terms on file cover it"),
        (COVERED, "covered until April 14, 2031"),
        (FOR_LIFE, "covered for the life of the unit"),
        (ENDED, "covered until April 14, 2025, over by today"),
        (NEVER, "not covered"),
        (ONLY_IF, "may be covered; something is still missing"),
        (UNKNOWN, "not clear: the start is not known"),
    ],
)
def test_what_the_terms_say_in_words(ours, wanted):
    assert ours_in_words(ours) == wanted
