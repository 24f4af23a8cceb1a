"""A line break in a cell of a fact that is one line is refused, naming the cell; notes may have several lines."""

import pytest

from fleet import models
from fleet.loading import agreements, installs
from fleet.sheets import BadFile
from tests import company, rows

pytestmark = pytest.mark.django_db

ROW = rows.INSTALL | {"serial": "A-1"}


@pytest.mark.parametrize("break_", ["\n", "\r\n", "\u2028"])
@pytest.mark.parametrize("column", ["customer", "street", "room", "serial", "registration_number"])
def test_a_line_break_in_a_fact_of_one_line_is_refused_with_its_cell(column, break_):
    with pytest.raises(BadFile) as refused:
        installs.load_rows([ROW | {column: f"Den{break_}left"}], on=rows.TODAY)
    (line,) = refused.value.lines()
    assert line.startswith(f"the rows: row 2, column {column}: wanted one line without line breaks, not 'Den")
    assert not models.Unit.objects.exists()


def test_notes_keep_their_lines(tmp_path):
    path = tmp_path / "installs.csv"
    path.write_text(
        'customer,site,system,role,maker,model,serial,notes\nAda,Home,1,head,Oldcastle,OC-9,A-1,"Dog bites\nRing first"\n'
    )
    installs.load(path, by=None, on=rows.TODAY)
    assert models.Unit.objects.get().notes == "Dog bites\nRing first"


def test_of_an_agreement_too():
    company.unit("SB-1")
    row = {
        "customer": "Odile Marsh",
        "site": "Home",
        "start_on": "2025-01-01",
        "months": "12",
        "visits_per_year": "2",
        "first_head": "90",
    }
    with pytest.raises(BadFile, match="column reference: wanted one line without line breaks"):
        agreements.load_rows([row | {"reference": "M-1\nold"}], on=company.TODAY)
    agreements.load_rows([row | {"notes": "Keys\nat the desk"}], on=company.TODAY)
    assert models.Agreement.objects.get().notes == "Keys\nat the desk"
