"""The two messy spreadsheets, taken with what is proposed and the few answers of a careful person, held against what they would enter.

As the browser's test of them, without a browser: what is read, what is asked, and how often, stands here.
"""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from fleet import clock, models, tasks
from fleet.coverage.actions import terms
from tests import company, spreadsheets

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(tmp_path, settings) -> Client:
    settings.MEDIA_ROOT = tmp_path / "media"
    terms.load_files(spreadsheets.terms(), by=None, on=clock.today())
    return company.as_role("office")


def uploaded(office: Client, name: str) -> str:
    content = (spreadsheets.FOLDER / name).read_bytes()
    office.post("/import", {"kind": "installs", "file": SimpleUploadedFile(name, content)})
    tasks.drain()
    return f"/import/{models.Import.objects.latest('pk').pk}"


def answered(office: Client, address: str, step: str, **changed: str) -> None:
    """Send a step's form as it is proposed, but for what a person chooses."""
    assert office.get(address)["Location"] == f"{address}/{step}"
    form = office.get(f"{address}/{step}").context["form"]
    sent = {field.html_name: str(field.value() or "") for field in form if field.html_name not in changed}
    response = office.post(f"{address}/{step}", sent | changed)
    assert response.status_code == 302, response.context["form"].errors
    tasks.drain()


def named(office: Client, address: str, step: str, label: str) -> str:
    """The name of a field by its label."""
    (field,) = [one for one in office.get(f"{address}/{step}").context["form"] if one.label == label]
    return str(field.html_name)


def taken(office: Client, address: str) -> None:
    assert models.Import.objects.get().state == "checked", models.Import.objects.get().report
    office.post(address, {"do": "take"})
    tasks.drain()


def test_a_sheet_of_three_hands(office):
    address = uploaded(office, "by-three-hands.csv")
    answered(office, address, "columns", **{named(office, address, "columns", "Truck"): "-"})
    registered = named(office, address, "values", "Reg. date: no")
    answered(office, address, "values", **{registered: "blank"})
    page = office.get(f"{address}/look-over").context["page"]
    assert len(page.twins) == 4
    choices = {}
    for number, twins in enumerate(page.twins):
        (same, *_) = [choice for choice, _ in twins.choices if choice != "as they are"]
        choices[f"twin_{number}"] = twins.answer or (
            "as they are" if "MB3" in twins.key.upper() or "M83" in twins.key.upper() else same
        )
    for number, names in enumerate(page.names):
        choices[f"name_{number}"] = next(one.value for one in names.values if "&" in one.value)
    answered(office, address, "look-over", **choices)
    taken(office, address)
    assert spreadsheets.differences("by-three-hands") == []


def test_a_workbook_of_several_sheets(office):
    address = uploaded(office, "workbook.xlsx")
    answered(office, address, "sheet", row=office.get(f"{address}/sheet").context["form"].chosen)
    answered(office, address, "columns", way_system="outdoor", **{named(office, address, "columns", "Row ID"): "-"})
    answered(office, address, "values", **{named(office, address, "values", "Registered: no"): "blank"})
    taken(office, address)
    assert spreadsheets.differences("workbook") == []
