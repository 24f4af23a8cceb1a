"""What fails, on the owner's page."""

import csv
import datetime as dt
import io

import pytest

from fleet import models
from tests import company, rows
from tests.pages import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    """Four heads and an outdoor unit, two of whose boards failed."""
    company.on_file()
    made = [
        company.unit(f"WF-{number}", style=style, started_on="2021-03-02")
        for number, style in enumerate(("wall", "wall", "ducted", "floor"), 1)
    ]
    made.append(company.unit("WF-9", role="outdoor", style="", maker="Tarn", model="T-36", started_on="2016-03-02"))
    for unit, day in ((made[0], "2023-03-02"), (made[4], "2020-03-02")):
        models.Failure.objects.create(unit=unit, component="control board", failed_on=dt.date.fromisoformat(day))
    company.unit("NO-START")
    company.worked_out()
    return made


def page(role="owner", status=200, **asked):
    answer = company.as_role(role).get("/what-fails", asked)
    assert answer.status_code == status
    return words(answer)


def test_every_component_with_its_rate(fleet):
    text = page()
    assert "5 units are counted; 1 more has no start date on file. What failed most: the control board (2)." in text
    assert text.count('data-title="Failures"') == 31
    assert "the payer decides" in text


def test_one_component_with_its_curve_and_groups(fleet):
    text = page(component="control board")
    # 2 years, 3 x 5 years, 4 years: 21 unit-years.
    assert "The control board: 2 failures so far, about 9.5 a year for every 100 units." in text
    assert "Too few failures for a fit: 2 of the 5 that it takes." in text
    assert "Left without a failure of the control board, by age" in text
    assert "Limits: 95%, by Greenwood on the log-log scale." in text
    for kind in ("wall head", "ducted head", "floor head", "outdoor"):
        assert kind in text
    # At two years one of five failed, at four one of four; the table says what the drawing shows.
    for figure in ("80.0", "60.0"):
        assert f"<span>{figure}</span>" in text


@pytest.mark.parametrize(
    ("asked", "units"),
    [
        ({"kind": "outdoor"}, "1 unit is"),
        ({"kind": "wall"}, "2 units are"),
        ({"maker": "Tarn"}, "1 unit is"),
        ({"model": "nh9"}, "4 units are"),
        ({"year": "2021"}, "4 units are"),
    ],
)
def test_units_are_narrowed(fleet, asked, units):
    assert f"{units} counted" in page(**asked)


def test_causes_of_our_own_making_are_asked_for(fleet):
    models.Failure.objects.update(cause="misuse")
    assert "No failures that count are on file." in page()
    assert "What failed most: the control board (2)." in page(every_cause="all")


def test_a_group_by_year(fleet):
    text = page(component="control board", group="year it was started")
    assert text.index(">2016<") < text.index(">2021<")


def test_nothing_on_file():
    assert "No units with a start date are on file yet." in page()
    assert "No units match. Clear some filters." in page(maker="", model="zzz")


def test_a_failure_of_what_the_unit_does_not_have_is_named_and_not_counted(fleet):
    assert "Not counted" not in page()
    wrong = models.Failure.objects.create(unit=fleet[0], component="gas valve", failed_on=dt.date(2024, 5, 6))
    text = page()
    assert "Not counted: 1 failure of a component that the unit does not have" in text
    assert f'<a href="/failures/{wrong.pk}">Gas valve on a head (WF-1), ' in text
    # Nobody has a gas valve here, and what is said of it is said there too.
    text = page(component="gas valve")
    assert "No units match. Clear some filters." in text
    assert "Not counted: 1 failure" in text
    assert "Not counted" not in page(component="louver")


def test_as_a_file(fleet):
    answer = company.as_role("owner").get("/what-fails", {"as": "csv"})
    text = b"".join(answer.streaming_content).decode().removeprefix("\ufeff")
    found = {row["component"]: row for row in csv.DictReader(io.StringIO(text))}
    assert (found["control board"]["failures"], found["control board"]["unit_years"]) == ("2", "21.0")
    assert found["panel"]["rate"] == "0.00"


def test_a_component_leads_to_its_curve(fleet):
    text = page()
    assert 'href="/what-fails/7">control board' in text
    answer = company.as_role("owner").get("/what-fails/7")
    assert answer["Location"] == "/what-fails?component=control+board"
    assert company.as_role("owner").get("/what-fails/99").status_code == 404


def test_the_same_few_queries_however_many_units(fleet):
    client = company.as_role("owner")
    client.get("/what-fails")
    with rows.asked() as few:
        client.get("/what-fails")
    for number in range(20):
        company.unit(f"MORE-{number}", started_on="2022-05-05")
    company.worked_out()
    with rows.asked() as many:
        client.get("/what-fails")
    assert len(many) == len(few)


@pytest.mark.parametrize("role", ["office", "technician"])
def test_it_is_the_owners(fleet, role):
    page(role=role, status=403)
