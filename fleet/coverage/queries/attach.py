"""Which terms a unit that stands already may be given, and to which units of its system with it."""

from fleet import models
from fleet.coverage.pages.attach import AttachPage
from fleet.elements.named import as_it_stands, what
from fleet.facts import terms_on_file
from fleet.rules import words
from fleet.rules.payers import PAYERS
from fleet.rules.wording.names import upper


def page(pk: int) -> AttachPage | None:
    """A unit in service with what it may be given; None if there is no such unit."""
    row = models.Unit.objects.in_service().select_related("system__site__customer").filter(pk=pk).first()
    if row is None:
        return None
    system, book = row.system, terms_on_file()
    held = set(models.HoldingRow.objects.filter(unit=pk).values_list("terms__code", flat=True))
    may_be = [
        terms
        for terms in book.all
        if terms.code not in held | book.withdrawn
        and (terms.payer != "maker" or terms.maker == "*" or words.key(terms.maker) == row.maker_key)
    ]
    by_payer = (
        (upper(payer.label), tuple((terms.code, terms.title) for terms in may_be if terms.payer == payer.code))
        for payer in sorted(PAYERS, key=lambda payer: not payer.bought)
    )
    there = sorted(models.Unit.objects.in_service().filter(system=system), key=as_it_stands)
    return AttachPage(
        pk=pk,
        name=str(row),
        where=f"{system.name}, {system.site.name}, {system.site.customer.name}",
        units=tuple((one.pk, ", ".join(filter(None, (one.room, what(one), one.model, one.serial)))) for one in there),
        terms=tuple((payer, terms) for payer, terms in by_payer if terms),
    )
