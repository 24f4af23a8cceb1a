"""What a field is called on forms, beside another that tells it differently, and in the log of changes."""

from fleet import models
from fleet.models.facts import facts_of
from fleet.rules.spreadsheets.places import region_name

LABELS = {
    **{name: fact.label for table in (models.Customer, models.Site, models.Unit) for name, fact in facts_of(table).items()},
    "use": "Use", "customer": "Customer", "system": "System", "removed_on": "Removed on", "removal_reason": "Why it was removed",
    "in_place_of": "Takes the place of", "matched_after": "System still matched after the exchange",
    "replaced_on": "Replaced another on", "joined_on": "Moved here on",
    "label": "Label", "contact": "Contact", "payer told": "Payer notified", "nobody_knows": "Nobody knows", "taken_back": "Undone", "swapped": "Swapped",
    "found": "Found on site", "not there": "Not there",
    "in_name": "In whose name", "fine_name": "Right though the owner is", "fine_serial_key": "Right though the serial is",
    "put_on_file": "Put on file",
}  # fmt: skip


# What people say of what a site is used for; files and rows keep the shorter words.
USES = {"owner home": "owner-occupied home", "business": "non-residential (business, church, venue)"}


def said(field: str, value: str) -> str:
    """The value of a field as people say it.

    >>> said("region", "US-ME"), said("use", "owner home"), said("room", "Den")
    ('Maine', 'owner-occupied home', 'Den')
    """
    match field:
        case "region":
            return region_name(value)
        case "use":
            return USES.get(value, value)
        case _:
            return value


def label(field: str) -> str:
    """A field's name in words.

    >>> label("started_on"), label("repaired_on")
    ('Started', 'Repaired on')
    """
    return LABELS.get(field) or field.removesuffix("_id").replace("_", " ").capitalize()
