"""The paper and the tag of a claim as the desk gets them: everything on file of it, and the same each time."""

import io
from decimal import Decimal

import pytest
from PIL import Image
from pypdf import PdfReader

from fleet import models
from fleet.claims.queries import claim_paper as queries
from fleet.registry.actions import documents
from fleet.rules.claims import State
from fleet.rules.company import Company
from tests import claimed, company

pytestmark = pytest.mark.django_db


@pytest.fixture
def claim(tmp_path, settings) -> models.Claim:
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.COMPANY = "Birch & Fell Heating"
    company.on_file(claimed.PAYS)
    unit = company.unit(
        "SB-1002", started_on="2021-03-10", installed_on="2021-03-09", registered_on="2021-03-20",
        registration_number="REG-77", room="Žofie's <den>", customer="Łucja Žák",
    )  # fmt: skip
    models.MaintenanceRecord.objects.create(
        unit=unit, done_on=company.day("2024-05-04"), task="coil", technician="Wynn"
    )
    models.MaintenanceRecord.objects.create(unit=unit, done_on=company.day("2026-02-02"), task="after the failure")
    models.MaintenanceRecord.objects.create(
        unit=unit, done_on=company.day("2025-05-04"), task="drain", skipped=True, skip_reason="customer declined"
    )
    company.worked_out()
    supplier = models.Supplier.objects.create(name="Kessler Parts")
    failure = claimed.failure(
        unit, cause="manufacturing defect", fault_code="E7", leak_at="flare at the head", found_by="Jules",
        repaired_on="2026-02-03", part_taken_on="2026-02-02", part_number="CL-1", part_serial="SN-OLD-4",
        new_part_number="CL-88", new_part_serial="SN-NEW-5", supplier=supplier, purchase_order="PO-61", invoice="INV-9", technician="Wynn", notes="Read <b>open</b> at 77 °F.",
    )  # fmt: skip
    models.Reading.objects.create(
        unit=unit, failure=failure, on=company.day("2026-02-01"), reading="superheat", value=Decimal("21.500"),
        measure="F", mode="cooling", fan="high", minutes_running=15,
    )  # fmt: skip
    models.RefrigerantEntry.objects.create(
        system=unit.system, failure=failure, on=company.day("2026-02-03"), move="added", refrigerant="R-32",
        ounces=Decimal("40.00"), who="Wynn", certificate="608-1", cylinder="C-4",
    )  # fmt: skip
    made = claimed.claim(failure)
    photo = io.BytesIO()
    Image.new("RGB", (640, 480), (90, 120, 90)).save(photo, "JPEG")
    photo.seek(0)
    kept = documents.add(file=photo, name="plate.jpg", whose=unit, caption="The nameplate", by=company.person("office"))
    models.Document.objects.filter(pk=kept.pk).update(claim=made, given_for="photo of the nameplate")
    return made


def text(pk: int, what: str = "paper", role: str = "office") -> str:
    response = company.as_role(role).get(f"/claims/{pk}/{what}")
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    assert response["Content-Disposition"].startswith('attachment; filename="')
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(response.content)).pages)


def test_our_account_with_the_payer_stands_on_both_papers_and_only_there(claim):
    models.PayerAccount.objects.create(payer="Somebody else", account="11-111")
    assert "account" not in text(claim.pk)
    models.PayerAccount.objects.create(payer="Northrill", account="40-771")
    assert "Our account with you 40-771" in text(claim.pk)
    assert "Our account 40-771" in text(claim.pk, "tag", role="technician")
    assert "11-111" not in text(claim.pk)
    # A part that goes back to a supplier goes by the supplier's numbers.
    claim.supplier = models.Supplier.objects.get(name="Kessler Parts")
    claim.save()
    assert "40-771" not in text(claim.pk, "tag", role="technician")


def test_the_paper_says_all_that_is_on_file(claim):
    claimed.step(claim, State.FILED, "2026-02-10", "377.00")
    found = text(claim.pk)
    for said in (
        f"Claim {claim.pk} to Northrill", "Birch & Fell Heating", "Ductless statement", "SB-1002", "Łucja Žák",
        "Žofie's <den>", "March 9, 2021", "March 10, 2021", "March 20, 2021", "REG-77", "sensor", "February 1, 2026",
        "manufacturing defect", "flare at the head", "E7", "Jules", "Read <b>open</b> at 77 °F.", "February 3, 2026",
        "February 2, 2026", "CL-1", "CL-88", "Kessler Parts", "INV-9", "2 h", "2.5 lb (40 oz) of R-32", "cylinder C-4",
        "Wynn (certificate 608-1)", "Superheat", "21.5 F", "cooling, fan high, after 15 min", "Parts $200.00",
        "Service call $72.00", "Hours for the sensor: 1.25 × $88.00 $110.00", "Handling of the part $30.00",
        "Less the claim fee −$35.00", "Amount claimed $377.00", "May 4, 2024", "coil", "Statement 4-B, page 2",
        "The nameplate, photo of the nameplate", "page 1 of 3",
    ):  # fmt: skip
        assert said in found, said
    assert "after the failure" not in found


def test_the_paper_says_whom_to_reach_by_which_numbers_and_what_was_skipped(claim):
    models.Company.objects.create(
        pk=1,
        name="Birch & Fell Heating",
        address="12 Quay Street\nBrackwater, KY 40999",
        phone="555-0177",
        license_number="KY-77",
    )
    models.PayerAccount.objects.create(payer="Northrill", account="40-771")
    models.Claim.objects.update(approved_on=company.day("2026-02-01"), approval_number="APR-3310")
    found = text(claim.pk)
    for said in (
        "Birch & Fell Heating 12 Quay Street, Brackwater, KY 40999 Phone 555-0177 · License KY-77",
        "Our account with you 40-771", "Customer Łucja Žák, 555-0100", "Approval number APR-3310",
        "Old part CL-1, serial SN-OLD-4", "New part CL-88, serial SN-NEW-5", "Our purchase order PO-61",
        "May 4, 2024 coil yes Wynn", "May 4, 2025 drain skipped: customer declined",
    ):  # fmt: skip
        assert said in found, said
    found = text(claim.pk, "tag", "technician")
    for said in (
        "555-0177, license KY-77", "Our account 40-771", "Customer Łucja Žák, 555-0100", "Approval number APR-3310",
        "Old part CL-1, serial SN-OLD-4", "New part CL-88, serial SN-NEW-5", "Our purchase order PO-61",
    ):  # fmt: skip
        assert said in found, said


def test_a_serial_without_a_number_and_a_skip_without_a_reason_are_said_alone(claim):
    models.Failure.objects.update(part_number="", new_part_serial="")
    models.MaintenanceRecord.objects.filter(skipped=True).update(skip_reason="")
    found = text(claim.pk)
    assert "Old part serial SN-OLD-4 New part CL-88 " in found
    assert "drain skipped" in found
    assert "skipped:" not in found


def test_an_approval_number_and_the_serials_are_kept_and_logged(claim):
    office = company.as_role("office")
    office.post(f"/claims/{claim.pk}/change", {"version": claim.version, "approval_number": "APR-1"})
    claim.refresh_from_db()
    assert claim.approval_number == "APR-1"
    assert "APR-1" in office.get(f"/claims/{claim.pk}").content.decode()


def test_another_amount_than_the_terms_come_to_is_shown_beside_it(claim):
    claimed.step(claim, State.FILED, "2026-02-10", "300.00")
    assert "By the terms $377.00 Amount claimed $300.00" in text(claim.pk)


def test_a_claim_on_a_payer_that_promised_nothing_says_why_it_is_asked(claim):
    company.on_file(claimed.PAYS | {"code": "goodwill", "payer": "labor plan", "maker": "*", "title": "Labor by favor"})
    failure = models.Failure.objects.get()
    made = claimed.claim(failure, terms="goodwill", because="Their manager offered it on the phone.")
    found = text(made.pk)
    assert "Claim" in found
    assert "Their manager offered it on the phone." in found


def test_the_same_claim_gives_the_same_paper_on_another_day(claim):
    claimed.step(claim, State.FILED, "2026-02-10", "377.00")
    office = company.as_role("office")
    first = office.get(f"/claims/{claim.pk}/paper").content
    with company.on_day("2026-03-09"):
        assert company.as_role("office").get(f"/claims/{claim.pk}/paper").content == first


def test_a_photo_whose_file_is_gone_costs_only_itself(claim, settings):
    (settings.MEDIA_ROOT / models.Document.objects.get().stored).unlink()
    assert queries.paper(claim.pk, company=Company()).photos == ()
    assert "Photos" not in text(claim.pk)


def test_a_photo_that_was_dropped_is_left_out(claim):
    models.Document.objects.update(dropped_on=company.TODAY)
    assert queries.paper(claim.pk, company=Company()).photos == ()


def test_the_tag_names_the_part_and_its_code_the_claim(claim):
    found = text(claim.pk, "tag", "technician")
    for said in (
        "Old part to return",
        "Sensor",
        "To Northrill",
        "CL-1",
        "Northrill NH-9, serial SB-1002",
        "February 23, 2026",
    ):
        assert said in found, said
    page = queries.tag(claim.pk, company=Company(), address_of=lambda pk: f"https://x.example/claims/{pk}")
    assert page.address == f"https://x.example/claims/{claim.pk}"


def test_a_part_through_a_supplier_goes_back_to_it(claim):
    models.Claim.objects.update(supplier=models.Supplier.objects.get())
    assert "To Kessler Parts" in text(claim.pk, "tag")


def test_there_is_no_paper_of_no_claim():
    for what in ("paper", "tag"):
        assert company.as_role("office").get(f"/claims/7/{what}").status_code == 404
    assert company.as_role("technician").get("/claims/7/paper").status_code == 403


def test_the_claim_leads_to_both(claim):
    page = company.as_role("office").get(f"/claims/{claim.pk}").content.decode()
    assert f'href="/claims/{claim.pk}/paper"' in page
    assert f'href="/claims/{claim.pk}/tag"' in page
