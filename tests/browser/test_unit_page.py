"""The unit page in a real browser: the answer is the command's, the keyboard is enough, nobody is shut out."""

import datetime as dt
import re

import pytest
import time_machine
from playwright.sync_api import Page, expect

from fleet import models
from fleet.coverage.queries import answers
from tests import company
from tests.browser.waiting import open_all, unfold_page
from tests.company import day

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TODAY = company.TODAY
NEXT_DAY = dt.date(2026, 3, 11)
PLAN = {
    "code": "plan-5",
    "payer": "labor plan",
    "maker": "*",
    "title": "Labor for life",
    "models": ["*"],
    "installed_from": day("2000-01-01"),
    "checked_on": day("2025-06-01"),
    "source": {"title": "Plan booklet", "page": "3"},
    "starts": [{"from": "attached_on"}],
    "coverage": [
        {
            "pays_for": ["labor"],
            "components": ["*"],
            "waits_days": 30,
            "tiers": [{"lifetime": True, "when": ["yearly maintenance"]}],
        }
    ],
    "claims": {"file_within_days": 30},
}


@pytest.fixture(autouse=True)
def noon():
    """The server's threads share this clock."""
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def unit(live) -> models.Unit:
    """An outdoor unit with every state on its line: certain, possible, waiting, nothing; failures, maintenance, a sale."""
    company.on_file(company.MAKER, company.OURS, PLAN)
    found = company.unit(
        "SB-1002",
        role="outdoor",
        style="",
        model="NO-30",
        room="Yard",
        started_on="2021-03-10",
        installed_on="2021-03-09",
        registered_on="2021-04-01",
        registration_number="N-7",
    )
    company.unit("SB-1003", room="Den", started_on="2021-03-10", installed_on="2021-03-09")
    models.Attachment.objects.create(
        unit=found, terms=models.Terms.objects.get(code="plan-5"), attached_on=day("2021-03-10")
    )
    models.Failure.objects.create(
        unit=found, component="capacitor", failed_on=day("2023-07-01"), repaired_on=day("2023-07-02")
    )
    models.MaintenanceRecord.objects.create(
        unit=found, done_on=day("2021-09-01"), task="yearly check", technician="Ilse Quarry"
    )
    models.Sale.objects.create(site=found.system.site, sold_on=day("2024-01-05"))
    company.worked_out()
    return found


def shown(page: Page) -> list[dict[str, object]]:
    """What stands on the page of each answer, read from its elements."""
    return page.locator(".said").evaluate_all(
        """said => said.flatMap(one => one.dataset.kinds.split(" ").map(kind => ({
          terms: one.dataset.terms,
          pays_for: kind,
          result: one.dataset.result,
          first_day: one.dataset.first || null,
          last_day: one.dataset.last || null,
          possible_last_day: one.dataset.possible || null,
          file_by: one.dataset.fileBy || null,
          part_back_by: one.dataset.backBy || null,
          reasons: [...one.querySelectorAll(".reasons li")].map(li => li.textContent),
          needs: [...one.querySelectorAll(".needed li")].map(li => li.textContent),
        })))"""
    )


def told(**asked) -> list[dict[str, object]]:
    """What the command answers, in the same shape."""
    found = answers.ask(serial="SB-1002", asked=TODAY, **asked)
    return [
        {name: answer[name] for name in ("terms", "pays_for", "result", "first_day", "last_day", "possible_last_day")}
        | {name: answer[name] for name in ("file_by", "part_back_by")}
        | {"reasons": [reason["text"] for reason in answer["reasons"]]}
        | {"needs": [need["text"] for need in answer["needs"]]}
        for answer in found["answers"]
    ]


def test_the_answer_on_the_page_is_the_commands(desk, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}")
    expect(desk.locator("#answer h3")).to_have_text("If the compressor failed today")
    assert shown(desk) == told(component="compressor", on=TODAY)

    desk.get_by_label("What failed").select_option("capacitor")
    expect(desk.locator("#answer h3")).to_have_text("If the capacitor failed today")
    assert shown(desk) == told(component="capacitor", on=TODAY)

    desk.get_by_label("Cause").select_option("wear")
    expect(desk.locator("#answer h3")).to_have_text("If the capacitor failed today (wear)")
    desk.get_by_label("Day it failed").fill("2023-07-01")
    expect(desk.locator("#answer h3")).to_have_text("If the capacitor failed on July 1, 2023 (wear)")
    assert shown(desk) == told(component="capacitor", cause="wear", on=day("2023-07-01"))

    pays = desk.locator(".pays li").evaluate_all(
        "all => Object.fromEntries(all.map(o => [o.dataset.kind, o.dataset.pays]))"
    )
    command = answers.ask(serial="SB-1002", component="capacitor", cause="wear", on=day("2023-07-01"), asked=TODAY)
    assert pays == command["pays"]


def test_what_was_asked_is_an_address_that_can_be_sent_on(desk, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}")
    desk.get_by_label("What failed").select_option("sensor")
    expect(desk.locator("#answer h3")).to_have_text("If the sensor failed today")
    expect(desk).to_have_url(re.compile("component=sensor"))
    desk.reload()
    expect(desk.locator("h1")).to_have_text("Northrill NO-30")
    expect(desk.locator("#answer h3")).to_have_text("If the sensor failed today")
    desk.get_by_label("What failed").select_option("wiring")
    expect(desk.locator("#answer h3")).to_have_text("If the wiring failed today")
    desk.go_back()
    expect(desk.locator("#answer h3")).to_have_text("If the sensor failed today")
    expect(desk.get_by_label("What failed")).to_have_value("sensor")


def test_without_scripts_the_button_asks(chromium, live, unit, log_in):
    with chromium.new_context(base_url=live.url, java_script_enabled=False) as context:
        page = context.new_page()
        log_in(page, "office")
        page.goto(f"/units/{unit.pk}")
        page.get_by_label("What failed").select_option("capacitor")
        page.get_by_label("Day it failed").fill("2023-07-01")
        page.get_by_role("button", name="Ask who pays").click()
        expect(page.locator("#answer h3")).to_have_text("If the capacitor failed on July 1, 2023")
        expect(page.locator("h1")).to_have_text("Northrill NO-30")


def test_the_keyboard_alone_asks_and_is_told_what_is_no_day(desk, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}")
    desk.get_by_label("What failed").focus()
    desk.keyboard.type("drain pump")
    expect(desk.locator("#answer h3")).to_have_text("If the drain pump failed today")
    # The focus stays in the form, so the next key goes where it was meant to go.
    expect(desk.get_by_label("What failed")).to_be_focused()
    desk.keyboard.press("Tab")
    expect(desk.get_by_label("Cause")).to_be_focused()
    status = desk.locator("#answered")
    expect(status).to_contain_text("If the drain pump failed today")
    # A day that is none says why.
    desk.get_by_label("Day it failed").fill("2300-01-01")
    expect(desk.locator("#answer .fault")).to_have_text("Day it failed: Enter a day between 1950 and 2199.")
    desk.get_by_label("Day it failed").fill(NEXT_DAY.isoformat())
    expect(desk.locator("#answer h3")).to_have_text("If the drain pump failed on March 11, 2026")


def test_a_table_says_what_the_line_draws_and_both_fit_the_screen(desk: Page, unit, log_in):
    log_in(desk, "office")
    desk.goto(f"/units/{unit.pk}")
    desk.get_by_text("Each kind of cost and component, drawn and as a table").click()
    rows = desk.locator(".as_table table").first.locator("tbody tr").all_inner_texts()
    assert [row.split("\t")[:6] for row in rows] == [
        ["Manufacturer", "parts", "compressor", "covered", "Mar 10, 2021", "Mar 10, 2028"],
        ["Manufacturer", "parts", "everything else", "covered", "Mar 10, 2021", "Mar 10, 2026"],
        ["Manufacturer", "parts", "everything else", "possible", "Mar 11, 2026", "Mar 10, 2031"],
        ["Labor plan", "labor", "everything", "waiting period", "Mar 10, 2021", "Apr 8, 2021"],
        ["Labor plan", "labor", "everything", "covered", "Apr 9, 2021", "Mar 9, 2023"],
        ["Labor plan", "labor", "everything", "possible", "Mar 10, 2023", "none"],
        ["Our warranty", "labor", "everything", "covered", "Mar 10, 2021", "Mar 10, 2023"],
    ]
    fits(desk, "wide")
    desk.set_viewport_size({"width": 360, "height": 740})
    unfold_page(desk)
    fits(desk, "narrow")


def fits(page: Page, layout: str) -> None:
    """The line fits the screen, folded and as it stands beside its table."""
    width = page.viewport_size["width"]
    drawing = page.locator(f'.lifeline > .drawing[data-layout="{layout}"]')
    expect(drawing).to_be_visible()
    expect(page.locator(".lifeline > .drawing:visible")).to_have_count(1)
    # One band for each payer: the manufacturer's certain and possible days; the plan's waiting, certain and possible; ours.
    assert drawing.locator(".track").count() == 3
    assert drawing.locator(".bar").count() == 6
    drawing = page.locator(f'.as_table .drawing[data-layout="{layout}"]')
    boxes = [bar.bounding_box() for bar in drawing.locator(".bar").all()]
    assert len(boxes) == 7
    assert all(box["width"] > 1 and box["height"] > 10 for box in boxes)
    assert max(box["x"] + box["width"] for box in boxes) <= width
    # How far each line of letters really runs.
    rights = "(d, which) => [...d.querySelectorAll(which)].map(t => t.getBoundingClientRect().right)"
    assert max(drawing.evaluate(rights, "text")) <= width
    if layout == "wide":
        assert max(drawing.evaluate(rights, 'text[x="0"]')) < min(box["x"] for box in boxes)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width


def test_nobody_is_shut_out(desk: Page, unit, log_in, seen):
    log_in(desk, "office")
    site = unit.system.site
    head = models.Unit.objects.get(serial="SB-1003")
    for address in (
        f"/units/{unit.pk}",
        f"/units/{head.pk}",
        f"/units/{unit.pk}/answer?on=1066-10-14",
        f"/customers/{site.customer_id}",
    ):
        desk.goto(address)
        open_all(desk)
        seen(desk, thumbs=".question button, .question input, .question select, .as_table summary")


# -- from the ring to the answer: what a person presses until the answer can be read out, besides what is typed


@pytest.fixture
def small(desk, log_in):
    """The office's screen, 1440 by 900, just logged in."""
    log_in(desk, "office")
    desk.goto("/")
    return desk


class Presses:
    """Counts the keys and clicks that a person needs, and not what is typed of a name or serial."""

    def __init__(self, page: Page) -> None:
        self.page, self.keys, self.clicks = page, 0, 0

    def key(self, *names: str) -> None:
        for name in names:
            self.page.keyboard.press(name)
        self.keys += len(names)

    def click(self, what) -> None:
        what.click()
        self.clicks += 1


def read_out(page: Page, said: str) -> None:
    """The answer can be read where it stands: its heading and every line of who pays are in the window, which nobody scrolled."""
    heading = page.locator("#answer h3")
    expect(heading).to_have_text(said)
    for line in (page.locator(".spoken .lead"), heading, *page.locator("#answer .pays li").all()):
        box = line.bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= 900


def test_by_serial_phone_or_name_the_answer_is_a_key_a_click_and_a_pick_away(small, unit):
    for text, clicks in (("SB-1002", 0), ("odile", 1), ("555-0100", 1), ("marsh tar", 1)):
        small.goto("/")
        presses = Presses(small)
        small.locator("#lookup").click()
        small.keyboard.type(text)
        presses.key("Enter")
        if clicks:
            presses.click(small.locator("main").get_by_role("link", name="Yard").first)
        read_out(small, "If the compressor failed today")
        small.get_by_label("What failed").select_option("capacitor")
        read_out(small, "If the capacitor failed today")
        assert (presses.keys, presses.clicks) == (1, clicks), text


def test_by_keyboard_alone_under_twelve_keys(small, unit):
    presses = Presses(small)
    presses.key("/")
    small.keyboard.type("SB-1002")
    presses.key("Enter")
    expect(small.locator("h1")).to_have_text("Northrill NO-30")
    presses.key("Tab", "Enter")  # skip to the page
    expect(small).to_have_url(re.compile("#main$"))
    while not small.evaluate("() => document.activeElement.name === 'component'"):
        presses.key("Tab")
        assert presses.keys < 12
    presses.key("c", "a", "p")
    read_out(small, "If the capacitor failed today")
    assert presses.keys < 12
