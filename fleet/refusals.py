"""Why nothing was written: one refusal for every action, and one for what somebody else changed meanwhile."""

from collections.abc import Collection, Mapping
from typing import Any, Self

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db.models import Model


class Refused(ValueError):
    """Nothing was changed, and why: a sentence, or several by the field that each is about (blank: about none).

    A field is an argument of the action, or a fact that it was given by name. Of several sentences at one field, each is a line.
    """

    def __init__(self, why: str | Mapping[str, str], field: str = "") -> None:
        self.faults = {field: why} if isinstance(why, str) else dict(why)
        super().__init__(" ".join(self.faults.values()))

    @classmethod
    def by(cls, wrong: ValidationError, *, whole: str = "") -> Self:
        """The refusal that a row's own rules ask for; `whole` is the field for what is wrong with the row as a whole."""
        by_field = wrong.message_dict if hasattr(wrong, "error_dict") else {NON_FIELD_ERRORS: wrong.messages}
        return cls({whole if name == NON_FIELD_ERRORS else name: " ".join(texts) for name, texts in by_field.items()})


class Conflict(Refused):
    """Somebody else changed it since it was seen: who, and what. `now` is what the facts in question are by now."""

    def __init__(self, why: str | Mapping[str, str], field: str = "", *, now: Mapping[str, Any] | None = None) -> None:
        super().__init__(why, field)
        self.now = dict(now or {})


def check(row: Model, *, exclude: Collection[str] = (), whole: str = "") -> None:
    """Refuse a row that breaks a rule of its own; a fact that nobody recorded breaks none."""
    blank = {field.name for field in row._meta.fields if getattr(row, field.attname) is None}
    try:
        row.full_clean(exclude=blank | set(exclude))
    except ValidationError as wrong:
        raise Refused.by(wrong, whole=whole) from wrong
