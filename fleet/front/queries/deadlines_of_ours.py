"""Deadlines of our own: agreements to decide about or to give notice of, and promises of ours that end."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from types import SimpleNamespace
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.business.queries import to_decide
from fleet.business.queries.agreements import has
from fleet.business.queries.own_promises import promise_of
from fleet.business.queries.to_decide import Waiting
from fleet.elements.cells import Link
from fleet.elements.listing import text_in
from fleet.facts import TermsBook
from fleet.front.queries.deadline_rows import ORDER, Source, row
from fleet.rules import deadlines as rules
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY
from fleet.rules.deadlines import Deadline, Kind
from fleet.rules.decisions import SOON_DAYS, Decision
from fleet.rules.own_promises import STANDING
from fleet.rules.wording import deadlines as wording
from fleet.rules.wording.agreements import DECISIONS

_WHATS = tuple(DECISIONS)

# ------------------------------------------------------------------------------------------------------ of agreements


def _agreements(filters: Any, on: dt.date) -> list[dict[str, Any]]:
    """What agreements wait for; no payer has a part in it."""
    if filters.payer:
        return []
    found = [_at_hand(one) for one in to_decide.waiting(on=on) if has(one.row, filters.text)]
    found = [one for one in found if not filters.kind or one["what"] == filters.kind]
    return sorted(found, key=lambda one: [one[name] for name in ORDER])


def _at_hand(one: Waiting) -> dict[str, Any]:
    kind, last = rules.of_decision(Decision(one.what, one.on))
    keys = {"first_key": one.row.pk, "second_key": _WHATS.index(one.what)}
    return {"rank": 1, "last": last, "what": kind.value, **keys, "waiting": one}


def _complete_agreements(rows: Sequence[Any], book: TermsBook, on: dt.date) -> Iterator[SimpleNamespace]:
    del book, on
    return (_of_agreement(one["waiting"]) for one in rows)


def _of_agreement(one: Waiting) -> SimpleNamespace:
    kind, last = rules.of_decision(Decision(one.what, one.on))
    # What runs out and does not renew is worth what it costs now; a refund is for a person to settle.
    amount = one.open if one.what == "unpaid" else one.price if one.what == "ending" else one.next_price
    agreement, site = one.row, one.row.site
    return row(
        Deadline(kind, last, rules.WHO[kind], dollars=amount or None),
        payer="",
        payer_name=site.customer.name,
        to_do=wording.of_agreement(one.what, agreement.reference),
        worth=wording.agreement_worth(one.what, amount),
        link=Link("agreement", agreement.pk),
        unit=None,
        site=site,
        mark=f"agreement/{agreement.pk}/{one.what}/{last}",
    )


# -------------------------------------------------------------------------------------------------- promises of ours


def _standing(on: dt.date) -> QuerySet[models.OwnPromise]:
    """The promises that stand and end so soon that somebody should look at them again, as soon as agreements come up."""
    soon = models.OwnPromise.objects.filter(until__range=(on, on + SOON_DAYS * DAY))
    return soon.filter(called_on=None, released_on=None)


def _promises(filters: Any, on: dt.date) -> list[dict[str, Any]]:
    """The promises that end soon, which are few."""
    if filters.payer:
        return []
    found = _with_site(_standing(on))
    if filters.text:
        found = found.filter(text_in("site__name", "site__customer__name")(filters.text))
    return [_promise_at_hand(one) for one in found.order_by("until", "pk")]


def _promise_at_hand(one: models.OwnPromise) -> dict[str, Any]:
    keys = {"first_key": one.pk, "second_key": one.site_id}
    return {"rank": 1, "last": one.until, "what": Kind.PROMISE.value, **keys, "promise": one}


def _complete_promises(rows: Sequence[Any], book: TermsBook, on: dt.date) -> Iterator[SimpleNamespace]:
    del book, on
    return (_of_promise(one["promise"]) for one in rows)


def _with_site(rows: QuerySet[models.OwnPromise]) -> QuerySet[models.OwnPromise]:
    return rows.select_related("site__customer", "customer", "system")


def _of_promise(promise: models.OwnPromise) -> SimpleNamespace:
    return row(
        Deadline(Kind.PROMISE, promise.until, rules.WHO[Kind.PROMISE], dollars=promise.cost_at_most),
        payer="",
        payer_name=promise.customer.name,
        to_do=wording.of_promise(promise.words),
        worth=wording.worth(promise.cost_at_most),
        link=Link("own_promise", promise.pk),
        unit=None,
        site=promise.site,
        mark=f"promise/{promise.pk}/{promise.until}",
        note=promise.system.name if promise.system else "",
    )


# ----------------------------------------------------------------------------------------------------------- together

SOURCES: tuple[Source, ...] = (
    Source((Kind.DECIDE, Kind.NOTICE), _agreements, _complete_agreements),
    Source((Kind.PROMISE,), _promises, _complete_promises),
)


def of_agreements(site: int, sheet: CareSheet | None = None, *, on: dt.date) -> list[SimpleNamespace]:
    """What the agreements of a site wait for, in no order and without their prices; by the care sheet where that was read."""
    return [_of_agreement(one) for one in to_decide.waiting(on=on, site=site, priced=False, sheet=sheet)]


def of_promises(promises: Iterable[models.OwnPromise], *, on: dt.date) -> list[SimpleNamespace]:
    """Those of some promises that stand and end soon."""
    soon = on + SOON_DAYS * DAY
    return [_of_promise(one) for one in promises if promise_of(one).state(on) == STANDING and one.until <= soon]


def of_system(system: int, *, on: dt.date) -> list[SimpleNamespace]:
    """The promises for one system that end."""
    return [_of_promise(one) for one in _with_site(_standing(on).filter(system=system))]
