"""The pages of payers' statements: taken, refused with everything told, and what is left decided without losing what was typed."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet import models
from fleet.rules.claims import State
from tests import claimed, company

pytestmark = pytest.mark.django_db
HEADER = "reference,number,day,amount,text\n"


@pytest.fixture(autouse=True)
def unit() -> models.Unit:
    company.on_file(claimed.PAYS)
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.as_role("office")


def send(client, *rows: str, header: str = HEADER, name: str = "march.csv", **named: str):
    content = (header + "".join(f"{row}\n" for row in rows)).encode()
    return client.post("/statements", {"file": SimpleUploadedFile(name, content), **named})


def test_a_statement_is_taken_and_shown(unit, office):
    claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    there = send(office, "NR-1,,2026-02-27,120.00,", "NR-9,,2026-02-27,12.00,<b>Goodwill</b>")["Location"]
    page = office.get(there).content.decode()
    assert "Of 2 credits, 1 is booked: $120.00. 1 is for you to decide: $12.00." in page
    assert "No claim on file has the reference NR-9." in page
    assert "&lt;b&gt;Goodwill&lt;/b&gt;" in page
    listed = office.get("/statements").content.decode()
    assert "1 credit needs you to choose the claim." in listed
    assert "march.csv" in listed


def test_what_is_left_waits_on_the_office_until_it_is_decided(office):
    assert "Payers’ statements" not in office.get("/on-our-desk").content.decode().split("<main")[1]
    send(office, "NR-9,,2026-02-27,12.00,")
    waiting = office.get("/on-our-desk").content.decode()
    assert "1 credit on payers’ statements needs you to choose the claim." in waiting


def test_the_same_file_leads_to_the_statement_that_has_it(office):
    first = send(office, "NR-9,,2026-02-27,12.00,")["Location"]
    again = send(office, "NR-9,,2026-02-27,12.00,", name="copy.csv")
    assert again["Location"] == first
    assert "This very file was taken on" in office.get(first).content.decode()
    assert models.Statement.objects.count() == 1


def test_what_is_wrong_with_a_file_is_told_line_by_line(office):
    refused = send(office, "NR-1,,soon,12.00,", "NR-2,,2026-02-27,many,", payer_name="")
    page = refused.content.decode()
    assert refused.status_code == 422
    assert "march.csv: row 2, column day: wanted a day written as 2024-03-08" in page
    assert "march.csv: row 3, column amount: wanted an amount such as 1250.00" in page
    empty = send(office, header="reference,account,day,amount\n")
    assert "march.csv: wanted at least one credit below the header" in empty.content.decode()
    unknown = send(office, "NR-1,,2026-02-27,12.00", header="reference,account,day,amount\n")
    assert unknown["Location"].startswith("/statements/columns?file=")  # where it is said what its columns are
    assert not models.Statement.objects.exists()


def test_no_file_is_told_at_its_field(office):
    refused = office.post("/statements", {})
    assert refused.status_code == 422
    assert "Choose the file first." in refused.content.decode()


def test_what_a_person_decides_is_refused_at_its_field_with_what_they_typed(unit, office):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    there = send(office, "NR-1,,2026-02-27,50.00,")["Location"]
    line = models.StatementLine.objects.get()
    address, prefix = f"/statement-lines/{line.pk}/match", f"line{line.pk}"
    nobody = office.post(address, {})
    assert nobody.status_code == 422
    assert "Choose the claim, or enter its number." in nobody.content.decode()
    last = office.post(address, {f"{prefix}-claim": f"{row.pk}:{row.version}", f"{prefix}-last": "on"})
    assert last.status_code == 422
    page = last.content.decode()
    assert "Say why the payer pays less than it approved." in page
    assert re.search(rf'name="{prefix}-last"[^>]*checked', page)
    stale = office.post(address, {f"{prefix}-claim": f"{row.pk}:{row.version - 1}"})
    assert stale.status_code == 409
    assert "moved this claim to" in stale.content.decode()
    done = office.post(address, {f"{prefix}-claim": f"{row.pk}:{row.version}"})
    assert (done.status_code, done["Location"]) == (302, there)
    row.refresh_from_db()
    assert (row.state, str(row.credited)) == (State.APPROVED, "50.00")


def test_a_credit_beyond_what_was_approved_is_booked_only_once_somebody_confirms_it(unit, office):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    there = send(office, "NR-1,,2026-02-27,130.00,")["Location"]
    line = models.StatementLine.objects.get()
    address, prefix = f"/statement-lines/{line.pk}/match", f"line{line.pk}"
    shown = office.get(there).content.decode()
    assert "It is more than the $120.00 still to come on this claim." in shown
    assert "It is more than was approved, and that is right" in shown
    chosen = {f"{prefix}-claim": f"{row.pk}:{row.version}"}
    asked = office.post(address, chosen)
    assert asked.status_code == 422
    assert "This is $10.00 more than the $120.00 that was approved." in asked.content.decode()
    assert models.StatementLine.objects.get().state == "open"
    assert office.post(address, chosen | {f"{prefix}-confirmed": "on"}).status_code == 302
    row.refresh_from_db()
    assert (row.state, str(row.credited)) == (State.CREDITED, "130.00")


def test_a_credit_from_before_the_last_step_asks_for_the_day_and_books_it(unit, office):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    there = send(office, "NR-1,,2026-02-18,120.00,")["Location"]
    line = models.StatementLine.objects.get()
    name, page = f"line{line.pk}", office.get(there).content.decode()
    assert "February 18, 2026 is before the claim’s last step, February 20, 2026. Choose the day to book it." in page
    assert re.search(rf'name="{name}-day" value="2026-02-20"', page)
    told = {f"{name}-claim": f"{row.pk}:{row.version}"}
    early = office.post(f"/statement-lines/{line.pk}/match", told | {f"{name}-day": "2026-02-19"})
    assert early.status_code == 422
    assert re.search(rf'name="{name}-day" value="2026-02-19"[^>]*aria-invalid', early.content.decode())
    assert office.post(f"/statement-lines/{line.pk}/match", told | {f"{name}-day": "2026-03-01"}).status_code == 302
    assert "The payer gave it on February 18, 2026." in office.get(f"/claims/{row.pk}").content.decode()


@pytest.mark.parametrize(("written", "status"), [("3/1/2026", 302), ("March 1, 2026", 302), ("1.3.2026", 422)])
def test_the_day_may_be_written_as_people_write_it(unit, office, written, status):
    row = claimed.approved(claimed.failure(unit), "120.00", "NR-1")
    send(office, "NR-1,,2026-02-18,120.00,")
    name = f"line{models.StatementLine.objects.get().pk}"
    told = {f"{name}-claim": f"{row.pk}:{row.version}", f"{name}-day": written}
    answer = office.post(f"/statement-lines/{models.StatementLine.objects.get().pk}/match", told)
    assert answer.status_code == status
    assert ("Enter a day, such as March 8, 2026 or 3/8/2026." in answer.content.decode()) == (status == 422)


def test_a_claim_is_named_by_its_number_and_one_that_is_not_there_is_told(unit, office):
    row = claimed.approved(claimed.failure(unit), "120.00")
    send(office, "NR-9,,2026-02-27,50.00,")
    line = models.StatementLine.objects.get()
    unknown = office.post(f"/statement-lines/{line.pk}/match", {f"line{line.pk}-other": "999"})
    assert unknown.status_code == 422
    assert "This claim is no longer on file." in unknown.content.decode()
    assert office.post(f"/statement-lines/{line.pk}/match", {f"line{line.pk}-other": str(row.pk)}).status_code == 302
    row.refresh_from_db()
    assert str(row.credited) == "50.00"


def test_the_second_of_two_who_decide_is_told(office):
    there = send(office, "NR-9,,2026-02-27,12.00,")["Location"]
    line = models.StatementLine.objects.get()
    aside = {f"aside{line.pk}-why": "Another branch."}
    assert office.post(f"/statement-lines/{line.pk}/aside", aside)["Location"] == there
    office.get(there)
    assert office.post(f"/statement-lines/{line.pk}/aside", aside)["Location"] == there
    assert "Somebody dealt with row 2 meanwhile." in office.get(there).content.decode()
    office.post(f"/statement-lines/{line.pk}/open")
    assert "is left to be decided again" in office.get(there).content.decode()


def test_it_leaves_as_a_file_and_a_text_stays_a_text(office):
    there = send(office, "NR-9,,2026-02-27,12.00,+1 555 0100")["Location"]
    told = b"".join(office.get(f"{there}?as=csv").streaming_content).decode("utf-8-sig")
    assert told.splitlines() == [
        "row,day,reference,number,amount,text,state,claim,why",
        "2,2026-02-27,NR-9,,12.00,'+1 555 0100,left to a person,,",
    ]
    assert office.get("/statements/999?as=csv").status_code == 404


def test_a_technician_sees_none_of_it(office):
    there = send(office, "NR-9,,2026-02-27,12.00,")["Location"]
    technician = company.as_role("technician")
    assert technician.get(there).status_code == 403
    assert technician.post("/statements", {}).status_code == 403
