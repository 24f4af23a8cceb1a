"""The web process does the work itself where no queue is: a real gunicorn, and what else must not."""

import http.client
import signal
import subprocess
import sys
import threading

import pytest

from fleet.later import later
from fleet.models import Job, Load
from tests.tasks.conftest import ROOT, Programs, free_port, until


def gunicorn(programs: Programs) -> tuple[subprocess.Popen[bytes], int]:
    """A server with two processes, and its port."""
    port = free_port()
    server = programs.start(
        "gunicorn", "tests.tasks.door", "--bind", f"127.0.0.1:{port}", "--workers=2", "--threads=2",
        "--no-control-socket", "--log-level=info",
    )  # fmt: skip
    return server, port


def answers(port: int) -> bool:
    """Whether it sends somebody without a login to it, which takes the whole way of a request."""
    door = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        door.request("GET", "/background-work")
        return door.getresponse().status == 302
    except OSError:
        return False
    finally:
        door.close()


def running() -> bool:
    return Job.objects.filter(state="running", parts_done__gt=0).exists()


@pytest.fixture
def alone(programs, monkeypatch) -> Programs:
    """Programs that were told of no queue."""
    monkeypatch.delitem(programs.environment, "REDIS_URL")
    return programs


@pytest.mark.slow
def test_the_web_process_works_and_ends_cleanly(alone):
    for number in range(20):
        later("note", key=f"note {number}", number=number)
    server, port = gunicorn(alone)
    until(lambda: answers(port))
    until(lambda: Job.objects.filter(name="note", state="done").count() == 20)
    assert Load.objects.filter(kind="effect").count() == 20
    # Either process may write the day's own work, after the other has begun with the rest.
    until(lambda: Job.objects.get(name="catch_up").state == "done")

    # Nothing nudges these processes, which are not the one that writes this; a new one looks when it starts.
    later("count_up", key="count_up", parts=600)
    server.send_signal(signal.SIGHUP)
    until(lambda: answers(port) and running())
    server.send_signal(signal.SIGTERM)
    assert alone.wait(server) == 0
    job = Job.objects.get(name="count_up")
    assert (job.state, job.tries) == ("waiting", 0), alone.said()
    assert 0 < job.parts_done < 600


@pytest.mark.slow
def test_with_a_queue_the_web_process_leaves_the_work_to_it(programs, queue):
    queue.start()
    later("note", key="note 1", number=1)
    _, port = gunicorn(programs)
    until(lambda: answers(port))
    assert answers(port)
    assert queue.length() == 1
    assert Job.objects.get().state == "waiting"


@pytest.mark.slow
def test_a_command_works_until_it_is_told_to_end(alone):
    later("count_up", key="count_up", parts=600)
    command = alone.start("tests.tasks.run", "run_jobs", "--forever")
    until(running)
    command.send_signal(signal.SIGTERM)
    assert alone.wait(command) == 0
    assert (Job.objects.get(name="count_up").state, Job.objects.get(name="count_up").tries) == ("waiting", 0)


ASK = """
import threading
from fleet import wsgi
def works():
    return [thread.name for thread in threading.enumerate()].count("jobs")
print(works())
def answer(environ, start_response):
    return [b""]
wsgi._django = answer
for _ in range(3):
    wsgi.application({}, None)
print(works())
import os
child = os.fork()
if child == 0:
    print(works(), flush=True)
    wsgi.application({}, None)
    print(works(), flush=True)
    os._exit(0)
os.waitpid(child, 0)
"""


def test_one_thread_in_each_process_and_none_before_it_answers(tmp_path):
    """Before: none; three requests: one; in a process that split off: none until it answers, then one."""
    said = subprocess.run(
        [sys.executable, "-u", "-c", ASK],
        cwd=ROOT, env={"DATA_DIR": str(tmp_path)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert said.stdout.split() == ["0", "1", "0", "1"]


def test_no_test_starts_the_thread(client, db):
    client.get("/background-work")
    assert "jobs" not in {thread.name for thread in threading.enumerate()}
