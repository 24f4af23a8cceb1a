"""Terms written on screen: typed in or read from a file, read back, compared, tried on a unit, and put in force."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_safe

from fleet import clock
from fleet.coverage.actions import terms as actions
from fleet.coverage.pages.terms_written import BLANK, NODES, label_of
from fleet.coverage.queries import terms_written as queries
from fleet.elements import written
from fleet.rules import terms as rules
from fleet.rules import terms_table, wording
from fleet.rules.tables import BadTable, Fault
from fleet.web import access

# What of a form is no part of the terms.
_BESIDE = ("csrfmiddlewaretoken", "do", "serial", "file")


@require_http_methods(["GET", "HEAD", "POST"])
def terms_write(request: HttpRequest) -> HttpResponse:
    """Write terms: a blank form, or one filled with the terms that are to be replaced; then whatever its buttons say."""
    if request.method != "POST":
        return _shown(request, _begun(request), ())
    do, _, place = request.POST.get("do", "read").partition(":")
    given = {key: request.POST.getlist(key) for key in request.POST if key not in _BESIDE}
    match do:
        case "add":
            return _shown(request, written.with_row(given, place), ())
        case "remove":
            return _shown(request, written.without_row(given, place), ())
        case "upload":
            return _uploaded(request, given)
        case "file":
            return _file(written.table(NODES, given))
        case "hold":
            return _held(request, given)
        case _:
            table = written.table(NODES, given)
            return _shown(request, given, actions.faults_of(table, on=clock.today()), read=True)


@require_safe
def terms_file(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out terms on file as the file that `load_terms` takes."""
    table = queries.document(pk)
    if table is None:
        raise Http404
    return _file(table)


def _begun(request: HttpRequest) -> Mapping[str, Sequence[str]]:
    today = clock.today()
    pk = request.GET.get("replace", "")
    table = queries.document(int(pk)) if pk.isascii() and pk.isdecimal() and len(pk) < 19 else None
    if table is None:
        return BLANK | {"checked_on": [today.isoformat()], "payer": ["maker"]}
    return written.typed(
        NODES, table | {"replaces": table["code"], "code": queries.fresh_code(table["code"]), "checked_on": today}
    )


def _uploaded(request: HttpRequest, given: Mapping[str, Sequence[str]]) -> HttpResponse:
    """Fill the form from a file; where it is none, what was typed stays."""
    file = request.FILES.get("file")
    if file is None:
        return _shown(request, given, (Fault("file", "choose a file first"),))
    if (file.size or 0) > actions.LARGEST_FILE:
        return _shown(request, given, (Fault("file", "that file is too large to be terms"),))
    try:
        table = actions.in_file(file.read())
    except (ValueError, RecursionError) as wrong:
        return _shown(request, given, (Fault("file", f"this file cannot be read: {wrong}"),))
    faults = actions.faults_of(table, on=clock.today())
    try:
        typed = written.typed(NODES, table)
    except (AttributeError, TypeError):  # a text or number where the file has a table, which the faults name
        typed = {key: [*texts] for key, texts in given.items()}
    return _shown(request, typed, faults, read=True)


def _file(table: dict[str, Any]) -> HttpResponse:
    name = f"{table.get('code') or 'terms'}.toml"
    headers = {"Content-Disposition": content_disposition_header(as_attachment=True, filename=name) or "attachment"}
    return HttpResponse(written.toml(NODES, table), content_type="application/toml; charset=utf-8", headers=headers)


def _held(request: HttpRequest, given: Mapping[str, Sequence[str]]) -> HttpResponse:
    table = written.table(NODES, given)
    try:
        row = actions.put_in_force(table, by=access.person(request), on=clock.today())
    except BadTable as refused:
        return _shown(request, given, refused.faults)
    messages.success(request, f"In force: {row.title}. The coverage of all units was worked out again.")
    return redirect("terms", row.pk)


def _shown(
    request: HttpRequest, given: Mapping[str, Sequence[str]], faults: Sequence[Fault], *, read: bool = False
) -> HttpResponse:
    """Draw the form as it was typed, with what is wrong at each field; where nothing is, what the terms say."""
    by_place: dict[str, list[str]] = {}
    for fault in faults:
        by_place.setdefault(fault.where, []).append(_on_screen(fault.wanted))
    drawn = written.drawn(NODES, given, by_place)
    serial = request.POST.get("serial", "").strip()
    context: dict[str, Any] = {
        "nodes": drawn,
        "faults": [(fault.where, label_of(NODES, fault.where), _on_screen(fault.wanted)) for fault in faults],
        "serial": serial,
    }
    if read and not faults:
        terms = terms_table.read(written.table(NODES, given))
        context |= {"says": wording.terms_in_words(terms), "compared": queries.compared(terms)}
        if serial:
            context |= _tried(terms, serial, on=clock.today())
    return render(request, "terms/write.html", context, status=422 if faults else 200)


def _tried(terms: rules.Terms, serial: str, *, on: dt.date) -> dict[str, Any]:
    units = queries.units_of(serial)
    if len(units) != 1:
        return {"untried": "No unit in service has this serial." if not units else "Several units have this serial."}
    return {"tried": queries.tried(terms, units[0], on=on)}


def _on_screen(wanted: str) -> str:
    """What a reader of files asks for, as a form does: nobody types quotes or a state's code here."""
    wanted = wanted.replace(
        terms_table.NO_REGION, "enter a state or province by its name or its letters, such as Florida or FL"
    )
    return wanted.replace(" without quotes", "").replace(" in quotes", "").replace('"', "")
