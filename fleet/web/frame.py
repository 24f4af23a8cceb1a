"""The frame of every page, as a context processor."""

from typing import Any

from django.http import HttpRequest

from fleet.pages.frame import Entry, Frame
from fleet.web import access

# What is reached from what was looked up.
_LOOKED_UP = {
    "lookup", "unit", "answer", "unit_documents", "unit_payers", "site", "site_documents", "customer", "unit_correct", "unit_changes",
    "unit_merge", "unit_life", "site_correct", "site_changes", "site_merge", "customer_correct", "customer_changes",
    "customer_merge", "site_contacts", "contact", "sold",
}  # fmt: skip
# Each place to go, its words, and the addresses that belong to it.
_PLACES = (
    ("lookup", "Look-up", _LOOKED_UP),
    ("waiting", "Waiting on us", {"waiting"}),
    ("put_in", "New install", {"put_in", "put_in_done"}),
    ("registrations", "Registrations", {"registrations", "registration", "registration_late"}),
    ("wanted", "Facts wanted", {"wanted"}),
    ("payer_differences", "Payers differ", {"payer_differences"}),
    ("ending", "Coverage ending", {"ending"}),
    ("unsold", "New houses", {"unsold"}),
    ("terms_list", "Terms", {"terms_list", "terms", "terms_units"}),
    ("jobs", "Background work", {"jobs", "job"}),
    ("people", "People", {"people", "person", "person_add", "person_change"}),
)


def frame(request: HttpRequest) -> dict[str, Any]:
    """Give the frame for whoever asks; an error page may come before anybody is known."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"frame": Frame()}
    here = request.resolver_match.view_name if request.resolver_match else ""
    entries = tuple(
        Entry(name, title, here in family) for name, title, family in _PLACES if access.may_see(user.role, name)
    )
    return {"frame": Frame(str(user), user.role, entries)}
