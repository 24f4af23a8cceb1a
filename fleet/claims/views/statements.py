"""Payers' statements: brought, shown, and what is left of them decided."""

import contextlib
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fleet import clock, models
from fleet.claims.actions import statement_columns
from fleet.claims.actions import statements as actions
from fleet.claims.forms.statements import AsideForm, ColumnsForm, MatchForm, StatementForm
from fleet.claims.pages import statements as pages
from fleet.claims.queries import statements as queries
from fleet.elements.named import local_day
from fleet.refusals import Refused
from fleet.rules.dates import in_words
from fleet.sheets import BadFile, Problem
from fleet.web import access, lists


@require_http_methods(["GET", "HEAD", "POST"])
def statements(request: HttpRequest) -> HttpResponseBase:
    """List the statements, as a page or a file; or take one."""
    if request.method != "POST":
        return lists.file(request, queries.STATEMENTS) or _listed(request, StatementForm(payers=queries.payers()))
    form = StatementForm(request.POST, request.FILES, payers=queries.payers())
    if not form.is_valid():
        return _listed(request, form, status=422)
    file, payer = form.cleaned_data["file"], form.cleaned_data["payer_name"]
    name = (file.name or "statement")[:255]
    token = statement_columns.keep(file, name)
    path = statement_columns.path_of(token)
    assert path is not None
    try:
        matching = statement_columns.matching(path, name, payer)
        if not matching.is_ours:
            return _match_columns(request, token, name, payer, matching)
        taken = _take(request, path, name, payer, None)
    except (BadFile, Problem) as refused:
        statement_columns.drop(token)
        problems = refused.lines() if isinstance(refused, BadFile) else [str(refused)]
        return _listed(request, form, status=422, problems=problems)
    statement_columns.drop(token)
    return redirect("statement", taken.pk)


def _match_columns(request: HttpRequest, token: str, name: str, payer: str, matching: pages.Matching) -> HttpResponse:
    """Take a file whose headings were matched before; ask about any other."""
    if matching.is_remembered:
        form = ColumnsForm(matching, ColumnsForm.remembered(matching))
        if form.is_valid():
            with contextlib.suppress(BadFile):  # its page says what is wrong, and may match it otherwise
                taken = _take(request, statement_columns.path_of(token) or Path(), name, payer, form.plan())
                statement_columns.drop(token)
                messages.info(request, "Its columns were read as you matched them for this payer before.")
                return redirect("statement", taken.pk)
    return redirect(f"{reverse('statement_columns')}?{urlencode({'file': token, 'name': name, 'payer': payer})}")


@require_http_methods(["GET", "HEAD", "POST"])
def statement_matching(request: HttpRequest) -> HttpResponse:
    """Match the headings of a payer's file to our columns, then take it."""
    asked = request.POST if request.method == "POST" else request.GET
    token, name, payer = asked.get("file", ""), asked.get("name", "statement")[:255], asked.get("payer", "")[:500]
    path = statement_columns.path_of(token)
    if path is None:
        messages.error(request, "This file is no longer kept. Choose it again.")
        return redirect("statements")
    matching = statement_columns.matching(path, name, payer)
    form = ColumnsForm(matching, request.POST if request.method == "POST" else None)
    problems: list[str] = []
    if request.method == "POST" and form.is_valid():
        plan = form.plan()
        try:
            taken = _take(request, path, name, payer, plan)
            statement_columns.remember(payer, [one.name for one in matching.headings], plan)
            statement_columns.drop(token)
            return redirect("statement", taken.pk)
        except BadFile as refused:
            problems = refused.lines()
    context = {"form": form, "file": token, "name": name, "payer": payer, "matching": matching, "problems": problems}
    return render(request, "statements/columns.html", context, status=422 if request.method == "POST" else 200)


def _before(taken: models.Statement) -> str:
    """When the very file was taken, by whom, and by which name."""
    who = f" by {taken.by}" if taken.by else ""
    return f"This very file was taken on {in_words(local_day(taken.at))}{who}, as {taken.name}."


@require_safe
def statement(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Show one statement, or give its credits as a file."""
    get_object_or_404(models.Statement, pk=pk)
    return lists.file(request, queries.lines_of(pk)) or _shown(request, pk)


@require_POST
def statement_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Look once more which of the credits that are left fit a claim by now."""
    found = get_object_or_404(models.Statement, pk=pk)
    booked = actions.book_what_fits(statement=found, by=access.person(request), on=clock.today())
    messages.success(
        request, f"{booked} more {'is' if booked == 1 else 'are'} booked." if booked else "No more of them fit."
    )
    return redirect("statement", pk)


@require_POST
def statement_match(request: HttpRequest, pk: int) -> HttpResponse:
    """Book a credit on the claim that somebody chose."""
    row, line = _line(pk)
    if line is None:
        return _done_meanwhile(request, row)
    form = MatchForm(line, request.POST)
    if not form.is_valid():
        return _shown(request, row.statement_id, match=(pk, form))
    asked = form.cleaned_data
    claim, version = _chosen(asked)
    try:
        actions.credit(
            line=row,
            claim=claim,
            version=version,
            day=asked["day"],
            last=asked["last"],
            reason=asked["reason"],
            confirmed=asked["confirmed"],
            by=access.person(request),
            on=clock.today(),
        )
    except Refused as refused:
        form.refuse(refused)
        return _refused(request, row, match=(pk, form))
    messages.success(request, f"Row {row.row} is booked on claim {claim}.")
    return redirect("statement", row.statement_id)


@require_POST
def statement_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a credit aside."""
    row, line = _line(pk)
    if line is None:
        return _done_meanwhile(request, row)
    form = AsideForm(line, request.POST)
    if not form.is_valid():
        return _shown(request, row.statement_id, aside=(pk, form))
    try:
        actions.set_aside(line=row, why=form.cleaned_data["why"], by=access.person(request))
    except Refused as refused:
        form.refuse(refused)
        return _refused(request, row, aside=(pk, form))
    messages.success(request, f"Row {row.row} is set aside.")
    return redirect("statement", row.statement_id)


@require_POST
def statement_open(request: HttpRequest, pk: int) -> HttpResponse:
    """Take up again a credit that was set aside."""
    row = get_object_or_404(models.StatementLine, pk=pk)
    if actions.open_again(line=row, by=access.person(request)):
        messages.success(request, f"Row {row.row} is left to be decided again.")
    return redirect("statement", row.statement_id)


def _take(
    request: HttpRequest, path: Path, name: str, payer: str, plan: statement_columns.Plan | None
) -> models.Statement:
    """Take a file; where the very file was taken before, say so."""
    taken, is_new = actions.take(
        path, name=name, payer_name=payer, plan=plan, by=access.person(request), on=clock.today()
    )
    if not is_new:
        messages.info(request, f"{_before(taken)} Nothing was taken again; here it is.")
    return taken


def _line(pk: int) -> tuple[models.StatementLine, pages.LeftLine | None]:
    """A credit, and how it is shown while it is left to a person."""
    row = get_object_or_404(models.StatementLine.objects.select_related("statement"), pk=pk)
    page = queries.statement(row.statement_id)
    return row, next((line for line in page.left if line.pk == pk), None) if page else None


def _chosen(asked: dict[str, Any]) -> tuple[int, int]:
    """The chosen claim with the version that was shown; for one named by its number, its version now."""
    if asked["other"]:
        version = models.Claim.objects.filter(pk=asked["other"]).values_list("version", flat=True).first()
        return asked["other"], version or 0
    number, _, version = asked["claim"].partition(":")
    return int(number), int(version)


def _refused(request: HttpRequest, row: models.StatementLine, **form: Any) -> HttpResponse:
    """Draw the statement with the form as it was sent; where the credit is not left any more, say so instead."""
    return _shown(request, row.statement_id, **form) if _line(row.pk)[1] else _done_meanwhile(request, row)


def _done_meanwhile(request: HttpRequest, row: models.StatementLine) -> HttpResponse:
    messages.error(request, f"Somebody dealt with row {row.row} meanwhile. Nothing of yours was written.")
    return redirect("statement", row.statement_id)


def _listed(
    request: HttpRequest, bring: StatementForm, *, status: int = 200, problems: list[str] | None = None
) -> HttpResponse:
    form = lists.ListForm(request.GET, queries.STATEMENTS, on=clock.today())
    return lists.shown(request, form, "statements/statements.html", status=status, bring=bring, problems=problems or [])


def _shown(
    request: HttpRequest,
    pk: int,
    *,
    match: tuple[int, MatchForm] | None = None,
    aside: tuple[int, AsideForm] | None = None,
) -> HttpResponse:
    """Draw one statement; a form that was refused stands as it was sent."""
    page = queries.statement(pk)
    if page is None:
        raise Http404
    matched, laid = dict([match] if match else []), dict([aside] if aside else [])
    lines = [
        (line, matched.get(line.pk) or MatchForm(line), laid.get(line.pk) or AsideForm(line)) for line in page.left
    ]  # fmt: skip
    form = (match or aside or (0, None))[1]
    context = {"page": page, "lines": lines}
    return render(request, "statements/statement.html", context, status=form.status if form else 200)
