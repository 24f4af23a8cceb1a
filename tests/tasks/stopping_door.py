"""What gunicorn serves where it is to be killed: the project's own door, which stops at one moment of a write-up until that happens.

STOP_AT says when: "before" the commit, with everything written in the transaction, or "after" it, with the answer not yet sent.
The file STOPPED is made when it has stopped.
"""

import os
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from fleet.wsgi import application as door

_STOP_AT = os.environ.get("STOP_AT", "")


def _stop() -> None:
    Path(os.environ["STOPPED"]).touch()
    time.sleep(600)


if _STOP_AT == "before":
    from fleet.care.actions import write_ups  # the door has set the project up by now

    refreshed = write_ups.refresh.refresh

    def _refresh(*args: Any, **named: Any) -> None:
        refreshed(*args, **named)
        _stop()

    # The last thing that a write-up does in its transaction; whatever else refreshes goes on.
    write_ups.refresh = SimpleNamespace(refresh=_refresh)  # type: ignore[assignment]


def application(environ: dict[str, Any], start_response: Any) -> Any:
    """Answer as the project's own door does, but for the one moment."""
    answer = door(environ, start_response)
    if _STOP_AT == "after" and environ["REQUEST_METHOD"] == "POST" and environ["PATH_INFO"].endswith("/write-up"):
        _stop()
    return answer
