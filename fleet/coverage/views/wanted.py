"""Facts wanted: the list, filling one in within its row, and undoing that."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.coverage.actions import wanted as actions
from fleet.coverage.forms.wanted import FillForm, WhichForm
from fleet.coverage.pages import wanted as pages
from fleet.coverage.queries import set_aside
from fleet.coverage.queries import wanted as queries
from fleet.refusals import Refused
from fleet.rules.wanted import SITE_FACTS
from fleet.web import access, lists


@require_safe
def wanted(request: HttpRequest) -> HttpResponseBase:
    """List the facts wanted, as a page or a file."""
    return lists.file(request, queries.WANTED) or shown(request)


@require_POST
def wanted_fill(request: HttpRequest) -> HttpResponse:
    """Record one fact and say what it opened."""
    ask = ask_of(request)
    form = FillForm(ask, request.POST)
    if form.is_valid():
        value, who = form.cleaned_data["value"], form.cleaned_data.get("who", "")
        by, on = access.person(request), clock.today()
        try:
            done = actions.fill(fact=ask.fact, unit=ask.unit, site=ask.site, text=value, who=who, by=by, on=on)
        except Refused as refused:
            form.refuse(refused)
        else:
            messages.success(request, f"{ask.title}: {pages.opened(done.opened)}")
            return back(request, filled=done.change)
    return shown(request, refused=form, status=form.status)


@require_POST
def wanted_undo(request: HttpRequest, change: int) -> HttpResponse:
    """Leave blank again what this person filled in."""
    try:
        actions.undo(change=change, by=access.person(request), on=clock.today())
    except models.Change.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, f"Not undone. {refused}")
    else:
        messages.success(request, "Undone: it is wanted again.")
    return back(request)


def ask_of(request: HttpRequest) -> pages.Ask:
    """Read which fact a row's form is about; one that no row has is not there."""
    which = WhichForm(request.POST)
    if not which.is_valid():
        raise Http404
    ask = pages.Ask(which.cleaned_data["fact"], which.cleaned_data["unit"], which.cleaned_data["site"])
    known = models.Unit.objects.filter(pk=ask.unit).exists()
    if not known or (ask.fact in SITE_FACTS) != (ask.site is not None):
        raise Http404
    if ask.site is not None and not models.Site.objects.filter(pk=ask.site).exists():
        raise Http404
    return ask


def shown(
    request: HttpRequest,
    *,
    refused: FillForm | None = None,
    noted: dict[str, object] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Show the list; with what was refused in one of its rows, a value (`refused`) or why it cannot be known (`noted`)."""
    filled, put, on = _number(request, "filled"), _number(request, "aside"), clock.today()
    form = lists.ListForm(request.GET, queries.WANTED, on=on)
    listing = lists.page(request, form)
    for row in listing.rows:
        row.of.fill = refused if refused and refused.ask == row.of.ask else FillForm(row.of.ask)
    context = {
        "undo": None if filled is None else queries.undo(filled, by=access.person(request)),
        "aside": None if put is None else set_aside.one(put, on=on),
        "asides": set_aside.count(),
        # Somebody filled it in meanwhile, or it moved to another page: what was typed must still be there.
        "apart": refused if refused and all(row.of.fill is not refused for row in listing.rows) else None,
        "noted": noted,
    }
    return lists.shown(request, form, "wanted/wanted.html", listing=listing, status=status, **context)


def _number(request: HttpRequest, name: str) -> int | None:
    text = request.GET.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def back(request: HttpRequest, **done: int | None) -> HttpResponse:
    """Go back to the list as it was narrowed and sorted, naming what can be undone there."""
    asked = {name: value for name, value in request.GET.items() if name in ("fact", "text", "sort", "page")}
    asked |= {name: str(pk) for name, pk in done.items() if pk is not None}
    return redirect(f"{reverse('wanted')}{'?' if asked else ''}{urlencode(asked)}")
