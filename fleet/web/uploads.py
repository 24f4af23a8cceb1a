"""How much a request may bring at most, told before any of it is read."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

# A file of 100,000 installs fits several times; so do the photos of a day.
LARGEST = 200 * 1024 * 1024


class UploadLimitMiddleware:
    """Refuse what is larger than anything that is wanted, before it fills the disk: also from whoever has no login."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # A request that does not say its length has no body here: the server reads none.
        try:
            length = int(request.META.get("CONTENT_LENGTH") or 0)
        except ValueError:
            length = 0
        if length > LARGEST:
            return render(request, "413.html", {"most": LARGEST // (1024 * 1024)}, status=413)
        return self.get_response(request)
