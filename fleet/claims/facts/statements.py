"""Claims as the matching of a payer's statement sees them, and the credits that were told before."""

from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Q

from fleet import models
from fleet.rules import words
from fleet.rules.claims import APPROVED, State
from fleet.rules.statements import Awaiting, Book, Line, book

Mark = tuple[str, str, object, Decimal]


def line_of(row: models.StatementLine) -> Line:
    """A statement's line as the rules see it."""
    return Line(row.reference, row.number, row.on, row.amount)


def claims_for(lines: Iterable[Line], *, payer_name: str = "") -> Book:
    """Bring the claims that any of these credits may belong to, in one query.

    Every one that waits for a credit, since its reference may be written another way; and whichever goes by one of the names.
    """
    references, keys, numbers = set(), set(), set()
    for line in lines:
        references.add(line.reference)
        keys.add(words.key(line.number))
        number = words.key(line.number).removeprefix("claim")
        if number.isascii() and number.isdecimal() and len(number) < 18:
            numbers.add(int(number))
    named = Q(reference__in=references - {""}) | Q(failure__unit__serial_key__in=keys - {""}) | Q(pk__in=numbers)
    rows = models.Claim.objects.filter(Q(state__in=APPROVED) | named)
    if payer_name:
        rows = rows.filter(payer_name=payer_name)
    found = rows.order_by("pk").values_list(
        "pk", "version", "reference", "failure__unit__serial", "state", "approved", "credited", "last_step_on"
    )
    return book(
        Awaiting(pk, version, reference, serial, State(state), max(approved - credited, Decimal(0)), last_step_on)
        for pk, version, reference, serial, state, approved, credited, last_step_on in found
    )


def told_before(statement: models.Statement, lines: Iterable[Line]) -> set[Mark]:
    """The marks of credits that an earlier statement lists already and that were not set aside there."""
    days = {line.on for line in lines}
    rows = models.StatementLine.objects.filter(on__in=days, statement__pk__lt=statement.pk).exclude(state="set aside")
    return {line_of(row).mark for row in rows}
