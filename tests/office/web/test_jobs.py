"""Background work on its page: what failed and why, what runs, what waits; stopping it and trying it again."""

import datetime as dt

import pytest
from django.urls import reverse

from fleet.later import later
from fleet.models import Job, User
from fleet.office.actions import jobs
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db

# Noon of March 2 in New York.
NOON = dt.datetime(2026, 3, 2, 17, 0, tzinfo=dt.UTC)


def failed(key: str = "read 1", *, why: str = "The file has no header row.") -> Job:
    job = later("read_file", key=key, about="installs.csv", by=User.objects.first())
    jobs.fail(jobs.claim(at=NOON), why=why, at=NOON, again=False)
    job.refresh_from_db()
    return job


def running(key: str = "run 1", *, done: int = 300, parts: int | None = 1000) -> Job:
    job = later("catch_up", key=key)
    claimed = jobs.claim(at=NOON)
    jobs.progress(claimed, done=done, parts=parts, at=NOON)
    return job


def done(key: str) -> None:
    later("catch_up", key=key)
    with jobs.finishing(jobs.claim(at=NOON), at=NOON):
        pass


def test_with_nothing_to_do_the_page_says_what_will_stand_there():
    page = words(company.as_role("owner").get("/background-work"))
    assert "Nothing is waiting. Long work, such as reading a big file" in page
    assert "None finished yet." in page
    assert "every 3s" not in page


def test_what_failed_says_why_and_can_be_tried_again():
    office = company.as_role("owner")
    job = failed()
    page = words(office.get("/background-work"))
    assert "1 task failed and needs a look." in page
    assert "Read file" in page
    assert "installs.csv" in page
    assert "The file has no header row." in page
    assert "by Wynn Owner on" in page
    assert "Failed for good on March 2, 2026, 12:00 PM after 1 try." in page
    answer = office.post(reverse("job_again", args=[job.pk]), follow=True)
    assert answer.redirect_chain == [("/background-work", 302)]
    assert "It waits to be tried again." in words(answer)
    job.refresh_from_db()
    assert (job.state, job.tries) == ("waiting", 0)
    assert "It has neither failed nor been stopped." in words(
        office.post(reverse("job_again", args=[job.pk]), follow=True)
    )


def test_what_failed_can_be_left_and_found_again():
    office = company.as_role("owner")
    job = failed()
    office.post(reverse("job_stop", args=[job.pk]))
    page = words(office.get("/background-work"))
    assert "failed and" not in page
    assert f'href="/background-work/{job.pk}"' in page
    page = words(office.get(f"/background-work/{job.pk}"))
    assert "Stopped on March 2, 2026" in page
    assert "Wynn Owner: dismissed the failure" in page
    assert "The file has no header row." in page
    assert "Try again" in page


def test_what_runs_shows_how_far_it_is_and_can_be_asked_to_stop():
    office = company.as_role("owner")
    job = running()
    page = words(office.get("/background-work"))
    assert "1 is running, 0 are waiting." in page
    assert '<progress value="300" max="1000"' in page
    assert "300 of 1,000" in page
    assert "every 3s" in page
    told = words(office.post(reverse("job_stop", args=[job.pk]), follow=True))
    assert "Stopping soon" in told
    assert "Stopping soon." in told
    assert "It had already finished." in words(office.post(reverse("job_stop", args=[job.pk]), follow=True))
    assert Job.objects.get().stop_asked


def test_what_waits_for_another_try_says_what_went_wrong():
    office = company.as_role("owner")
    later("catch_up", key="1")
    jobs.fail(jobs.claim(at=NOON), why="OSError: the disk is full", at=NOON, again=True)
    page = words(office.get("/background-work"))
    assert "Bring coverage up to the day" in page
    assert "Try 1 failed: OSError: the disk is full" in page
    assert "Next try after March 2, 2026, 12:00 PM." in page
    assert "Stopped." in words(office.post(reverse("job_stop", args=[Job.objects.get().pk]), follow=True))
    assert Job.objects.get().state == "stopped"


def test_the_part_that_moves_is_asked_for_alone():
    office = company.as_role("owner")
    running()
    part = office.get("/background-work/open", HTTP_HX_REQUEST="true")
    assert words(part).startswith('<div id="open" hx-get="/background-work/open"')
    assert "<html" not in words(part)


def test_a_failure_is_shown_as_text():
    office = company.as_role("owner")
    failed(why="<b>no</b>")
    assert "&lt;b&gt;no&lt;/b&gt;" in words(office.get("/background-work"))


def test_what_has_ended_is_a_list_like_any_other():
    office = company.as_role("owner")
    for number in range(60):
        done(f"day {number}")
    failed()
    page = office.get("/background-work")
    assert "1 to 50 of 61" in words(page)
    assert page.context["listing"].rows[0].cells[6].value == "failed"
    page = office.get("/background-work?outcome=done&page=2&sort=asked")
    assert "51 to 60 of 60" in words(page)
    told = b"".join(office.get("/background-work?as=csv&outcome=failed").streaming_content).decode("utf-8-sig")
    header, row = told.splitlines()
    assert header == "work,about,asked_by,asked,ended,tries,outcome,why"
    assert row.startswith("Read file,installs.csv,Wynn Owner,")
    assert row.endswith(",2026-03-02 12:00,1,failed,The file has no header row.")


def test_more_work_takes_no_more_queries(django_assert_num_queries):
    office = company.as_role("owner")

    def fill(count: int, start: int) -> None:
        for number in range(start, start + count):
            failed(f"failed {number}")
            running(f"running {number}")
            done(f"done {number}")
        for number in range(start, start + count):
            later("catch_up", key=f"waiting {number}")

    office.get("/background-work")  # the first page of a day works out what time has changed
    fill(1, 0)
    with django_assert_num_queries(10):
        office.get("/background-work")
    fill(5, 1)
    with django_assert_num_queries(10):
        office.get("/background-work")
    with django_assert_num_queries(8):
        office.get("/background-work/open")


def test_a_long_line_is_cut_and_counted():
    office = company.as_role("owner")
    for number in range(51):
        later("catch_up", key=f"waiting {number}")
    assert "These are 50 of 51." in words(office.get("/background-work"))


def test_work_that_is_not_there_is_not_found():
    office = company.as_role("owner")
    assert office.get("/background-work/1").status_code == 404
    assert office.post("/background-work/1/stop").status_code == 404
    assert office.post("/background-work/1/again").status_code == 404
