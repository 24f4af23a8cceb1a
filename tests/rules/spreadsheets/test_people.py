"""People in a spreadsheet: phones in any style, e-mail addresses, and names that are kept as they are written."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.spreadsheets import people


@pytest.mark.parametrize(
    ("cell", "phone"),
    [
        ("207-555-0134", "207-555-0134"), ("(207) 555-0134", "207-555-0134"), ("(207)555-0134", "207-555-0134"),
        ("207.555.0134", "207-555-0134"), ("207 555 0134", "207-555-0134"), ("2075550134", "207-555-0134"),
        ("2075550134.0", "207-555-0134"), ("1-207-555-0134", "207-555-0134"), ("+1 (207) 555-0134", "207-555-0134"),
        ("207/555-0134", "207-555-0134"), ("207-555-0134 x12", "207-555-0134 x12"), ("207-555-0134, ext. 12", "207-555-0134 x12"),
        ("c: 207-555-0134", "207-555-0134"), ("207-555-0134 (cell)", "207-555-0134"), ("Cell 207-555-0134", "207-555-0134"),
        ("H 207-555-0134", "207-555-0134"), ("555-0134", "555-0134"), ("555.0134", "555-0134"),
        ("107-555-0134", None), ("207-155-0134", None), ("207-555-013", None), ("207-555-01345", None), ("2.07555E+09", None),
        ("207-555-0134 / 207-555-0135", None), ("207-555-0134 (daughter)", None), ("call her daughter", None), ("n/a", None),
        ("", None), ("911", None),
    ],
)  # fmt: skip
def test_a_phone_number_in_any_style_is_one_number_or_none(cell, phone):
    assert people.phone(cell) == phone


@given(
    st.from_regex(r"[2-9][0-9]{2}", fullmatch=True),
    st.from_regex(r"[2-9][0-9]{2}", fullmatch=True),
    st.from_regex(r"[0-9]{4}", fullmatch=True),
    st.sampled_from(
        ["{}-{}-{}", "({}) {}-{}", "{}.{}.{}", "{}{}{}", "+1{}{}{}", "1 {} {} {}", "({}){}{}", "1-{}-{}-{}"]
    ),
)
def test_any_number_is_read_alike_in_every_style_and_again_as_it_was_read(area, exchange, line, style):
    read = people.phone(style.format(area, exchange, line))
    assert read == f"{area}-{exchange}-{line}"
    assert people.phone(read) == read


def test_of_a_cell_with_more_than_a_number_every_number_is_proposed():
    assert people.phones_in("207-555-0134 / (207) 555-0135 call after 5") == ("207-555-0134", "207-555-0135")
    assert people.phones_in("1234567890123") == ()


@pytest.mark.parametrize(
    ("cell", "email"),
    [("ann@ibarra.example", "ann@ibarra.example"), (" <ann@ibarra.example> ", "ann@ibarra.example"),
     ("ann@ibarra.example;", "ann@ibarra.example"), ("ann@ibarra", None), ("ann at ibarra.example", None),
     ("ann@ibarra.example, bob@ibarra.example", None), ("", None)],
)  # fmt: skip
def test_an_email_address_is_one_address_or_none(cell, email):
    assert people.email(cell) == email


@pytest.mark.parametrize(
    "name",
    [
        "Bob & Sue Ibarra",
        "Est. of Harold Finch",
        "R. Dunmore c/o Oak Street Realty",
        "Ibarra, Ann",
        "O'Brien-Łukaszewska",
        "J & B, LLC",
    ],
)
def test_a_name_is_kept_as_it_is_written(name):
    assert people.name(f"  {name.replace(' ', '  ')}\n") == name


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ("Bob & Sue Ibarra", "Bob and Sue Ibarra", True),
        ("Ibarra, Bob & Sue", "bob & sue ibarra", True),
        ("Bob + Sue Ibarra", "Bob & Sue  Ibarra", True),
        ("Est. of Harold Finch", "Estate of Harold Finch", True),
        ("R Dunmore c/o Oak Realty", "R. Dunmore C / O Oak Realty", True),
        ("J & B, LLC", "J and B LLC", True),
        ("Ann Ibarra, Jr.", "Ann Ibarra Jr", True),
        ("O'Brien", "OBrien", True),
        ("Bob Ibarra", "Rob Ibarra", False),
        ("Bob & Sue Ibarra", "Bob Ibarra", False),
        ("Harold Finch", "Est. of Harold Finch", False),
        ("R Dunmore", "R Dunmore c/o Oak Realty", False),
        ("Ann Ibarra", "Ann Ibarra Jr.", False),
    ],
)  # fmt: skip
def test_names_that_are_most_likely_one_customer_are_known_for_it(first, second, same):
    assert (people.same_name(first) == people.same_name(second)) is same


@given(st.text(max_size=60))
def test_any_name_is_like_itself_whatever_its_case_and_gaps(name):
    assert people.same_name(name) == people.same_name(f"  {name}\n")
    if name.isascii():
        assert people.same_name(name) == people.same_name(name.upper())
