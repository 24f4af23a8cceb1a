"""Layouts compared on a page and on paper: what was written is compared, what cannot be read is said beside its field."""

import datetime as dt
import io

import pytest
from pypdf import PdfReader

from fleet.care.actions import care_sheets
from tests import company
from tests.caring import entry

pytestmark = pytest.mark.django_db

CHECKED = {"checked_on": dt.date(2026, 1, 1)}
SHEET = {
    "code": "ours-1",
    "setup_minutes": 20,
    "task": [
        entry("wash", title="Wash the filter", by="owner", every_months=1, minutes=10, price="0.00", **CHECKED),
        entry("line", title="Clear the line", per="drain line", minutes=15, price="60.00", further_price="40.00", **CHECKED),
        entry("wheel", title="Clean the wheel", every_months=48, dirt="wheel", styles=["wall"], minutes=110, price="240.00", **CHECKED),
    ],
}  # fmt: skip
ASKED = {
    "years": "10",
    "a-name": "Six wall heads", "a-wall": "6", "a-outdoor_units": "1", "a-price": "21800",
    "b-name": "Łazienka ž", "b-ducted": "2", "b-price": "19400.50",
}  # fmt: skip


@pytest.fixture
def sheet():
    care_sheets.load_table(SHEET, on=company.TODAY)


def page(asked=None, *, role="office", status=200, **how):
    answer = company.as_role(role).get("/layouts", asked or {}, **how)
    assert answer.status_code == status
    return answer.content.decode()


def test_what_was_written_is_compared(sheet):
    text = page(ASKED)
    # 6 heads x 120 months; 6 lines x 10; 6 wheels x 2 in ten years; visits every twelve months.
    assert (
        "6 wall heads on 1 outdoor unit. Over 10 years: 720 washes by the customer, 60 drain lines cleared,"
        " 12 blower wheels cleaned, 10 visits by us; 120 hours of the customer&#x27;s time and 40 hours of ours."
        " Maintenance costs $5,480.00; with $21,800.00 for the installation, $27,280.00 in all."
    ) in text
    assert "2 ducted heads on 1 outdoor unit" in text
    assert "$19,400.50 for the installation" in text
    assert "an example" not in text


def test_it_says_what_it_does_not_answer(sheet):
    text = page(ASKED)
    assert "how air gets from room to room, how humidity is kept in check, and the load calculation" in text
    for word in ("recommend", "better", "best", "should choose"):
        assert word not in text


def test_it_begins_with_an_example(sheet):
    text = page()
    assert "This is an example" in text
    assert "720 washes by the customer" in text


def test_a_change_shows_in_the_part_alone(sheet):
    text = page(ASKED | {"a-wall": "5"}, headers={"HX-Request": "true"})
    assert "<html" not in text
    assert "600 washes by the customer" in text
    # The paper has what was typed.
    assert "layouts/paper?years=10" in text
    assert "a-wall=5" in text


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"years": "0"}, "greater than or equal to 1"),
        ({"years": "41"}, "less than or equal to 40"),
        ({"a-wall": "many"}, "Enter a whole number."),
        ({"a-price": "-1"}, "greater than or equal to 0"),
        ({"a-name": ""}, "Enter a name, to tell it from the others."),
        ({"a-wall": "0"}, "Enter at least one head."),
        ({"b-name": "six WALL heads"}, "Another layout has this name."),
    ],
)
def test_what_cannot_be_read_is_said_and_kept(sheet, changed, said):
    text = page(ASKED | changed, status=422)
    assert said in text
    assert 'value="Six wall heads"' in text or "a-name" in changed
    assert "In figures" not in text
    part = page(ASKED | changed, status=422, headers={"HX-Request": "true"})
    assert said in part


def test_a_blank_layout_is_none(sheet):
    text = page(ASKED | {"b-name": "", "b-ducted": ""})
    assert "Six wall heads" in text
    assert "ducted heads on" not in text
    assert "Enter at least one layout." in page({"years": "10"}, status=422)


def test_without_a_care_sheet_it_says_so():
    assert "No care sheet (our list of maintenance tasks) is in force yet" in page(ASKED)


def test_the_paper(sheet):
    answer = company.as_role("owner").get("/layouts/paper", ASKED | {"customer": "Žofia é Жанна"})
    assert answer["Content-Type"] == "application/pdf"
    again = company.as_role("owner").get("/layouts/paper", ASKED | {"customer": "Žofia é Жанна"})
    assert again.content == answer.content
    pages = PdfReader(io.BytesIO(answer.content)).pages
    text = " ".join(" ".join(one.extract_text() for one in pages).split())
    for told in (
        "For Žofia é Жанна",
        "Łazienka ž",
        "March 2, 2026",
        "720 washes by the customer",
        "Total cost of each layout",
        "load calculation",
        f"page 1 of {len(pages)}",
    ):
        assert told in text
    assert company.as_role("office").get("/layouts/paper", ASKED | {"years": "x"}).status_code == 422


@pytest.mark.parametrize(("role", "status"), [("owner", 200), ("office", 200), ("technician", 403)])
def test_who_may_see_it(sheet, role, status):
    page(ASKED, role=role, status=status)
