"""Claims as a list, and what the payers of one failure might still be asked."""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from django.db.models import Q, QuerySet

from fleet import models
from fleet.claims.pages import claims as pages
from fleet.claims.queries.claim_sums import OUT, dollars, total
from fleet.derived import claim_rows
from fleet.elements import makers, named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing, same_key
from fleet.facts import TermsBook, Told, fleet_facts, terms_on_file
from fleet.facts.failures import job_of
from fleet.facts.house import house
from fleet.rules import money, payers, wording
from fleet.rules.claims import OVER, ZERO, Standing, State
from fleet.rules.dates import DAY, in_words
from fleet.rules.money_parts import OnePayer
from fleet.rules.wording import claim_steps
from fleet.rules.wording.claims import clock as clock_words
from fleet.rules.wording.money import credit as credit_words
from fleet.rules.wording.money import credit_line
from fleet.rules.wording.names import failed

_OVER = [str(state) for state in OVER]
# What the list is narrowed to by state: the first where nobody chose.
OPEN, ANY = "not over", "any"
_STATES = {str(state): said for state, said in claim_steps.STATES.items()}
# Out for more than so many days; the first: for however long.
AGES = (0, 10, 30, 60)
_UNIT = "failure__unit"
_SITE = f"{_UNIT}__system__site"


def _rows(filters: Any, on: dt.date) -> QuerySet[models.Claim]:
    claims = models.Claim.objects.select_related(f"{_SITE}__customer")
    return claims.filter(filed_on__lt=on - filters.days * DAY) if filters.days else claims


def _in_state(state: str) -> Q:
    # What is over is left out, not what is open looked for: so the index of the order is gone along, and no claim sorted.
    return {ANY: Q(), OPEN: ~Q(state__in=_OVER)}.get(state, Q(state=state))


def _has_text(text: str) -> Q:
    condition = named.text_of_unit(_UNIT, "reference", "payer_name", keys=("serial",))(text)
    number = text.casefold().removeprefix("claim").strip()
    return condition | Q(pk=int(number)) if number.isascii() and number.isdecimal() and len(number) < 18 else condition


def _complete(rows: list[Any], on: dt.date) -> Iterable[Any]:
    for row in rows:
        one = OnePayer(row.payer, row.payer_name, row.pk, State(row.state), ZERO, row.asked, row.approved, row.credited)
        row.out = one.out or None
        row.days_out = (on - row.filed_on).days if row.filed_on and row.state not in _OVER else None
    return rows


def _lead(listing: Listing) -> dict[str, Any]:
    return {
        "state": _STATES.get(listing.filters.state, ""),
        "out": dollars(listing.selected.aggregate(out=total(OUT))["out"]),
        "nothing_on_file": not listing.count and not models.Claim.objects.exists(),
    }


def _state(row: Any) -> Cell:
    return Cell(row.state, said=claim_steps.STATES[State(row.state)])


def _some(name: str) -> Callable[[Any], Any]:
    """An amount, blank where it is none."""
    return lambda row: getattr(row, name) or None


CLAIMS = List(
    file="claims",
    caption="Claims",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="filed_on",
    columns=(
        Column("claim", "Claim", value=lambda row: Cell(row.pk, Link("claim", row.pk))),
        Column("state", "State", "word", value=_state, order=("state", "opened_on")),
        Column("payer", "Payer", "payer", order=("payer", "payer_name")),
        Column("payer_name", "Claimed from", order=("payer_name",)),
        Column("maker", "Manufacturer", value="failure.unit.maker", order=(f"{_UNIT}__maker_key",), shown=False),
        Column("model", "Model", value="failure.unit.model", shown=False),
        named.unit(_UNIT),
        named.customer(f"{_SITE}__customer"),
        replace(named.site(_SITE, sorts=False), shown=False),
        Column("component", "Component", "word", value="failure.component", order=("failure__component",)),
        Column("failed_on", "Failed on", "day", value="failure.failed_on", order=("failure__failed_on",), shown=False),
        Column("opened_on", "Opened on", "day", order=("opened_on",), shown=False),
        Column("filed_on", "Filed on", "day", order=("filed_on", "opened_on", "pk")),
        Column("days_out", "Days out", "number"),
        Column("expected", "Expected", "money", order=("expected",)),
        Column("asked", "Claimed", "money", value=_some("asked"), order=("asked",)),
        Column("approved", "Approved", "money", value=_some("approved"), order=("approved",), shown=False),
        Column("credited", "Credited", "money", value=_some("credited"), order=("credited",)),
        Column("out", "Outstanding", "money"),
        Column("reference", "Their number"),
    ),
    filters=(
        Filter(
            "state",
            choices=[(OPEN, "open"), *((str(one), said) for one, said in claim_steps.STATES.items()), (ANY, ANY)],
            blank="",
            usual=OPEN,
            where=_in_state,
            narrows=False,
        ),
        Filter("payer", choices=payers.CHOICES, where="payer"),
        Filter("maker", "Manufacturer", choices=makers.of_claims, where=same_key(f"{_UNIT}__maker_key")),
        Filter(
            "days",
            "Filed",
            [(days, f"more than {days} days ago" if days else "at any time") for days in AGES],
            blank="",
            usual=0,
        ),
        Filter("text", "Claim, their number, serial or customer contains", where=_has_text),
    ),
)


# -------------------------------------------------------------------------------------------------- of one failure


def of_failure(pk: int, *, on: dt.date) -> pages.OfFailure | None:
    """Show the claims of a failure, and which payers it is worth asking; None if there is no such failure."""
    failure = models.Failure.objects.with_claims().filter(pk=pk).first()
    if failure is None:
        return None
    book = terms_on_file()
    told = fleet_facts(models.Unit.objects.filter(pk=failure.unit_id), book)[failure.unit_id]
    return beside(told, failure, book, house(), on=on)


def beside(told: Told, failure: models.Failure, book: TermsBook, ours: models.House, *, on: dt.date) -> pages.OfFailure:
    """The same beside the page of a failure, which was fetched `with_claims()`."""
    claims = tuple(failure.claims.all())
    taken = {(claim.payer, claim.payer_name) for claim in claims}
    promised = claim_rows.promises(told, failure, book, asked=on) if failure.voided_on is None else ()
    return pages.OfFailure(
        failure=failure.pk,
        heading=f"{failed(failure.component)}, {in_words(failure.failed_on)}",
        component_known=bool(failure.component),
        unit_pk=failure.unit_id,
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


def _asked_of_others(promise: claim_rows.Promise) -> bool:
    """Whether its payer is somebody else: our own workmanship has nobody to send a claim to, unless its paper says how."""
    rules = promise.terms.claims
    return not payers.BY_CODE[promise.terms.payer].ours or rules != type(rules)()


def _offer(promise: claim_rows.Promise, failure: models.Failure, ours: models.House, *, on: dt.date) -> pages.MayOpen:
    supplier = claim_rows.usual_supplier(failure, promise.terms)
    kinds = promise.hopeful
    rules = claim_rows.rules_of(promise.terms, supplier)
    job = job_of(failure, failure.refrigerant_entries.all(), ours)
    credit = money.expected(promise.terms, promise.answers, job, rules=rules, kinds=kinds)
    clocks = claim_rows.clocks_without_claim(failure, promise, asked=on) if kinds else ()
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


def results(promise: claim_rows.Promise, failure: models.Failure) -> tuple[str, ...]:
    """What the terms say of each kind of cost, in words; equal sentences once."""
    lines: dict[str, list[str]] = {}
    for answer in promise.answers:
        lines.setdefault(wording.answer_line(answer, on=failure.failed_on), []).append(answer.kind)
    return tuple(f"{', '.join(kinds).capitalize()}: {line}" for line, kinds in lines.items())


def stands(claim: models.Claim, *, on: dt.date) -> str:
    """Where a claim stands, in words."""
    standing = Standing(
        State(claim.state), claim.asked, claim.approved, claim.credited, claim.filed_on, claim.last_step_on
    )
    return claim_steps.stands(standing, opened_on=claim.opened_on, asked=on)


def suppliers() -> tuple[tuple[int, str], ...]:
    """List the suppliers to choose from."""
    return tuple(models.Supplier.objects.values_list("pk", "name"))
