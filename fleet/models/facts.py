"""The facts of customers, sites, systems and units: said once, where the column of each is.

Files, forms, pages, merging, exchanges and the log go by them. What a fact is called is no part of its column, so words
change without a migration.
"""

from dataclasses import dataclass
from typing import Any, Literal, TypeVar

from django.db.models import Field, Model

AnyField = TypeVar("AnyField", bound="Field[Any, Any]")
AskedAt = Literal["", "row", "once", "more"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact: its field, what forms and the log call it, and what its page calls it (blank: it is no line there).

    `measure` stands behind its value on the page. `any_of`: it is any number of these words, with ; between. `in_files`:
    a file has it, by the name of its field. `new_install`: where a new install asks for it, in the row of each unit, once for
    all of them, or among what terms may ask about. `handed_on`: a unit that came in exchange under warranty has it from the
    first of its line. `stays`: it is of the spot, so that a unit that takes another's place takes it over.
    """

    field: "Field[Any, Any]"
    label: str
    page: str
    measure: str
    any_of: tuple[str, ...]
    in_files: bool
    new_install: AskedAt
    handed_on: bool
    stays: bool


def fact(
    field: AnyField,
    label: str,
    *,
    page: str | None = None,
    measure: str = "",
    any_of: tuple[str, ...] = (),
    in_files: bool = True,
    new_install: AskedAt = "",
    handed_on: bool = False,
    stays: bool = False,
) -> AnyField:
    """A field that is a fact; its page calls it by its label if nothing else is said."""
    page = label if page is None else page
    field.fact = Fact(field, label, page, measure, any_of, in_files, new_install, handed_on, stays)  # type: ignore[attr-defined]
    return field


def facts_of(table: type[Model]) -> dict[str, Fact]:
    """The facts of a table by the names of their fields, in its order."""
    return {field.name: field.fact for field in table._meta.concrete_fields if hasattr(field, "fact")}
