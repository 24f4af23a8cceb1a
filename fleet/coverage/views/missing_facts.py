"""Missing information: the list, filling one in within its row, and undoing that."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.coverage.actions import missing_facts as actions
from fleet.coverage.forms.missing_facts import FillForm, WhichForm
from fleet.coverage.pages import missing_facts as pages
from fleet.coverage.queries import missing_facts as queries
from fleet.coverage.queries import set_aside
from fleet.refusals import Refused
from fleet.registry.queries import questions
from fleet.rules.missing_facts import SITE_FACTS
from fleet.web import access, lists


@require_safe
def missing_facts(request: HttpRequest) -> HttpResponseBase:
    """List the missing facts, as a page or a file."""
    return lists.file(request, queries.MISSING_FACTS) or shown(request)


@require_POST
def missing_fact_fill(request: HttpRequest) -> HttpResponse:
    """Record one fact and say what it opened."""
    ask = ask_of(request)
    form = FillForm(ask, request.POST)
    if form.is_valid():
        value, who = form.cleaned_data["value"], form.cleaned_data.get("who", "")
        by, on = access.person(request), clock.today()
        odd = () if ask.site is not None else questions.of_filled([ask.unit], ask.fact, value)
        if form.asks_back(one._replace(field="value") for one in odd):
            return shown(request, refused=form, status=form.status)
        with form.may_be_refused():
            done = actions.fill(fact=ask.fact, unit=ask.unit, site=ask.site, text=value, who=who, by=by, on=on)
            messages.success(request, f"{ask.title}: {pages.opened(done.opened)}")
            return back(request, filled=done.change)
    return shown(request, refused=form, status=form.status)


@require_POST
def missing_fact_undo(request: HttpRequest, change: int) -> HttpResponse:
    """Leave blank again what this person filled in."""
    try:
        actions.undo(change=change, by=access.person(request), on=clock.today())
    except models.Change.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, f"Not undone. {refused}")
    else:
        messages.success(request, "Undone: it is listed as missing again.")
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
    form = lists.ListForm(request.GET, queries.MISSING_FACTS, on=on)
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
    return lists.shown(request, form, "missing_facts/missing_facts.html", listing=listing, status=status, **context)


def _number(request: HttpRequest, name: str) -> int | None:
    text = request.GET.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def back(request: HttpRequest, **done: int | None) -> HttpResponse:
    """Go back to the list as it was narrowed and sorted, naming what can be undone there."""
    query = {name: value for name, value in request.GET.items() if name in ("fact", "text", "sort", "page")}
    query |= {name: str(pk) for name, pk in done.items() if pk is not None}
    return redirect(f"{reverse('missing_facts')}{'?' if query else ''}{urlencode(query)}")
