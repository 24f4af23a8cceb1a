"""Background work in a real browser: it moves by itself, the keyboard keeps its place, nobody is shut out."""

import datetime as dt

import pytest
from playwright.sync_api import Page, expect

from fleet import clock
from fleet.later import later
from fleet.office.actions import jobs
from tests import company

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def claimed(live) -> jobs.Claimed:
    """One piece of work that failed, one that runs, one that waits after a try, one done."""
    now = clock.now()
    by = company.person("office", first_name="Wynn", last_name="Office")
    later("catch_up", key="done")
    with jobs.finishing(jobs.claim(at=now), at=now):
        pass
    later("read_file", key="failed", about="installs of the last ten years.csv", by=by)
    jobs.fail(jobs.claim(at=now), why="The file has no header row.", at=now, again=False)
    later("catch_up", key="again")
    jobs.fail(jobs.claim(at=now), why="OSError: the disk is full", at=now, again=True)
    later("read_file", key="running", about="history.csv", by=by)
    claimed = jobs.claim(at=now)
    jobs.progress(claimed, done=300, parts=1000, at=now)
    return claimed


def test_what_runs_moves_by_itself_and_the_keyboard_keeps_its_place(desk: Page, log_in, seen, claimed):
    log_in(desk, "owner")
    desk.goto("/background-work")
    expect(desk.get_by_role("progressbar")).to_have_attribute("value", "300")
    seen(desk)
    stop = desk.get_by_role("button", name="Stop: Read file history.csv")
    stop.focus()
    jobs.progress(claimed, done=700, parts=1000, at=clock.now())
    expect(desk.get_by_role("progressbar")).to_have_attribute("value", "700")
    expect(stop).to_be_focused()
    desk.keyboard.press("Enter")
    expect(desk.get_by_text("Stopping soon.", exact=True)).to_be_visible()
    with pytest.raises(jobs.StopAsked):
        jobs.progress(claimed, done=800, parts=1000, at=clock.now())
    jobs.stopped(claimed, at=clock.now())
    expect(desk.get_by_role("progressbar")).to_have_count(0)
    desk.goto(f"/background-work/{claimed.pk}")
    seen(desk)


def test_what_failed_is_tried_again_with_one_press(desk: Page, log_in, claimed):
    log_in(desk, "owner")
    desk.goto("/background-work")
    expect(desk.get_by_text("1 task failed and needs a look.")).to_be_visible()
    desk.get_by_role("button", name="Try again: Read file").press("Enter")
    expect(desk.get_by_text("It waits to be tried again.")).to_be_visible()
    retried = jobs.claim(at=clock.now() + dt.timedelta(seconds=5))
    assert (retried.name, retried.tries) == ("read_file", 1)
