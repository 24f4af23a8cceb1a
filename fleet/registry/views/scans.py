"""Finding the unit in front of somebody: a photo is read, what was read is compared with the plate, then it leads to the unit.

`stop` is the write-up that somebody came from: a unit of its site leads back to it, to that unit's part.
"""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from fleet import models
from fleet.refusals import Refused
from fleet.registry.actions import scans as actions
from fleet.registry.actions.scans import Scan
from fleet.registry.forms.scans import PhotoForm
from fleet.registry.pages import stop_address
from fleet.registry.pages.scans import Match
from fleet.registry.queries import scans as queries
from fleet.registry.queries import unit_labels
from fleet.web import access

_LONGEST = 120


@require_http_methods(["GET", "HEAD", "POST"])
def scan(request: HttpRequest) -> HttpResponse:
    """Take a photo, or type a serial: of one unit it leads there; else it says which there are, or that it is not on file."""
    stop = _stop(request)
    if request.method == "POST":
        form = PhotoForm(request.POST, request.FILES)
        if form.is_valid():
            try:
                kept = actions.keep(form.cleaned_data["photo"], by=access.person(request), seen=form.codes())
            except Refused as refused:
                form.add_error("photo", str(refused))
            else:
                return redirect(_with_stop(reverse("scan_read", args=[kept.token]), stop))
        return _page(request, stop, form=form, status=422)
    serial = request.GET.get("serial", "").replace("\0", "").strip()[:_LONGEST]
    matches = queries.of_serial(serial) if serial else ()
    if len(matches) == 1 and "photo" not in request.GET:
        return _land(request, matches[0], stop)
    return _page(request, stop, form=PhotoForm(), serial=serial, matches=matches)


def _page(
    request: HttpRequest,
    stop: str,
    *,
    form: PhotoForm,
    serial: str = "",
    matches: tuple[Match, ...] = (),
    status: int = 200,
) -> HttpResponse:
    site = stop_address.site(stop)
    here = unit_labels.to_label(site=site) if site is not None and serial and not matches else ()
    context = {"form": form, "stop": stop, "site": site, "serial": serial, "matches": matches, "here": here}
    return render(request, "scans/scan.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
def scan_read(request: HttpRequest, token: str) -> HttpResponse:
    """Show what was read beside the photo; nothing is opened or kept before somebody says that it reads the same."""
    found = _found(request, token)
    stop = _stop(request)
    if request.method == "POST":
        return _confirmed(request, found, stop)
    return _shown(request, found, stop)


def _shown(request: HttpRequest, found: Scan, stop: str, *, wrong: str = "", status: int = 200) -> HttpResponse:
    context = {"token": found.token, "reads": queries.read(found.codes), "stop": stop, "wrong": wrong}
    return render(request, "scans/read.html", context, status=status)


def _confirmed(request: HttpRequest, found: Scan, stop: str) -> HttpResponse:
    """Somebody compared a code with the plate, or typed what the plate says."""
    keep = bool(request.POST.get("keep"))
    number, _, unit = request.POST.get("choice", "").partition(":")
    if number == "typed":
        serial = request.POST.get("typed", "").strip()[:_LONGEST]
        if not serial:
            return _shown(request, found, stop, wrong="Type the serial as the nameplate has it.", status=422)
        matches = queries.of_serial(serial)
        if len(matches) == 1:
            return _opened(request, found, matches[0], stop, serial=serial, was_read=False, keep=keep)
        return _not_one(request, found, serial, stop, was_read=False, keep=keep)
    read = {str(one.number): one for one in queries.read(found.codes)}.get(number)
    if read is None:
        return _shown(request, found, stop, wrong="Choose what reads the same as the nameplate.", status=422)
    match = next((one for one in read.matches if str(one.unit.pk) == unit), None)
    if match is None and unit:
        return _shown(request, found, stop, wrong="Somebody changed this unit meanwhile. Look again.", status=409)
    if match is None:
        return _not_one(request, found, read.serial, stop, was_read=True, keep=keep)
    return _opened(request, found, match, stop, serial=read.serial, was_read=read.label is None, keep=keep)


def _opened(
    request: HttpRequest, found: Scan, match: Match, stop: str, *, serial: str, was_read: bool, keep: bool
) -> HttpResponse:
    if keep:
        unit = models.Unit.objects.get(pk=match.unit.pk)
        actions.keep_photo(found, whose=unit, serial=serial, was_read=was_read, by=access.person(request))
        messages.success(request, "The photo is kept with the unit.")
    actions.drop(found)
    return _land(request, match, stop)


def _not_one(request: HttpRequest, found: Scan, serial: str, stop: str, *, was_read: bool, keep: bool) -> HttpResponse:
    """No unit of this serial is on file, or several are: at a stop the photo is kept with the site."""
    site = models.Site.objects.filter(pk=stop_address.site(stop) or 0).first()
    if keep and site is not None:
        actions.keep_photo(found, whose=site, serial=serial, was_read=was_read, by=access.person(request))
        messages.success(request, "The photo is kept with the site.")
        actions.drop(found)
    return redirect(_with_stop(f"{reverse('scan')}?{urlencode({'serial': serial, 'photo': 'read'})}", stop))


def _land(request: HttpRequest, match: Match, stop: str) -> HttpResponse:
    """Go to the unit: in the write-up that somebody came from, where it is of that site; else to its page."""
    if stop_address.site(stop) == match.site and not match.unit.gone:
        return redirect(f"{stop}#unit-{match.unit.pk}")
    if stop:
        where = "is no longer in service" if match.unit.gone else "is not at this stop"
        messages.warning(request, f"By our records this unit {where}: {match.whose}. Your write-up is as you left it.")
    return redirect("unit", match.unit.pk)


@require_safe
def scan_crop(request: HttpRequest, token: str, number: int) -> HttpResponse:
    """The part of the photo where a code stands."""
    return HttpResponse(actions.crop(_found(request, token), number), content_type="image/jpeg")


def _found(request: HttpRequest, token: str) -> Scan:
    found = actions.find(token, by=access.person(request))
    if found is None:
        raise Http404
    return found


def _stop(request: HttpRequest) -> str:
    """The write-up that somebody came from; blank where the address names none of ours."""
    return stop_address.read(request.POST.get("stop") or request.GET.get("stop"))


def _with_stop(address: str, stop: str) -> str:
    if not stop:
        return address
    return f"{address}{'&' if '?' in address else '?'}{urlencode({'stop': stop})}"
