"""A payer's statement: taken whole or not at all, each certain credit booked once, the rest left to a person."""

import datetime as dt
import io
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import Workbook

from fleet import models, sheets
from fleet.claims.actions import claims, statements
from fleet.claims.queries import statements as queries
from fleet.derived import recheck
from fleet.refusals import Conflict, Refused
from fleet.rules.claims import State
from tests import claimed, company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
HEADER = "reference,number,day,amount,text\n"


@pytest.fixture
def unit() -> models.Unit:
    company.on_file(claimed.PAYS)
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return made


@pytest.fixture(autouse=True)
def _kept_is_what_the_facts_give():
    yield
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


@pytest.fixture
def take(tmp_path: Path):
    """Take a file with these rows below the header."""

    def take(*rows: str, name: str = "march.csv", header: str = HEADER, **named) -> models.Statement:
        path = tmp_path / name
        path.write_text(header + "".join(f"{row}\n" for row in rows))
        return statements.take(path, name=name, by=None, on=TODAY, **named)[0]

    return take


def states(statement: models.Statement) -> dict[int, str]:
    return dict(statement.lines.values_list("row", "state"))


def why(statement: models.Statement) -> dict[int, str]:
    page = queries.statement(statement.pk)
    return {line.row: line.why for line in page.left}


# -- booking


def test_a_certain_credit_is_booked_and_the_others_are_left(unit, take):
    first = claimed.approved(claimed.failure(unit, "2026-02-01"), "120.00", "NR-1")
    second = claimed.approved(claimed.failure(unit, "2026-02-02"), "80.00", "NR-2")
    taken = take("NR-1,,2026-02-27,120.00,Credit", "NR-2,,2026-02-27,50.00,", "NR-9,,2026-02-27,12.00,")
    assert states(taken) == {2: "matched", 3: "open", 4: "open"}
    assert why(taken) == {
        3: "It is less than the $80.00 still to come on this claim: it may be a first part.",
        4: "No claim on file has the reference NR-9.",
    }
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.state, first.credited) == (State.CREDITED, Decimal("120.00"))
    assert (second.state, second.credited) == (State.APPROVED, Decimal("0.00"))
    step = first.steps.last()
    assert (step.on, step.amount, step.reference) == (company.day("2026-02-27"), Decimal("120.00"), "NR-1")
    assert step.note == "From the statement march.csv, row 2."
    assert step.statement_line.row == 2


def test_a_credit_whose_step_is_taken_back_is_open_again_and_can_be_booked_where_it_belongs(unit, take):
    wrong = claimed.approved(claimed.failure(unit, "2026-02-01"), "120.00", "NR-1")
    right = claimed.approved(claimed.failure(unit, "2026-02-02"), "120.00", "NR-2")
    taken = take("NR-1,,2026-02-27,120.00,Credit")
    wrong.refresh_from_db()
    claims.take_back(wrong.pk, version=wrong.version, why="they wrote NR-1 for NR-2", by=None, on=TODAY)
    (line,) = taken.lines.all()
    assert (line.state, line.step) == ("open", None)
    wrong.refresh_from_db()
    assert (wrong.state, wrong.credited) == (State.APPROVED, Decimal("0.00"))
    right.refresh_from_db()
    statements.credit(line=line, claim=right.pk, version=right.version, by=None, on=TODAY)
    right.refresh_from_db()
    line.refresh_from_db()
    assert (right.state, line.state, line.step.claim) == (State.CREDITED, "matched", right)
    changes = models.Change.objects.filter(table="statementline").values_list("before", "after", "why")
    assert list(changes) == [("matched", "open", "they wrote NR-1 for NR-2")]


def test_two_credits_of_one_claim_in_one_file_are_not_both_booked(unit, take):
    claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    taken = take("NR-1,,2026-02-27,120.00,", "NR-1,,2026-02-28,120.00,")
    assert states(taken) == {2: "matched", 3: "open"}
    assert why(taken) == {
        3: "The claim it names stands at “credited”, so no credit is expected; first record what the payer did."
    }


def test_a_credit_that_was_told_before_is_never_booked_again(unit, take):
    claimed.approved(claimed.failure(unit, "2026-02-01"), "120.00", "NR-1")
    take("NR-1,,2026-02-27,120.00,")
    # Another claim under the same reference waits for the same amount by now.
    claimed.approved(claimed.failure(unit, "2026-02-02"), "120.00", "NR-1")
    again = take("NR-1,,2026-02-27,120.00,", "NR-1,,2026-02-28,120.00,", name="april.csv")
    assert states(again) == {2: "open", 3: "matched"}
    assert why(again)[2].startswith("Another statement already has this credit")


def test_what_fits_only_by_now_is_booked_when_somebody_looks_again(unit, take):
    row = claimed.claim(claimed.failure(unit))
    claimed.step(row, State.FILED, "2026-02-03", "120.00")
    taken = take("," + str(row.pk) + ",2026-02-27,120.00,")
    assert why(taken)[2].startswith("The claim it names stands at “filed”")
    claimed.step(row, State.APPROVED, "2026-02-20", "120.00")
    assert statements.book_what_fits(statement=taken, by=None, on=TODAY) == 1
    assert statements.book_what_fits(statement=taken, by=None, on=TODAY) == 0
    assert states(taken) == {2: "matched"}


def test_only_claims_on_the_payer_that_was_named_are_looked_at(unit, take):
    claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    assert states(take("NR-1,,2026-02-27,120.00,", payer_name="Osmarik")) == {2: "open"}
    assert states(take("NR-1,,2026-02-27,120.00,x", name="b.csv", payer_name="Northrill")) == {2: "open"}


def test_a_workbook_is_taken_like_a_csv(unit, tmp_path):
    claimed.approved(claimed.failure(unit), "120.50", "NR-1")
    book = Workbook()
    for row in (["Reference", "Day", "Amount"], ["NR-1", company.day("2026-02-27"), 120.5]):
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    (tmp_path / "march.xlsx").write_bytes(out.getvalue())
    taken, is_new = statements.take(tmp_path / "march.xlsx", name="march.xlsx", by=None, on=TODAY)
    assert is_new
    assert states(taken) == {2: "matched"}


# -- refused


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("reference,day,amount,account\n", "row 1, column account: wanted only known columns"),
        ("", "wanted a header row"),
        (HEADER, "wanted at least one credit below the header"),
        (HEADER + "NR-1,,,12.00,\n", "row 2, column day: wanted the day of the credit"),
        (HEADER + "NR-1,,2026-02-27,,\n", "row 2, column amount: wanted the amount of the credit"),
        (HEADER + "NR-1,,2026-03-03,12.00,\n", "row 2, column day: wanted a day no later than today"),
        (HEADER + "NR-1,,27.2.2026,12.00,\n", "row 2, column day: wanted a day written as"),
        (HEADER + "NR-1,,2026-02-27,12.005,\n", "row 2, column amount: wanted an amount such as"),
        (HEADER + "NR-1,,2026-02-27,$12,\n", "row 2, column amount: wanted an amount such as"),
        (HEADER + "NR-1,,2026-02-27,12.00,=1+1\n", "row 2, column text: wanted a value, not a formula"),
    ],
)
def test_a_file_that_is_not_in_order_is_refused_whole(text, wanted, unit, tmp_path):
    path = tmp_path / "march.csv"
    path.write_text(text)
    with pytest.raises(sheets.BadFile, match=wanted):
        statements.take(path, name="march.csv", by=None, on=TODAY)
    assert not models.Statement.objects.exists()


def test_the_same_file_is_taken_once_whatever_it_is_called(unit, take, tmp_path):
    first = take("NR-9,,2026-02-27,12.00,")
    copy = tmp_path / "copy.csv"
    copy.write_bytes((tmp_path / "march.csv").read_bytes())
    assert statements.take(copy, name="copy.csv", by=None, on=TODAY) == (first, False)
    assert models.StatementLine.objects.count() == 1


def test_money_taken_back_is_left_to_a_person(unit, take):
    claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    taken = take("NR-1,,2026-02-27,-120.00,")
    assert why(taken) == {
        2: "It takes money back. Record on the claim what the payer corrected, then set this line aside."
    }


# -- by hand


def test_a_part_is_booked_by_hand_and_then_the_rest(unit, take):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    taken = take("NR-1,,2026-02-27,70.00,", "NR-1,,2026-02-28,50.00,")
    line = taken.lines.get(row=2)
    statements.credit(line=line, claim=row.pk, version=row.version, by=None, on=TODAY)
    row.refresh_from_db()
    assert (row.state, row.credited) == (State.APPROVED, Decimal("70.00"))
    assert statements.book_what_fits(statement=taken, by=None, on=TODAY) == 1
    row.refresh_from_db()
    assert (row.state, row.credited) == (State.CREDITED, Decimal("120.00"))


def test_what_the_claim_refuses_leaves_the_credit_open(unit, take):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    line = take("NR-1,,2026-02-27,50.00,").lines.get()
    with pytest.raises(Conflict):
        statements.credit(line=line, claim=row.pk, version=row.version - 1, by=None, on=TODAY)
    with pytest.raises(Refused, match="Say why the payer pays less than it approved."):
        statements.credit(line=line, claim=row.pk, version=row.version, last=True, by=None, on=TODAY)
    line.refresh_from_db()
    assert (line.state, line.step) == ("open", None)
    statements.credit(
        line=line, claim=row.pk, version=row.version, last=True, reason="They deducted freight.", by=None, on=TODAY
    )
    row.refresh_from_db()
    assert row.state == State.CREDITED


@pytest.mark.parametrize(
    ("day", "said"),
    [
        pytest.param(
            None, "before the day of the previous step", id="the statement's own, the day before the last step"
        ),
        pytest.param("2026-02-20", None, id="the day of the last step"),
        pytest.param("2026-02-21", None, id="the day after it"),
        pytest.param("2026-02-18", "The payer’s statement says February 19, 2026", id="before the payer gave it"),
        pytest.param(TODAY.isoformat(), None, id="today"),
        pytest.param((TODAY + dt.timedelta(days=1)).isoformat(), "later than today", id="tomorrow"),
    ],
)
def test_a_credit_from_before_the_last_step_is_booked_on_a_day_that_somebody_chooses(day, said, unit, take):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    assert row.last_step_on == dt.date(2026, 2, 20)
    line = take("NR-1,,2026-02-19,120.00,").lines.get()
    chosen = None if day is None else dt.date.fromisoformat(day)
    told = {"line": line, "claim": row.pk, "version": row.version, "day": chosen, "by": None, "on": TODAY}
    if said is not None:
        with pytest.raises(Refused) as refused:
            statements.credit(**told)
        assert said in refused.value.faults["day"]
        line.refresh_from_db()
        assert (line.state, line.step) == ("open", None)
        return
    step = statements.credit(**told)
    assert (step.on, step.note) == (
        chosen, "From the statement march.csv, row 2. The payer gave it on February 19, 2026.",
    )  # fmt: skip
    row.refresh_from_db()
    assert (row.state, row.credited) == (State.CREDITED, Decimal("120.00"))


def test_a_credit_is_set_aside_with_a_reason_and_taken_up_again(unit, take):
    line = take("NR-9,,2026-02-27,12.00,").lines.get()
    statements.set_aside(line=line, why="Not ours: another branch.", by=None)
    with pytest.raises(Conflict):
        statements.set_aside(line=line, why="Once more.", by=None)
    line.refresh_from_db()
    assert (line.state, line.why) == ("set aside", "Not ours: another branch.")
    assert statements.open_again(line=line, by=None)
    assert not statements.open_again(line=line, by=None)
    told = models.Change.objects.filter(table="statementline").order_by("pk").values_list("before", "after", "why")
    assert list(told) == [("open", "set aside", "Not ours: another branch."), ("set aside", "open", "")]


def test_the_sentences_count_what_became_of_the_credits(unit, take):
    claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    taken = take("NR-1,,2026-02-27,120.00,", "NR-8,,2026-02-27,10.00,", "NR-9,,2026-02-27,12.50,")
    assert queries.statement(taken.pk).sentences == (
        "Of 3 credits, 1 is booked: $120.00.",
        "2 are for you to decide: $22.50.",
    )
    statements.set_aside(line=taken.lines.get(row=3), why="Not ours.", by=None)
    assert queries.statement(taken.pk).sentences == (
        "Of 3 credits, 1 is booked: $120.00.",
        "1 is for you to decide: $12.50.",
        "1 is set aside: $10.00.",
    )


def test_a_statement_asks_as_much_of_the_database_with_one_credit_as_with_five(unit, take, django_assert_num_queries):
    for number in range(5):
        claimed.approved(claimed.failure(unit, f"2026-02-0{number + 1}"), "120.00", f"NR-{number}")
    one = take("NR-0,,2026-02-27,50.00,")
    five = take(*(f"NR-{number},,2026-02-27,60.00," for number in range(5)), name="five.csv")
    with django_assert_num_queries(5):
        assert len(queries.statement(one.pk).left) == 1
    with django_assert_num_queries(5):
        assert len(queries.statement(five.pk).left) == 5
