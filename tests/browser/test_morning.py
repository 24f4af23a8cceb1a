"""A morning of calls in a real browser, from the ring until each is put right: noted, booked, written up, gone to again."""

import re
from collections.abc import Mapping

import pytest
import time_machine
from playwright.sync_api import Locator, Page, expect

from fleet import models
from fleet.care.actions import care_sheets
from fleet.derived import recheck
from fleet.rules.dates import in_words
from tests import company, stops
from tests.company import TODAY

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SATURDAY = "2026-02-28"
THURSDAY = "2026-03-05"
THURSDAY_NOON = "2026-03-05T12:00:00-05:00"


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def houses(live) -> dict[str, models.Unit]:
    """Units of six customers, by customer; the outdoor unit of one, and one that we put in ten days ago."""
    company.on_file()
    care_sheets.load_table(stops.SHEET, on=TODAY)
    put_in = {"installed_on": "2025-09-01", "started_on": "2025-09-01"}
    outdoor = {"role": "outdoor", "style": "", "model": "NX-36", "room": "Yard"}
    told = {
        "Odile Marsh": {"room": "Den"},
        "Gil Ashby": {"room": "Loft"},
        "Noor Pell": {"room": "Study", "installed_on": "2026-02-20", "started_on": "2026-02-20"},
        "Ida Fenn": {"room": "Hall"},
        "Bram Keel": outdoor,
        "Cora Byrd": {"room": "Porch"},
        "Tess Oldfield": {"room": "Kitchen"},
    }
    made = {
        who: company.unit(f"NW-{number}0417", customer=who, **(put_in | facts))
        for number, (who, facts) in enumerate(told.items(), 1)
    }
    company.worked_out()
    return made


def press(page: Page, key: str = "Enter") -> None:
    with page.expect_navigation():
        page.keyboard.press(key)


def note(page: Page, trouble: str, said: str, **told: str) -> int:
    """Fill in what is asked of a call, note it, and say which it became."""
    page.get_by_label("What is wrong").select_option(trouble)
    page.get_by_label("In their words").fill(said)
    for label, text in told.items():
        page.get_by_label(label.replace("_", " ")).fill(text)
    page.get_by_role("button", name="Note this call").click()
    expect(page.get_by_text("The call is noted.")).to_be_visible()
    return int(page.url.rsplit("/", 1)[-1])


def tab_to(page: Page, wanted: Locator) -> int:
    """Go on by Tab until something has the focus: how many keys that took."""
    for keys in range(1, 40):
        page.keyboard.press("Tab")
        if wanted.evaluate("(it) => it === document.activeElement"):
            return keys
    raise AssertionError("Tab never came there.")


def by_keys(page: Page) -> int:
    """Note, by keys alone, a call of somebody whom the look-up does not find."""
    page.goto("/on-our-desk")
    page.keyboard.press("/")
    page.keyboard.type("Wilma Trask")
    expect(page.get_by_role("link", name="Note a call with “Wilma Trask”")).to_be_visible()
    page.keyboard.press("ArrowDown")
    press(page)
    expect(page.get_by_label("Who is calling")).to_have_value("Wilma Trask")
    expect(page.get_by_label("Call back at")).to_be_focused()
    page.keyboard.type("555-0188")
    page.keyboard.press("Tab")
    page.keyboard.type("other")
    page.keyboard.press("Tab")
    page.keyboard.type("The remote is dead")
    assert tab_to(page, page.get_by_role("button", name="Note this call")) < 20
    press(page)
    expect(page.get_by_text("The call is noted.")).to_be_visible()
    return int(page.url.rsplit("/", 1)[-1])


def book(page: Page, came: str, until: str, *, day: str) -> None:
    """Book a visit, with an arrival window, on the page that books one."""
    page.get_by_label("Day", exact=True).fill(day)
    page.get_by_label("Arrive from").fill(came)
    page.get_by_label("to", exact=True).fill(until)
    expect(page.get_by_label("Technician", exact=True)).not_to_have_value("")
    page.get_by_role("button", name="Book visit").click()
    expect(page.get_by_role("status").filter(has_text="Booked for")).to_be_visible()


def book_for(page: Page, call: int, came: str, until: str, *, day: str = TODAY.isoformat(), too: str = "") -> None:
    """Book a visit for a call from its page; nothing but this call is checked by itself. `too` is a call to check besides."""
    page.goto(f"/calls/{call}")
    page.get_by_role("link", name="Book a visit").click()
    expect(page.locator("#visit input:checked")).to_have_count(1)
    expect(page.locator("#visit input:checked")).to_have_value(str(call))
    if too:
        page.get_by_label(too).check()
    book(page, came, until, day=day)


def book_where_found(page: Page, call: int, who: str, came: str, until: str) -> None:
    """Book a visit for a call that names no site: the office finds the site, and the call stands there."""
    page.goto(f"/calls/{call}")
    expect(page.get_by_text("No site is noted yet.")).to_be_visible()
    with page.expect_navigation():
        page.get_by_role("link", name="Find the site of").click()
    if page.locator("#lookup").input_value() != who:
        page.locator("#lookup").fill(who)
    page.locator(".finds").get_by_role("link", name=who).first.click()
    page.wait_for_url(re.compile(r"/(customers|sites)/\d+$"))
    if "/customers/" in page.url:
        page.locator("main").get_by_role("link", name="Home").first.click()
    page.locator("main").get_by_role("link", name="Book a visit").click()
    page.locator(f"#visit a[href='?call={call}']").click()
    expect(page.locator("#visit input:checked")).to_have_count(1)
    expect(page.locator("#visit input:checked")).to_have_value(str(call))
    book(page, came, until, day=TODAY.isoformat())


def write_up(page: Page, who: str, arrives: str, said: Mapping[str, Mapping[str, str]]) -> None:
    """Write up a stop from Today's stops; `said` of each call, by what is wrong: what happened, and the part it needs."""
    page.goto("/todays-stops")
    stop = page.get_by_role("article").filter(has_text=who)
    expect(stop).to_contain_text(f"We arrive {arrives}.")
    expect(stop.locator(".noted").filter(has_text="Call:")).to_have_count(len(said))
    stop.get_by_role("link", name="Write up this stop").click()
    for trouble, told in said.items():
        call = page.get_by_role("group", name=re.compile(f"^Call: (.+: )?{trouble}"))
        for label, text in told.items():
            field = call.get_by_label(label, exact=True)
            if label == "What happened":
                field.select_option(text)
            else:
                field.fill(text)
    page.get_by_role("button", name="Record the write-up").click()
    expect(page.locator("h1")).to_contain_text("Write-up of")


def desk_says(page: Page) -> tuple[str, list[str]]:
    """What On our desk says of calls: its sentence, and each call in its order."""
    page.goto("/on-our-desk")
    calls = page.get_by_role("region", name="Calls")
    return calls.locator("p").first.inner_text(), calls.locator("li").all_inner_texts()


def test_a_morning_of_eight_calls_from_the_ring_until_each_is_put_right(
    live, desk: Page, phone: Page, houses, log_in, clean
):
    log_in(desk, "office")
    log_in(phone, "technician")
    home = houses["Odile Marsh"].system.site_id

    # The phone rings: noted from a site, the look-up, units, an answer, and nothing at all.
    desk.goto(f"/sites/{home}")
    with desk.expect_navigation():
        desk.get_by_role("link", name="Note a call", exact=True).click()
    clean(desk)
    noise = note(desk, "noise", "It hums at night")
    other = by_keys(desk)
    desk.goto(f"/units/{houses['Noor Pell'].pk}")
    desk.get_by_role("link", name="Note a call", exact=True).click()
    error = note(desk, "error shown", "It blinks twice")
    desk.goto("/look-up")
    desk.locator("#lookup").fill("fenn")
    desk.locator(".finds").get_by_role("link", name="Hall").first.click()
    desk.get_by_role("link", name="Note a call", exact=True).click()
    tepid = note(desk, "no cooling", "Only warm air")
    desk.goto(f"/units/{houses['Bram Keel'].pk}")
    desk.get_by_label("What failed").select_option("control board")
    expect(desk.locator("#answer h3")).to_have_text("If the control board failed today")
    read_out = " ".join(desk.locator("#answer .pays li").all_inner_texts())
    desk.get_by_role("link", name="Note a call with this answer").click()
    cold = note(desk, "no heat", "Stone cold since breakfast")
    expect(desk.locator(".facts")).to_contain_text(read_out)
    desk.goto(f"/sites/{home}")
    desk.get_by_role("link", name="Note a call", exact=True).click()
    desk.get_by_label("Which unit").select_option(str(houses["Odile Marsh"].pk))
    water = note(desk, "water", "It drips on the piano", Called_on=SATURDAY)
    expect(desk.get_by_role("region", name="What may be causing it, and who would pay today")).to_contain_text(
        "Drain line"
    )
    desk.goto("/on-our-desk")
    desk.get_by_role("link", name="Note a call", exact=True).click()
    expect(desk.get_by_label("Who is calling")).to_be_focused()
    porch = note(desk, "no cooling", "The porch is hot", Who_is_calling="Cora Byrd")
    desk.goto(f"/units/{houses['Tess Oldfield'].pk}")
    desk.get_by_role("link", name="Note a call", exact=True).click()
    expect(desk.get_by_text("leave the building now")).to_be_visible()
    smell = note(desk, "smell or alarm", "It smells of burning")
    expect(desk.get_by_text("Read out at once:")).to_be_visible()
    clean(desk)

    # The most urgent first; within a kind, the oldest.
    sentence, rows = desk_says(desk)
    assert sentence == "8 calls are not finished; 3 need something from us now."
    assert [row.split(" open")[0] for row in rows] == [
        "Smell or alarm: Tess Oldfield, Home",
        "Water: Odile Marsh, Home",
        "No heat: Bram Keel, Home",
        "No cooling: Ida Fenn, Home",
        "No cooling: Cora Byrd",
        "Noise: Odile Marsh, Home",
        "Other: Wilma Trask",
        "Error shown: Noor Pell, Home",
    ]
    clean(desk)

    # Booked with arrival windows; one visit serves two calls of a house, two calls get their site with the visit.
    book_for(desk, smell, "12:30", "13:00")
    book_for(desk, water, "13:00", "14:00", too="Noise: It hums at night")
    book_for(desk, cold, "14:00", "15:00")
    book_for(desk, tepid, "15:00", "16:00")
    book_for(desk, error, "16:00", "17:00")
    book_where_found(desk, porch, "Cora Byrd", "17:00", "18:00")
    book_where_found(desk, other, "Gil Ashby", "18:00", "19:00")
    assert desk_says(desk)[0] == "8 calls are not finished."
    assert set(models.Call.objects.values_list("state", flat=True)) == {"booked"}
    desk.goto(f"/calls/{other}")
    expect(desk.locator(".facts")).to_contain_text("Gil Ashby")

    # The technician writes up each stop, and says of each call what became of it.
    right = {"What happened": "put right"}
    write_up(phone, "Tess Oldfield", "between 12:30 PM and 1:00 PM", {"smell or alarm": right})
    wheel = {
        "What happened": "needs a part", "Part it needs": "Blower wheel", "Ordered from": "Quarry Supply",
        "Ordered on": TODAY.isoformat(), "Expected on": "2026-03-12",
    }  # fmt: skip
    write_up(phone, "Odile Marsh", "between 1:00 PM and 2:00 PM", {"water": right, "noise": wheel})
    board = wheel | {"Part it needs": "Control board", "Expected on": "2026-03-04"}
    write_up(phone, "Bram Keel", "between 2:00 PM and 3:00 PM", {"no heat": board})
    again = {"What happened": "needs another trip", "Note": "Bring the long ladder"}
    write_up(phone, "Ida Fenn", "between 3:00 PM and 4:00 PM", {"no cooling": again})
    write_up(phone, "Noor Pell", "between 4:00 PM and 5:00 PM", {"error shown": right})
    write_up(phone, "Cora Byrd", "between 5:00 PM and 6:00 PM", {"no cooling": right})
    write_up(phone, "Gil Ashby", "between 6:00 PM and 7:00 PM", {"other": right})

    # One came back to our own install.
    desk.goto(f"/calls/{error}")
    expect(desk.locator(".lead")).to_contain_text("This may be a call-back: install on February 20, 2026.")
    clean(desk)
    desk.get_by_role("button", name="Yes, it is a call-back").click()
    expect(desk.locator(".lead")).to_contain_text("This is a call-back: install on February 20, 2026.")

    sentence, rows = desk_says(desk)
    assert sentence == "3 calls are not finished."
    assert [row.partition(":")[0] for row in rows] == ["No heat", "No cooling", "Noise"]

    with time_machine.travel(THURSDAY_NOON, tick=True):
        # A part is late, and the second trip is not booked: both are up to us.
        sentence, rows = desk_says(desk)
        assert sentence == "3 calls are not finished; 2 need something from us now."
        assert "The part was expected on March 4, 2026 and has not arrived." in rows[0]
        assert "Nobody has booked a visit. One should have been booked by March 4, 2026." in rows[1]
        desk.goto(f"/calls/{cold}")
        expect(desk.get_by_label("Ordered from").first).to_have_value("Quarry Supply")
        desk.get_by_label("Arrived on").first.fill(THURSDAY)
        desk.get_by_role("button", name="Save part").click()
        expect(desk.locator(".lead")).to_contain_text("The part arrived on March 5, 2026 and no visit is booked.")
        clean(desk)
        book_for(desk, cold, "12:30", "14:00", day=THURSDAY)
        book_for(desk, tepid, "14:00", "15:00", day=THURSDAY)
        write_up(phone, "Bram Keel", "between 12:30 PM and 2:00 PM", {"no heat": right})
        write_up(phone, "Ida Fenn", "between 2:00 PM and 3:00 PM", {"no cooling": right})

        # At the end, only the one that waits for its part.
        sentence, rows = desk_says(desk)
        assert sentence == "1 call is not finished."
        assert [row.strip() for row in rows] == ["Noise: Odile Marsh, Home waiting for a part."]
        waiting = models.Call.objects.exclude(state="put right").get()
        assert waiting.pk == noise
        desk.goto(f"/calls/{tepid}")
        trips = desk.get_by_role("region", name="Visits").get_by_role("listitem")
        expect(trips).to_have_count(2)
        expect(trips.first).to_contain_text(in_words(TODAY))
        expect(desk.get_by_role("region", name="Steps")).to_contain_text("Bring the long ladder")
        clean(desk)
        assert list(recheck.differences(on=company.day(THURSDAY))) == []
