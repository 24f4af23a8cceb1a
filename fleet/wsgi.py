"""The door through which gunicorn calls the project, and where its thread for background work begins."""

import atexit
import os
import threading
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fleet.settings")

# Less than the time that gunicorn gives a process to end; what is not done by then, a lease brings back.
SECONDS_TO_END = 10

_django = get_wsgi_application()
_starting = threading.Lock()
_works_in = 0


def application(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
    """Answer a request; the first one of a process also starts its worker."""
    if _works_in != os.getpid():
        _start_worker()
    return _django(environ, start_response)


def _start_worker() -> None:
    """Start the thread that does background work where no queue has workers for it, once in each process.

    Not on import: a server that imports before it forks would start it in the wrong process.
    """
    global _works_in
    with _starting:
        if _works_in == os.getpid():
            return
        _works_in = os.getpid()
        # Here, since only a process that answers requests needs them.
        from fleet import later, tasks

        if later.has_queue():
            return
        worker = tasks.Worker()
        worker.start()
        atexit.register(worker.stop, within=SECONDS_TO_END)
