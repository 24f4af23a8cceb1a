"""Labels: printed, scanned, put on a unit, moved to another and taken off."""

import ipaddress
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import models
from fleet.elements import named
from fleet.facts import company
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import unit_labels as actions
from fleet.registry.forms.unit_labels import PrintForm
from fleet.registry.pages import stop_address
from fleet.registry.pages import unit_labels as pages
from fleet.registry.papers import unit_labels as papers
from fleet.registry.queries import lookup
from fleet.registry.queries import unit_labels as queries
from fleet.rules import label_codes
from fleet.rules.label_sheets import SHEETS
from fleet.web import access

_SHEET = "label_sheet"
_MOST = 20


# ------------------------------------------------------------------------------------------------------------- printing


@require_http_methods(["GET", "HEAD", "POST"])
def labels_print(request: HttpRequest) -> HttpResponse:
    """Choose what to print: the units of a site, a system or one unit, or blank labels; printing makes the codes."""
    asked = {name: key for name in ("site", "system", "unit") if (key := _key(request.GET.get(name))) is not None}
    units = queries.to_label(**asked)
    if asked and not units:
        raise Http404
    sent = request.POST if request.method == "POST" else None
    form = PrintForm(units, sent, sheet=request.session.get(_SHEET, ""))
    if sent is not None and form.is_valid():
        cleaned = form.cleaned_data
        with form.may_be_refused():
            made = actions.make(
                units=cleaned.get("units", ()),
                blank=cleaned["blank"] or 0,
                batch=cleaned["batch"],
                by=access.person(request),
            )
            request.session[_SHEET] = cleaned["sheet"]
            keys = pages.in_ranges(tuple(label.pk for label in made))
            return redirect(
                f"{reverse('labels_ready')}?labels={keys}&sheet={cleaned['sheet']}&start={cleaned['start'] or 1}"
            )
    has = queries.of_unit(asked["unit"]) if "unit" in asked else []
    context = {"form": form, "units": units, "has": has, **_host(request)}
    return render(request, "labels/print.html", context, status=form.status)


@require_safe
def labels_ready(request: HttpRequest) -> HttpResponse:
    """Labels that were made, ready to be printed."""
    keys, sheet, start = _ordered(request)
    labels = models.Label.objects.filter(pk__in=keys).select_related("unit")
    context = {"labels": labels, "sheet": sheet, "start": start, **_host(request)}
    return render(request, "labels/ready.html", context)


@require_safe
def labels_sheet(request: HttpRequest) -> HttpResponse:
    """Hand out the sheet; a code leads to the address by which we were asked."""
    keys, sheet, start = _ordered(request)
    stickers = queries.stickers(keys, company=company.company(), host=_host(request)["host"])
    if not stickers:
        raise Http404
    headers = {"Content-Disposition": 'attachment; filename="labels.pdf"'}
    return HttpResponse(papers.pdf(stickers, sheet, start=start), content_type="application/pdf", headers=headers)


def _ordered(request: HttpRequest) -> tuple[tuple[int, ...], Any, int]:
    keys = pages.from_ranges(request.GET.get("labels", "")[:4000], most=actions.MOST_AT_ONCE)
    sheet, start = SHEETS.get(request.GET.get("sheet", "")), _key(request.GET.get("start", "1"))
    if not keys or max(keys) >= 2**63 or sheet is None or start is None or not 1 <= start <= sheet.count:
        raise Http404
    return keys, sheet, start


def _host(request: HttpRequest) -> dict[str, Any]:
    """The address that codes lead to, and whether it means this computer alone, which no phone can open."""
    name = request.get_host().rsplit(":", 1)[0].strip("[]")
    try:
        alone = ipaddress.ip_address(name).is_loopback
    except ValueError:
        alone = name == "localhost" or name.endswith(".localhost")
    return {"host": request.build_absolute_uri("/").rstrip("/"), "only_here": alone}


def _key(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdecimal() and len(text) < 19 else None


# -------------------------------------------------------------------------------------------------------------- one label


@require_safe
def label(request: HttpRequest, code: str) -> HttpResponse:
    """Where a code leads: to the unit; a blank one to the question whose it is; one of a unit that is gone says so."""
    found = queries.by_code(label_codes.read(code))
    if found is None:
        return render(request, "labels/unknown.html", {"code": code}, status=404)
    if found.unit is not None and found.unit.removed_on is None:
        return redirect("unit", found.unit.pk)
    return _shown(request, found)


@require_http_methods(["GET", "HEAD", "POST"])
def label_of(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a label, and put it on a unit; one that is on another unit asks first."""
    found = queries.by_key(pk)
    if found is None:
        raise Http404
    unit = _key(request.POST.get("unit"))
    if request.method != "POST" or unit is None:
        return _shown(request, found)
    was = _key(request.POST.get("was"))
    if found.unit_id not in (None, unit) and was != found.unit_id:
        to = models.Unit.objects.filter(pk=unit).select_related("system__site__customer").first()
        return _shown(request, found, move_to=to) if to else _shown(request, found)
    try:
        done = actions.tie(pk, unit=unit, was=was, by=access.person(request))
    except Refused as refused:
        return _shown(request, found, wrong=str(refused), status=409 if isinstance(refused, Conflict) else 422)
    messages.success(request, f"Label {done} is on this unit now.")
    stop = stop_address.read(request.POST.get("stop"))
    if done.unit is not None and done.unit.system.site_id == stop_address.site(stop):
        return redirect(f"{stop}#unit-{unit}")
    return redirect("unit", unit)


@require_POST
def label_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a label off its unit."""
    if queries.by_key(pk) is None:
        raise Http404
    unit = actions.take_off(pk, by=access.person(request))
    messages.success(request, f"It is off {unit} and blank again." if unit else "It was on no unit already.")
    return redirect("label_of", pk)


def _shown(request: HttpRequest, found: models.Label, *, status: int = 200, **more: Any) -> HttpResponse:
    unit = found.unit
    text = request.GET.get("text", "").replace("\0", "")[: lookup.LONGEST].strip()
    stop = stop_address.read(request.POST.get("stop") or request.GET.get("stop"))
    site = _key(request.GET.get("site")) or (None if text else stop_address.site(stop))
    hits = lookup.find(text, limit=_MOST, kinds=("unit", "site", "customer")) if text else ()
    context = {
        "label": found,
        "printed": named.local_moment(found.at),
        "unit": named.link(unit) if unit else None,
        "site": unit.system.site if unit else None,
        "came": queries.next_of(unit) if unit and unit.removed_on else None,
        "stop": stop,
        "text": text,
        "hits": lookup.with_places(hits),
        "here": queries.to_label(site=site) if site else (),
        **more,
    }
    return render(request, "labels/label.html", context, status=status)
