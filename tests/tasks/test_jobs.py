"""What becomes of a job by how its function ends, and the jobs themselves."""

import datetime as dt
import threading

import pytest
import time_machine
from django.core.management import call_command

from fleet import tasks
from fleet.celery import app
from fleet.later import later
from fleet.models import HoldingRow, Job, Load
from fleet.office.actions import jobs
from fleet.office.pages.jobs import TITLES
from fleet.refusals import Refused
from tests import company

pytestmark = pytest.mark.django_db


@pytest.fixture
def known(monkeypatch):
    """Make functions known as jobs for this test only."""
    monkeypatch.setattr(tasks, "JOBS", {})
    monkeypatch.setattr(tasks, "DAILY", [])
    return tasks.job


def drained(**options) -> Job:
    """The one job, after the work that waits was done."""
    tasks.drain(**options)
    return Job.objects.get()


def test_a_job_is_called_with_its_payload_and_done_when_it_finishes(known):
    @known
    def note(run, *, number, word):
        assert run.claimed.tries == 1
        with run.finishing():
            Load.objects.create(kind="effect", name=f"{word} {number}")

    later("note", key="note 1", number=1, word="hall")
    assert drained().state == "done"
    assert Load.objects.get().name == "hall 1"


def test_a_job_that_has_nothing_to_store_at_the_end_is_done_when_it_returns(known):
    @known
    def look(run):
        pass

    later("look", key="look")
    assert drained().state == "done"


def test_all_that_waits_is_done_in_order(known):
    seen = []

    @known
    def note(run, *, number):
        seen.append(number)

    for number in range(30):
        later("note", key=f"note {number}", number=number)
    assert tasks.drain()
    assert seen == list(range(30))


def test_a_failure_is_undone_said_and_tried_again(known, caplog):
    @known
    def trip(run):
        with run.finishing():
            Load.objects.create(kind="effect")
            raise OSError("the disk is full")

    later("trip", key="trip")
    job = drained()
    assert (job.state, job.tries, job.why) == ("waiting", 1, "OSError: the disk is full")
    assert job.not_before is not None
    assert not Load.objects.exists()
    assert "the disk is full" in caplog.text


def test_a_failure_does_not_hold_up_the_next(known, caplog):
    @known
    def trip(run, *, over):
        assert not over

    later("trip", key="first", over=True)
    later("trip", key="second", over=False)
    tasks.drain()
    assert dict(Job.objects.values_list("key", "state")) == {"first": "waiting", "second": "done"}


def test_what_cannot_be_done_says_why_and_ends(known):
    @known
    def read(run):
        raise Refused("The file has no header row.")

    later("read", key="read")
    job = drained()
    assert (job.state, job.why) == ("failed", "The file has no header row.")


def test_work_of_a_newer_version_waits_for_it(known, caplog):
    later("juggle", key="juggle")
    job = drained()
    assert job.state == "waiting"
    assert job.why == "LookupError: this version of the program knows no work called juggle"


def test_work_with_the_wrong_payload_fails_and_says_so(known, caplog):
    @known
    def note(run, *, number):
        pass

    later("note", key="note", photo=1)
    assert "unexpected keyword argument 'photo'" in drained().why


def test_progress_is_kept_and_a_wish_to_stop_is_heard(known):
    @known
    def count(run):
        for part in range(10):
            run.progress(part, 10)
            if part == 4:
                jobs.ask_to_stop(job=Job.objects.get(), by=None, at=dt.datetime(2026, 3, 2, tzinfo=dt.UTC))
        with run.finishing():
            Load.objects.create(kind="effect")

    later("count", key="count")
    job = drained()
    assert (job.state, job.parts_done, job.parts) == ("stopped", 4, 10)
    assert not Load.objects.exists()


def test_a_program_that_ends_hands_its_work_back(known):
    stopping = threading.Event()

    @known
    def count(run):
        run.progress(1, 10)
        stopping.set()
        run.progress(2, 10)

    later("count", key="count")
    assert not tasks.drain(stopping=stopping)
    job = Job.objects.get()
    assert (job.state, job.tries, job.not_before) == ("waiting", 0, None)


def test_a_program_that_is_told_to_end_begins_nothing_new(known):
    stopping = threading.Event()
    stopping.set()
    later("note", key="note")
    assert not tasks.drain(stopping=stopping)
    assert Job.objects.get().tries == 0


def test_work_cut_off_from_the_keyboard_is_handed_back(known):
    @known
    def count(run):
        raise KeyboardInterrupt

    later("count", key="count")
    with pytest.raises(KeyboardInterrupt):
        tasks.drain()
    assert (Job.objects.get().state, Job.objects.get().tries) == ("waiting", 0)


def test_a_spell_of_work_ends_though_work_is_left(known):
    """A worker of the queue can then be told to end, and the next one goes on."""
    with time_machine.travel("2026-03-02T12:00:00Z", tick=False) as traveller:

        @known
        def nap(run):
            traveller.shift(20)

        for number in range(3):
            later("nap", key=f"nap {number}")
        assert not tasks.drain(at_most=dt.timedelta(seconds=30))
        assert Job.objects.filter(state="done").count() == 2
        assert tasks.drain(at_most=dt.timedelta(seconds=30))


# -- by name


def test_the_queue_knows_the_tasks_that_are_sent_to_it_by_name():
    app.loader.import_default_modules()
    assert {"fleet.tasks.run_due_jobs", "fleet.tasks.sweep"} <= set(app.tasks)
    assert [entry["task"] for entry in app.conf.beat_schedule.values()] == ["fleet.tasks.sweep"]


def test_a_thread_of_the_web_process_knows_the_same_queue():
    from celery import current_app

    named = []
    thread = threading.Thread(target=lambda: named.append(current_app.main))
    thread.start()
    thread.join()
    assert named == ["fleet"]


def test_each_job_has_words_for_the_page():
    assert set(TITLES) == set(tasks.JOBS)


# -- each day's work


def test_rows_whose_day_has_come_are_worked_out_by_night():
    company.on_file()
    company.unit("A1", started_on="2020-03-02", installed_on="2020-03-02", licensed_installer=True)
    company.worked_out(on=dt.date(2020, 3, 2))
    due = HoldingRow.objects.filter(next_on__lte=company.TODAY)
    assert due.exists()
    with time_machine.travel(company.NOON, tick=False):
        call_command("run_jobs")
        call_command("run_jobs")
    assert not due.exists()
    each_day = Job.objects.filter(name="catch_up")
    assert list(each_day.values_list("key", "state")) == [("catch_up 2026-03-02", "done")]
    with time_machine.travel("2026-03-03T00:00:01-05:00", tick=False):
        call_command("run_jobs")
    assert each_day.count() == 2
    assert set(Job.objects.values_list("name", flat=True)) == set(tasks.DAILY)
