"""Facts wanted: the list, filling one in within its row, and undoing that."""

from collections.abc import Iterator, Sequence
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST, require_safe

from fleet import clock, models
from fleet.coverage.actions import wanted as actions
from fleet.coverage.forms.wanted import FillForm, WantedForm, WhichForm
from fleet.coverage.pages import wanted as pages
from fleet.coverage.queries import set_aside
from fleet.coverage.queries import wanted as queries
from fleet.registry.actions.correct import Refused
from fleet.rules.wanted import SITE_FACTS
from fleet.web import access, export
from fleet.web.htmx import page_or_part

# They stand in for the keys of a row's unit and site while its forms are drawn; no key is as large.
_UNIT, _SITE = 8_100_000_000_000_000_001, 8_100_000_000_000_000_002


@require_safe
def wanted(request: HttpRequest) -> HttpResponseBase:
    """List the facts wanted, as a page or a file."""
    form = WantedForm(request.GET)
    if kind := export.wanted(request):
        rows = queries.rows(pages.Asked(**form.asked()), sort=form.sort_text)
        return export.respond(kind, name="facts-wanted", on=clock.today(), columns=pages.COLUMNS, rows=rows)
    return shown(request, form)


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
            for text in refused.faults.values():
                form.add_error("value", text)
        else:
            messages.success(request, f"{ask.title}: {pages.opened(done.opened)}")
            return back(request, filled=done.change)
    return shown(request, WantedForm(request.GET), refused=form, status=422)


@require_POST
def wanted_undo(request: HttpRequest, change: int) -> HttpResponse:
    """Leave blank again what this person filled in."""
    try:
        actions.undo(change=change, by=access.person(request), on=clock.today())
    except models.Change.DoesNotExist:
        raise Http404 from None
    except Refused as refused:
        messages.error(request, f"Not undone. {' '.join(refused.faults.values())}")
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
    form: WantedForm,
    *,
    refused: FillForm | None = None,
    noted: dict[str, object] | None = None,
    status: int = 200,
) -> HttpResponse:
    """Show the list; with what was refused in one of its rows, a value (`refused`) or why it cannot be known (`noted`)."""
    filled, put = _number(request, "filled"), _number(request, "aside")
    undo = None if filled is None else queries.undo(filled, by=access.person(request))
    page = queries.page(pages.Asked(**form.asked()), sort=form.sort_text, number=form.page_number, undo=undo)
    # Somebody filled it in meanwhile, or it moved to another page: what was typed must still be there.
    apart = refused if refused and refused.ask not in page.asks else None
    lines = list(zip(page.listing.lines, _forms(request, page.asks, refused, noted), strict=True))
    context = {"page": page, "form": form, "lines": lines, "apart": apart}
    context |= {"aside": None if put is None else set_aside.one(put), "asides": set_aside.count(), "noted": noted}
    return page_or_part(request, "wanted/wanted.html", "wanted/_list.html", context, status=status)


def _forms(
    request: HttpRequest,
    asks: Sequence[pages.Ask],
    refused: FillForm | None,
    noted: dict[str, object] | None,
) -> Iterator[str]:
    """Draw the forms of each row: those of one fact differ by their keys alone, so they are drawn once, with stand-ins for keys.

    Fifty forms drawn one by one took two thirds of the page's time.
    """
    known: dict[tuple[str, bool], str] = {}
    for ask in asks:
        if (refused and refused.ask == ask) or (noted and noted["ask"] == ask):
            form = refused if refused and refused.ask == ask else FillForm(ask)
            yield render_to_string("wanted/_fill_in.html", {"fill": form, "noted": noted}, request)
            continue
        kind = (ask.fact, ask.site is None)
        if kind not in known:
            stand_in = pages.Ask(ask.fact, _UNIT, None if ask.site is None else _SITE)
            known[kind] = render_to_string("wanted/_fill_in.html", {"fill": FillForm(stand_in)}, request)
        yield mark_safe(known[kind].replace(str(_UNIT), str(ask.unit)).replace(str(_SITE), str(ask.site)))


def _number(request: HttpRequest, name: str) -> int | None:
    text = request.GET.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def back(request: HttpRequest, **done: int | None) -> HttpResponse:
    """Go back to the list as it was narrowed and sorted, naming what can be undone there."""
    asked = {name: value for name, value in request.GET.items() if name in ("fact", "text", "sort", "page")}
    asked |= {name: str(pk) for name, pk in done.items() if pk is not None}
    return redirect(f"{reverse('wanted')}{'?' if asked else ''}{urlencode(asked)}")
