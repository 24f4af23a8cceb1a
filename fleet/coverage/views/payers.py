"""What payers said: recorded and settled on the page of a unit."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from fleet import clock, models
from fleet.coverage.actions import payers as actions
from fleet.coverage.forms.payers import SaidForm, SettleForm
from fleet.coverage.pages import payers as pages
from fleet.coverage.queries import payers as queries
from fleet.refusals import Refused
from fleet.web import access


@require_http_methods(["GET", "HEAD", "POST"])
def unit_payers(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what payers said of a unit by itself; or record something."""
    page = _page(request, pk)
    if request.method != "POST":
        return _shown(request, page, SaidForm(page, today=clock.today()))
    form = SaidForm(page, request.POST, today=clock.today())
    if not form.is_valid():
        return _shown(request, page, form, status=422)
    values = {**form.cleaned_data, "terms": get_object_or_404(models.Terms, pk=form.cleaned_data["terms"])}
    unit = get_object_or_404(models.Unit, pk=pk)
    word = actions.record(unit=unit, by=access.person(request), on=clock.today(), **values)
    after = next(one for one in _page(request, pk).said if one.pk == word.pk)
    messages.success(
        request,
        f"Recorded. They disagree with our terms on file: they say {after.they_say}; the terms say {after.we_read}."
        if after.differs
        else "Recorded. The terms on file say the same.",
    )
    return _to_unit(pk)


@require_POST
def payer_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Record how a difference was settled."""
    word = get_object_or_404(models.PayerWord, pk=pk)
    form = SettleForm(request.POST)
    if not form.is_valid():
        page = _page(request, word.unit_id)
        return _shown(request, page, SaidForm(page, today=clock.today()), unsettled=pk, status=422)
    actions.settle(word=word, how=form.cleaned_data["how"], by=access.person(request), on=clock.today())
    messages.success(request, "Settled.")
    return _to_unit(word.unit_id)


@require_POST
def payer_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a difference stand again."""
    word = get_object_or_404(models.PayerWord, pk=pk)
    actions.reopen(word=word, by=access.person(request))
    messages.success(request, "Reopened.")
    return _to_unit(word.unit_id)


@require_POST
def payer_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Remove what this person recorded by mistake."""
    word = get_object_or_404(models.PayerWord, pk=pk)
    try:
        actions.undo(word=word, by=access.person(request))
        messages.success(request, "Removed.")
    except Refused as refused:
        messages.error(request, str(refused))
    return _to_unit(word.unit_id)


def part(request: HttpRequest, pk: int, title: str, held: tuple[tuple[int, str], ...]) -> dict[str, Any]:
    """The context of `payers/_unit.html` on the page of a unit."""
    page = queries.on_page(pk, title, held, by=access.person(request))
    return _context(page, SaidForm(page, today=clock.today()))


def _page(request: HttpRequest, pk: int) -> pages.UnitWords:
    page = queries.of_unit(pk, by=access.person(request))
    if page is None:
        raise Http404
    return page


def _context(page: pages.UnitWords, form: SaidForm) -> dict[str, Any]:
    return {"payer_words": page, "said_form": form}


def _shown(
    request: HttpRequest, page: pages.UnitWords, form: SaidForm, *, unsettled: int = 0, status: int = 200
) -> HttpResponse:
    context = {**_context(page, form), "unsettled": unsettled}
    return render(request, "payers/unit.html", context, status=status)


def _to_unit(pk: int) -> HttpResponse:
    return redirect(f"{reverse('unit', args=[pk])}#payers")
