"""Terms given to units that stand already: a labor plan bought, or a promise of a payer or of ours, from a day on."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass

from django.db import transaction

from fleet import models
from fleet.coverage.actions.missing_facts import kept_rows
from fleet.derived import refresh
from fleet.facts import terms_on_file
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.registry.facts.events import record_words
from fleet.rules import missing_facts


@dataclass(frozen=True, slots=True)
class Given:
    """To how many units terms were given, and what that opened."""

    units: int
    opened: missing_facts.Opened


def give(
    unit: int,
    *,
    units: Collection[int],
    terms: str,
    attached_on: dt.date | None,
    number: str = "",
    by: models.User | None,
    on: dt.date,
) -> Given:
    """Give terms to units of one unit's system, each once; the day is when they were bought or promised (None: with the install)."""
    if attached_on is not None and attached_on > on:
        raise Refused("Enter a day no later than today.", "attached_on")
    with transaction.atomic():
        system = models.Unit.objects.values_list("system", flat=True).get(pk=unit)
        there = models.Unit.objects.select_for_update().in_service().filter(system=system, pk__in=units)
        rows = list(there.order_by("pk"))
        if not rows or len(rows) < len(set(units)):
            raise Refused("Choose at least one unit of this system that is in service.", "units")
        book = terms_on_file()
        if terms not in book.by_code or terms in book.withdrawn:
            raise Refused("Choose terms that are on file.", "terms")
        paper = models.Terms.objects.get(code=terms)
        before, log = kept_rows([row.pk for row in rows]), Log(by=by)
        for row in rows:
            _refuse_twice(row, paper)
            made = models.Attachment(unit=row, terms=paper, attached_on=attached_on, number=number.strip())
            check(made)
            made.save()
            log.note(None, row, "promise", "", record_words(made))
        log.write()
        refresh.refresh([row.pk for row in rows], on=on)
        after = kept_rows([row.pk for row in rows])
    return Given(len(rows), missing_facts.opened(before, after, on=on))


def _refuse_twice(unit: models.Unit, paper: models.Terms) -> None:
    """Refuse terms that a unit, or one that it took over from, was given already."""
    holder: models.Unit | None = unit
    while holder is not None:
        if models.Attachment.objects.filter(unit=holder, terms=paper).exists():
            raise Refused(f"{unit} has {paper.title} already. Undo that entry first if its day is wrong.", "units")
        holder = holder.took_over_from
