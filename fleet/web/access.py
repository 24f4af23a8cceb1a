"""Who may see what, by the table of addresses, enforced for each before its view runs."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.urls import URLResolver, get_resolver
from django.utils.cache import patch_cache_control
from django_htmx.http import HttpResponseClientRedirect

from fleet.models.people import Role, User
from fleet.web import as_json
from fleet.web.address import Guarded
from fleet.web.drafts import page_of


def table() -> dict[str, Guarded]:
    """Every address by its name, in the order of `fleet/addresses`."""
    return _table(get_resolver())


@lru_cache(maxsize=1)
def _table(resolver: URLResolver) -> dict[str, Guarded]:
    return {pattern.name: pattern for pattern in resolver.url_patterns if isinstance(pattern, Guarded) and pattern.name}


def needs_no_login(name: str) -> bool:
    """Whether anybody may see an address; the calendar's has a key of its own."""
    return table()[name].roles is None


def may_see(role: str, name: str) -> bool:
    """Whether a role may see an address; without a role, none but those that need no login."""
    return needs_no_login(name) or role in roles_of(name)


def roles_of(name: str) -> frozenset[Role]:
    """The roles that may see an address."""
    return table()[name].roles or frozenset()


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
        if needs_no_login(name):
            return None
        if not request.user.is_authenticated:
            return _to_login(request)
        if not request.user.role:
            raise Http404
        if not may_see(request.user.role, name):
            if as_json.is_wanted(request):
                return as_json.refused(403, "Your login may not do this any more. Ask the office.", code="role")
            raise PermissionDenied
        return None


def _to_login(request: HttpRequest) -> HttpResponseBase:
    """Send to the login and back here, or to the page that a form was sent from; a script is only told."""
    if as_json.is_wanted(request):
        return as_json.refused(401, "Log in again; what is waiting is then sent.", code="login")
    if getattr(request, "htmx", False):
        here = request.htmx.current_url_abs_path or "/"  # type: ignore[attr-defined]
        return HttpResponseClientRedirect(redirect_to_login(here)["Location"])
    return redirect_to_login(request.get_full_path() if request.method == "GET" else page_of(request) or "/")
