"""Writing a table as TOML, the form in which terms and care sheets go in and out: the same table gives the same text.

The standard library reads TOML and writes none. What these tables hold is all that is written: texts, whole numbers, true and
false, days, lists of those, tables of those, and lists of tables.
"""

import datetime as dt
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def write(table: Mapping[str, Any], *, apart: tuple[str, ...] = ()) -> str:
    """Write a table; lists of tables under the keys in `apart` get a heading for each, every other one stands within its line.

    >>> print(write({"code": "a", "task": [{"title": "Wash", "months": [3, 4]}]}, apart=("task",)), end="")
    code = "a"
    <BLANKLINE>
    [[task]]
    title = "Wash"
    months = [3, 4]
    """
    return "\n".join(_lines(table, apart)) + "\n"


def _lines(table: Mapping[str, Any], apart: tuple[str, ...]) -> Iterator[str]:
    for key, value in table.items():
        if key not in apart:
            yield entry(key, value)
    for key in apart:
        for one in table.get(key, ()):
            yield ""
            yield f"[[{_key(key)}]]"
            yield from _lines(one, ())


def entry(key: str, value: Any) -> str:
    """Write one key with its value, on one line.

    >>> entry("source", {"title": "Manual", "page": 3}), entry("by hand", {})
    ('source = { title = "Manual", page = 3 }', '"by hand" = {}')
    """
    return f"{_key(key)} = {_value(value)}"


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _value(value: Any) -> str:
    match value:
        case bool():
            return "true" if value else "false"
        case int():
            return str(value)
        case str():
            return _text(value)
        case dt.date() if not isinstance(value, dt.datetime):
            return value.isoformat()
        case Mapping():
            return f"{{ {', '.join(entry(*pair) for pair in value.items())} }}" if value else "{}"
        case list() | tuple():
            return "[" + ", ".join(map(_value, value)) + "]"
        case _:
            raise TypeError(f"no TOML is written of {type(value).__name__}")


def _text(text: str) -> str:
    # A basic string of TOML escapes as JSON does, and also DEL, which JSON leaves as it is.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
