"""The Celery app: `celery -A fleet.celery worker` and `celery -A fleet.celery beat` run the functions of fleet.tasks.

The table of jobs is the truth; a message in the queue only says that somebody should look there. So a lost message costs
a minute, and one that comes twice, or a second beat, costs a look.
"""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")

SWEEP_SECONDS = 60

app = Celery("fleet")
# Also for the threads of the web process, which would otherwise meet an app of Celery's own that knows no settings.
app.set_default()
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.update(
    # A message is done with when its work is, so a worker that dies leaves it to another.
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    # A worker takes no second message while it works on the first, which may be a long import.
    worker_prefetch_multiplier=1,
    broker_connection_retry_on_startup=True,
    # Longer than any spell of work (fleet.tasks.SPELL) and the longest job in it; what is delivered again is harmless.
    broker_transport_options={"visibility_timeout": 3600, "socket_connect_timeout": 2},
    beat_schedule={
        "sweep": {
            "task": "fleet.tasks.sweep",
            "schedule": SWEEP_SECONDS,
            # While no worker is there, sweeps do not pile up.
            "options": {"expires": SWEEP_SECONDS},
        }
    },
    # It has one thing to say, each minute: nothing to remember in a file.
    beat_scheduler="celery.beat:Scheduler",
)
app.autodiscover_tasks()
