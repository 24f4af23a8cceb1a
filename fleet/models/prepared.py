"""Queries whose SQL is worked out once and then asked again with other values.

Working out the SQL of a query for a few rows takes Django several times as long as the database takes to answer it, and a page
asks some twenty of them.
"""

import datetime as dt
import re
from collections.abc import Callable, Collection, Iterator
from copy import copy
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from django.db import connection
from django.db.models import QuerySet

P = ParamSpec("P")
R = TypeVar("R")
Value = int | str | dt.date | None

# For more keys than this the database's own work counts, and no plan is kept.
_MOST = 512
# What stands in for a value while the SQL is worked out: nothing that a query of ours names itself.
_INT, _TEXT, _DAY = 2_000_000_000, "\ue000", dt.date(900, 1, 1)
_MADE_OF_ONE = re.compile(rf"{_TEXT}|^09\d\d-\d\d-\d\d$")


def prepared(build: Callable[P, QuerySet[Any, R]]) -> Callable[P, list[R]]:
    """Ask a query by its values; the function that builds it is called once for each shape, with stand-ins.

    Positional arguments are values: an int, a text, a day, None, or a collection of keys to look in (an empty one finds
    nothing). The function must hand them to the query as they are; it may look only whether one is None. Keyword arguments
    are part of the shape: it may do with them as it likes.
    """
    plans = _Plans(build)

    @wraps(build)
    def ask(*values: P.args, **shape: P.kwargs) -> list[R]:
        flat = [_flat(value) for value in values]
        if [] in flat:
            return []
        if any(isinstance(value, list) and len(value) > _MOST for value in flat):
            return list(build(*flat, **shape))
        return list(plans.of(flat, shape).ask(flat))

    return ask


def counted(build: Callable[P, QuerySet[Any, Any]]) -> Callable[P, int]:
    """Count the rows of a query by its values, which are as `prepared` has them."""
    plans = _Plans(build)

    @wraps(build)
    def ask(*values: P.args, **shape: P.kwargs) -> int:
        flat = [_flat(value) for value in values]
        if [] in flat:
            return 0
        if any(isinstance(value, list) and len(value) > _MOST for value in flat):
            return int(build(*flat, **shape).count())
        return plans.of(flat, shape).count(flat)

    return ask


class _Plans:
    """The plans of one query, by the shapes it was asked in."""

    def __init__(self, build: Callable[..., QuerySet[Any, Any]]) -> None:
        self._build = build
        self._known: dict[Any, _Plan] = {}

    def of(self, flat: Collection[Any], shape: dict[str, Any]) -> "_Plan":
        key = (connection.vendor, *map(_kind, flat), *shape.items())
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = _Plan(self._build, flat, shape)
        return found


def _flat(value: Any) -> Any:
    """Give a value, or a list as long as a power of two, so that lists of many lengths share a few plans."""
    if value is None or isinstance(value, int | str | dt.date):
        return value
    found = list(value)
    wanted = 1 << (len(found) - 1).bit_length() if found else 0
    return found + found[-1:] * (wanted - len(found))


def _kind(value: Any) -> Any:
    return (len(value), type(value[0])) if isinstance(value, list) else type(value)


class _Plan:
    """The SQL of one shape, and where in its parameters each value goes."""

    def __init__(self, build: Callable[..., QuerySet[Any, Any]], flat: Collection[Any], shape: dict[str, Any]) -> None:
        numbers = iter(range(1_000_000))
        stand_ins = [_stand_in(value, numbers) for value in flat]
        found = build(*stand_ins, **shape)
        self._rows = found._iterable_class
        self._found = found
        self._compiler = found.query.get_compiler(found.db)
        self._sql, params = self._compiler.as_sql()
        columns = [column for column, _, _ in self._compiler.select[: self._compiler.col_count]]
        self._converters = self._compiler.get_converters(columns)
        places = {_adapted(one): number for number, one in enumerate(_all(stand_ins)) if one is not None}
        self._places = [(places.get(param), param) for param in params]
        told = {place for place, _ in self._places if place is not None}
        if told != set(places.values()) or any(place is None and _is_stand_in(param) for place, param in self._places):
            raise TypeError(f"{build.__name__} must hand each value to its query as it is")

    def ask(self, flat: Collection[Any]) -> Any:
        params = self._params(flat)
        compiler = copy(self._compiler)
        compiler.connection = connection
        compiler.as_sql = lambda *_, **__: (self._sql, params)
        compiler.get_converters = lambda _: self._converters
        asked: Any = _Asked(self._found, compiler)
        return self._rows(asked)

    def count(self, flat: Collection[Any]) -> int:
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT COUNT(*) FROM ({self._sql}) counted", self._params(flat))
            return int(cursor.fetchone()[0])

    def _params(self, flat: Collection[Any]) -> tuple[Any, ...]:
        values = [_adapted(value) for value in _all(flat)]
        return tuple(param if place is None else values[place] for place, param in self._places)


class _Asked:
    """As much of a query set as Django's makers of rows look at."""

    def __init__(self, found: Any, compiler: Any) -> None:
        self.db, self.model = found.db, found.model
        self.query = _Compiled(found.query, compiler)
        self._known_related_objects: dict[Any, Any] = {}
        self._fields = found._fields


class _Compiled:
    def __init__(self, query: Any, compiler: Any) -> None:
        self._query, self._compiler = query, compiler

    def __getattr__(self, name: str) -> Any:
        return getattr(self._query, name)

    def get_compiler(self, using: str | None = None) -> Any:
        return self._compiler


def _all(values: Collection[Any]) -> Iterator[Value]:
    for value in values:
        if isinstance(value, list):
            yield from value
        else:
            yield value


def _stand_in(value: Any, numbers: Iterator[int]) -> Any:
    match value:
        case list():
            return [_stand_in(one, numbers) for one in value]
        case bool():
            raise TypeError("whether something is so is part of a query's shape")
        case int():
            return _INT + next(numbers)
        case str():
            return f"{_TEXT}{next(numbers)}"
        case dt.date():
            return _DAY + dt.timedelta(days=next(numbers))
        case _:
            return None


def _is_stand_in(param: Any) -> bool:
    """Whether something was made of a stand-in, so that it would stand in the SQL for good."""
    match param:
        case bool():
            return False
        case int():
            return abs(param) >= _INT // 2
        case dt.date():
            return param.year < 1000
        case _:
            return isinstance(param, str) and _MADE_OF_ONE.search(param) is not None


def _adapted(value: Value) -> Any:
    return connection.ops.adapt_datefield_value(value) if isinstance(value, dt.date) else value
