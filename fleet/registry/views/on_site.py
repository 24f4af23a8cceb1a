"""On site: a unit that was not on file, one that is not there, a serial put right; and what the office makes of it."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.models.people import Role
from fleet.refusals import Refused
from fleet.registry.actions import on_site as actions
from fleet.registry.actions import settling
from fleet.registry.forms.on_site import FoundForm, NotThereForm, SerialForm, SettleForm
from fleet.registry.pages.new_install import Doubt, Told
from fleet.registry.pages.reports import NOT_READ, Report
from fleet.registry.queries import new_install, questions
from fleet.registry.queries import reports as queries
from fleet.rules.lookalike import folded
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def unit_found(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a unit on file that stands at a site; `?serial=` and `?room=` fill in what is known already."""
    site = queries.site(pk)
    if site is None:
        raise Http404
    if request.method != "POST":
        initial = {name: request.GET.get(name, "").replace("\0", "").strip()[:120] for name in ("serial", "room")}
        form = FoundForm(site.systems, initial=initial)
        form.doubt = _alike({"maker": "", "model": "", "serial": initial["serial"]})
        return _found(request, site, form)
    form = FoundForm(site.systems, request.POST, request.FILES)
    if form.is_valid() and not _stands_in_the_way(form, pk):
        with form.may_be_refused():
            found = actions.found(
                pk,
                form.cells(),
                system=form.system_chosen(),
                note=form.cleaned_data["note"],
                photo=form.cleaned_data["photo"],
                by=access.person(request),
                on=clock.today(),
            )
            said = (
                "It is on file now. The office completes what is missing."
                if found.is_new
                else "It was on file already."
            )
            messages.success(request, said)
            return redirect("unit", found.unit)
    return _found(request, site, form)


def _stands_in_the_way(form: FoundForm, site: int) -> bool:
    """Show what is on file that this may be, and what is odd about it; return whether either is still to be confirmed."""
    cells = form.cells()
    cells |= {name: cells[name] or NOT_READ for name in ("maker", "model")}
    doubt = _alike(cells)
    if doubt is not None and doubt.known[0].same and _is_here(doubt.known[0].pk, site):
        return False  # sent twice, or put on file by a colleague: it leads to the unit
    there = list(models.Unit.objects.in_service().filter(system=form.system_chosen()))
    told = Told({}, {0: cells})
    if there and not new_install.is_new(told, there):
        return False
    odd = questions.of_install(told, there)[0]
    standing = [form.show(doubt)] if doubt is not None else []
    return any([*standing, form.asks_back(odd)])


def _is_here(unit: int, site: int) -> bool:
    return models.Unit.objects.filter(pk=unit, system__site=site).exists()


def _alike(cells: Any) -> Doubt | None:
    """What is on file with this serial, or one that reads like it."""
    found = new_install.known([(cells["maker"], cells["model"], cells["serial"])])
    known = found.get(folded(cells["serial"])) if cells["serial"] else None
    return new_install.doubt(0, cells["serial"], known) if known else None


def _found(request: HttpRequest, site: Any, form: FoundForm) -> HttpResponse:
    context = {"site": site, "form": form, "makers": new_install.suggestions().makers}
    return render(request, "unit_reports/found.html", context, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def unit_not_there(request: HttpRequest, pk: int) -> HttpResponse:
    """Report that a unit on file is not there; what became of it is for the office to say."""
    unit = get_object_or_404(models.Unit.objects.select_related("system__site__customer"), pk=pk)
    form = NotThereForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        with form.may_be_refused():
            actions.not_there(pk, said=form.cleaned_data["said"], by=access.person(request), on=clock.today())
            messages.success(request, "The office will see that it is not there, and decide what became of it.")
            return redirect("unit", pk)
    return render(request, "unit_reports/not_there.html", {"unit": unit, "form": form}, status=form.status)


@require_http_methods(["GET", "HEAD", "POST"])
def unit_serial(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a unit's serial right as its plate has it; `?serial=` fills in what was read."""
    unit = get_object_or_404(models.Unit.objects.select_related("system__site__customer"), pk=pk)
    by = access.person(request)
    if request.method != "POST":
        read = request.GET.get("serial", "").replace("\0", "").strip()[:120]
        form = SerialForm(initial={"serial": read or unit.serial, "was_serial": unit.serial})
        form.doubt = _other(unit, read) if read else None
        return _serial(request, unit, form)
    form = SerialForm(request.POST)
    if form.is_valid():
        doubt = _other(unit, form.cleaned_data["serial"])
        if doubt is None or not form.show(doubt):
            with form.may_be_refused():
                changed = actions.serial(pk, form.edit(), by=by, on=clock.today())
                messages.success(request, "The serial is corrected." if changed else "Nothing to change.")
                return redirect("unit", pk)
    return _serial(request, unit, form)


def _other(unit: models.Unit, serial: str) -> Doubt | None:
    """The doubt about a serial that another unit has, or one that reads like it."""
    found = new_install.known([(unit.maker, unit.model, serial)]).get(folded(serial), ()) if serial else ()
    others = tuple(one for one in found if one.pk != unit.pk)
    return new_install.doubt(0, serial, others) if others else None


def _serial(request: HttpRequest, unit: models.Unit, form: SerialForm) -> HttpResponse:
    own = queries.own_serial(unit.pk, access.person(request))
    context = {"unit": unit, "form": form, "own": own}
    return render(request, "unit_reports/serial.html", context, status=form.status)


@require_POST
def unit_serial_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Undo the serial that this person put right last."""
    by = access.person(request)
    try:
        actions.undo_serial(queries.own_serial(pk, by) or 0, by=by, on=clock.today())
        messages.success(request, "Undone: the serial is as it was before.")
    except Refused as refused:
        messages.error(request, str(refused))
    return redirect("unit", pk)


# -- what was reported, and what the office makes of it


@require_safe
def unit_report(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one report."""
    return _report(request, _of(pk), SettleForm())


@require_POST
def unit_report_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what was done about it."""
    report, form = _of(pk), SettleForm(request.POST)
    if form.is_valid():
        with form.may_be_refused():
            settling.settle(
                models.UnitReport, pk, how=form.cleaned_data["how"], by=access.person(request), on=clock.today()
            )
            messages.success(request, "Settled. It no longer stands on our desk.")
            return redirect("unit_report", pk)
    return _report(request, report, form)


@require_POST
def unit_report_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Let it stand on our desk again."""
    _of(pk)
    settling.reopen(models.UnitReport, pk, by=access.person(request))
    messages.success(request, "It stands on our desk again.")
    return redirect("unit_report", pk)


@require_POST
def unit_report_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a report back, and the unit that came with it; a technician those of their own."""
    report = _of(pk)
    if not _may_undo(request, report):
        raise PermissionDenied
    try:
        actions.undo(pk, by=access.person(request), on=clock.today())
    except Refused as refused:
        messages.error(request, f"Nothing was undone. {str(refused).rstrip('.')}.")
        return redirect("unit_report", pk)
    gone = "The unit is not on file any more. Photos of it stay with the site." if report.kind == "found" else ""
    messages.success(request, f"Taken back. {gone}".strip())
    return redirect("site", report.site_pk) if report.kind == "found" else redirect("unit", report.unit)


def _of(pk: int) -> Report:
    report = queries.report(pk)
    if report is None:
        raise Http404
    return report


def _may_undo(request: HttpRequest, report: Report) -> bool:
    person = access.person(request)
    return report.by_pk == person.pk or person.role != Role.TECHNICIAN


def _report(request: HttpRequest, report: Report, form: SettleForm) -> HttpResponse:
    context = {"report": report, "form": form, "may_undo": report.settled_on is None and _may_undo(request, report)}
    return render(request, "unit_reports/report.html", context, status=form.status)
