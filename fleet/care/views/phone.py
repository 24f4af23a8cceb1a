"""The app for no signal: a page that says nothing of anybody, its worker and manifest, and the stops that a phone keeps."""

import hashlib
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from fleet import clock
from fleet.care.forms.write_ups import WriteUpForm
from fleet.care.pages.stops import Stop
from fleet.care.queries import stops
from fleet.models.people import Role
from fleet.rules.wording.readings import NOT_A_CHARGING_METHOD
from fleet.web import access, as_json

STYLES = tuple(f"fleet/{name}.css" for name in ("app", "due", "editing", "failures", "stops"))
SCRIPTS = tuple(
    f"fleet/{name}.js"
    for name in (
        "store",
        "phone",
        "write_up",
        "write_up_photos",
        "write_up_sign",
        "write_up_draft",
        "phone_stops",
        "find_unit",
        "phone_shell",
    )
)
ICONS = ("fleet/icon.svg", "fleet/icon-192.png", "fleet/icon-512.png")
FILES = (*STYLES, *SCRIPTS, *ICONS)
# As many stops as a phone keeps: today's and tomorrow's, then those that nobody wrote up.
MOST = 20
# As many visits ahead as a phone keeps of a site that was looked at.
MOST_AHEAD = 4


@require_safe
def phone(request: HttpRequest) -> HttpResponse:
    """The page itself, the same for everybody."""
    return HttpResponse(_page())


def _page() -> str:
    return render_to_string("phone/phone.html", {"styles": STYLES, "scripts": SCRIPTS})


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The worker, never cached; where the app is switched off, one that removes what was kept and itself."""
    name = "phone/worker.js" if settings.PHONE_WORKER else "phone/worker_off.js"
    response = render(request, name, {"files": FILES, "release": _release()}, content_type="text/javascript")
    response["Cache-Control"] = "no-cache"
    return response


@lru_cache(maxsize=1)
def _release() -> str:
    """What the page and all its files fold to: with any change of one of them it is another."""
    folded = hashlib.sha256(_page().encode())
    for name in FILES:
        found = finders.find(name)
        folded.update(static(name).encode() + (Path(str(found)).read_bytes() if found else b""))
    return folded.hexdigest()[:16]


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """What a phone needs to install it."""
    sizes = {"fleet/icon-192.png": "192x192", "fleet/icon-512.png": "512x512"}
    said = {
        "name": "Tenth Year",
        "short_name": "Tenth Year",
        "id": reverse("phone"),
        "start_url": reverse("phone"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#fbfaf5",
        "theme_color": "#27515f",
        "icons": [{"src": static(name), "sizes": size, "type": "image/png"} for name, size in sizes.items()],
    }
    return HttpResponse(json.dumps(said), content_type="application/manifest+json")


@require_safe
def phone_stops(request: HttpRequest) -> JsonResponse:
    """The stops of today and tomorrow with all that is needed there, as this person's pages show them; nothing if none changed.

    With `site`, the one stop that could be written up at that site, which nobody booked, and the visits that are booked there.
    """
    by = access.person(request)
    if (site := request.GET.get("site")) is None:
        page = stops.today(on=clock.today(), technician=by if by.role == Role.TECHNICIAN else None)
        sentence, shown = page.sentence, (*page.today, *page.tomorrow, *page.open)[:MOST]
    else:
        number = int(site) if site.isdecimal() and len(site) < 18 else 0
        sentence, shown = "", stops.with_visits(number, on=clock.today(), most=MOST_AHEAD)
        if not shown:
            return as_json.refused(404, "No such site is on file.")
    told = [_stop(stop, name=by.get_full_name()) for stop in shown]
    zone = str(timezone.get_current_timezone())
    said: dict[str, Any] = {"person": by.pk, "name": str(by), "zone": zone, "sentence": sentence, "stops": told}
    digest = hashlib.sha256(json.dumps(said).encode()).hexdigest()
    if request.GET.get("have") == digest:
        return JsonResponse({"person": by.pk, "same": True})
    return JsonResponse(said | {"digest": digest})


def _stop(stop: Stop, *, name: str) -> dict[str, Any]:
    """One stop: where and when, and the parts of a page that show it and write it up, drawn as those pages draw them."""
    form = WriteUpForm(stop, technician=name, today=clock.today())
    # The key belongs to the draft, which the phone makes.
    form.initial["key"] = ""
    context = {"stop": stop, "form": form, "not_a_charging_method": NOT_A_CHARGING_METHOD}
    return {
        "booking": stop.booking,
        "site": stop.site,
        "on": stop.on.isoformat(),
        "when": f"{stop.on:%A, %B} {stop.on.day}, {stop.on.year}",
        "title": f"{stop.customer}, {stop.name}",
        "card": render_to_string("stops/_stop.html", {"stop": stop}),
        "form": render_to_string("write_ups/_main.html", context),
    }
