"""The company's page: who we are on every paper, whose days we count, our logo and our account numbers."""

import datetime as dt
import io

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image
from pypdf import PdfReader

from fleet import clock, models
from fleet.facts import company as facts
from fleet.office.actions import company as actions
from fleet.rules.company import TIME_ZONES
from tests import company

pytestmark = pytest.mark.django_db

FILLED = {
    "name": "Birch & Fell Heating",
    "address": "12 Quay Street\r\nBrackwater, KY 40999",
    "phone": "555-0100",
    "license_number": "KY-HV-771",
    "country": "US",
    "time_zone": "America/Chicago",
}


@pytest.fixture(autouse=True)
def _media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path / "media"


def carried(page) -> dict[str, str]:
    """What the form on the page carries of what it showed."""
    return {field.html_name: str(field.value() or "") for field in page.context["form"].carried}


def saved(**changed: str):
    owner = company.as_role("owner")
    return owner.post("/company", carried(owner.get("/company")) | FILLED | changed, follow=True)


def picture(kind: str = "PNG", size: tuple[int, int] = (300, 120), mode: str = "RGBA") -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, (20, 90, 140, 0) if mode == "RGBA" else (20, 90, 140)).save(out, kind)
    return out.getvalue()


def sent(content: bytes, name: str = "logo.png"):
    return company.as_role("owner").post("/company/logo/set", {"logo": SimpleUploadedFile(name, content)}, follow=True)


def test_what_is_saved_stands_at_the_head_of_a_paper():
    company.on_file()
    unit = company.unit("SB-1002", started_on="2021-03-10")
    company.worked_out()
    assert "Saved" in saved().content.decode()
    sheet = company.as_role("technician").get(f"/sites/{unit.system.site_id}/care/sheet").content
    text = " ".join(PdfReader(io.BytesIO(sheet)).pages[0].extract_text().split())
    assert text.startswith(
        "Birch & Fell Heating 12 Quay Street, Brackwater, KY 40999 Phone 555-0100 · License KY-HV-771"
    )


def test_until_a_name_is_saved_papers_say_what_the_server_was_set_up_with(settings):
    settings.COMPANY = "Server Heating, 1 Rack Row"
    assert str(facts.company()) == "Server Heating, 1 Rack Row"
    assert "Server Heating, 1 Rack Row" in company.as_role("owner").get("/company").content.decode()
    saved()
    assert facts.company().name == "Birch & Fell Heating"


@pytest.mark.parametrize(
    ("changed", "field", "says"),
    [
        ({"name": "  "}, "name", "Enter the name of your company."),
        ({"address": "a\nb\nc\nd\ne"}, "address", "Use at most 4 lines."),
        ({"time_zone": "Atlantis/Capital"}, "time_zone", "Select a valid choice"),
        ({"country": "ZZ"}, "country", "Select a valid choice"),
        ({"phone": "5" * 61}, "phone", "at most 60 characters"),
        ({"phone": "555\n0100"}, "phone", "one line"),
    ],
)
def test_what_cannot_be_is_said_at_its_field_and_nothing_typed_is_lost(changed, field, says):
    saved()
    page = saved(**{"license_number": "New-1"} | changed)
    assert page.status_code == 422
    assert any(says in text for text in page.context["form"].errors[field])
    assert page.context["form"]["license_number"].value() == "New-1"
    assert models.Company.objects.get().license_number == "KY-HV-771"


def test_a_company_without_a_name_is_not_saved_either_before_it_has_one():
    page = saved(name="")
    assert page.status_code == 422
    assert page.context["form"].errors["name"] == ["Enter the name of your company."]
    assert not models.Change.objects.filter(table="company").exists()


def test_what_somebody_else_changed_meanwhile_is_told_not_lost():
    owner = company.as_role("owner")
    opened = carried(owner.get("/company"))
    saved()
    page = owner.post("/company", opened | FILLED | {"name": "Other Name"})
    assert page.status_code == 409
    assert "Wynn Owner changed this meanwhile" in str(page.context["form"].errors["name"])
    assert models.Company.objects.get().name == "Birch & Fell Heating"


def test_sent_again_unchanged_it_changes_nothing():
    saved()
    assert "Nothing was changed." in saved().content.decode()


def test_a_change_is_logged_and_can_be_undone_while_it_stands():
    saved()
    saved(phone="555-0199")
    (change,) = models.Change.objects.filter(table="company", field="phone", after="555-0199")
    assert (change.before, change.by.role) == ("555-0100", "owner")
    owner = company.as_role("owner")
    assert "Undone." in owner.post(f"/company/changes/{change.pk}/undo", follow=True).content.decode()
    assert models.Company.objects.get().phone == "555-0100"
    # What was changed again since is not undone over somebody's head.
    refused = owner.post(f"/company/changes/{change.pk}/undo", follow=True).content.decode()
    assert "changed again since" in refused
    named = models.Change.objects.get(table="company", field="name")
    owner.post(f"/company/changes/{named.pk}/undo")
    assert models.Company.objects.get().name == "Birch & Fell Heating"
    other = models.Change.objects.create(table="house", object_id=1, field="name", before="x", after="y")
    assert "not on file" in owner.post(f"/company/changes/{other.pk}/undo", follow=True).content.decode()


# 05:30 in New York is 04:30 in Chicago and 23:30 of the day before in Honolulu.
@pytest.mark.parametrize(
    ("zone", "moment", "today"),
    [
        ("America/New_York", "2026-03-03T04:59:00Z", "2026-03-02"),
        ("America/New_York", "2026-03-03T05:00:00Z", "2026-03-03"),
        ("America/Chicago", "2026-03-03T05:59:00Z", "2026-03-02"),
        ("America/Chicago", "2026-03-03T06:00:00Z", "2026-03-03"),
        ("Pacific/Honolulu", "2026-03-03T09:59:00Z", "2026-03-02"),
        ("America/St_Johns", "2026-03-03T03:30:00Z", "2026-03-03"),
    ],
)
def test_the_time_zone_decides_which_day_a_page_and_a_command_call_today(zone, moment, today):
    models.Company.objects.create(pk=1, time_zone=zone)
    with time_machine.travel(moment, tick=False):
        company.as_role("owner").get("/company")
        assert clock.today() == dt.date.fromisoformat(today)
        out = io.StringIO()
        call_command("due", json=True, stdout=out)


def test_a_zone_that_this_computer_does_not_know_leaves_the_servers_own():
    models.Company.objects.create(pk=1, time_zone="Atlantis/Capital")
    assert str(facts.zone()) == "America/New_York"
    assert company.as_role("owner").get("/company").status_code == 200


def test_every_zone_to_choose_from_is_one():
    for zone in TIME_ZONES:
        models.Company.objects.update_or_create(pk=1, defaults={"time_zone": zone})
        assert str(facts.zone()) == zone


@pytest.mark.parametrize(
    ("content", "name"),
    [(picture(), "a.png"), (picture("JPEG", mode="RGB"), "a.jpg"), (picture("WEBP"), "a.webp")],
)
def test_a_logo_is_written_anew_small_and_on_white(content, name):
    assert "This is your logo now." in sent(content, name).content.decode()
    shown = company.as_role("owner").get("/company/logo")
    assert shown["Content-Type"] == "image/png"
    with Image.open(io.BytesIO(shown.content)) as image:
        assert (image.format, image.mode) == ("PNG", "RGB")
    assert facts.company().logo == shown.content


def test_a_large_logo_is_made_small():
    sent(picture("JPEG", (3000, 1000), "RGB"), "a.jpg")
    with Image.open(io.BytesIO(facts.company().logo or facts.picture(facts.row().logo))) as image:
        assert max(image.size) == 900


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"GIF89a not a picture", "no photo could be read in it. Choose a JPEG, PNG or WebP picture."),
        (b"", "The file is empty."),
        (picture("PNG", (8000, 8000), "RGB"), "too many pixels"),
        (b"\x89PNG" + b"x" * 5_000_001, "at most 5 MB"),
    ],
)
def test_what_is_no_logo_is_refused_in_words_and_the_former_one_stays(content, says):
    sent(picture())
    before = facts.picture(facts.row().logo)
    page = sent(content)
    assert page.status_code == 422
    assert says in page.content.decode()
    assert facts.picture(facts.row().logo) == before


def test_a_logo_that_is_replaced_or_removed_leaves_no_file_behind(settings, django_capture_on_commit_callbacks):
    owner = company.person("owner")
    with django_capture_on_commit_callbacks(execute=True):
        actions.set_logo(file=io.BytesIO(picture()), name="one.png", by=owner)
        actions.set_logo(file=io.BytesIO(picture("JPEG", mode="RGB")), name="two.jpg", by=owner)
    assert [path.suffix for path in (settings.MEDIA_ROOT / "company").iterdir()] == [".png"]
    with django_capture_on_commit_callbacks(execute=True):
        assert actions.drop_logo(by=owner)
    assert not list((settings.MEDIA_ROOT / "company").iterdir())
    assert not actions.drop_logo(by=owner)
    assert company.as_role("owner").get("/company/logo").status_code == 404
    assert models.Change.objects.filter(table="company", field="logo").count() == 3


def test_each_payer_of_terms_on_file_has_a_line_for_our_account():
    company.on_file()
    owner = company.as_role("owner")
    form = owner.get("/company").context["accounts"]
    (field,) = form.asked
    assert field.label == "Northrill"
    told = {each.html_name: "" for each in form.carried} | {field.html_name: " 40-771 "}
    assert "1 account number was changed." in owner.post("/company/accounts", told, follow=True).content.decode()
    assert facts.account_with("NORTHRILL") == "40-771"
    assert facts.account_with("Oldcliff") == ""
    # Opened before that, somebody else's form does not write over it unseen.
    late = owner.post("/company/accounts", told | {field.html_name: "99"})
    assert late.status_code == 409
    assert facts.account_with("Northrill") == "40-771"
    told = {f"was_{field.html_name}": "40-771", field.html_name: ""}
    owner.post("/company/accounts", told)
    assert not models.PayerAccount.objects.exists()
    logged = models.Change.objects.filter(table="payeraccount").order_by("pk").values_list("before", "after", "why")
    assert list(logged) == [("", "40-771", "Northrill"), ("40-771", "", "Northrill")]


def test_one_payer_and_five_ask_the_same_queries():
    owner = company.as_role("owner")
    company.on_file()
    saved()

    def asked() -> int:
        with CaptureQueriesContext(connection) as caught:
            owner.get("/company")
        return len(caught)

    owner.get("/company")
    one = asked()
    makers = [company.MAKER | {"code": f"m-{number}", "maker": f"Maker {number}"} for number in range(5)]
    company.on_file(*makers)
    for number in range(5):
        models.PayerAccount.objects.create(payer=f"Maker {number}", account=str(number))
        saved(phone=f"555-020{number}")
    assert asked() == one <= 30


def test_the_company_comes_back_with_a_backup(tmp_path, settings):
    saved()
    sent(picture())
    models.PayerAccount.objects.create(payer="Northrill", account="40-771")
    logo, path = facts.company().logo, tmp_path / "ours.backup"
    call_command("backup", path, stdout=io.StringIO(), stderr=io.StringIO())
    models.Company.objects.all().delete()
    models.PayerAccount.objects.all().delete()
    settings.MEDIA_ROOT = tmp_path / "elsewhere"
    call_command("restore", path, stdout=io.StringIO())
    assert (facts.company().name, facts.company().logo) == ("Birch & Fell Heating", logo)
    assert facts.account_with("Northrill") == "40-771"
