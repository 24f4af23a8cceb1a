"""The frame of every page, as a context processor."""

from typing import Any

from django.http import HttpRequest

from fleet.web import places
from fleet.web.menu_page import Frame


def frame(request: HttpRequest) -> dict[str, Any]:
    """Give the frame for whoever asks; an error page may come before anybody is known."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"frame": Frame()}
    here = request.resolver_match.view_name if request.resolver_match else ""
    return {"frame": Frame(str(user), user.role, *places.offered(user.role, here))}
