"""A system's refrigerant on its page: entered, put right and taken off; its start-up; and how fast it leaks."""

import datetime as dt

import pytest

from fleet import models
from fleet.care.actions import refrigerant, start_up
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.refusals import Refused
from fleet.registry.actions import lives
from tests import company, rows
from tests.pages import words

pytestmark = pytest.mark.django_db

ENTRY = {
    "on": "2026-03-02",
    "move": "added",
    "ounces": "12.5",
    "refrigerant": "R-410A",
    "cylinder": "C-7",
    "who": "Žofia Ł",
    "certificate": "T2-5518",
    "note": "",
}


@pytest.fixture
def system():
    company.on_file()
    company.unit("RF-HEAD", started_on="2024-05-06")
    made = company.unit(
        "RF-OUT", role="outdoor", style="", started_on="2024-05-06", plate_charge_oz=100, refrigerant="R-410A"
    )
    company.worked_out()
    return made.system


def page(system, role="technician"):
    answer = company.as_role(role).get(f"/systems/{system.pk}/refrigerant")
    assert answer.status_code == 200
    return words(answer)


def enter(system, role="technician", **told):
    return company.as_role(role).post(f"/systems/{system.pk}/refrigerant/add", ENTRY | told)


def test_what_is_entered_stands_there(system):
    assert enter(system)["Location"] == f"/systems/{system.pk}/refrigerant"
    entry = models.RefrigerantEntry.objects.get()
    assert (entry.system, str(entry.ounces), entry.who, entry.by.username) == (system, "12.50", "Žofia Ł", "technician")
    text = page(system)
    assert "12.5 oz (0.78 lb)" in text
    assert "A full charge is 100 oz (6.25 lb)" in text
    # 12.5 of 100 ounces, over a year since nobody knows when it was filled before.
    assert "0.78125 lb added on March 2, 2026, over 365 days: 12.5% of the full charge a year" in text
    assert "The federal leak rule for R-410A (40 CFR 84.106;" in text
    assert "it leaves out residential and light commercial air conditioning and heat pumps." in text
    assert models.Change.objects.filter(table="refrigerantentry", object_id=entry.pk).count() == 1
    assert not list(recheck.differences(on=company.TODAY))


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"ounces": ""}, "Wanted: the weight in ounces."),
        ({"ounces": "0"}, "Wanted: a weight above 0."),
        ({"who": ""}, "Wanted: who handled it."),
        ({"on": "2026-03-03"}, "Wanted:"),
        ({"move": "vented"}, "Wanted: one of"),
    ],
)
def test_what_cannot_be_is_said_and_kept(system, told, said):
    answer = enter(system, cylinder="C-KEPT", **told)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert 'value="C-KEPT"' in text
    assert not models.RefrigerantEntry.objects.exists()


def test_an_entry_is_put_right_and_what_another_did_is_told(system):
    enter(system)
    entry = models.RefrigerantEntry.objects.get()
    client = company.as_role("office")
    shown = {f"was_{name}": text for name, text in ENTRY.items()} | {"was_ounces": "12.50"}
    address = f"/refrigerant/{entry.pk}"
    assert client.post(address, shown | ENTRY | {"ounces": "14"}).status_code == 302
    # Somebody else still has the page of before.
    answer = client.post(address, shown | ENTRY | {"ounces": "13"})
    assert answer.status_code == 409
    assert "it is now 14" in answer.content.decode()
    entry.refresh_from_db()
    assert entry.ounces == 14
    change = models.Change.objects.filter(table="refrigerantentry", field="ounces").order_by("pk").last()
    assert (change.before, change.after) == ("12.50", "14.00")


def test_an_entry_is_taken_off_with_a_reason(system):
    enter(system)
    entry = models.RefrigerantEntry.objects.get()
    client = company.as_role("office")
    assert client.post(f"/refrigerant/{entry.pk}/off", {"why": ""}).status_code == 422
    assert models.RefrigerantEntry.objects.exists()
    assert client.post(f"/refrigerant/{entry.pk}/off", {"why": "on another system"}).status_code == 302
    assert not models.RefrigerantEntry.objects.exists()
    change = models.Change.objects.get(table="system", field="refrigerant")
    assert change.why == "on another system"
    assert "12.50 oz R-410A" in change.before


def test_who_may_put_an_entry_right(system):
    enter(system)
    entry = models.RefrigerantEntry.objects.get()
    assert company.as_role("technician").get(f"/refrigerant/{entry.pk}").status_code == 403
    assert f"/refrigerant/{entry.pk}" not in page(system, "technician")
    assert f"/refrigerant/{entry.pk}" in page(system, "office")


def test_what_was_recovered_or_charged_first_is_no_leak(system):
    enter(system, move="charged", on="2025-03-02", ounces="100")
    enter(system, move="recovered", on="2026-02-02", ounces="60")
    assert "Leak rate" not in page(system)
    enter(system, ounces="10")
    # 365 days after the first filling.
    assert "over 365 days: 10.0% of the full charge a year" in page(system)


def test_without_a_plate_no_rate(system):
    models.Unit.objects.filter(serial="RF-OUT").update(plate_charge_oz=None)
    enter(system)
    text = page(system)
    assert "The plate charge is not on file, so no leak rate can be worked out." in text
    assert "Leak rate" not in text


def test_another_refrigerant_and_no_certificate_are_said(system):
    enter(system, refrigerant="R-32", certificate="", sure="on")
    text = page(system)
    assert (
        "1 entry is for a different refrigerant than the plate, which says R-410A. 1 entry has no certificate on file."
        in text
    )


START = {
    "day": "2024-05-06", "pressure_test": "550", "measure_pressure_test": "psi", "vacuum_reached": "501",
    "measure_vacuum_reached": "micron", "vacuum_held": "500", "measure_vacuum_held": "micron", "line_length": "42",
    "measure_line_length": "ft", "charge_added": "0.5", "measure_charge_added": "lb", "plate_charge_oz": "100.00",
    "was_plate_charge_oz": "100.00",
}  # fmt: skip


def test_a_start_up_is_recorded(system):
    answer = company.as_role("technician").post(f"/systems/{system.pk}/start-up", START)
    assert answer.status_code == 302
    unit = models.Unit.objects.get(serial="RF-OUT")
    told = models.Reading.objects.filter(unit=unit, start_up=True, on=dt.date(2024, 5, 6))
    assert {row.reading: f"{row.value.normalize():f} {row.measure}" for row in told} == {
        "pressure test": "550 psi", "vacuum reached": "501 micron", "vacuum held": "500 micron", "line length": "42 ft",
        "charge added": "0.5 lb",
    }  # fmt: skip
    text = page(system)
    assert "501 micron is over 500 micron: not a deep enough vacuum" in text
    assert "500 micron is over" not in text
    # The plate's 100 ounces and half a pound.
    assert "A full charge is 108 oz (6.75 lb)" in text
    assert models.Change.objects.filter(table="unit", object_id=unit.pk, field="vacuum reached").exists()
    assert not list(recheck.differences(on=company.TODAY))


def test_a_start_up_is_put_right_by_one_at_a_time(system):
    client, address = company.as_role("office"), f"/systems/{system.pk}/start-up"
    client.post(address, START)
    seen = START | {
        "was_pressure_test": "550 psi", "was_vacuum_reached": "501 micron", "was_vacuum_held": "500 micron",
        "was_line_length": "42 ft", "was_charge_added": "0.5 lb",
    }  # fmt: skip
    assert client.post(address, seen | {"vacuum_reached": "350", "plate_charge_oz": "98"}).status_code == 302
    answer = client.post(address, seen | {"vacuum_reached": "300"})
    assert answer.status_code == 409
    assert "it is now 350 micron" in answer.content.decode()
    assert models.Reading.objects.get(reading="vacuum reached").value == 350
    assert models.Unit.objects.get(serial="RF-OUT").plate_charge_oz == 98


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"day": ""}, "Wanted: the day of the start-up"),
        ({"day": "2026-03-03"}, "Wanted: the day of the start-up"),
        ({"vacuum_reached": "deep"}, "Wanted: a number"),
        ({"pressure_test": "1001"}, "Wanted: a number from 0 to 1,000 psi"),
    ],
)
def test_a_start_up_that_cannot_be_is_refused_whole(system, told, said):
    answer = company.as_role("technician").post(f"/systems/{system.pk}/start-up", START | told)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not models.Reading.objects.exists()


def test_a_reading_is_taken_off_by_leaving_it_blank(system):
    edits = {"line length": Edit("", "42 ft"), "vacuum held": Edit("", "480 micron")}
    assert start_up.record(system.pk, edits, day="2024-05-06", by=None, on=company.TODAY)
    assert start_up.record(system.pk, {"line length": Edit("42 ft", "")}, day="2024-05-06", by=None, on=company.TODAY)
    assert list(models.Reading.objects.values_list("reading", flat=True)) == ["vacuum held"]
    assert not start_up.record(system.pk, {}, day="2024-05-06", by=None, on=company.TODAY)


def test_a_system_without_units_has_no_start_up(system):
    models.Unit.objects.update(removed_on=company.TODAY, removal_reason="removed")
    with pytest.raises(Refused):
        start_up.record(system.pk, {}, day="2024-05-06", by=None, on=company.TODAY)
    assert "This system has no units any more" in page(system)


def test_the_same_few_queries_however_many_entries(system):
    client, address = company.as_role("office"), f"/systems/{system.pk}/refrigerant"
    told = ENTRY | {"on": "2026-01-01"}
    refrigerant.add(system.pk, told, by=None, on=company.TODAY)
    client.get(address)
    with rows.asked() as few:
        client.get(address)
    for number in range(4):
        refrigerant.add(system.pk, told | {"cylinder": f"C-{number}"}, by=None, on=company.TODAY)
    with rows.asked() as many:
        client.get(address)
    assert len(many) == len(few)


# ------------------------------------------------------------------------------------------------- what is improbable


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (
            {"refrigerant": "R-32"},
            "The system holds R-410A, and this says R-32. Correct it, or check the box if it is right.",
        ),
        ({"ounces": "150.01"}, "150.01 oz is more than such a system holds."),
    ],
)
def test_what_is_improbable_is_asked_about_and_written_once_somebody_is_sure(system, told, said):
    answer = enter(system, cylinder="C-KEPT", **told)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert said in text
    assert 'value="C-KEPT"' in text
    assert 'type="checkbox" name="sure"' in text
    assert not models.RefrigerantEntry.objects.exists()
    assert enter(system, sure="on", **told).status_code == 302
    assert models.RefrigerantEntry.objects.count() == 1


def test_at_half_as_much_again_as_the_full_charge_nothing_is_asked(system):
    assert enter(system, ounces="150").status_code == 302


def test_a_correction_is_asked_about_as_well(system):
    enter(system)
    entry = models.RefrigerantEntry.objects.get()
    client = company.as_role("office")
    shown = {f"was_{name}": text for name, text in ENTRY.items()} | {"was_ounces": "12.50"}
    address, wrong = f"/refrigerant/{entry.pk}", {"ounces": "1250"}
    assert client.post(address, shown | ENTRY | wrong).status_code == 422
    entry.refresh_from_db()
    assert str(entry.ounces) == "12.50"
    assert client.post(address, shown | ENTRY | wrong | {"sure": "on"}).status_code == 302
    # A word put right asks about the weight no more.
    shown |= {"was_ounces": "1250.00"}
    assert client.post(address, shown | ENTRY | {"ounces": "1250.00", "note": "weighed twice"}).status_code == 302


def test_a_leak_rate_counts_one_kind(system):
    enter(system, ounces="10", on="2026-01-02")
    enter(system, ounces="30", refrigerant="R-32", sure="on")
    text = page(system)
    assert "10.0% of the full charge a year" in text
    assert "30" not in text.partition("Leak rate")[2].partition("</ul>")[0]


# ------------------------------------------------------------------------------------------------- taken out


@pytest.mark.parametrize(
    ("ounces", "refrigerant", "is_asked"),
    [(80, "R-410A", False), (81, "R-410A", True), (799, "R-22", True), (800, "R-22", False), (100, "R-290", False)],
)
def test_taking_a_unit_out_asks_for_the_refrigerant_recovered(system, ounces, refrigerant, is_asked):
    """REF-07, READ: systems of more than 5 and less than 50 lb (80 and 800 ounces) of ozone depleting refrigerant or HFC."""
    unit = models.Unit.objects.get(serial="RF-OUT")
    models.Unit.objects.filter(pk=unit.pk).update(plate_charge_oz=ounces, refrigerant=refrigerant)
    lives.tell(unit.pk, kind="removed", day="2026-03-01", told={}, by=None, on=company.TODAY)
    asked = "Record the refrigerant recovered from the unit that was taken out"
    assert (asked in page(system)) is is_asked
    if is_asked:
        enter(system, move="recovered", ounces="60", refrigerant=refrigerant)
        assert asked not in page(system)


def test_a_technician_records_the_start_up_of_a_new_install_from_its_write_up(system):
    """The write-up leads there as long as nothing of it is on file."""
    phone = company.as_role("technician")
    write_up, start = f"/sites/{system.site_id}/write-up", f"/systems/{system.pk}/refrigerant"
    link = f'<a href="{start}#start-up">Record the start-up of {system.name}</a>'
    assert link in phone.get(write_up).content.decode()
    assert '<h2 id="start-up">' in page(system)
    assert phone.post(f"/systems/{system.pk}/start-up", START).status_code == 302
    assert models.Reading.objects.filter(start_up=True, unit__system=system).exists()
    assert "Record the start-up" not in phone.get(write_up).content.decode()
