"""Strict reading of a table of words and numbers (TOML): every key known, every value of its kind, every fault named."""

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

_MONEY = re.compile(r"\d{1,9}(\.\d{1,2})?")
_DECIMAL = re.compile(r"\d{1,9}(\.\d{1,6})?")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in a table: where it stands and what is wanted there."""

    where: str
    wanted: str

    def __str__(self) -> str:
        return f"{self.where}: {self.wanted}"


class BadTable(ValueError):
    """A table that was not taken; `faults` lists every fault found, in the order of the table."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(map(str, self.faults)))


class Table:
    """Reads one table key by key, noting faults instead of stopping at the first; `close` names keys nobody asked for."""

    def __init__(self, values: Any, where: str = "", faults: list[Fault] | None = None) -> None:
        self.where = where
        self.faults: list[Fault] = [] if faults is None else faults
        self._asked: set[str] = set()
        if not isinstance(values, Mapping):
            self.fault("", "a table is wanted")
            values = {}
            if faults is not None:
                self.faults = []  # what is missing in it goes without saying
        self._values = values

    def fault(self, key: str, wanted: str) -> None:
        """Note a fault at a key of this table."""
        where = f"{self.where}.{key}" if self.where and key else self.where or key
        self.faults.append(Fault(where or "the file", wanted))

    def has(self, key: str) -> bool:
        """Whether the key is in the table."""
        return key in self._values

    def _take(self, key: str, *, required: bool) -> Any:
        self._asked.add(key)
        value = self._values.get(key)
        if value is None and required:
            self.fault(key, "is missing")
        return value

    def text(self, key: str, default: str | None = None, *, limit: int = 500) -> str:
        """Read a text; required (and not blank) unless a default is given."""
        value = self._take(key, required=default is None)
        if value is None:
            return default or ""
        if not isinstance(value, str) or len(value) > limit or "\x00" in value:
            self.fault(key, f"a text of at most {limit} characters is wanted")
            return default or ""
        if default is None and not value.strip():
            self.fault(key, "must not be blank")
        return value.strip()

    def flag(self, key: str, *, default: bool) -> bool:
        """Read true or false."""
        value = self._take(key, required=False)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.fault(key, "true or false is wanted")
            return default
        return value

    def whole(
        self, key: str, default: int | None = None, *, least: int = 0, most: int = 36500, required: bool = True
    ) -> int | None:
        """Read a whole number within bounds, or the default."""
        value = self._take(key, required=required and default is None)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self.fault(key, f"a whole number from {least} to {most} is wanted")
            return default
        return value

    def wholes(self, key: str, *, least: int, most: int) -> tuple[int, ...]:
        """Read a list of whole numbers within bounds, none twice."""
        value = self._take(key, required=False)
        if value is None:
            return ()
        numbers = value if isinstance(value, list) else [None]
        if not all(type(number) is int and least <= number <= most for number in numbers):
            self.fault(key, f"a list of whole numbers from {least} to {most} is wanted")
            return ()
        if len(set(numbers)) != len(numbers):
            self.fault(key, "holds a number twice")
        return tuple(numbers)

    def day(self, key: str, *, required: bool = False) -> dt.date | None:
        """Read a calendar day, written without quotes (2026-08-01)."""
        value = self._take(key, required=required)
        if value is None:
            return None
        if isinstance(value, dt.datetime) or not isinstance(value, dt.date) or not 1900 <= value.year <= 2200:
            self.fault(key, "a day from 1900 to 2200 is wanted, written 2026-08-01 without quotes")
            return None
        return value

    def choice(
        self, key: str, words: Iterable[str], default: str | None = None, *, required: bool = True
    ) -> str | None:
        """Read one word of a closed list."""
        value = self._take(key, required=required and default is None)
        if value is None:
            return default
        words = tuple(words)
        if not isinstance(value, str) or value not in words:
            self.fault(key, f"one of {', '.join(words)} is wanted, not {value!r}")
            return default
        return value

    def words(self, key: str, known: Iterable[str] | None = None, *, required: bool = False) -> tuple[str, ...]:
        """Read a list of words, each known where a list is given, none twice."""
        value = self._take(key, required=required)
        if value is None:
            return ()
        if not isinstance(value, list) or not all(
            isinstance(word, str) and word.strip() and "\x00" not in word for word in value
        ):
            self.fault(key, "a list of words is wanted")
            return ()
        if required and not value:
            self.fault(key, "must not be empty")
        closed = None if known is None else tuple(known)
        for word in value:
            if closed is not None and word not in closed:
                self.fault(key, f"{word!r} is not known; known are {', '.join(closed)}")
            if value.count(word) > 1:
                self.fault(key, f"{word!r} stands there twice")
                return ()
        return tuple(value)

    def number(self, key: str, default: Decimal | None = None, *, money: bool = False) -> Decimal | None:
        """Read an exact decimal, written in quotes so that no float ever comes near it."""
        return self.decimal(self._take(key, required=False), key, default, money=money)

    def decimal(self, value: Any, key: str, default: Decimal | None = None, *, money: bool = False) -> Decimal | None:
        """Turn a value found at a key into an exact decimal."""
        if value is None:
            return default
        pattern = _MONEY if money else _DECIMAL
        if isinstance(value, str) and pattern.fullmatch(value):
            try:
                return Decimal(value)
            except InvalidOperation:  # pragma: no cover - the pattern admits only what Decimal reads
                pass
        wanted = (
            'an amount in quotes is wanted, such as "35.00"'
            if money
            else 'a number in quotes is wanted, such as "1.25"'
        )
        self.fault(key, wanted)
        return default

    def decimals(self, key: str, known: Iterable[str] | None = None, *, money: bool = False) -> dict[str, Decimal]:
        """Read a table of exact decimals by word."""
        value = self._take(key, required=False)
        if value is None:
            return {}
        if not isinstance(value, Mapping):
            self.fault(key, "a table is wanted")
            return {}
        closed = None if known is None else tuple(known)
        found: dict[str, Decimal] = {}
        for word, amount in value.items():
            if closed is not None and word not in closed:
                self.fault(f"{key}.{word}", f"is not known; known are {', '.join(closed)}")
            number = self.decimal(amount, f"{key}.{word}", money=money)
            if number is not None:
                found[word] = number
        return found

    def table(self, key: str, *, required: bool = False) -> "Table | None":
        """Read a table that stands under a key."""
        value = self._take(key, required=required)
        if value is None:
            return None
        return Table(value, self._under(key), self.faults)

    def tables(self, key: str, *, required: bool = False) -> list["Table"]:
        """Read a list of tables."""
        value = self._take(key, required=required)
        if value is None:
            return []
        if not isinstance(value, list) or (required and not value):
            self.fault(key, "a list of tables is wanted")
            return []
        return [Table(entry, f"{self._under(key)}[{number}]", self.faults) for number, entry in enumerate(value, 1)]

    def _under(self, key: str) -> str:
        return f"{self.where}.{key}" if self.where else key

    def close(self) -> None:
        """Note each key that nobody asked for."""
        for key in self._values:
            if key not in self._asked:
                self.fault(str(key), f"is not known here; known are {', '.join(sorted(self._asked))}")
