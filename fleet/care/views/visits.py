"""Visits: the plan and its load, booking one, and what may be done with one that is booked."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.care.actions import bookings as actions
from fleet.care.forms.visits import BookForm, CancelForm, ChangeForm
from fleet.care.pages import visits as pages
from fleet.care.papers import visit_sheet as paper
from fleet.care.queries import visit_list, visit_plan, visit_sheets
from fleet.care.queries import visits as queries
from fleet.elements.carried import WAS
from fleet.facts import company
from fleet.refusals import Refused
from fleet.rules.dates import in_words
from fleet.web import access, lists
from fleet.web.htmx import page_or_part


@require_safe
def visits(request: HttpRequest) -> HttpResponseBase:
    """Show the plan of the coming weeks, as a page or a file."""
    of = visit_list.visits(request.GET.get("listed", ""))
    return lists.respond(request, of, "visits/visits.html")


@require_http_methods(["GET", "HEAD", "POST"])
def site_visits(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a site's visits, and book one."""
    board = visit_plan.board(on=clock.today())
    page = queries.at_site(pk, board)
    if page is None:
        raise Http404
    sent = request.POST if request.method == "POST" else None
    form = BookForm(sent, page, call=_call(request, page))
    if sent is None or "see" in sent:
        return _site(request, page, form, board)
    booking = _book(request, page, form, on=board.on)
    if booking is None:
        return _site(request, page, form, board, status=form.status)
    messages.success(request, f"Booked for {in_words(booking.on)}.")
    return redirect("booking", booking.pk)


def _call(request: HttpRequest, page: pages.SiteVisits) -> int | None:
    """The call that the visit is to be booked for, where the address names one that can be."""
    return next((pk for pk, _ in page.calls if str(pk) == request.GET.get("call")), None)


def _site(
    request: HttpRequest, page: pages.SiteVisits, form: BookForm, board: visit_plan.Board, *, status: int = 200
) -> HttpResponse:
    day = (form.the_day() if form.is_bound else page.day) or page.day
    does = queries.does(page.site, form.chosen(), day, board)
    context = {"page": page, "form": form, "does": does}
    if "see" in request.POST:
        return page_or_part(request, "visits/site.html", "visits/_does.html", context, status=status)
    return render(request, "visits/site.html", context, status=status)


def _book(request: HttpRequest, page: pages.SiteVisits, form: BookForm, *, on: dt.date) -> models.Booking | None:
    if not form.is_valid():
        return None
    cleaned = form.cleaned_data
    try:
        return actions.book(
            page.site,
            form.chosen(),
            day=cleaned["day"],
            technician=cleaned["technician"],
            note=cleaned["note"],
            why=cleaned["why"],
            promised=page.promised,
            calls=cleaned["calls"],
            window=form.window,
            key=cleaned["key"],
            by=access.person(request),
            on=on,
        )
    except Refused as refused:
        form.refuse(refused)
        return None


@require_http_methods(["GET", "HEAD", "POST"])
def booking(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a booked visit; move it, hand it on, note something."""
    board = visit_plan.board(on=clock.today())
    page = _page(pk, board)
    sent = request.POST if request.method == "POST" else None
    form = ChangeForm(sent, page.technicians, initial=_initial(pk))
    if sent is None or "see" in sent:
        return _booking(request, page, form, board)
    if form.is_valid():
        cleaned = form.cleaned_data
        try:
            actions.change(
                pk,
                was=form.was(),
                day=cleaned["day"],
                technician=cleaned["technician"],
                note=cleaned["note"],
                why=cleaned["why"],
                window=form.window,
                by=access.person(request),
                on=board.on,
            )
        except Refused as refused:
            form.refuse(refused)
            page = _page(pk, board)
        else:
            messages.success(request, "Saved.")
            return redirect("booking", pk)
    return _booking(request, page, form, board, status=form.status)


def _initial(pk: int) -> Mapping[str, Any]:
    row = models.Booking.objects.get(pk=pk)
    seen = {f"{WAS}{name}": text for name, text in actions.seen(row).items()}
    window = {"arrive_from": row.arrive_from, "arrive_to": row.arrive_to}
    return {"day": row.on, "technician": row.technician_id, "note": row.note, **window, **seen}


def _booking(
    request: HttpRequest,
    page: pages.BookingPage,
    form: ChangeForm,
    board: visit_plan.Board,
    *,
    cancel: CancelForm | None = None,
    status: int = 200,
) -> HttpResponse:
    day = (form.the_day() if form.is_bound else None) or page.booking.on
    does = None
    if page.booking.state == "booked":
        tasks = [(task.unit, task.code) for task in page.tasks]
        does = queries.does(page.site, tasks, day, board, booking=page.booking.pk)
    context = {
        "page": page,
        "form": form,
        "does": does,
        "cancel": cancel or CancelForm(auto_id="cancel_%s"),
        "seen": form,
    }
    if "see" in request.POST:
        return page_or_part(request, "visits/booking.html", "visits/_does.html", context, status=status)
    return render(request, "visits/booking.html", context, status=status)


@require_POST
def cancel_booking(request: HttpRequest, pk: int) -> HttpResponse:
    """Call a booked visit off."""
    board = visit_plan.board(on=clock.today())
    page = _page(pk, board)
    form = CancelForm(request.POST, auto_id="cancel_%s")
    was = {name: request.POST.get(f"{WAS}{name}", "") for name in actions.SEEN}
    form.is_valid()
    change = ChangeForm(None, page.technicians, initial=_initial(pk))
    try:
        actions.cancel(pk, was=was, why=form.cleaned_data.get("why", ""), by=access.person(request), on=board.on)
    except Refused as refused:
        form.refuse(refused)
        return _booking(request, _page(pk, board), change, board, cancel=form, status=form.status)
    messages.success(request, "Canceled. Its work is back on the list of visits to book.")
    return redirect("site_visits", page.site)


@require_safe
def visit_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """Hand out the sheet of a booked visit, to take along."""
    sheet = visit_sheets.sheet(pk, on=clock.today())
    if sheet is None:
        raise Http404
    headers = {"Content-Disposition": f'attachment; filename="{sheet.filename}"'}
    return HttpResponse(paper.pdf(sheet, company=company.company()), content_type="application/pdf", headers=headers)


def _page(pk: int, board: visit_plan.Board) -> pages.BookingPage:
    page = queries.page(pk, board)
    if page is None:
        raise Http404
    return page
