"""Places in a spreadsheet: states, ZIP codes, streets and one-cell addresses; nothing lost, nothing guessed."""

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fleet.rules.spreadsheets import places
from fleet.rules.spreadsheets.places import Address


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("ME", "US-ME"), ("me", "US-ME"), ("Me.", "US-ME"), ("Maine", "US-ME"), ("MAINE ", "US-ME"), ("US-ME", "US-ME"),
        ("us me", "US-ME"), ("Maine (ME)", "US-ME"), ("State of Maine", "US-ME"), ("N.H.", "US-NH"), ("new  hampshire", "US-NH"),
        ("Mass.", "US-MA"), ("Calif", "US-CA"), ("Washington, D.C.", None), ("Washington D.C.", "US-DC"), ("D.C.", "US-DC"),
        ("Québec", "CA-QC"), ("QC", "CA-QC"), ("Puerto Rico", "US-PR"),
        ("Mane", None), ("M", None), ("Maine?", None), ("ME/NH", None), ("Maine (NH)", None), ("04101", None), ("n/a", None),
        ("", None), ("XX", None),
    ],
)  # fmt: skip
def test_a_state_is_known_by_its_name_its_letters_or_its_code(cell, code):
    assert places.region(cell) == code


@given(st.sampled_from(sorted(places.REGIONS)), st.sampled_from([str.upper, str.lower, str.title]), st.booleans())
def test_every_state_is_known_in_each_of_its_ways(code, case, spaced):
    gap = " " if spaced else ""
    for text in (places.REGIONS[code], code[-2:], code, ".".join(code[-2:]) + "."):
        assert places.region(f"{gap}{case(text)}{gap}") == code


@pytest.mark.parametrize(
    ("cell", "region", "code"),
    [
        ("04101", "", "04101"), ("04101-1234", "", "04101-1234"), ("041011234", "", "04101-1234"), ("44101", "", "44101"),
        ("4101", "US-ME", "04101"), ("4101.0", "US-ME", "04101"), ("4101-1234", "US-ME", "04101-1234"),
        ("41011234", "US-ME", "04101-1234"), ("601", "US-PR", "00601"), ("04101-", "US-ME", "04101"),
        ("4101", "", None), ("4101", "US-OH", None), ("544", "US-NY", None), ("41", "US-ME", None), ("410", "US-OH", None),
        ("H2X 1Y4", "CA-QC", "H2X 1Y4"), ("h2x1y4", "", "H2X 1Y4"), ("H2X", "", None),
        ("n/a", "US-ME", None), ("", "US-ME", None), ("041012", "US-ME", None), ("0410", "US-ME", "00410"),
    ],
)  # fmt: skip
def test_a_zip_code_has_its_zero_again_only_where_its_state_says_so(cell, region, code):
    assert places.postcode(cell, region) == code


def test_a_zero_that_no_state_tells_of_is_proposed():
    assert places.proposed_postcode("4101") == "04101"
    assert places.proposed_postcode("see file") == ""


@pytest.mark.parametrize(
    ("cell", "apart"),
    [
        ("12 Elm St, Quill Harbor, ME 04791", Address("12 Elm St", "Quill Harbor", "US-ME", "04791")),
        ("12 Elm St, Quill Harbor, Maine, 04791, USA", Address("12 Elm St", "Quill Harbor", "US-ME", "04791")),
        ("12 Elm St\nQuill Harbor ME 4791", Address("12 Elm St", "Quill Harbor", "US-ME", "04791")),
        ("12 Elm St., Apt. 2, Salt Neck, New Hampshire", Address("12 Elm St., Apt. 2", "Salt Neck", "US-NH", "")),
        ("12 Elm St, Quill Harbor", Address("12 Elm St", "Quill Harbor", "", "")),
        ("PO Box 9, Quill Harbor, ME", Address("PO Box 9", "Quill Harbor", "US-ME", "")),
        ("Quill Harbor, ME", Address("", "Quill Harbor", "US-ME", "")),
        ("12 Elm St, Apt 2", Address("12 Elm St, Apt 2", "", "", "")),
        ("12 Elm St", Address("12 Elm St", "", "", "")),
        ("12 Elm St, Laval, QC H2X 1Y4", Address("12 Elm St", "Laval", "CA-QC", "H2X 1Y4")),
        ("12 Elm St, Quill Harbor, OH 4791", Address("12 Elm St, Quill Harbor", "OH 4791", "", "")),
        ("", Address("", "", "", "")),
        (" , ,", Address("", "", "", "")),
    ],
)
def test_an_address_with_commas_is_taken_apart(cell, apart):
    assert places.take_apart(cell) == apart


@pytest.mark.parametrize(
    ("cell", "apart"),
    [
        ("12 Elm St Quill Harbor ME 04791", ("12 Elm St", "Quill Harbor", "US-ME", "04791")),
        ("12 Elm St N Apt 2 Quill Harbor ME", ("12 Elm St N Apt 2", "Quill Harbor", "US-ME", "")),
        ("12 Elm St #2 Quill Harbor ME", ("12 Elm St #2", "Quill Harbor", "US-ME", "")),
        ("PO Box 9 Quill Harbor ME 04791", ("PO Box 9", "Quill Harbor", "US-ME", "04791")),
        ("1830 Route 9 Quill Harbor ME 04791", ("1830 Route 9", "Quill Harbor", "US-ME", "04791")),
        ("12 Broadway Quill Harbor ME 04791", ("12 Broadway Quill Harbor", "", "US-ME", "04791")),
        ("behind the mill, Quill Harbor, ME", ("behind the mill", "Quill Harbor", "US-ME", "")),
    ],
)
def test_an_address_that_only_its_words_take_apart_is_not_sure(cell, apart):
    assert places.take_apart(cell) == Address(*apart, is_sure=False)


street = st.builds(
    "{} {} {}".format,
    st.integers(1, 9999),
    st.sampled_from(["Elm", "Fern Hollow", "St. Brannoc", "Court", "N. Quay"]),
    st.sampled_from(["St", "Street", "Ave.", "Rd", "Lane", "Blvd"]),
)
city = st.sampled_from(["Quill Harbor", "Salt Neck", "Portsend", "East Corrie", "Mount Alder"])
state = st.sampled_from(sorted(code for code in places.REGIONS if code.startswith("US-")))


@given(
    street,
    st.sampled_from(["", ", Apt 2", ", Unit B"]),
    city,
    state,
    st.sampled_from(["", "14791", "14791-0203"]),
    st.data(),
)
def test_an_address_put_together_in_any_usual_way_is_taken_apart_again(street, unit, city, code, zip_code, data):
    said = data.draw(st.sampled_from([code[-2:], code[-2:].lower(), places.REGIONS[code]]))
    comma = data.draw(st.sampled_from([", ", ",", "\n", ",  "]))
    before_state = data.draw(st.sampled_from([", ", " "])) if len(said) == 2 else ", "
    whole = f"{street}{unit}{comma}{city}{before_state}{said} {zip_code}".strip()
    assume(places.region(f"{city.split()[-1]} {said}") is None)  # as "New Virginia"
    apart = places.take_apart(whole)
    assert (apart.street, apart.city, apart.region, apart.postcode) == (f"{street}{unit}", city, code, zip_code)


@given(st.lists(st.sampled_from(
    ["12", "Elm", "St", "Harbor", "ME", "Maine", "New", "York", "04791", "4791", ",", "Apt", "#2", "PO", "Box", "9", ".", "Way"]
), max_size=12))  # fmt: skip
def test_no_word_of_an_address_is_lost_and_none_is_added(words):
    cell = " ".join(words)
    apart = places.take_apart(cell)
    said = re.findall(r"\w+", f"{apart.street} {apart.city}")
    rest = re.findall(r"\w+", cell)
    for word in said:
        rest.remove(word)  # raises where the word was not there
    left = " ".join(rest)
    if apart.postcode:
        assert places.postcode(left.split()[-1], apart.region) == apart.postcode
        left = " ".join(left.split()[:-1])
    assert (places.region(left) or "") == apart.region
    assert bool(left) == bool(apart.region)


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ("12 Elm St", "12 ELM STREET", True),
        ("12 North Elm Street, Apartment 2", "12 N. Elm St. apt 2", True),
        ("Rt. 9", "Route 9", True),
        ("12 Elm St", "12 Elm Ave", False),
        ("12 Elm St", "21 Elm St", False),
        ("12 Elm St", "12 Elm St Apt 2", False),
        ("", "", True),
    ],
)
def test_streets_are_one_however_their_words_are_shortened(first, second, same):
    assert (places.same_street(first) == places.same_street(second)) is same
