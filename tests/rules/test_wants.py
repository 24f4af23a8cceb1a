"""What does the payer want, what is missing, and who could supply it?"""

import tomllib

import pytest

from fleet.rules.terms import ClaimTerms
from fleet.rules.wants import Evidence, Who, means, wanted
from tests.paths import FIXTURES

E = Evidence
PAPERS = sorted((FIXTURES / "terms").glob("*.toml"))


def listed(*wants, on_file=(), given=(), kinds=("parts",), component="sensor", leave_first=(), registered_by="either"):
    return wanted(
        ClaimTerms(wants=wants, leave_first=leave_first),
        component=component,
        kinds=kinds,
        on_file=on_file,
        given=given,
        registered_by=registered_by,
    )


def payers(*wants, **told):
    """What the payer itself asks for, as (in its words, there, who could supply it)."""
    return [(one.text, one.there, str(one.who)) for one in listed(*wants, **told) if one.asked_by_payer]


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("registration proof", E.REGISTRATION),
        ("registration number", E.REGISTRATION),
        ("photo of the nameplate", E.NAMEPLATE),
        ("Photo of the rating plate", E.NAMEPLATE),
        ("photo of the old part", E.OLD_PART_PHOTO),
        ("photos", E.PHOTO),
        ("readings", E.READINGS),
        ("readings before the repair", E.READINGS),
        ("part number off the old part", E.OLD_PART_NUMBER),
        ("number of the new part", E.NEW_PART_NUMBER),
        ("proof of yearly maintenance", E.MAINTENANCE),
        ("signed ticket", E.TICKET),
        ("owner's confirmation letter", E.CONFIRMATION),
        ("installer's invoice", E.OUR_INVOICE),
        ("supplier's invoice", E.SUPPLIERS_INVOICE),
        ("till receipt", E.PURCHASE),
        ("proof of purchase", E.PURCHASE),
        ("fault code", E.FAULT_CODE),
        ("refrigerant weighed out", E.REFRIGERANT),
        ("our leave", E.APPROVAL),
        ("serial of the compressor", E.SERIAL),
        ("cause of the failure", E.CAUSE),
        ("a lock of hair", None),
    ],
)
def test_what_a_payers_words_mean(text, meant):
    assert means(text) is meant


@pytest.mark.parametrize("path", PAPERS, ids=lambda path: path.stem)
def test_every_want_of_the_papers_on_file_is_understood(path):
    for text in tomllib.loads(path.read_text()).get("claims", {}).get("wants", []):
        assert means(text) is not None, text


def test_what_is_there_and_what_is_missing():
    assert payers("registration number", "readings", "till receipt", on_file={E.REGISTRATION, E.READINGS}) == [
        ("registration number", True, "office"),
        ("readings", True, "technician"),
        ("till receipt", False, "customer"),
    ]


def test_a_document_that_somebody_gave_for_a_want_fills_it():
    assert payers("till receipt", given={"Till receipt "}) == [("till receipt", True, "customer")]


def test_words_that_nobody_foresaw_are_filled_by_a_document_only():
    assert payers("weather report", on_file=set(E)) == [("weather report", False, "office")]
    assert payers("weather report", given=["weather report"]) == [("weather report", True, "office")]


def test_where_only_the_owner_may_register_only_the_owner_has_the_number():
    assert payers("registration number", registered_by="owner") == [("registration number", False, "customer")]
    assert payers("registration number", registered_by="installer") == [("registration number", False, "office")]
    assert payers("readings", registered_by="owner") == [("readings", False, "technician")]


def test_no_claim_goes_without_who_what_when_and_why():
    basics = [(one.text, one.there) for one in listed(kinds=("labor",), on_file={E.SERIAL, E.CAUSE})]
    assert basics == [
        ("serial", True),
        ("the day it was installed or started", False),
        ("the day it was repaired", False),
        ("cause", True),
    ]


def test_a_document_fills_what_every_claim_needs_as_well():
    found = {one.text: one.there for one in listed(kinds=("labor",), given=["cause"])}
    assert found == {
        "serial": False,
        "the day it was installed or started": False,
        "the day it was repaired": False,
        "cause": True,
    }


def test_a_claim_for_parts_names_the_new_part():
    texts = [one.text for one in listed(kinds=("parts", "labor"))]
    assert texts[-1] == "the new part's number"


@pytest.mark.parametrize(
    ("component", "kinds", "asks"),
    [("compressor", ("parts",), True), ("compressor", ("labor",), False), ("sensor", ("parts",), False)],
)
def test_leave_is_wanted_for_named_components(component, kinds, asks):
    found = listed(component=component, kinds=kinds, leave_first=("compressor",))
    assert [one.who for one in found if one.text == "the payer's prior approval"] == ([Who.PAYER] if asks else [])


def test_what_the_payer_asks_is_not_listed_twice():
    assert [one.text for one in listed("serial off the plate", "cause, in words", kinds=("labor",))] == [
        "serial off the plate", "cause, in words", "the day it was installed or started", "the day it was repaired",
    ]  # fmt: skip


@pytest.mark.parametrize("evidence", E)
def test_everything_that_can_be_missing_has_somebody_to_ask(evidence):
    assert payers(evidence.value)[0][2] in set(Who)
