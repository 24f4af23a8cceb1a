"""What the tests' worker and beat run: the project's own app, its lease and sweep cut short, and jobs of the tests' own."""

import datetime as dt
import time

import django

django.setup()

from fleet.celery import app  # noqa: E402
from fleet.models import Load  # noqa: E402
from fleet.office.actions import jobs  # noqa: E402
from fleet.tasks import Run, job  # noqa: E402

# Minutes in an office; the tests cannot wait for them.
jobs.LEASE = dt.timedelta(seconds=1)
app.conf.beat_schedule["sweep"]["schedule"] = 0.5


@job
def note(run: Run, *, number: int) -> None:
    """Have an effect that can be counted, with moments before, in and after it in which to die."""
    time.sleep(0.002)
    with run.finishing():
        Load.objects.create(kind="effect", name=str(number))
        time.sleep(0.01)
    time.sleep(0.002)


@job
def dawdle(run: Run) -> None:
    """Be slower than the lease on the first try, and then try to finish all the same."""
    if run.claimed.tries == 1:
        time.sleep(2.5)
    with run.finishing():
        Load.objects.create(kind="effect", name=f"try {run.claimed.tries}")


@job
def count_up(run: Run, *, parts: int) -> None:
    """Take a tenth of a second for each part, and say so."""
    for part in range(parts):
        run.progress(part, parts)
        time.sleep(0.1)
    with run.finishing():
        Load.objects.create(kind="effect", name=f"counted to {parts}")
