"""A system's refrigerant: the page, entries added, put right and taken off, and the record of its start-up."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock
from fleet.care.actions import refrigerant as actions
from fleet.care.actions import start_up
from fleet.care.forms.refrigerant import EntryForm, OffForm, StartUpForm
from fleet.care.pages.refrigerant import RefrigerantPage
from fleet.care.queries import refrigerant as queries
from fleet.refusals import Refused
from fleet.web import access


@require_safe
def refrigerant(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what went in and out, how fast it leaks, and the start-up."""
    return _shown(request, pk)


def _page(pk: int) -> RefrigerantPage:
    page = queries.page(pk, on=clock.today())
    if page is None:
        raise Http404
    return page


def _shown(request: HttpRequest, pk: int, *, status: int = 200, **forms: Any) -> HttpResponse:
    page = _page(pk)
    usual = {"on": clock.today().isoformat(), "refrigerant": page.refrigerant}
    usual["who"] = access.person(request).get_full_name()
    day = "" if page.started_on is None else page.started_on.isoformat()
    context = {
        "page": page,
        "form": EntryForm(shown=usual),
        "start": StartUpForm(was=dict(page.at_start), day=day),
        **forms,
    }
    return render(request, "refrigerant/refrigerant.html", context, status=status)


@require_POST
def refrigerant_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter what was put in or taken out."""
    _page(pk)
    form = EntryForm(request.POST, shown={})
    try:
        actions.add(pk, form.told(), sure=form.is_sure, by=access.person(request), on=clock.today())
    except Refused as refused:
        form.refuse(refused)
        return _shown(request, pk, form=form, wrong_entry=True, status=form.status)
    messages.success(request, "Entry saved.")
    return redirect("refrigerant", pk)


@require_POST
def refrigerant_start(request: HttpRequest, pk: int) -> HttpResponse:
    """Record the start-up, or put it right."""
    page = _page(pk)
    form = StartUpForm(request.POST, was=dict(page.at_start))
    edits = form.edits()
    try:
        changed = start_up.record(
            pk, edits, day=form.cleaned_data.get("day", ""), by=access.person(request), on=clock.today()
        )
    except Refused as refused:
        form.refuse(refused)
        return _shown(request, pk, start=form, wrong_start=True, status=form.status)
    messages.success(request, "Saved." if changed else "Nothing was changed.")
    return redirect("refrigerant", pk)


@require_http_methods(["GET", "HEAD", "POST"])
def refrigerant_entry(request: HttpRequest, pk: int) -> HttpResponse:
    """Put an entry right."""
    entry = queries.entry(pk)
    if entry is None:
        raise Http404
    system, shown = entry
    form = EntryForm(request.POST if request.method == "POST" else None, shown=shown, on_file=True)
    if request.method != "POST":
        return _entry(request, pk, form, OffForm())
    edits = form.edits()
    try:
        actions.correct(
            pk,
            edits,
            sure=form.is_sure,
            by=access.person(request),
            on=clock.today(),
            why=form.cleaned_data.get("why", ""),
        )
    except Refused as refused:
        form.refuse(refused)
        return _entry(request, pk, form, OffForm(), status=form.status)
    messages.success(request, "Saved.")
    return redirect("refrigerant", system.pk)


@require_POST
def refrigerant_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an entry off, with the reason."""
    entry = queries.entry(pk)
    if entry is None:
        raise Http404
    system, shown = entry
    off = OffForm(request.POST)
    if not off.is_valid():
        return _entry(request, pk, EntryForm(shown=shown, on_file=True), off, status=off.status)
    actions.take_off(pk, why=off.cleaned_data["why"], by=access.person(request), on=clock.today())
    messages.success(request, "Entry removed. What it said stays in the change log.")
    return redirect("refrigerant", system.pk)


def _entry(request: HttpRequest, pk: int, form: EntryForm, off: OffForm, *, status: int = 200) -> HttpResponse:
    system = (queries.entry(pk) or (None,))[0]
    context = {"pk": pk, "system": system.pk if system else 0, "name": str(system), "form": form, "off": off}
    return render(request, "refrigerant/entry.html", context, status=status)
