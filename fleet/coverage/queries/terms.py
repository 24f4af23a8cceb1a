"""Terms on file: which there are, what one says, who checked it when, and which units hold it."""

import datetime as dt
from typing import Any

from django.db.models import Exists, Max, OuterRef, Q

from fleet import models
from fleet.coverage.pages import terms as pages
from fleet.elements import makers, named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.facts import terms_on_file
from fleet.rules import payers, wording
from fleet.rules.registration import State
from fleet.rules.wording.names import source

HELD, UNHELD, WITHDRAWN = "held by units", "held by no unit", "withdrawn"


def _papers() -> list[Any]:
    """All terms with what they say, by code: papers are tens or hundreds, not thousands."""
    book = terms_on_file()
    held = Exists(models.HoldingRow.objects.filter(terms=OuterRef("pk")))
    papers: list[Any] = list(
        models.Terms.objects.annotate(held=held, checked=Max("checks__checked_on")).order_by("code").only("pk", "code")
    )
    for row in papers:
        row.says = book.by_code[row.code]
        row.whose = "any manufacturer" if row.says.maker == "*" else row.says.maker
        row.checked_on = max(row.says.checked_on, row.checked or row.says.checked_on)
        row.standing = WITHDRAWN if row.code in book.withdrawn else HELD if row.held else UNHELD
    return papers


def _rows(filters: Any, on: dt.date) -> list[Any]:
    return [
        row
        for row in _papers()
        if filters.payer in ("", row.says.payer)
        and filters.maker in ("", row.whose)
        and filters.standing in ("", row.standing)
        and filters.text.casefold() in f"{row.says.title} {row.code} {row.whose}".casefold()
    ]


def _lead(listing: Listing) -> dict[str, Any]:
    papers = _papers()
    in_force = [row for row in papers if row.standing != WITHDRAWN]
    oldest = min(in_force, key=lambda row: (row.checked_on, row.code), default=None)
    return {"on_file": len(papers), "oldest": oldest}


TERMS = List(
    file="terms",
    caption="Terms on file",
    rows=_rows,
    lead=_lead,
    usual="title",
    columns=(
        Column(
            "title",
            "Terms",
            value=lambda row: Cell(row.says.title, Link("terms", row.pk), row.code),
            order=("says.title",),
        ),
        Column("code", "Code", shown=False),
        Column("payer", "Payer", "payer", value="says.payer", order=("says.payer",)),
        Column("maker", "Manufacturer", value="whose", order=("whose",)),
        Column("from", "Startup from", "day", value="says.installed_from", order=("says.installed_from",)),
        Column("to", "Startup to", "day", value="says.installed_to", order=("says.installed_to",)),
        Column("checked_on", "Last checked", "day", order=("checked_on",)),
        Column("standing", "In use", order=("standing",)),
    ),
    filters=(
        Filter("payer", choices=payers.CHOICES),
        Filter("maker", "Manufacturer", choices=makers.of_terms),
        Filter("standing", "In use", choices=(HELD, UNHELD, WITHDRAWN)),
        Filter("text", "Title, code or manufacturer has"),
    ),
)


def page(pk: int, *, by: models.User, on: dt.date) -> pages.TermsPage | None:
    """Show one paper; None where there is none. Whoever checked it today may take that back."""
    row = models.Terms.objects.filter(pk=pk).first()
    if row is None:
        return None
    book = terms_on_file()
    terms = book.by_code[row.code]
    family = models.Terms.objects.filter(Q(code=row.replaces or row.code) | Q(replaces=row.code)).exclude(pk=pk)
    others = [
        (other.code == row.replaces, _named(other)) for other in family.only("pk", "code", "title").order_by("code")
    ]
    checks = _checks(row, by=by, on=on)
    return pages.TermsPage(
        terms=_named(row),
        payer=terms.payer,
        maker=terms.maker,
        says=wording.terms_in_words(terms),
        source=source(terms.source_title, terms.source_page),
        checks=checks,
        replaces=next((named for before, named in others if before), None),
        replaced_by=tuple(named for before, named in others if not before),
        checked_on=max((terms.checked_on, *(check.day for check in checks))),
        held_by=models.HoldingRow.objects.filter(terms=row).count(),
    )


def _named(row: models.Terms) -> pages.Named:
    return pages.Named(row.pk, row.code, row.title)


def _checks(row: models.Terms, *, by: models.User, on: dt.date) -> tuple[pages.Check, ...]:
    """List the checks, the latest first; the one first recorded came with the file, and nobody takes that back."""
    rows = list(row.checks.select_related("by"))
    of_the_file = min((check.pk for check in rows), default=None)
    return tuple(
        pages.Check(
            check.checked_on,
            str(check.by or ""),
            check.note,
            check.pk if check.by_id == by.pk and check.checked_on == on and check.pk != of_the_file else None,
        )
        for check in rows
    )


def units(terms: models.Terms) -> List:
    """The list of the units that hold some terms."""
    held = models.HoldingRow.objects.filter(terms=terms).select_related("unit__system__site__customer")
    return List(
        file=f"units-{terms.code}",
        caption="Units with these terms",
        rows=lambda filters, on: held,
        usual="-starts",
        columns=(
            named.unit("unit"),
            Column("maker", "Maker", value="unit.maker", shown=False),
            Column("model", "Model", value="unit.model", shown=False),
            named.customer("unit__system__site__customer"),
            named.site("unit__system__site"),
            Column(
                "starts",
                "Starts",
                "day",
                value=lambda row: Cell(row.start_on, note="assumed" if row.start_assumed else ""),
                order=("start_on",),
                blanks_last=True,
            ),
            Column("registration", "Registration", order=("registration",)),
            Column("deadline", "Deadline", "day", order=("deadline",), blanks_last=True),
            Column("how", "Why", value=lambda row: "bought or promised" if row.attached else "by model"),
        ),
        filters=(
            Filter("registration", choices=[state.value for state in State], where="registration"),
            Filter("text", "Serial, model, site or customer has", where=named.text_of_unit("unit")),
        ),
    )
