"""Work to be done: written once, taken by one, finished once, tried again, stopped."""

import datetime as dt
import logging
import threading
import time

import pytest
from django.db import IntegrityError, connection, transaction

from fleet import later as later_module
from fleet.later import later
from fleet.models import Change, Job, Load, User
from fleet.office.actions import jobs

pytestmark = pytest.mark.django_db

NOON = dt.datetime(2026, 3, 2, 12, 0, tzinfo=dt.UTC)


def after(**duration: int) -> dt.datetime:
    return NOON + dt.timedelta(**duration)


def effects() -> int:
    return Load.objects.filter(kind="effect").count()


# -- written down


def test_a_job_is_written_with_what_it_is_about():
    office = User.objects.create(username="office")
    job = later("read_photo", key="read_photo 7", about="Plate of the hall unit", by=office, photo=7, turn=True)
    stored = Job.objects.get()
    assert stored == job
    assert (stored.name, stored.key, stored.payload) == ("read_photo", "read_photo 7", {"photo": 7, "turn": True})
    assert (stored.about, stored.by, stored.state, stored.tries) == ("Plate of the hall unit", office, "waiting", 0)


def test_the_same_key_is_the_same_work_whatever_became_of_it():
    first = later("read_photo", key="read_photo 7", photo=7)
    assert later("read_photo", key="read_photo 7", photo=7) == first
    with jobs.finishing(jobs.claim(at=NOON), at=NOON):
        pass
    assert later("read_photo", key="read_photo 7", photo=7) == first
    assert Job.objects.get().state == "done"
    later("read_photo", key="read_photo 8", photo=8)
    assert Job.objects.count() == 2


def test_a_change_that_is_undone_takes_its_work_with_it():
    @transaction.atomic
    def change() -> None:
        later("read_photo", key="read_photo 7", photo=7)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        change()
    assert not Job.objects.exists()


@pytest.mark.parametrize("value", [dt.date(2026, 3, 2), 1.5, [1], {"a": 1}, object()])
def test_a_payload_holds_ids_and_plain_values_only(value):
    with pytest.raises(TypeError, match="photo is .*; a job is told ids and plain values"):
        later("read_photo", key="read_photo 7", photo=value)


@pytest.mark.parametrize(("name", "key"), [("read_photo", ""), ("", "k"), ("read_photo", "k" * 201), ("n" * 61, "k")])
def test_a_name_and_a_key_of_a_usable_length_are_wanted(name, key):
    with pytest.raises(ValueError, match="characters are wanted"):
        later(name, key=key)
    assert later("n" * 60, key="k" * 200).pk


def test_whoever_waits_is_woken_after_the_commit(django_capture_on_commit_callbacks):
    later_module.nudged.clear()
    with django_capture_on_commit_callbacks(execute=True):
        later("read_photo", key="read_photo 7")
        assert not later_module.nudged.is_set()
    assert later_module.nudged.is_set()


def test_a_queue_that_is_down_costs_a_line_in_the_log_and_little_time(
    settings, caplog, monkeypatch, django_capture_on_commit_callbacks
):
    monkeypatch.setattr(later_module, "_quiet_until", 0.0)
    # Nothing listens on port 1.
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"
    began = time.monotonic()
    with caplog.at_level(logging.WARNING), django_capture_on_commit_callbacks(execute=True):
        for number in range(50):
            later("read_photo", key=f"read_photo {number}")
    # Fifty attempts of Celery's own would take minutes.
    assert time.monotonic() - began < 5
    assert [record.message.split(" (")[0] for record in caplog.records] == ["The queue does not answer"]
    assert Job.objects.filter(state="waiting").count() == 50


# -- taken


def test_the_one_that_has_waited_longest_comes_first():
    later("read_photo", key="first", photo=1)
    later("read_photo", key="second", photo=2)
    claimed = jobs.claim(at=NOON)
    assert (claimed.name, claimed.payload, claimed.tries) == ("read_photo", {"photo": 1}, 1)
    assert jobs.claim(at=NOON).payload == {"photo": 2}
    assert jobs.claim(at=NOON) is None
    job = Job.objects.get(key="first")
    assert (job.state, job.lease, job.leased_until) == ("running", claimed.lease, NOON + dt.timedelta(minutes=5))


@pytest.mark.parametrize(
    ("at", "taken"),
    [
        pytest.param(after(seconds=-1), False, id="a second before its time"),
        pytest.param(NOON, True, id="at its time"),
        pytest.param(after(seconds=1), True, id="after"),
    ],
)
def test_work_that_may_not_begin_yet_waits(at, taken):
    later("remind", key="remind 7", not_before=NOON)
    assert (jobs.claim(at=at) is not None) == taken


@pytest.mark.parametrize(
    ("at", "taken"),
    [
        pytest.param(after(minutes=4, seconds=59), False, id="while the lease lasts"),
        pytest.param(after(minutes=5), True, id="when it has run out"),
    ],
)
def test_the_work_of_a_silent_worker_is_taken_over(at, taken):
    later("read_photo", key="read_photo 7")
    first = jobs.claim(at=NOON)
    second = jobs.claim(at=at)
    assert (second is not None) == taken
    if taken:
        assert second.pk == first.pk
        assert second.lease != first.lease
        assert second.tries == 2


def test_a_word_of_progress_keeps_the_lease():
    later("read_photo", key="read_photo 7")
    claimed = jobs.claim(at=NOON)
    jobs.progress(claimed, done=300, parts=1000, at=after(minutes=4))
    assert jobs.claim(at=after(minutes=8, seconds=59)) is None
    job = Job.objects.get()
    assert (job.parts_done, job.parts) == (300, 1000)
    assert jobs.claim(at=after(minutes=9)).pk == claimed.pk
    assert Job.objects.get().parts is None


def test_a_worker_whose_lease_was_taken_cannot_finish():
    """The fence: nothing that the slow one does is kept, and the quick one's effect stands alone."""
    later("read_photo", key="read_photo 7")
    slow = jobs.claim(at=NOON)
    quick = jobs.claim(at=after(minutes=5))
    with pytest.raises(jobs.LeaseLost), jobs.finishing(slow, at=after(minutes=6)):
        Load.objects.create(kind="effect")
    with jobs.finishing(quick, at=after(minutes=6)):
        Load.objects.create(kind="effect")
    assert effects() == 1
    assert Job.objects.get().state == "done"
    with pytest.raises(jobs.LeaseLost), jobs.finishing(slow, at=after(minutes=7)):
        Load.objects.create(kind="effect")
    with pytest.raises(jobs.LeaseLost), jobs.finishing(quick, at=after(minutes=7)):
        Load.objects.create(kind="effect")
    assert effects() == 1


def test_a_worker_whose_lease_was_taken_changes_nothing_else_either():
    later("read_photo", key="read_photo 7")
    slow = jobs.claim(at=NOON)
    quick = jobs.claim(at=after(minutes=5))
    before = Job.objects.values().get()
    jobs.fail(slow, why="too slow", at=after(minutes=6), again=True)
    jobs.fail(slow, why="too slow", at=after(minutes=6), again=False)
    jobs.stopped(slow, at=after(minutes=6))
    jobs.hand_back(slow, at=after(minutes=6))
    with pytest.raises(jobs.LeaseLost):
        jobs.progress(slow, done=1, parts=2, at=after(minutes=6))
    assert Job.objects.values().get() == before
    assert before["lease"] == quick.lease


def test_the_effect_and_the_end_are_kept_both_or_neither():
    later("read_photo", key="read_photo 7")

    def half() -> None:
        with jobs.finishing(jobs.claim(at=NOON), at=NOON):
            Load.objects.create(kind="effect")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half()
    assert (effects(), Job.objects.get().state) == (0, "running")


# -- tried again


def test_each_wait_is_longer_and_the_last_failure_is_for_good():
    later("read_photo", key="read_photo 7")
    at, waits = NOON, []
    for number in range(1, 6):
        claimed = jobs.claim(at=at)
        assert claimed.tries == number
        jobs.fail(claimed, why=f"no luck {number}", at=at, again=True)
        job = Job.objects.get()
        if job.state == "waiting":
            waits.append(job.not_before - at)
            assert jobs.claim(at=job.not_before - dt.timedelta(seconds=1)) is None
            at = job.not_before
    assert waits == [
        dt.timedelta(seconds=30), dt.timedelta(minutes=2), dt.timedelta(minutes=10), dt.timedelta(hours=1),
    ]  # fmt: skip
    assert (job.state, job.why, job.ended_at) == ("failed", "no luck 5", at)
    assert jobs.claim(at=after(days=365)) is None


def test_what_cannot_be_done_is_not_tried_again():
    later("read_photo", key="read_photo 7")
    jobs.fail(jobs.claim(at=NOON), why="", at=NOON, again=False)
    job = Job.objects.get()
    assert (job.state, job.why) == ("failed", "No reason was given.")


def test_work_that_kills_each_worker_fails_in_the_end():
    later("read_photo", key="read_photo 7")
    for number in range(5):
        assert jobs.claim(at=after(minutes=5 * number)).tries == number + 1
    assert jobs.claim(at=after(minutes=25)) is None
    job = Job.objects.get()
    assert (job.state, job.tries) == ("failed", 5)
    assert job.why == "Each time it was tried, the program that worked on it ended before the work did."


def test_one_that_nobody_can_do_does_not_hold_up_the_next():
    later("read_photo", key="first")
    for number in range(5):
        jobs.claim(at=after(minutes=5 * number))
    later("read_photo", key="second", photo=2)
    assert jobs.claim(at=after(minutes=25)).payload == {"photo": 2}


def test_a_job_handed_back_has_lost_no_try():
    later("read_photo", key="read_photo 7")
    jobs.hand_back(jobs.claim(at=NOON), at=NOON)
    assert jobs.claim(at=NOON).tries == 1


def test_somebody_may_try_failed_work_again():
    office = User.objects.create(username="office")
    job = later("read_photo", key="read_photo 7")
    assert not jobs.try_again(job=job, by=office)
    jobs.fail(jobs.claim(at=NOON), why="no such photo", at=NOON, again=False)
    assert jobs.try_again(job=job, by=office)
    assert not jobs.try_again(job=job, by=office)
    change = Change.objects.get()
    assert (change.table, change.object_id, change.field) == ("job", job.pk, "state")
    assert (change.before, change.after, change.by) == ("failed", "waiting", office)
    assert jobs.claim(at=NOON).tries == 1


# -- stopped


def test_work_that_waits_is_stopped_at_once():
    office = User.objects.create(username="office")
    job = later("read_photo", key="read_photo 7")
    assert jobs.ask_to_stop(job=job, by=office, at=NOON)
    assert not jobs.ask_to_stop(job=job, by=office, at=NOON)
    job.refresh_from_db()
    assert (job.state, job.ended_at) == ("stopped", NOON)
    assert jobs.claim(at=NOON) is None
    assert Change.objects.get().after == "stopped"


def test_running_work_stops_at_its_next_word_of_progress():
    job = later("read_photo", key="read_photo 7")
    claimed = jobs.claim(at=NOON)
    jobs.progress(claimed, done=1, parts=3, at=NOON)
    assert jobs.ask_to_stop(job=job, by=None, at=NOON)
    with pytest.raises(jobs.StopAsked):
        jobs.progress(claimed, done=2, parts=3, at=NOON)
    jobs.stopped(claimed, at=after(seconds=1))
    job.refresh_from_db()
    assert (job.state, job.parts_done, job.ended_at) == ("stopped", 1, after(seconds=1))
    assert jobs.try_again(job=job, by=None)
    assert jobs.claim(at=NOON).tries == 1


def _fails(claimed: jobs.Claimed) -> None:
    jobs.fail(claimed, why="no luck", at=NOON, again=True)


def _hands_back(claimed: jobs.Claimed) -> None:
    jobs.hand_back(claimed, at=NOON)


def _goes_silent(claimed: jobs.Claimed) -> None:
    """The next look finds the lease run out."""
    assert jobs.claim(at=after(minutes=5)) is None


@pytest.mark.parametrize("ends", [_fails, _hands_back, _goes_silent])
def test_work_asked_to_stop_is_not_taken_again(ends):
    job = later("read_photo", key="read_photo 7")
    claimed = jobs.claim(at=NOON)
    jobs.ask_to_stop(job=job, by=None, at=NOON)
    ends(claimed)
    job.refresh_from_db()
    assert job.state == "stopped"
    assert jobs.claim(at=after(days=1)) is None


def test_work_that_is_done_before_it_stops_is_done():
    job = later("read_photo", key="read_photo 7")
    claimed = jobs.claim(at=NOON)
    jobs.ask_to_stop(job=job, by=None, at=NOON)
    with jobs.finishing(claimed, at=NOON):
        Load.objects.create(kind="effect")
    job.refresh_from_db()
    assert (job.state, effects()) == ("done", 1)
    assert not jobs.ask_to_stop(job=job, by=None, at=NOON)
    assert not jobs.try_again(job=job, by=None)


# -- each day's


def test_the_days_work_is_written_once_a_day():
    jobs.write_daily(("catch_up",), on=dt.date(2026, 3, 2))
    jobs.write_daily(("catch_up",), on=dt.date(2026, 3, 2))
    assert list(Job.objects.values_list("key", "name", "payload")) == [("catch_up 2026-03-02", "catch_up", {})]
    jobs.write_daily(("catch_up",), on=dt.date(2026, 3, 3))
    assert Job.objects.count() == 2


# -- several at once


def _at_once(count: int, function) -> list:
    """What each of several threads got, all of which began together."""
    together, results = threading.Barrier(count), []

    def one(number: int) -> None:
        try:
            together.wait(10)
            results.append(function(number))
        except Exception as failure:
            results.append(failure)
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return results


@pytest.mark.django_db(transaction=True)
def test_two_who_ask_for_the_same_work_at_once_get_one_job():
    def ask(number: int) -> list[int]:
        written = []
        for key in range(10):
            with transaction.atomic():
                Load.objects.create(kind=f"asker {number}")
                written.append(later("read_photo", key=f"read_photo {key}", photo=key).pk)
        return written

    first, second = _at_once(2, ask)
    assert first == second
    assert Job.objects.count() == 10
    assert Load.objects.count() == 20


@pytest.mark.django_db(transaction=True)
def test_of_many_workers_one_gets_each_job():
    for number in range(30):
        later("read_photo", key=f"read_photo {number}")

    def take(number: int) -> list[int]:
        taken = []
        while claimed := jobs.claim(at=NOON):
            taken.append(claimed.pk)
        return taken

    taken = sorted(pk for each in _at_once(4, take) for pk in each)
    assert taken == sorted(Job.objects.values_list("pk", flat=True))


# -- what must never be false

WAITING = {"name": "read_photo", "key": "k"}
RUNNING = {**WAITING, "state": "running", "lease": "a", "leased_until": NOON}
FAILED = {**WAITING, "state": "failed", "ended_at": NOON, "why": "no luck"}


@pytest.mark.parametrize("row", [WAITING, RUNNING, FAILED, {**FAILED, "state": "done", "why": ""}])
def test_a_row_as_it_should_be(row):
    assert Job.objects.create(**row).pk


@pytest.mark.parametrize(
    ("row", "constraint"),
    [
        ({**RUNNING, "lease": ""}, "job_leased_while_running"),
        ({**RUNNING, "leased_until": None}, "job_leased_while_running"),
        ({**RUNNING, "state": "waiting"}, "job_leased_while_running"),
        ({**FAILED, "ended_at": None}, "job_ended_at_with_its_end"),
        ({**WAITING, "ended_at": NOON}, "job_ended_at_with_its_end"),
        ({**FAILED, "why": ""}, "job_failed_says_why"),
        ({**WAITING, "state": "asleep"}, "job_state_known"),
        ({**WAITING, "key": ""}, "job_has_key_and_name"),
        ({**WAITING, "name": ""}, "job_has_key_and_name"),
        ({**WAITING, "parts_done": 2, "parts": 1}, "job_parts_done_of_all"),
    ],
)
def test_a_row_that_says_what_cannot_be_is_refused(row, constraint):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        Job.objects.create(**row)
