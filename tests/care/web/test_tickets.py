"""The customer's ticket: what it says and what it leaves out, how the signature is drawn, and how it is emailed."""

import io
import os
import shutil
import subprocess
import uuid
from dataclasses import replace
from pathlib import Path

import pytest
from django.core import mail
from django.test import override_settings
from PIL import Image, ImageChops
from pypdf import PdfReader

from fleet import models, tasks
from fleet.care.actions import undo_write_up, write_ups
from fleet.care.papers import ticket as paper
from fleet.care.queries import tickets as queries
from fleet.rules.company import Company
from tests import company, stops
from tests.conftest import lacking
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY
# A stroke down the left, and a dot in the right half.
DRAWN = "30,10 30,190;500,100"
MAILING = override_settings(EMAIL_HOST="mail.example")


@pytest.fixture
def units():
    models.Company.objects.update_or_create(
        pk=1,
        defaults={"name": "Birch & Fell Heating", "address": "12 Quay Street\nBrackwater, KY 40999", "phone": "555-0100",
                  "license_number": "KY-77"},
    )  # fmt: skip
    made = stops.house(2)
    models.Customer.objects.update(email="odile@marsh.example")
    return made


@pytest.fixture
def jules():
    return company.person("technician", first_name="Jules", last_name="Ouellet")


@pytest.fixture
def made(units, jules) -> models.WriteUp:
    den, loft, _ = units
    return recorded(
        units, jules, signed_by="Odile Marsh ☂ Ž", signature=DRAWN, notes="Dog bites; gate 4711.",
        units=[
            {"unit": str(den.pk), "done": ["coil", "drain"], "dirt_wheel": "1", "dirt_coil": "0", "notes": "Smells.",
             "readings": [{"reading": "indoor relative humidity", "value": "71"}]},
            {"unit": str(loft.pk), "skipped": [{"task": "coil", "reason": "unsafe", "not_before": "2026-04-15"}]},
        ],
        failures=[{"unit": str(den.pk), "component": "drain pump"}],
        refrigerant=[{"unit": str(den.pk), "move": "added", "refrigerant": "R-410A", "ounces": "8", "who": "Jules"}],
    )  # fmt: skip


def recorded(house, by, **named) -> models.WriteUp:
    message = {"key": str(uuid.uuid4()), "day": "2026-03-02", "technician": "Jules Ouellet", **named}
    return write_ups.record(house[0].system.site_id, message, sent=message, by=by, on=TODAY).write_up


def text_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages).split())


def test_it_says_what_was_done_on_each_unit_and_leaves_our_notes_out(made):
    answer = company.as_role("technician").get(f"/write-ups/{made.pk}/ticket")
    assert answer["Content-Type"] == "application/pdf"
    assert f"ticket-2026-03-02-{made.pk}.pdf" in answer["Content-Disposition"]
    said = text_of(answer.content)
    for wanted in (
        "Birch & Fell Heating", "12 Quay Street", "555-0100", "KY-77", "Visit on March 2, 2026", "Odile Marsh, Home", "7 Tar Lane",
        "Jules Ouellet", "Room 1", "SB-1", "Clean the coil", "next due March 2, 2027", "Clear the drain line",
        "wheel light, coil clean", "indoor relative humidity 71 %", "mold can grow", "Room 2",
        "Clean the coil: unsafe, not before April 15, 2026", "Drain pump, Room 1: not repaired yet", "R-410A: 8 oz added",
        "Signed by Odile Marsh", "Switch a unit off before you open its panel", "If you smell gas",
        "It is no warranty and promises no coverage",
    ):  # fmt: skip
        assert wanted in said, wanted
    for ours in ("Dog bites", "4711", "Smells"):
        assert ours not in said


def test_the_same_ticket_is_the_same_bytes(made):
    first, again = (paper.pdf(queries.ticket(made.pk, on=TODAY), company=Company()) for _ in range(2))
    assert first == again
    assert "Birch" not in text_of(first)


@pytest.mark.parametrize(
    ("signed", "said"),
    [
        ({"unsigned": "nobody there"}, "Not signed: nobody there to sign,"),
        ({"unsigned": "on paper"}, "Signed on paper,"),
        ({}, "Nobody was asked to sign."),
    ],
)
def test_what_nobody_signed_says_so(units, jules, signed, said):
    row = recorded(units, jules, units=[{"unit": str(units[0].pk), "done": ["coil"]}], **signed)
    assert said in text_of(paper.pdf(queries.ticket(row.pk, on=TODAY), company=Company()))


def test_the_signature_is_drawn_as_it_was(made, tmp_path: Path):
    if shutil.which("pdftoppm") is None:
        lacking("pdftoppm is not installed (Debian: apt-get install poppler-utils)")
    found = queries.ticket(made.pk, on=TODAY)
    signed, unsigned = (
        _picture(tmp_path / name, paper.pdf(one, company=Company()))
        for name, one in (("signed", found), ("dotted", _without_the_stroke(found)))
    )
    # Where they differ is the stroke: a line as high as nine tenths of the box, which is 22 mm high, one twentieth from its left.
    different = Image.eval(_difference(signed, unsigned), lambda byte: 255 if byte > 60 else 0).getbbox()
    assert different is not None
    left, top, right, bottom = (place / 150 * 25.4 for place in different)
    assert right - left < 1.5
    assert bottom - top == pytest.approx(0.9 * 22, abs=0.8)
    assert left == pytest.approx(18 + 0.05 * 66, abs=3)
    if folder := os.environ.get("SHOTS"):
        signed.save(f"{folder}/hand-ticket.png")


def _without_the_stroke(found):
    return replace(found, signed=replace(found.signed, strokes=found.signed.strokes[1:]))


def _difference(one: Image.Image, other: Image.Image) -> Image.Image:
    return ImageChops.difference(one, other)


def _picture(folder: Path, content: bytes) -> Image.Image:
    folder.mkdir()
    (folder / "ticket.pdf").write_bytes(content)
    subprocess.run(["pdftoppm", "-r", "150", "-png", "-gray", "ticket.pdf", "page"], cwd=folder, check=True)
    return Image.open(sorted(folder.glob("page*.png"))[0]).convert("L")


def test_what_was_taken_back_has_no_ticket(made, jules):
    undo_write_up.undo(made.pk, why="Wrong house", by=jules, on=TODAY)
    desk = company.as_role("office")
    assert desk.get(f"/write-ups/{made.pk}/ticket").status_code == 404
    assert "ticket" not in words(desk.get(f"/write-ups/{made.pk}")).lower()
    with MAILING:
        desk.post(f"/write-ups/{made.pk}/ticket/email", {"to": "odile@marsh.example"})
    assert not models.Job.objects.exists()


def test_there_is_none_of_what_is_no_write_up():
    assert company.as_role("office").get("/write-ups/99/ticket").status_code == 404
    assert company.as_role("office").post("/write-ups/99/ticket/email", {}).status_code == 404


# ------------------------------------------------------------------------------------------------- by email


@MAILING
def test_the_office_has_it_emailed_once(made):
    models.Contact.objects.create(site=made.site, name="Tam Reyes", role="tenant", email="tam@reyes.example")
    desk = company.as_role("office")
    page = words(desk.get(f"/write-ups/{made.pk}"))
    assert "Odile Marsh, odile@marsh.example" in page
    assert "Tam Reyes (tenant), tam@reyes.example" in page
    for _ in range(2):
        answer = desk.post(f"/write-ups/{made.pk}/ticket/email", {"to": "tam@reyes.example"})
        assert answer["Location"] == f"/write-ups/{made.pk}"
    assert mail.outbox == []
    tasks.drain()
    (sent,) = mail.outbox
    assert (sent.to, sent.subject) == (["tam@reyes.example"], "Our visit on March 2, 2026")
    assert "Birch & Fell Heating, 12 Quay Street" in sent.body
    assert sent.extra_headers["Message-ID"].startswith(f"<ticket-{made.pk}-")
    ((name, content, kind),) = sent.attachments
    assert (name, kind) == (f"ticket-2026-03-02-{made.pk}.pdf", "application/pdf")
    assert "Signed by Odile Marsh" in text_of(content)
    change = models.Change.objects.get(table="writeup", field="ticket")
    assert (change.after, change.by.role) == ("Emailed to tam@reyes.example", "office")
    assert "Emailed to tam@reyes.example, " in words(desk.get(f"/write-ups/{made.pk}"))


@MAILING
@pytest.mark.parametrize("to", ["somebody@else.example", "", "odile@marsh.example\nBcc: x@y.example"])
def test_it_goes_to_nobody_who_is_not_on_file(made, to):
    answer = company.as_role("office").post(f"/write-ups/{made.pk}/ticket/email", {"to": to})
    assert answer.status_code == 422
    assert answer.context["ticket"].errors["to"]
    assert not models.Job.objects.exists()


@MAILING
@pytest.mark.parametrize("gone", ["the address", "the write-up"])
def test_what_changed_before_it_was_sent_is_not_sent(made, jules, gone):
    company.as_role("office").post(f"/write-ups/{made.pk}/ticket/email", {"to": "odile@marsh.example"})
    if gone == "the address":
        models.Customer.objects.update(email="")
    else:
        undo_write_up.undo(made.pk, why="Wrong house", by=jules, on=TODAY)
    tasks.drain()
    assert mail.outbox == []
    assert models.Job.objects.get().state == "failed"
    assert not models.Change.objects.filter(field="ticket").exists()


@MAILING
def test_a_technician_has_the_paper_and_not_the_email(made):
    phone = company.as_role("technician")
    assert "Email ticket" not in words(phone.get(f"/write-ups/{made.pk}"))
    assert phone.post(f"/write-ups/{made.pk}/ticket/email", {"to": "odile@marsh.example"}).status_code == 403
    assert not models.Job.objects.exists()


def test_where_no_mail_is_set_up_it_says_so(made):
    desk = company.as_role("office")
    assert "Email is not set up on this server" in words(desk.get(f"/write-ups/{made.pk}"))
    answer = desk.post(f"/write-ups/{made.pk}/ticket/email", {"to": "odile@marsh.example"})
    assert answer.status_code == 422
    assert not models.Job.objects.exists()


@MAILING
def test_where_no_address_is_on_file_it_says_where_to_add_one(made):
    models.Customer.objects.update(email="")
    page = words(company.as_role("office").get(f"/write-ups/{made.pk}"))
    assert "No email address is on file for this customer." in page
    assert f"/sites/{made.site_id}/contacts" in page
