"""A real queue, worker and beat on a real database, and the ways in which they die."""

import os
import signal
import time
from collections import Counter

import pytest
from django.db import transaction

from fleet import later as later_module
from fleet.later import later
from fleet.models import Job, Load
from tests.tasks.conftest import until

pytestmark = pytest.mark.slow

MANY = 200


def done() -> int:
    return Job.objects.filter(state="done", name="note").count()


def effects() -> Counter[str]:
    return Counter(Load.objects.filter(kind="effect").values_list("name", flat=True))


def kill_with_work_in_hand(programs, worker) -> set[int]:
    """Kill a worker while jobs are in its hands, and give which; it stands still while that is looked at."""
    while True:
        os.killpg(worker.pid, signal.SIGSTOP)
        # What it had sent to the database already may still come true.
        time.sleep(0.1)
        in_hand = set(Job.objects.filter(state="running", name="note").values_list("pk", flat=True))
        if in_hand:
            programs.kill(worker)
            return in_hand
        os.killpg(worker.pid, signal.SIGCONT)
        time.sleep(0.01)


def test_every_effect_happens_once_though_workers_are_killed(programs, queue):
    queue.start()
    with transaction.atomic():
        for number in range(MANY):
            later("note", key=f"note {number}", number=number)
    programs.beat()
    in_hand: set[int] = set()
    for at_least in (30, 80):
        worker = programs.worker()
        until(lambda wanted=at_least: done() >= wanted)
        in_hand |= kill_with_work_in_hand(programs, worker)
        assert done() < MANY, "the worker was too quick to be killed in the middle"
    programs.worker()
    until(lambda: done() == MANY)
    assert effects() == Counter({str(number): 1 for number in range(MANY)})
    assert in_hand <= set(Job.objects.filter(tries__gt=1).values_list("pk", flat=True))


def test_a_nudge_is_taken_without_a_sweep(programs, queue):
    """No beat runs here: the worker knows only from the nudge."""
    queue.start()
    programs.worker()
    with transaction.atomic():
        Load.objects.create(kind="change")
        later("note", key="note 1", number=1)
    until(lambda: done() == 1)
    with transaction.atomic():
        later("note", key="note 1", number=1)
    with transaction.atomic():
        later("note", key="note 2", number=2)
    until(lambda: done() == 2)
    assert effects() == Counter({"1": 1, "2": 1})


def test_a_queue_that_was_down_loses_nothing(programs, queue):
    with transaction.atomic():
        Load.objects.create(kind="change")
        later("note", key="note 1", number=1)
    assert Load.objects.filter(kind="change").exists()
    assert Job.objects.get().state == "waiting"
    queue.start()
    programs.worker()
    programs.beat()
    until(lambda: done() == 1)
    assert effects() == Counter({"1": 1})
    # The sweep also wrote and did the day's own work.
    until(lambda: Job.objects.filter(name="catch_up", state="done").count() == 1)


def test_a_queue_that_hangs_does_not_hold_up_whoever_asks(programs, queue, monkeypatch):
    queue.start()
    monkeypatch.setattr(later_module, "ANSWER_SECONDS", 0.2)
    queue.server.send_signal(signal.SIGSTOP)
    began = time.monotonic()
    for number in range(5):
        later("note", key=f"note {number}", number=number)
    assert time.monotonic() - began < 4
    assert Job.objects.filter(state="waiting").count() == 5
    queue.server.send_signal(signal.SIGCONT)
    later_module._quiet_until = 0.0
    later("note", key="note 5", number=5)
    assert queue.length() >= 1


def test_a_worker_slower_than_its_lease_keeps_nothing(programs, queue):
    queue.start()
    later("dawdle", key="dawdle")
    programs.worker()
    programs.beat()
    until(lambda: Job.objects.filter(name="dawdle", state="done").exists())
    until(lambda: "taken over by another worker" in programs.said())
    assert effects() == Counter({"try 2": 1})
