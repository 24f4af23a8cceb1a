"""What a field is called on forms, beside another that tells it differently, and in the log of changes."""

from fleet import models
from fleet.models.facts import facts_of

LABELS = {
    **{name: fact.label for table in (models.Customer, models.Site, models.Unit) for name, fact in facts_of(table).items()},
    "use": "Use", "customer": "Customer", "system": "System", "removed_on": "Removed on", "removal_reason": "Why it was removed",
    "replaced_on": "Replaced another on", "joined_on": "Moved here on",
    "contact": "Contact", "payer told": "Payer notified", "nobody_knows": "Nobody knows", "taken_back": "Undone",
}  # fmt: skip


def label(field: str) -> str:
    """A field's name in words.

    >>> label("started_on"), label("repaired_on")
    ('Started', 'Repaired on')
    """
    return LABELS.get(field) or field.removesuffix("_id").replace("_", " ").capitalize()
