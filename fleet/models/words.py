"""Fields whose words are a closed list that the rules share, with the constraint that holds them to it."""

from collections.abc import Iterable

from django.db import models
from django.db.models import Q


def one_of(field: str, words: Iterable[str], *, blank: bool = False) -> models.CheckConstraint:
    """Hold a column to a closed list of words; name it `<class>_<field>_known`."""
    known = [*words, ""] if blank else list(words)
    return models.CheckConstraint(
        condition=Q(**{f"{field}__in": known}),
        name=f"%(class)s_{field}_known",
        violation_error_message=f"{field} is not one of the known words.",
    )


def choices(words: Iterable[str]) -> list[tuple[str, str]]:
    """A list of words as choices of a field."""
    return [(word, word) for word in words]
