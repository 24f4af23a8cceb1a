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

# Addresses that need no login.
OPEN = frozenset({"login", "logout"})

EVERYBODY = frozenset(Role)
DESK = frozenset({Role.OFFICE, Role.OWNER})

MAY_SEE: dict[str, frozenset[Role]] = {
    "home": EVERYBODY,
    "lookup": EVERYBODY,
    "unit": EVERYBODY,
    "answer": EVERYBODY,
    "site": EVERYBODY,
    "customer": EVERYBODY,
    "ending": DESK,
    "terms_list": EVERYBODY,
    "terms": EVERYBODY,
    "terms_units": DESK,
    "terms_checked": DESK,
    "terms_check_undone": DESK,
    "jobs": DESK,
    "jobs_open": DESK,
    "job": DESK,
    "job_stop": DESK,
    "job_again": DESK,
}

# Where somebody begins.
FIRST_PAGE = {Role.OWNER: "ending", Role.OFFICE: "lookup", Role.TECHNICIAN: "lookup"}


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
