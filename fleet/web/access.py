"""Who may see what: one table, enforced for every address before its view runs."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.cache import patch_cache_control
from django_htmx.http import HttpResponseClientRedirect

from fleet.models.people import Role, User

# Addresses that need no login; the calendar's has a key of its own.
OPEN = frozenset({"login", "logout", "password_forgotten", "password_sent", "password_new", "calendar_feed"})

EVERYBODY = frozenset(Role)
DESK = frozenset({Role.OFFICE, Role.OWNER})
OWNER = frozenset({Role.OWNER})

MAY_SEE: dict[str, frozenset[Role]] = {
    "home": EVERYBODY,
    "lookup": EVERYBODY,
    "unit": EVERYBODY,
    "answer": EVERYBODY,
    "site": EVERYBODY,
    "customer": EVERYBODY,
    "put_in": DESK,
    "put_in_places": DESK,
    "put_in_serial": DESK,
    "put_in_done": DESK,
    "put_in_back": DESK,
    "unit_correct": DESK,
    "site_correct": DESK,
    "customer_correct": DESK,
    "unit_changes": EVERYBODY,
    "site_changes": EVERYBODY,
    "customer_changes": EVERYBODY,
    "unit_merge": DESK,
    "site_merge": DESK,
    "customer_merge": DESK,
    "merge_undo": DESK,
    "unit_life": DESK,
    "life_back": DESK,
    "failures": DESK,
    "failure_new": EVERYBODY,
    "failure": EVERYBODY,
    "failure_repair": EVERYBODY,
    "failure_photos": EVERYBODY,
    "failure_old_part": EVERYBODY,
    "failure_correct": DESK,
    "failure_void": DESK,
    "claim_open": DESK,
    "claims": DESK,
    "clocks": DESK,
    "claim": DESK,
    "claim_step": DESK,
    "claim_take_back": DESK,
    "claim_change": DESK,
    "claim_let_go": DESK,
    "claim_take_up": DESK,
    "claim_give": DESK,
    "suppliers": DESK,
    "supplier_add": DESK,
    "supplier": DESK,
    "site_contacts": EVERYBODY,
    "contact_add": DESK,
    "contact": DESK,
    "contact_drop": DESK,
    "sold": DESK,
    "sold_back": DESK,
    "payer_told": DESK,
    "unsold": DESK,
    "unsold_closed": DESK,
    "waiting": DESK,
    "registrations": DESK,
    "registration": DESK,
    "registration_late": DESK,
    "registration_missed": DESK,
    "registration_proof": DESK,
    "registration_date": DESK,
    "registration_undo": DESK,
    "registration_remind": DESK,
    "registration_letter": DESK,
    "wanted": DESK,
    "wanted_fill": DESK,
    "wanted_undo": DESK,
    "set_aside": DESK,
    "set_aside_put": DESK,
    "set_aside_back": DESK,
    "payer_differences": DESK,
    "unit_payers": DESK,
    "payer_settle": DESK,
    "payer_reopen": DESK,
    "payer_take_back": DESK,
    "claim_paper": DESK,
    "claim_tag": EVERYBODY,
    "calendars": DESK,
    "calendar_revoke": DESK,
    "statements": DESK,
    "statement": DESK,
    "statement_again": DESK,
    "statement_match": DESK,
    "statement_aside": DESK,
    "statement_open": DESK,
    "money": DESK,
    "due": EVERYBODY,
    "site_care": EVERYBODY,
    "site_sheet": EVERYBODY,
    "wall_card": EVERYBODY,
    "care_record": EVERYBODY,
    "care_done": EVERYBODY,
    "care_undo": EVERYBODY,
    "visits": DESK,
    "site_visits": DESK,
    "booking": DESK,
    "booking_call_off": DESK,
    "visit_sheet": EVERYBODY,
    "today": EVERYBODY,
    "write_up_new": EVERYBODY,
    "write_up": EVERYBODY,
    # Of the technicians, the one who sent it: the view and the action see to that.
    "write_up_back": EVERYBODY,
    "refrigerant": EVERYBODY,
    "refrigerant_add": EVERYBODY,
    "refrigerant_start": EVERYBODY,
    "refrigerant_entry": DESK,
    "refrigerant_off": DESK,
    "what_fails": OWNER,
    "what_fails_of": OWNER,
    "agreements": DESK,
    "agreement": DESK,
    "agreement_renew": DESK,
    "agreement_unrenew": DESK,
    "agreement_end": DESK,
    "agreement_resume": DESK,
    "agreement_new": DESK,
    "year_ahead": OWNER,
    "on_offer": DESK,
    "house": OWNER,
    "house_months": OWNER,
    "house_closed": OWNER,
    "house_open": OWNER,
    "layouts": DESK,
    "layouts_paper": DESK,
    "ending": DESK,
    "terms_list": EVERYBODY,
    "terms": EVERYBODY,
    "terms_units": DESK,
    "terms_checked": DESK,
    "terms_check_undone": DESK,
    "imports": DESK,
    "import": DESK,
    "import_columns": DESK,
    "import_stop": DESK,
    "import_drop": DESK,
    "import_problems": DESK,
    "jobs": DESK,
    "jobs_open": DESK,
    "job": DESK,
    "job_stop": DESK,
    "job_again": DESK,
    "unit_documents": EVERYBODY,
    "site_documents": EVERYBODY,
    "document": EVERYBODY,
    "document_small": EVERYBODY,
    "document_drop": DESK,
    "document_back": DESK,
    "people": OWNER,
    "person_add": OWNER,
    "person": OWNER,
    "person_change": OWNER,
    "person_off": OWNER,
    "person_on": OWNER,
    "person_unlock": OWNER,
    "person_link": OWNER,
    "password": EVERYBODY,
    "roles": EVERYBODY,
}

# The same table as the page of roles says it, `screen: what is done there`; addresses said alike are one line there.
WORDS: dict[str, str] = {
    "home": "Look-up: find units, sites and customers",
    "lookup": "Look-up: find units, sites and customers",
    "unit": "Unit: see it, and who would pay for a failure",
    "answer": "Unit: see it, and who would pay for a failure",
    "site": "Site and customer: see them",
    "customer": "Site and customer: see them",
    "put_in": "New install: register it",
    "put_in_places": "New install: register it",
    "put_in_serial": "New install: register it",
    "put_in_done": "New install: register it",
    "put_in_back": "New install: take back what was just saved",
    "unit_correct": "Unit, site, customer: correct what is wrong",
    "site_correct": "Unit, site, customer: correct what is wrong",
    "customer_correct": "Unit, site, customer: correct what is wrong",
    "unit_changes": "Unit, site, customer: see what was changed",
    "site_changes": "Unit, site, customer: see what was changed",
    "customer_changes": "Unit, site, customer: see what was changed",
    "unit_merge": "Unit, site, customer: merge two that are one, and take them apart again",
    "site_merge": "Unit, site, customer: merge two that are one, and take them apart again",
    "customer_merge": "Unit, site, customer: merge two that are one, and take them apart again",
    "merge_undo": "Unit, site, customer: merge two that are one, and take them apart again",
    "unit_life": "Unit: move, exchange or take it out",
    "life_back": "Unit: move, exchange or take it out",
    "failures": "Failures: list them",
    "failure_new": "Failures: record one, its repair, its photos, and see it",
    "failure": "Failures: record one, its repair, its photos, and see it",
    "failure_repair": "Failures: record one, its repair, its photos, and see it",
    "failure_photos": "Failures: record one, its repair, its photos, and see it",
    "failure_old_part": "Failures: record one, its repair, its photos, and see it",
    "failure_correct": "Failures: correct and void",
    "failure_void": "Failures: correct and void",
    "claim_open": "Claims: open one, take it on, and see their clocks",
    "claims": "Claims: open one, take it on, and see their clocks",
    "clocks": "Claims: open one, take it on, and see their clocks",
    "claim": "Claims: open one, take it on, and see their clocks",
    "claim_step": "Claims: open one, take it on, and see their clocks",
    "claim_take_back": "Claims: open one, take it on, and see their clocks",
    "claim_change": "Claims: open one, take it on, and see their clocks",
    "claim_let_go": "Claims: open one, take it on, and see their clocks",
    "claim_take_up": "Claims: open one, take it on, and see their clocks",
    "claim_give": "Claims: open one, take it on, and see their clocks",
    "suppliers": "Suppliers: see, add and correct them",
    "supplier_add": "Suppliers: see, add and correct them",
    "supplier": "Suppliers: see, add and correct them",
    "site_contacts": "Contacts: see whom to reach about a site",
    "contact_add": "Contacts: add, correct and take off",
    "contact": "Contacts: add, correct and take off",
    "contact_drop": "Contacts: add, correct and take off",
    "sold": "Sold: hand a house on, and record which payers were told",
    "sold_back": "Sold: hand a house on, and record which payers were told",
    "payer_told": "Sold: hand a house on, and record which payers were told",
    "unsold": "New houses: see which were not closed yet, and record the day",
    "unsold_closed": "New houses: see which were not closed yet, and record the day",
    "waiting": "Waiting on us: see what waits",
    "registrations": "Registrations: see the queue, record and take back",
    "registration": "Registrations: see the queue, record and take back",
    "registration_late": "Registrations: see the queue, record and take back",
    "registration_missed": "Registrations: see the queue, record and take back",
    "registration_proof": "Registrations: see the queue, record and take back",
    "registration_date": "Registrations: see the queue, record and take back",
    "registration_undo": "Registrations: see the queue, record and take back",
    "registration_remind": "Registrations: see the queue, record and take back",
    "registration_letter": "Registrations: see the queue, record and take back",
    "wanted": "Facts wanted: see the list",
    "wanted_fill": "Facts wanted: fill them in",
    "wanted_undo": "Facts wanted: fill them in",
    "set_aside": "Facts wanted: set aside what nobody knows, and bring it back",
    "set_aside_put": "Facts wanted: set aside what nobody knows, and bring it back",
    "set_aside_back": "Facts wanted: set aside what nobody knows, and bring it back",
    "payer_differences": "Payers differ: see the list",
    "unit_payers": "What payers said: record and settle it",
    "payer_settle": "What payers said: record and settle it",
    "payer_reopen": "What payers said: record and settle it",
    "payer_take_back": "What payers said: record and settle it",
    "claim_paper": "Claims: the paper for the payer",
    "claim_tag": "Claims: the tag for the old part",
    "calendars": "Claims: read the clocks in a calendar of one's own",
    "calendar_revoke": "Claims: read the clocks in a calendar of one's own",
    "statements": "Payers' statements: take them, and decide whose each credit is",
    "statement": "Payers' statements: take them, and decide whose each credit is",
    "statement_again": "Payers' statements: take them, and decide whose each credit is",
    "statement_match": "Payers' statements: take them, and decide whose each credit is",
    "statement_aside": "Payers' statements: take them, and decide whose each credit is",
    "statement_open": "Payers' statements: take them, and decide whose each credit is",
    "money": "Money: what came back, what is out, and what was lost",
    "due": "Due: see what is due, and print it",
    "site_care": "Due: see what is due, and print it",
    "site_sheet": "Due: see what is due, and print it",
    "wall_card": "Due: see what is due, and print it",
    "care_record": "Due: record what was done or skipped, and take one's own back",
    "care_done": "Due: record what was done or skipped, and take one's own back",
    "care_undo": "Due: record what was done or skipped, and take one's own back",
    "visits": "Visits: plan, book, move and call them off",
    "site_visits": "Visits: plan, book, move and call them off",
    "booking": "Visits: plan, book, move and call them off",
    "booking_call_off": "Visits: plan, book, move and call them off",
    "visit_sheet": "Today's stops: see them, print a visit's sheet, and write up a stop",
    "today": "Today's stops: see them, print a visit's sheet, and write up a stop",
    "write_up_new": "Today's stops: see them, print a visit's sheet, and write up a stop",
    "write_up": "Today's stops: see them, print a visit's sheet, and write up a stop",
    "write_up_back": "Write-ups: take one back; a technician, those of their own",
    "refrigerant": "Refrigerant: see a system's, enter what was put in or taken out, record its start-up",
    "refrigerant_add": "Refrigerant: see a system's, enter what was put in or taken out, record its start-up",
    "refrigerant_start": "Refrigerant: see a system's, enter what was put in or taken out, record its start-up",
    "refrigerant_entry": "Refrigerant: put an entry right, or take it off",
    "refrigerant_off": "Refrigerant: put an entry right, or take it off",
    "what_fails": "What fails and when: see it",
    "what_fails_of": "What fails and when: see it",
    "agreements": "Agreements: see them, make, change, renew and end them",
    "agreement": "Agreements: see them, make, change, renew and end them",
    "agreement_renew": "Agreements: see them, make, change, renew and end them",
    "agreement_unrenew": "Agreements: see them, make, change, renew and end them",
    "agreement_end": "Agreements: see them, make, change, renew and end them",
    "agreement_resume": "Agreements: see them, make, change, renew and end them",
    "agreement_new": "Agreements: see them, make, change, renew and end them",
    "year_ahead": "The year ahead: see it",
    "on_offer": "On offer: see the list to call down",
    "house": "Hours and rates: settle them",
    "house_months": "Hours and rates: settle them",
    "house_closed": "Hours and rates: settle them",
    "house_open": "Hours and rates: settle them",
    "layouts": "Layouts: compare them before a sale, on the page and on paper",
    "layouts_paper": "Layouts: compare them before a sale, on the page and on paper",
    "ending": "Coverage ending: see the list",
    "terms_list": "Terms: read them",
    "terms": "Terms: read them",
    "terms_units": "Terms: list the units that hold them",
    "terms_checked": "Terms: record that they were held against the paper again",
    "terms_check_undone": "Terms: record that they were held against the paper again",
    "imports": "Import: bring a file, match its columns, check and take it",
    "import": "Import: bring a file, match its columns, check and take it",
    "import_columns": "Import: bring a file, match its columns, check and take it",
    "import_stop": "Import: bring a file, match its columns, check and take it",
    "import_drop": "Import: bring a file, match its columns, check and take it",
    "import_problems": "Import: bring a file, match its columns, check and take it",
    "jobs": "Background work: see it",
    "jobs_open": "Background work: see it",
    "job": "Background work: see it",
    "job_stop": "Background work: stop it, or have it tried again",
    "job_again": "Background work: stop it, or have it tried again",
    "unit_documents": "Photos and papers: see and add them",
    "site_documents": "Photos and papers: see and add them",
    "document": "Photos and papers: see and add them",
    "document_small": "Photos and papers: see and add them",
    "document_drop": "Photos and papers: drop them, and bring them back",
    "document_back": "Photos and papers: drop them, and bring them back",
    "people": "People: see who has a login",
    "person": "People: see who has a login",
    "person_add": "People: give somebody a login, or change it",
    "person_change": "People: give somebody a login, or change it",
    "person_off": "People: switch a login off or on, or unlock it",
    "person_on": "People: switch a login off or on, or unlock it",
    "person_unlock": "People: switch a login off or on, or unlock it",
    "person_link": "People: give out a link for a new password",
    "password": "Your login: change your own password",
    "roles": "Your login: see which role may do what",
}

# Where somebody begins.
FIRST_PAGE = {Role.OWNER: "year_ahead", Role.OFFICE: "waiting", Role.TECHNICIAN: "today"}


def may_see(role: str, name: str) -> bool:
    """Whether a role may see an address; without a role, none but the open ones."""
    return name in OPEN or (bool(role) and Role(role) in MAY_SEE[name])


def person(request: HttpRequest) -> User:
    """Whoever is here: behind every address but the open ones, somebody is."""
    assert isinstance(request.user, User)
    return request.user


class AccessMiddleware:
    """Nobody here: to the login. No role: nothing is here. The wrong role: a page that says so."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        # Customers' names and streets: a browser must not show them again after the logout.
        patch_cache_control(response, private=True, no_store=True)
        return response

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        """Stop a request that this person may not make."""
        assert request.resolver_match is not None
        name = request.resolver_match.view_name
        if name in OPEN:
            return None
        if not request.user.is_authenticated:
            return _to_login(request)
        if not request.user.role:
            raise Http404
        if not may_see(request.user.role, name):
            raise PermissionDenied
        return None


def _to_login(request: HttpRequest) -> HttpResponseBase:
    """Send to the login and back here; a part of a page sends the whole page there."""
    if getattr(request, "htmx", False):
        here = request.htmx.current_url_abs_path or "/"  # type: ignore[attr-defined]
        return HttpResponseClientRedirect(redirect_to_login(here)["Location"])
    return redirect_to_login(request.get_full_path() if request.method == "GET" else "/")
