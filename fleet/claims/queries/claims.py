"""Claims as a list, and what the payers of one failure might still be asked."""

import datetime as dt
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from django.db.models import Count, Q, QuerySet

from fleet import facts as gather
from fleet import models
from fleet.claims.pages import claims as pages
from fleet.claims.queries.claim_sums import OUT, dollars, total
from fleet.derived import claim_rows as facts
from fleet.elements import named_fields
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.elements.ordering import order_of
from fleet.facts.failures import job_of
from fleet.facts.house import house
from fleet.models.prepared import prepared
from fleet.rules import money, payers, wording, words
from fleet.rules.claims import OVER, ZERO, Standing, State
from fleet.rules.dates import DAY, in_words
from fleet.rules.wording import claim_steps
from fleet.rules.wording.claims import clock as clock_words
from fleet.rules.wording.money import credit as credit_words
from fleet.rules.wording.money import credit_line

CHUNK = 500
_OVER = [str(state) for state in OVER]
_OPEN = [str(state) for state in State if state not in OVER]
_USUAL = Sort("filed_on")
_UNIT = "failure__unit"
# The first of each is what is sorted by; the rest keeps equal ones in one order.
_ORDER = {
    "state": ("state", "opened_on", "pk"),
    "payer": ("payer", "payer_name", "pk"),
    "payer_name": ("payer_name", "pk"),
    "maker": (f"{_UNIT}__maker_key", "pk"),
    "serial": (f"{_UNIT}__serial_key", "pk"),
    "customer": (f"{_UNIT}__system__site__customer__name", "pk"),
    "component": ("failure__component", "pk"),
    "failed_on": ("failure__failed_on", "pk"),
    "opened_on": ("opened_on", "pk"),
    "filed_on": ("filed_on", "opened_on", "pk"),
    **{name: (name, "pk") for name in ("expected", "asked", "approved", "credited")},
}

_SITE = f"{_UNIT}__system__site"
_OF_UNIT, _OF_SITE = named_fields.unit(_UNIT), named_fields.linked(_SITE, "site")
_OF_CUSTOMER = named_fields.linked(f"{_SITE}__customer", "customer")
_FIELDS = (
    "pk", "state", "payer", "payer_name", "opened_on", "filed_on", "expected", "asked", "approved", "credited", "reference",
    "failure__component", "failure__failed_on", *_OF_UNIT.fields, *_OF_SITE.fields, *_OF_CUSTOMER.fields,
)  # fmt: skip


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.ClaimsPage:
    """Show one page of claims."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL.name)
    if (asked, chosen, number) == (pages.Asked(), _USUAL, 1):
        by_state, rows = _open_by_state(), _first_open()
    else:
        found = _found(asked, on=on)
        by_state = list(_by_state(found))
        number = within(number, sum(claims for claims, _ in by_state))
        first = (number - 1) * PER_PAGE
        rows = list(_ordered(found, chosen)[first : first + PER_PAGE])
    count, out = sum(claims for claims, _ in by_state), sum(amount for _, amount in by_state)
    return pages.ClaimsPage(
        asked=asked,
        listing=Listing(pages.COLUMNS, tuple(_rows(rows, on=on)), count, chosen, number),
        out=dollars(out),
        nothing_on_file=not rows and not models.Claim.objects.exists(),
    )


def rows(asked: pages.Asked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.COLUMNS, otherwise=_USUAL.name)
    yield from _rows(_ordered(_found(asked, on=on), chosen).iterator(chunk_size=CHUNK), on=on)


@prepared
def _first_open() -> QuerySet[models.Claim, Any]:
    # What is over is left out, not what is open looked for: so the index of the order is gone along, and no claim sorted.
    return _ordered(models.Claim.objects.exclude(state__in=_OVER), _USUAL)[:PER_PAGE]


@prepared
def _open_by_state() -> QuerySet[models.Claim, tuple[int, int]]:
    return _by_state(models.Claim.objects.filter(state__in=_OPEN))


def _by_state(found: QuerySet[models.Claim]) -> QuerySet[models.Claim, Any]:
    """Count claims, and add up what is out, in cents."""
    told = found.order_by().values("state").annotate(claims=Count("*"), out=total(OUT))
    return told.values_list("claims", "out")


def _found(asked: pages.Asked, *, on: dt.date) -> QuerySet[models.Claim]:
    found = models.Claim.objects.all()
    if asked.state == pages.OPEN:
        found = found.exclude(state__in=_OVER)
    elif asked.state != pages.ANY:
        found = found.filter(state=asked.state)
    if asked.payer:
        found = found.filter(payer=asked.payer)
    if asked.maker:
        found = found.filter(**{f"{_UNIT}__maker_key": words.key(asked.maker)})
    if asked.days:
        found = found.filter(filed_on__lt=on - asked.days * DAY)
    if asked.text:
        found = found.filter(_texts(asked.text))
    return found


def _texts(text: str) -> Q:
    site = f"{_UNIT}__system__site"
    found = (
        Q(reference__icontains=text)
        | Q(payer_name__icontains=text)
        | Q(**{f"{site}__name__icontains": text})
        | Q(**{f"{site}__customer__name__icontains": text})
    )
    if key := words.key(text):
        found |= Q(**{f"{_UNIT}__serial_key__contains": key})
    number = text.casefold().removeprefix("claim").strip()
    if number.isascii() and number.isdecimal() and len(number) < 18:
        found |= Q(pk=int(number))
    return found


def _ordered(found: QuerySet[models.Claim], sort: Sort) -> QuerySet[models.Claim, Any]:
    ordered = found.order_by(*order_of(_ORDER[sort.name], falling=sort.falling, may_be_none=("filed_on",)))
    return ordered.values_list(*_FIELDS, named=True)


def _account(
    state: str, filed_on: dt.date | None, asked: Decimal, approved: Decimal, credited: Decimal
) -> money.Account:
    return money.Account("", "", State(state), filed_on, ZERO, asked, approved, credited)


def _rows(found: Iterable[Any], *, on: dt.date) -> Iterator[Row]:
    for row in found:
        account = _account(row.state, row.filed_on, row.asked, row.approved, row.credited)
        yield (
            Cell(row.pk, Link("claim", row.pk)),
            Cell(row.state),
            Cell(row.payer),
            Cell(row.payer_name),
            Cell(row.failure__unit__maker),
            Cell(row.failure__unit__model),
            _OF_UNIT.cell(row),
            _OF_CUSTOMER.cell(row),
            _OF_SITE.cell(row),
            Cell(row.failure__component),
            Cell(row.failure__failed_on),
            Cell(row.opened_on),
            Cell(row.filed_on),
            Cell((on - row.filed_on).days if row.filed_on and row.state not in _OVER else None),
            Cell(row.expected),
            Cell(row.asked or None),
            Cell(row.approved or None),
            Cell(row.credited or None),
            Cell(account.out or None),
            Cell(row.reference),
        )


# -------------------------------------------------------------------------------------------------- of one failure


def of_failure(pk: int, *, on: dt.date) -> pages.OfFailure | None:
    """Show the claims of a failure, and which payers it is worth asking; None if there is no such failure."""
    row = models.Failure.objects.filter(pk=pk).values_list("unit_id", flat=True).first()
    if row is None:
        return None
    failure = next(one for one in facts.failures_of([row])[row] if one.pk == pk)
    book = gather.terms_on_file()
    told = gather.fleet_facts(models.Unit.objects.filter(pk=row).with_facts(), book)[row]
    claims = tuple(failure.claims.all())
    ours, taken = house(), {(claim.payer, claim.payer_name) for claim in claims}
    promised = facts.promises(told, failure, book, asked=on) if failure.voided_on is None else ()
    return pages.OfFailure(
        failure=pk,
        heading=f"{failure.component}, {in_words(failure.failed_on)}",
        unit_pk=row,
        unit=str(told.row),
        voided=failure.voided_on is not None,
        claims=tuple(
            pages.Opened(claim.pk, claim.payer, claim.payer_name, stands(claim, on=on))
            for claim in sorted(claims, key=lambda claim: claim.pk)
        ),
        offers=tuple(
            _offer(promise, failure, ours, on=on)
            for promise in promised
            if (promise.terms.payer, promise.payer_name) not in taken and _asked_of_others(promise)
        ),
        suppliers=suppliers(),
    )


def _asked_of_others(promise: facts.Promise) -> bool:
    """Whether its payer is somebody else: our own workmanship has nobody to send a claim to, unless its paper says how."""
    rules = promise.terms.claims
    return not payers.BY_CODE[promise.terms.payer].ours or rules != type(rules)()


def _offer(promise: facts.Promise, failure: models.Failure, ours: models.House, *, on: dt.date) -> pages.MayOpen:
    supplier = facts.usual_supplier(failure, promise.terms)
    kinds = promise.hopeful
    rules = facts.rules_of(promise.terms, supplier)
    job = job_of(failure, failure.refrigerant_entries.all(), ours)
    credit = money.expected(promise.terms, promise.answers, job, rules=rules, kinds=kinds)
    clocks = facts.clocks_without_claim(failure, promise, asked=on) if kinds else ()
    return pages.MayOpen(
        terms_pk=promise.terms_id,
        title=promise.terms.title,
        payer=promise.terms.payer,
        payer_name=promise.payer_name,
        kinds=kinds or promise.terms.kinds,
        results=results(promise, failure),
        supplier=supplier.pk if supplier else None,
        supplier_name=supplier.name if supplier else "",
        expected=credit_words(credit) if kinds else "",
        sums=tuple(credit_line(line) for line in credit.lines) if kinds else (),
        clocks=tuple(clock_words(clock, asked=on) for clock in clocks if clock.open),
        promised=bool(kinds),
    )


def results(promise: facts.Promise, failure: models.Failure) -> tuple[str, ...]:
    """Say what the terms say of each kind of cost; equal sentences once."""
    lines: dict[str, list[str]] = {}
    for answer in promise.answers:
        lines.setdefault(wording.answer_line(answer, on=failure.failed_on), []).append(answer.kind)
    return tuple(f"{', '.join(kinds).capitalize()}: {line}" for line, kinds in lines.items())


def stands(claim: models.Claim, *, on: dt.date) -> str:
    """Say where a claim stands."""
    standing = Standing(
        State(claim.state), claim.asked, claim.approved, claim.credited, claim.filed_on, claim.last_step_on
    )
    return claim_steps.stands(standing, opened_on=claim.opened_on, asked=on)


def suppliers() -> tuple[tuple[int, str], ...]:
    """List the suppliers to choose from."""
    return tuple(_suppliers())


@prepared
def _suppliers() -> QuerySet[models.Supplier, tuple[int, str]]:
    return models.Supplier.objects.values_list("pk", "name")
