"""Which claim does a credit belong to, and when must a person say?"""

from decimal import Decimal

import pytest

from fleet.rules.claims import State
from fleet.rules.statements import Awaiting, Fit, Line, book, match
from fleet.rules.wording.claim_steps import STATES
from fleet.rules.wording.statements import left
from tests.facts import day


def claim(number=17, reference="NR-5521", serial="SB-1002", state=State.APPROVED, left="120.00", last="2026-03-02"):
    return Awaiting(number, 0, reference, serial, state, Decimal(left), last and day(last))


def line(reference="", number="", amount="120.00", on="2026-03-10"):
    return Line(reference, number, day(on), Decimal(amount))


ONE = (claim(),)
# One reference for two claims; one serial for two claims with a reference each.
SHARED = (claim(17, "NR-1", "SB-1"), claim(18, "NR-1", "SB-2"))
TWICE = (claim(17, "NR-1", "SB-1", left="120.00"), claim(18, "NR-2", "SB-1", left="80.00"))


@pytest.mark.parametrize(
    ("told", "claims", "fit", "numbers"),
    [
        pytest.param(line("NR-5521"), ONE, Fit.EXACT, [17], id="its reference and all that is left"),
        pytest.param(line("nr 5521"), ONE, Fit.EXACT, [17], id="capitals, spaces and hyphens do not count"),
        pytest.param(line(number="17"), ONE, Fit.EXACT, [17], id="our own number"),
        pytest.param(line(number="Claim 17"), ONE, Fit.EXACT, [17], id="our own number with its word"),
        pytest.param(line(number="sb1002"), ONE, Fit.EXACT, [17], id="the serial"),
        pytest.param(line("XX-1", "SB-1002"), ONE, Fit.EXACT, [17], id="a reference unknown here, but the serial"),
        pytest.param(line("NR-5521", "SB-9999"), ONE, Fit.EXACT, [17], id="the reference goes before the number"),
        pytest.param(line("NR-5521", amount="119.99"), ONE, Fit.PART, [17], id="a cent less is a part"),
        pytest.param(line("NR-5521", amount="120.01"), ONE, Fit.MORE, [17], id="a cent more is not booked"),
        pytest.param(line("NR-5521", amount="0.00"), ONE, Fit.TAKES_BACK, [17], id="nothing"),
        pytest.param(line("NR-5521", amount="-120.00"), ONE, Fit.TAKES_BACK, [17], id="money taken back"),
        pytest.param(line("NR-5521", on="2026-03-02"), ONE, Fit.EXACT, [17], id="on the day of the last step"),
        pytest.param(line("NR-5521", on="2026-03-01"), ONE, Fit.TOO_EARLY, [17], id="the day before the last step"),
        pytest.param(line("NR-1"), ONE, Fit.NONE, [], id="nobody goes by that reference"),
        pytest.param(line(), ONE, Fit.NONE, [], id="it names nobody"),
        pytest.param(line("NR-1"), SHARED, Fit.SEVERAL, [17, 18], id="two of one reference and amount"),
        pytest.param(line("NR-1", "SB-2"), SHARED, Fit.EXACT, [18], id="the number tells two of one reference apart"),
        pytest.param(line("NR-1", "SB-3"), SHARED, Fit.SEVERAL, [17, 18], id="a number that tells nothing"),
        pytest.param(line(number="SB-1", amount="80.00"), TWICE, Fit.EXACT, [18], id="the amount tells two apart"),
        pytest.param(line(number="SB-1", amount="81.00"), TWICE, Fit.SEVERAL, [17, 18], id="the amount tells nothing"),
        pytest.param(line("NR-2", amount="120.00"), TWICE, Fit.MORE, [18], id="the reference holds, whatever the amount"),
    ],
)  # fmt: skip
def test_a_credit_finds_its_claim_or_is_left_to_a_person(told, claims, fit, numbers):
    found = match(told, book(claims))
    assert (found.fit, [claim.number for claim in found.claims]) == (fit, numbers)
    assert left(found, told)


@pytest.mark.parametrize(
    ("state", "fit"),
    [
        (State.GATHERING, Fit.NOT_APPROVED),
        (State.FILED, Fit.NOT_APPROVED),
        (State.ASKED_FOR_MORE, Fit.NOT_APPROVED),
        (State.APPROVED, Fit.EXACT),
        (State.PART_APPROVED, Fit.EXACT),
        (State.DENIED, Fit.NOT_APPROVED),
        (State.CREDITED, Fit.NOT_APPROVED),
        (State.WRITTEN_OFF, Fit.NOT_APPROVED),
        (State.WITHDRAWN, Fit.NOT_APPROVED),
    ],
)
def test_only_an_approved_claim_waits_for_a_credit(state, fit):
    found = match(line("NR-5521"), book((claim(state=state),)))
    assert found.fit is fit
    if fit is Fit.NOT_APPROVED:
        assert STATES[state] in left(found, line("NR-5521"))


def test_what_another_statement_told_is_never_booked_again():
    assert match(line("NR-5521"), book(ONE), told_before=True).fit is Fit.TOLD_BEFORE
    assert line("nr5521", "sb 1").mark == line("NR-5521", "SB-1").mark
    assert line("NR-5521", on="2026-03-11").mark != line("NR-5521").mark
