"""Our company, our account numbers with payers, and what was changed about both."""

from collections.abc import Mapping

from django.conf import settings

from fleet import models
from fleet.derived.claim_rows import payer_name
from fleet.elements.named import local_moment
from fleet.facts import company, terms_on_file
from fleet.office.pages import company as pages
from fleet.rules.company import COUNTRIES, TIME_ZONES
from fleet.rules.wording.changes import value as in_log
from fleet.sheets.columns import in_plain

_MOST_CHANGES = 30
_WHAT = {
    "name": "Company name",
    "address": "Address",
    "phone": "Phone",
    "license_number": "License number",
    "country": "Country",
    "time_zone": "Time zone",
    "logo": "Logo",
    "account": "Account with",
    "steps_skipped": "First steps left out",
    "steps_over_on": "First steps put away on",
}


def page() -> pages.CompanyPage:
    """The company as it stands."""
    row = company.row()
    facts = {name: getattr(row, name) for name in company.FIELDS}
    facts["time_zone"] = row.time_zone or settings.TIME_ZONE
    return pages.CompanyPage(
        facts=facts,
        has_logo=bool(company.picture(row.logo)),
        accounts=accounts(),
        changes=tuple(_changed(change, row) for change in _changes()),
        from_server="" if row.name else settings.COMPANY,
    )


def accounts() -> Mapping[str, str]:
    """Our account number (blank: none) with every payer whose terms are on file, and with whom else we have one; by name."""
    on_file = dict(models.PayerAccount.objects.values_list("payer", "account"))
    known = {payer.casefold() for payer in on_file}
    named = {payer_name(terms) for terms in terms_on_file().all if terms.payer != "installer"} - {"*"}
    found = on_file | {payer: "" for payer in named if payer.casefold() not in known}
    return dict(sorted(found.items(), key=lambda one: one[0].casefold()))


def _changes() -> list[models.Change]:
    found = models.Change.objects.filter(table__in=("company", "payeraccount")).select_related("by")
    return list(found.order_by("-pk")[:_MOST_CHANGES])


def _changed(change: models.Change, row: models.Company) -> pages.Changed:
    what = _WHAT.get(change.field, change.field)
    stands = change.field in company.FIELDS and in_plain(getattr(row, change.field)) == change.after
    return pages.Changed(
        pk=change.pk,
        at=local_moment(change.at),
        by=str(change.by or ""),
        what=f"{what} {change.why}" if change.field == "account" else what,
        before=_words(change.field, change.before),
        after=_words(change.field, change.after),
        can_undo=stands and bool(change.before or change.field != "name"),
    )


def _words(field: str, value: str) -> str:
    known = {"country": COUNTRIES, "time_zone": TIME_ZONES}.get(field, {})
    return known.get(value) or in_log(value)
