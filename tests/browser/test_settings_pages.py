"""The owner's settings in a real browser: nobody is shut out, also where something is wrong, and no page is too wide."""

import io

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from fleet import clock, models
from fleet.care.actions import care_draft, care_sheets
from fleet.office.actions import company as actions
from tests import company
from tests.paths import ROOT

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def settled(live, settings, tmp_path) -> models.Unit:
    """A company with a logo, an account with a payer, a care sheet, and another one that is being written."""
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "media"
    owner = company.person("owner", first_name="Marit")
    company.on_file()
    out = io.BytesIO()
    Image.new("RGB", (300, 120), (20, 90, 140)).save(out, "PNG")
    actions.set_logo(file=io.BytesIO(out.getvalue()), name="logo.png", by=owner)
    actions.accounts(was={}, told={"Northrill": "40-771"}, by=owner)
    unit = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09")
    care_sheets.load_file(ROOT / "fixtures" / "care" / "house.toml", by=owner, on=clock.today())
    care_draft.from_former(models.CareSheet.objects.get().pk, by=owner)
    table = care_draft.read(models.CareDraft.objects.get())
    tasks = [task | {"every_months": 6} if task["code"] == "coil cleaning" else task for task in table["task"]]
    care_draft.put_task(number=7, task=tasks[7], version=0, by=owner)
    return unit


def test_nobody_is_shut_out(desk: Page, settled, log_in, seen):
    log_in(desk, "owner")
    for address in (
        "/company", "/backup", "/first-steps", "/care-sheet", "/care-sheet/draft", "/care-sheet/draft/task",
        f"/care-sheet/look-over?find=odile&site={settled.system.site_id}", "/settings",
    ):  # fmt: skip
        desk.goto(address)
        seen(desk)


def test_what_is_wrong_is_told_to_everybody_and_what_was_typed_stays(desk: Page, settled, log_in, seen, tmp_path):
    page = desk
    log_in(page, "owner")

    def press(name: str) -> None:
        page.get_by_role("button", name=name, exact=True).focus()
        with page.expect_navigation():
            page.keyboard.press("Enter")

    page.goto("/company")
    page.get_by_label("Phone", exact=True).fill("555-0100")
    press("Save company")
    expect(page.get_by_text("Enter the name of your company.")).to_be_visible()
    expect(page.get_by_label("Phone", exact=True)).to_have_value("555-0100")
    seen(page)

    page.goto("/backup")
    page.get_by_label("Your password").fill("not this one")
    press("Download a backup")
    expect(page.get_by_text("That is not your password.")).to_be_visible()
    seen(page)

    page.goto("/care-sheet/draft/task")
    page.get_by_label("What is done").fill("Look at it")
    page.get_by_label("wall", exact=True).check()
    press("Save task")
    expect(page.get_by_text("Say where this comes from")).to_be_visible()
    expect(page.get_by_label("What is done")).to_have_value("Look at it")
    expect(page.get_by_label("wall", exact=True)).to_be_checked()
    seen(page)

    page.goto("/care-sheet/draft")
    press("Throw this away")
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('code = "x"\nwhat = 1\n')
    page.get_by_label("Care sheet (.toml)").set_input_files(wrong)
    press("Upload a care sheet")
    expect(page.get_by_text("wrong.toml: what: is not known here")).to_be_visible()
    seen(page)


def test_a_backup_is_downloaded(settled, desk: Page, log_in):
    log_in(desk, "owner")
    desk.goto("/backup")
    desk.get_by_label("Your password").fill("quiet-ledger-9")
    with desk.expect_download() as download:
        desk.keyboard.press("Enter")
    assert download.value.suggested_filename == f"tenth-year-{clock.today().isoformat()}.backup"
