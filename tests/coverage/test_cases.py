"""Do the real actions and the real query answer each worked case as a person did by hand?

How to read and write a case stands in fixtures/cases/README.md.
"""

import datetime as dt
import tomllib
from collections import Counter
from typing import Any

import pytest
from django.db import transaction

from fleet import models
from fleet.coverage.actions import terms
from fleet.coverage.queries import answers
from fleet.loading import history, installs
from tests.paths import FIXTURES

Table = dict[str, Any]

FOLDER = FIXTURES / "cases"
CASES: dict[str, Table] = {
    path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))
}
QUESTIONS = [
    pytest.param(name, number, id=f"{name}-{number + 1}")
    for name, case in CASES.items()
    for number in range(len(case["question"]))
]
# The cases were written for this day: no fact in them is later.
TODAY = dt.date(2026, 11, 24)

# ------------------------------------------------------------------------------------- the words of a case

REASONS = [
    "tier_used",
    "condition_met",
    "condition_failed",
    "registered_in_time",
    "registered_with_number",
    "registered_late",
    "not_registered",
    "registration_not_required",
    "registration_accepted_late",
    "before_start",
    "waiting_days",
    "ended",
    "edge_day",
    "component_not_listed",
    "cause_excluded",
    "sold",
    "transfer_in_time",
    "transfer_missed",
    "transfer_automatic",
    "part_replaced",
    "unit_exchanged",
    "unit_removed",
]
NEEDS = [
    "register_by",
    "anchor_unknown",
    "place_unknown",
    "start_unknown",
    "start_assumed",
    "condition_open",
    "notify_by",
    "maintenance_gap",
]
NOTES = ["no_terms"]
CODES = [*REASONS, *NEEDS, *NOTES]

KINDS = {"parts", "labor", "refrigerant", "freight"}
PRINTED = ["result", "first_day", "last_day", "possible_last_day", "days_left", "file_by", "part_back_by"]
FLAGS = ["lifetime", "possible_lifetime"]
CHECKS = ["reasons", "reasons_absent", "needs", "needs_until", "number_of_needs", "times", "says", "in_order"]
ANSWER_KEYS = {"terms", "pays_for", *PRINTED, *FLAGS, *CHECKS}
ASKED_KEYS = {"serial", "maker", "model", "component", "on", "asked", "cause"}
CASE_KEYS = {"title", "source", "terms", "install", "history", "question"}
QUESTION_KEYS = {"why", *ASKED_KEYS, "answer", "held", "pays", "worth_asking", "notes", "error"}


# ------------------------------------------------------------------------------------- what a case leaves out


def _terms_table(written: Table) -> Table:
    left_out = {
        "payer": "maker",
        "maker": "Halvik",
        "title": "Warranty statement",
        "models": ["*"],
        "installed_from": dt.date(2000, 1, 1),
        "checked_on": dt.date(2026, 8, 1),
        "source": {"title": "Warranty statement", "page": "1"},
        "starts": [{"from": "installed_on"}],
    }
    return left_out | written


def _install_row(written: Table) -> dict[str, str]:
    left_out = {
        "customer": f"Household of {written['serial']}",
        "site": "House",
        "system": "1",
        "role": "outdoor",
        "maker": "Halvik",
        "model": "HW12",
    }
    return left_out | written


def _as_read(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The rows as a file would give them: every row has every column."""
    columns = dict.fromkeys(column for row in rows for column in row)
    return [dict.fromkeys(columns, "") | row for row in rows]


@pytest.fixture(scope="module")
def case(request, django_db_setup, django_db_blocker):
    """The case's terms, installs and history in the database; once for all of its questions."""
    written = CASES[request.param]
    with django_db_blocker.unblock(), transaction.atomic():
        terms.load_tables([_terms_table(table) for table in written["terms"]], by=None, on=TODAY)
        installs.load_rows(_as_read([_install_row(row) for row in written["install"]]), by=None, on=TODAY)
        if written.get("history"):
            history.load_rows(_as_read(written["history"]), by=None, on=TODAY)
        yield written
        transaction.set_rollback(True)


@pytest.mark.any_database
@pytest.mark.django_db
def test_a_case_leaves_nothing_on_file():
    """Asked by mark, so that this file alone has a database made; and a case must not answer for the next."""
    assert not models.Unit.objects.exists()
    assert not models.Terms.objects.exists()


# ------------------------------------------------------------------------------------- asking and comparing


def _ask(question: Table) -> Table:
    return answers.ask(
        serial=question["serial"],
        maker=question.get("maker", ""),
        model=question.get("model", ""),
        component=question["component"],
        on=dt.date.fromisoformat(question["on"]),
        asked=dt.date.fromisoformat(question.get("asked", question["on"])),
        cause=question.get("cause", ""),
    )


def _or_none(value: Any) -> Any:
    return None if value == "none" else value


def _follows(wanted: list[str], reasons: list[Table]) -> bool:
    """Whether the wanted reasons (`code` or `code: word`) stand among the reasons in that order."""
    left = iter(reasons)
    for step in wanted:
        code, _, word = step.partition(": ")
        if not any(reason["code"] == code and word in reason["text"].lower() for reason in left):
            return False
    return True


def _answer_differences(expected: Table, got: Table) -> list[str]:
    printed = {key: got[key] for key in PRINTED} | {key: got.get(key, False) for key in FLAGS}
    found = [
        f"{key}: expected {expected[key]}, got {value}"
        for key, value in printed.items()
        if key in expected and value != _or_none(expected[key])
    ]
    reasons = Counter(reason["code"] for reason in got["reasons"])
    needs = Counter(need["code"] for need in got["needs"])
    text = " / ".join(item["text"] for item in [*got["reasons"], *got["needs"]])
    found += [f"reason {code} is missing" for code in expected.get("reasons", []) if code not in reasons]
    found += [f"reason {code} should not be there" for code in expected.get("reasons_absent", []) if code in reasons]
    found += [
        f"reason {code}: expected {times} times, got {reasons[code]}"
        for code, times in expected.get("times", {}).items()
        if reasons[code] != times
    ]
    if "needs" in expected and set(needs) != set(expected["needs"]):
        found.append(f"needs: expected {expected['needs']}, got {sorted(needs)}")
    if "number_of_needs" in expected and needs.total() != expected["number_of_needs"]:
        found.append(f"expected {expected['number_of_needs']} needs, got {needs.total()}")
    for code, until in expected.get("needs_until", {}).items():
        days = [need["until"] for need in got["needs"] if need["code"] == code]
        if set(days) != {_or_none(until)}:
            found.append(f"need {code} until: expected {until}, got {days}")
    found += [
        f"no reason or need says {words!r}" for words in expected.get("says", []) if words.lower() not in text.lower()
    ]
    if "in_order" in expected and not _follows(expected["in_order"], got["reasons"]):
        found.append(f"reasons are not in the order {expected['in_order']}")
    return [f"{expected['terms']}, {expected['pays_for']}: {line}" for line in found] + (
        [f"    reasons and needs were: {sorted(reasons.elements())} {sorted(needs.elements())}: {text}"]
        if found
        else []
    )


def _differences(question: Table, got: Table) -> list[str]:
    if "error" in question:
        code = got.get("error", {}).get("code")
        return [] if code == question["error"] else [f"error: expected {question['error']}, got {code}"]
    found = []
    by_terms_and_kind = {(answer["terms"], answer["pays_for"]): answer for answer in got["answers"]}
    held = list(dict.fromkeys(answer["terms"] for answer in got["answers"]))
    if "held" in question and held != question["held"]:
        found.append(f"terms held: expected {question['held']}, got {held}")
    for kind, payer in question.get("pays", {}).items():
        if got["pays"][kind] != payer:
            found.append(f"{kind} is paid by: expected {payer}, got {got['pays'][kind]}")
    for kind, payers in question.get("worth_asking", {}).items():
        if got["worth_asking"][kind] != payers:
            found.append(f"worth asking for {kind}: expected {payers}, got {got['worth_asking'][kind]}")
    if "notes" in question and [note["code"] for note in got["notes"]] != question["notes"]:
        found.append(f"notes: expected {question['notes']}, got {got['notes']}")
    for expected in question.get("answer", []):
        answer = by_terms_and_kind.get((expected["terms"], expected["pays_for"]))
        if answer is None:
            found.append(
                f"{expected['terms']}, {expected['pays_for']}: no such answer, only {sorted(by_terms_and_kind)}"
            )
        else:
            found += _answer_differences(expected, answer)
    return found


@pytest.mark.any_database
@pytest.mark.parametrize(("case", "number"), QUESTIONS, indirect=["case"], scope="module")
def test_answers_as_worked_by_hand(case: Table, number: int) -> None:
    question = case["question"][number]
    found = _differences(question, _ask(question))
    assert not found, "\n".join([case["title"], question["why"], *found])


# ------------------------------------------------------------------------------------- the cases themselves


def _answer_faults(answer: Table, codes: set[str]) -> list[str]:
    listed = [*answer.get("reasons", []), *answer.get("reasons_absent", []), *answer.get("times", {})]
    listed += [step.partition(": ")[0] for step in answer.get("in_order", [])]
    needed = [*answer.get("needs", []), *answer.get("needs_until", {})]
    faults = [f"unknown key {key}" for key in answer.keys() - ANSWER_KEYS]
    faults += [f"unknown code {code}" for code in listed if code not in CODES]
    faults += [f"{code} is no need" for code in needed if code not in NEEDS]
    if answer["terms"] not in codes or answer["pays_for"] not in KINDS:
        faults.append(f"unknown terms or kind of cost: {answer['terms']}, {answer['pays_for']}")
    if not answer.keys() - {"terms", "pays_for"}:
        faults.append("an answer that checks nothing")
    return faults


def _case_faults(case: Table) -> list[str]:
    """What a person who writes a case can get wrong without any answer changing."""
    codes = {table["code"] for table in case["terms"]}
    faults = [f"unknown key {key}" for key in case.keys() - CASE_KEYS]
    faults += [f"a fact on a day to come: {row}" for row in case.get("history", []) if row["day"] > TODAY.isoformat()]
    for question in case["question"]:
        found = [f"unknown key {key}" for key in question.keys() - QUESTION_KEYS]
        found += [f"unknown terms {code}" for code in question.get("held", []) if code not in codes]
        found += [f"unknown kind of cost {kind}" for kind in question.get("pays", {}).keys() - KINDS]
        found += [f"unknown kind of cost {kind}" for kind in question.get("worth_asking", {}).keys() - KINDS]
        if not question.keys() & {"answer", "held", "pays", "notes", "error"}:
            found.append("asks and checks nothing")
        for answer in question.get("answer", []):
            found += _answer_faults(answer, codes)
        faults += [f"{question['why']} {fault}" for fault in found]
    return faults


@pytest.mark.parametrize("name", CASES)
def test_case_is_well_written(name: str) -> None:
    case = CASES[name]
    assert case["title"]
    assert case["source"]
    assert _case_faults(case) == []


def _codes_seen() -> tuple[set[str], set[str]]:
    """Codes that some case wants to be there, and codes that some case wants not to be."""
    there: set[str] = set()
    missing: set[str] = set()
    for question in (question for case in CASES.values() for question in case["question"]):
        there |= set(question.get("notes", []))
        if "notes" in question:
            missing |= set(NOTES) - set(question["notes"])
        for answer in question.get("answer", []):
            there |= set(answer.get("reasons", [])) | set(answer.get("needs", []))
            missing |= set(answer.get("reasons_absent", []))
            if "needs" in answer:
                missing |= set(NEEDS) - set(answer["needs"])
    return there, missing


@pytest.mark.parametrize("code", CODES)
def test_every_code_is_wanted_somewhere_and_unwanted_elsewhere(code: str) -> None:
    there, missing = _codes_seen()
    assert code in there, f"no case shows {code}"
    assert code in missing, f"no case shows the other side of {code}"
