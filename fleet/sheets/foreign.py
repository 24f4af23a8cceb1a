"""JSON that somebody else wrote."""

import json
from typing import Any


def from_json(text: str | bytes) -> Any:
    """Read it; raises ValueError for what is none, also for what is nested too deeply to be read.

    >>> from_json('{"was": [1]}')
    {'was': [1]}
    >>> from_json("[" * 100_000)
    Traceback (most recent call last):
    ValueError: nested too deeply
    """
    try:
        return json.loads(text)
    except RecursionError as wrong:
        raise ValueError("nested too deeply") from wrong
