"""A payer's own list of credits: its headings are matched once, remembered for that payer, and read as the payer writes them."""

import io
import os
import time
from decimal import Decimal
from pathlib import Path

import pytest
from django.conf import settings
from openpyxl import Workbook

from fleet import models
from fleet.claims.actions import statement_columns
from tests import claimed, company
from tests.pages import words

pytestmark = pytest.mark.django_db

# A list as an accounting program prints it: a title, sums, headings again, money and days in several dresses.
MESSY = """Northrill Warranty Credits,,,,,,
"Printed 3/1/2026, page 1",,,,,,
,,,,,,
Credit Memo #,Posted,Claim No.,Branch,Credit Amt,Charge,Description
CM-881,2/25/2026,{claim},Reading,"$1,412.50",,"Compressor, less freight"
CM-882,02/27/26,SB-77,Reading,,35.00,Core not returned
Credit Memo #,Posted,Claim No.,Branch,Credit Amt,Charge,Description
CM-883,"Feb 13, 2026",SB-78,Reading,20.00 CR,,
,,,TOTAL,"$1,397.50",,
"""


@pytest.fixture(autouse=True)
def folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def office():
    return company.as_role("office")


def send(client, text: str, *, name: str = "march.csv", payer: str = ""):
    file = io.BytesIO(text.encode())
    file.name = name
    return client.post("/statements", {"file": file, "payer_name": payer}, follow=True)


def asked(response) -> dict[str, str]:
    """What the form proposes, by heading."""
    return {heading.name: heading.ours for heading in response.context["matching"].headings}


def match(client, response, **told: str):
    """Send the form as it is proposed, but for what is told by heading."""
    context = response.context
    by_heading = {heading.name: f"column_{number}" for number, heading in enumerate(context["matching"].headings)}
    sent = {by_heading[heading]: ours for heading, ours in asked(response).items()}
    order = told.pop("order", "")
    sent |= {by_heading[heading]: ours for heading, ours in told.items()}
    sent |= {"file": context["file"], "name": context["name"], "payer": context["payer"], "order": order}
    return client.post("/statements/columns", sent, follow=True)


def lines() -> list[tuple[object, ...]]:
    rows = models.StatementLine.objects.order_by("row")
    return [(row.row, row.reference, row.number, row.on.isoformat(), row.amount, row.text) for row in rows]


def kept() -> list[str]:
    path = Path(settings.DATA_DIR) / "statements"
    return sorted(one.name for one in path.iterdir()) if path.exists() else []


READ = [
    (5, "CM-881", "1", "2026-02-25", Decimal("1412.50"), "Compressor, less freight"),
    (6, "CM-882", "SB-77", "2026-02-27", Decimal("-35.00"), "Core not returned"),
    (8, "CM-883", "SB-78", "2026-02-13", Decimal("20.00"), ""),
]


def test_a_messy_list_is_matched_once_and_read_whole(office):
    response = send(office, MESSY.format(claim=1))
    assert response.redirect_chain[0][0].startswith("/statements/columns?file=")
    assert asked(response) == {
        "Credit Memo #": "reference", "Posted": "day", "Claim No.": "number", "Branch": "", "Credit Amt": "amount",
        "Charge": "debit", "Description": "text",
    }  # fmt: skip
    page = words(response)
    assert "Say what each column is. We remember it for the next file with these headings." in page
    assert "$1,412.50" in page
    done = match(office, response)
    assert done.redirect_chain == [(f"/statements/{models.Statement.objects.get().pk}", 302)]
    assert lines() == READ
    assert kept() == []


def test_what_was_matched_is_remembered_for_that_payer_alone(office):
    company.on_file(claimed.PAYS)
    northrill = claimed.claim(claimed.failure()).payer_name
    match(office, send(office, MESSY.format(claim=1), payer=northrill), Branch="", Description="")
    again = MESSY.format(claim=1).replace("CM-88", "CM-99")
    done = send(office, again, name="april.csv", payer=northrill)
    assert "Its columns were read as you matched them for this payer before." in words(done)
    assert models.Statement.objects.latest("pk").lines.count() == 3
    assert set(models.StatementLine.objects.values_list("text", flat=True)) == {""}
    # Another payer's file of the same headings is asked about.
    other = send(office, MESSY.format(claim=1).replace("CM-88", "CM-77"), name="other.csv")
    assert asked(other)["Description"] == "text"
    assert kept() == [other.context["file"]]


@pytest.mark.parametrize(
    ("told", "said"),
    [
        pytest.param({"Posted": ""}, "Choose which column is the day of the credit.", id="no day"),
        pytest.param({"Credit Amt": "", "Charge": ""}, "Choose which column is the amount.", id="no amount"),
        pytest.param({"Branch": "reference"}, "Credit Memo # is that already.", id="one of ours twice"),
    ],
)
def test_what_is_missing_is_asked_for_and_nothing_is_lost(told, said, office):
    response = send(office, MESSY.format(claim=1))
    refused = match(office, response, **told)
    assert refused.status_code == 422
    assert said in words(refused)
    assert not models.Statement.objects.exists()
    assert match(office, response).status_code == 200
    assert lines() == READ


def test_cells_that_cannot_be_read_are_named_by_row_and_heading(office):
    text = MESSY.format(claim=1).replace('"$1,412.50"', '"1.412,50"').replace("02/27/26", "soon")
    refused = match(office, send(office, text))
    assert refused.status_code == 422
    page = words(refused)
    assert "row 5, column Credit Amt: wanted one amount such as 1,412.50, not &#x27;1.412,50&#x27;" in page
    assert "row 6, column Posted: wanted the day of the credit, not &#x27;soon&#x27;" in page
    assert not models.Statement.objects.exists()
    assert not models.ColumnMemory.objects.exists()


@pytest.mark.parametrize(("order", "day"), [("month first", "2026-02-01"), ("day first", "2026-01-02")])
def test_days_that_can_be_read_in_two_ways_are_asked_about_once(order, day, office):
    text = "Ref,Paid on,Net\nK-1,2/1/2026,10.00\n"
    response = send(office, text)
    assert "How days such as 3/8/2026 are written" in words(response)
    assert "Days in Paid on can be read in two ways." in words(match(office, response))
    match(office, response, order=order)
    assert lines()[0][3] == day
    send(office, text.replace("K-1", "K-2"), name="next.csv")
    assert [row[3] for row in lines()] == [day, day]


def test_a_workbook_is_read_from_the_sheet_that_has_the_credits(office):
    book = Workbook()
    book.active.title = "Cover"
    book.active["A1"] = "Credits of February"
    sheet = book.create_sheet("Credits")
    sheet.append(["Document no.", "Posting date", "Serial", "Net amount"])
    sheet.append(["D-1", company.day("2026-02-13"), "SB-1", 99.5])
    out = io.BytesIO()
    book.save(out)
    out.seek(0)
    out.name = "credits.xlsx"
    response = office.post("/statements", {"file": out, "payer_name": ""}, follow=True)
    assert asked(response) == {
        "Document no.": "reference",
        "Posting date": "day",
        "Serial": "number",
        "Net amount": "amount",
    }
    match(office, response)
    assert lines() == [(2, "D-1", "SB-1", "2026-02-13", Decimal("99.50"), "")]


def test_our_own_columns_are_taken_at_once_as_ever(office):
    done = send(office, "reference,number,day,amount,text\nK-1,SB-1,2026-02-13,10.00,\n")
    assert done.redirect_chain == [(f"/statements/{models.Statement.objects.get().pk}", 302)]
    assert kept() == []
    refused = send(office, "reference,number,day,amount,text\nK-1,SB-1,2/13/2026,10.00,\n", name="b.csv")
    assert refused.status_code == 422
    assert "row 2, column day" in words(refused)


def test_the_same_file_is_taken_once_however_it_is_matched(office):
    match(office, send(office, MESSY.format(claim=1)))
    response = send(office, MESSY.format(claim=1), name="copy.csv")
    assert "This very file was taken on" in words(response)
    assert models.Statement.objects.count() == 1


def test_a_kept_file_is_the_desks_alone_and_goes_after_two_days(office):
    response = send(office, MESSY.format(claim=1))
    token = response.context["file"]
    assert company.as_role("technician").get(f"/statements/columns?file={token}").status_code == 403
    for nonsense in ("", "../x.csv", f"../statements/{token}", "0" * 32 + ".csv"):
        answer = office.get("/statements/columns", {"file": nonsense}, follow=True)
        assert "This file is no longer kept. Choose it again." in words(answer)
    old = time.time() - statement_columns.KEPT_FOR - 60
    os.utime(statement_columns.path_of(token), (old, old))
    other = send(office, MESSY.format(claim=2))
    assert kept() == [other.context["file"]]


@pytest.mark.parametrize("text", ["", "Ref,Paid on,Net\n", "\n\n"])
def test_a_file_without_credits_is_refused(text, office):
    assert send(office, text).status_code == 422
    assert kept() == []
