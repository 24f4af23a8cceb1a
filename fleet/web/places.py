"""The places to go: one table, from which the head of every page is made."""

from dataclasses import dataclass

from fleet.models.people import Role
from fleet.web import access
from fleet.web.menu_page import Entry, Group


@dataclass(frozen=True, slots=True, init=False)
class Place:
    """The name of an address, its words, and the other addresses that belong to it."""

    name: str
    title: str
    family: frozenset[str]

    def __init__(self, name: str, title: str, *family: str) -> None:
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "title", title)
        object.__setattr__(self, "family", frozenset({name, *family}))


# What is reached from what was looked up.
_LOOKED_UP = (
    "unit", "answer", "unit_documents", "unit_payers", "site", "site_documents", "customer", "unit_correct", "unit_changes",
    "unit_merge", "unit_life", "site_correct", "site_changes", "site_merge", "customer_correct", "customer_changes",
    "customer_merge", "refrigerant", "refrigerant_entry", "site_contacts", "contact", "contact_add", "sold",
)  # fmt: skip

# Every place, under the heading that it stands under in the menu. A new one is one line. Who is offered it follows from the
# table in access.py; one whose address that table does not know yet is offered to nobody.
PLACES: dict[str, tuple[Place, ...]] = {
    "Each day": (
        Place("waiting", "Waiting on us"),
        Place("today", "Today's stops", "write_up_new", "write_up", "write_up_back"),
        Place("lookup", "Look-up", *_LOOKED_UP),
        Place("put_in", "New install", "put_in_done"),
    ),
    "Promises": (
        Place("claims", "Claims", "claim", "claim_open"),
        Place("clocks", "Clocks of claims"),
        Place("suppliers", "Suppliers", "supplier", "supplier_add"),
        Place("statements", "Payers' statements", "statement"),
        Place("calendars", "Clocks in your calendar"),
        Place("registrations", "Registrations", "registration", "registration_late", "registration_date"),
        Place("payer_differences", "Payers differ"),
        Place("unsold", "New houses"),
    ),
    "Care": (
        Place("due", "Due", "site_care", "care_record"),
        Place("visits", "Visits", "site_visits", "booking"),
        Place("agreements", "Agreements", "agreement", "agreement_new"),
        Place("layouts", "Layouts compared"),
    ),
    "The record": (
        Place("wanted", "Facts wanted", "set_aside"),
        Place("failures", "Failures", "failure", "failure_new", "failure_repair", "failure_correct"),
        Place("terms_list", "Terms", "terms", "terms_units"),
        Place("imports", "Import", "import", "import_columns"),
    ),
    "The outlook": (
        Place("year_ahead", "The year ahead"),
        Place("on_offer", "On offer"),
        Place("ending", "Coverage ending"),
        Place("money", "Money"),
        Place("what_fails", "What fails and when"),
    ),
    "The office": (
        Place("jobs", "Background work", "job"),
        Place("people", "People", "person", "person_add", "person_change"),
        Place("house", "Hours and rates"),
        Place("roles", "Which role may do what"),
        Place("password", "Your password"),
    ),
}

# The few that stand in the head itself, by role; a phone shows the first two.
FIRST: dict[Role, tuple[str, ...]] = {
    Role.TECHNICIAN: ("today", "lookup", "terms_list"),
    Role.OFFICE: ("waiting", "lookup", "claims", "due", "put_in"),
    Role.OWNER: ("year_ahead", "lookup", "waiting", "ending", "claims"),
}


def offered(role: str, here: str) -> tuple[tuple[Entry, ...], tuple[Group, ...]]:
    """Give what stands in the head for a role, and all that it may go to, by group; `here` is the address asked for."""
    groups = tuple(
        Group(heading, entries)
        for heading, places in PLACES.items()
        if (
            entries := tuple(
                Entry(place.name, place.title, here in place.family) for place in places if _is_open(role, place.name)
            )
        )
    )
    entry_of = {entry.name: entry for group in groups for entry in group.entries}
    first = FIRST[Role(role)] if role else ()
    return tuple(entry_of[name] for name in first if name in entry_of), groups


def _is_open(role: str, name: str) -> bool:
    return role in access.MAY_SEE.get(name, frozenset())
