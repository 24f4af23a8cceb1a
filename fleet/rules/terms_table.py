"""Terms read strictly from a table: every fault is found, each naming its key."""

import datetime as dt
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from fleet.rules import words
from fleet.rules.dates import Length
from fleet.rules.tables import BadTable, Table
from fleet.rules.terms import (
    FILE_FROM,
    OLD_PART,
    PART_BACK_FROM,
    Addend,
    Allowance,
    AutomaticIn,
    Basis,
    ClaimTerms,
    Coverage,
    HandlingBand,
    Place,
    RegistrationTerms,
    ReplacementTerms,
    Terms,
    Tier,
    TransferTerms,
)

_CODE = re.compile(r"[a-z0-9][a-z0-9.-]{0,79}")
_REGION = re.compile(r"[A-Z]{2}(-[A-Z0-9]{1,3})?")
NO_REGION = "an ISO 3166-2 code is wanted, such as US-FL"


def read(values: Mapping[str, Any]) -> Terms:
    """Read terms from a table; raises BadTable with every fault found, each naming its key."""
    table = Table(values)
    code = table.text("code", limit=80)
    if code and not _CODE.fullmatch(code):
        table.fault("code", "lower-case letters, digits, dots and hyphens are wanted")
    payer = table.choice("payer", words.PAYERS) or "maker"
    maker = table.text("maker", limit=120)
    if maker == "*" and payer == "maker":
        table.fault("maker", "a maker's terms name their maker")
    requires = table.words("requires", words.CONDITIONS)
    source = table.table("source", required=True)
    source_title, source_page = ("", "") if source is None else (source.text("title"), source.text("page", ""))
    if source is not None:
        source.close()
    registration = _registration(table)
    installed_from = table.day("installed_from", required=True) or dt.date(1900, 1, 1)
    installed_to = table.day("installed_to")
    if installed_to is not None and installed_to < installed_from:
        table.fault("installed_to", "must not be before installed_from")
    terms = Terms(
        code=code,
        payer=payer,
        maker=maker,
        title=table.text("title"),
        models=table.words("models", required=True),
        installed_from=installed_from,
        installed_to=installed_to,
        replaces=table.text("replaces", ""),
        checked_on=table.day("checked_on", required=True) or installed_from,
        source_title=source_title,
        source_page=source_page,
        counts_first_day=table.flag("counts_first_day", default=False),
        excludes_causes=table.words("excludes_causes", words.CAUSES),
        starts=_starts(table),
        requires=requires,
        registration=registration,
        transfer=_transfer(table),
        coverages=_coverages(table, requires, has_registration=registration is not None),
        replacement=_replacement(table),
        claims=_claims(table),
        allowance=_allowance(table),
    )
    if terms.replaces and terms.replaces == terms.code:
        table.fault("replaces", "terms cannot replace themselves")
    table.close()
    if table.faults:
        raise BadTable(table.faults)
    return terms


def _addend(table: Table) -> Addend:
    date = table.choice("from", words.START_DATES) or "started_on"
    months = table.whole("plus_months", 0, most=1200) or 0
    days = table.whole("plus_days", 0) or 0
    if months and days:
        table.fault("plus_days", "either months or days can be added, not both")
    return Addend(date, months, days)


def _starts(table: Table) -> tuple[Basis, ...]:
    found = []
    for entry in table.tables("starts", required=True):
        new_house_only = entry.choice("when", ("new house",), required=False) is not None
        assumed = entry.flag("assumed", default=False)
        if entry.has("earliest_of"):
            dates = []
            for inner in entry.tables("earliest_of", required=True):
                dates.append(_addend(inner))
                inner.close()
        else:
            dates = [_addend(entry)]
        entry.close()
        found.append(Basis(tuple(dates), new_house_only, assumed))
    return tuple(found)


def _region(table: Table) -> str:
    region = table.text("region", limit=12)
    if region and not _REGION.fullmatch(region):
        table.fault("region", NO_REGION)
    return region


def _registration(table: Table) -> RegistrationTerms | None:
    entry = table.table("registration")
    if entry is None:
        return None
    required = entry.flag("required", default=True)
    places = []
    for place in entry.tables("not_required_in"):
        places.append(Place(_region(place), place.words("use", words.USES), place.day("started_from")))
        place.close()
    found = RegistrationTerms(
        required=required,
        by=entry.choice("by", ("owner", "installer", "either"), "either") or "either",
        within_days=entry.whole("within_days", required=required) or 0,
        counted_from=entry.choice("counted_from", words.ANCHOR_DATES, required=required) or "installed_on",
        new_house_counted_from=entry.choice("new_house_counted_from", words.ANCHOR_DATES, required=False),
        not_required_in=tuple(places),
    )
    entry.close()
    return found


def _transfer(table: Table) -> TransferTerms | None:
    entry = table.table("transfer")
    if entry is None:
        return None
    rule = entry.choice("rule", ("automatic", "notice", "none")) or "none"
    within = entry.whole("within_days", required=rule == "notice")
    if within is not None and rule != "notice":
        entry.fault("within_days", 'goes with rule = "notice" only')
    regions = []
    for place in entry.tables("automatic_in"):
        regions.append(AutomaticIn(_region(place), place.day("from")))
        place.close()
    entry.close()
    return TransferTerms(rule, within, tuple(regions))


def _length(table: Table) -> Length:
    given = [name for name in ("months", "days", "lifetime") if table.has(name)]
    months = table.whole("months", least=1, most=1200, required=False)
    days = table.whole("days", least=1, required=False)
    lifetime = table.flag("lifetime", default=False)
    if len(given) != 1 or (given == ["lifetime"] and not lifetime):
        table.fault("", "a length is wanted: one of months, days or lifetime = true")
    return Length(months=months, days=days)


def _coverages(table: Table, requires: tuple[str, ...], *, has_registration: bool) -> tuple[Coverage, ...]:
    found: list[Coverage] = []
    taken: set[tuple[str, str]] = set()
    if "registered" in requires and not has_registration:
        table.fault("requires", "asks for registered, but there is no [registration]")
    for entry in table.tables("coverage", required=True):
        pays_for = entry.words("pays_for", words.KINDS, required=True)
        components = entry.words("components", ("*", *words.COMPONENTS), required=True)
        if "*" in components and len(components) > 1:
            entry.fault("components", "either * or names, not both")
        for pair in ((kind, component) for kind in pays_for for component in components):
            if pair in taken:
                entry.fault("components", f"{pair[1]} has a coverage for {pair[0]} already")
            taken.add(pair)
        tiers = []
        for tier in entry.tables("tiers", required=True):
            length = _length(tier)
            when = tier.words("when", words.CONDITIONS)
            if "registered" in when and not has_registration:
                tier.fault("when", "asks for registered, but there is no [registration]")
            tiers.append(Tier(length, tuple(dict.fromkeys((*requires, *when)))))
            tier.close()
        found.append(Coverage(pays_for, components, tuple(tiers), entry.whole("waits_days", 0) or 0))
        entry.close()
    return tuple(found)


def _replacement(table: Table) -> ReplacementTerms | None:
    entry = table.table("replacement")
    if entry is None:
        return None
    rule = entry.choice("rule", ("remainder", "longer of", "fresh")) or "remainder"
    months = entry.whole("months", least=1, most=1200, required=False)
    days = entry.whole("days", least=1, required=False)
    if rule != "remainder" and entry.has("months") == entry.has("days"):
        entry.fault("", "a length is wanted: one of months or days")
    entry.close()
    return ReplacementTerms(rule, Length(months=months, days=days))


def _claims(table: Table) -> ClaimTerms:
    entry = table.table("claims")
    if entry is None:
        return ClaimTerms()
    found = ClaimTerms(
        form_before_part=entry.flag("form_before_part", default=False),
        file_within_days=entry.whole("file_within_days", required=False),
        file_counted_from=entry.choice("file_counted_from", FILE_FROM, "failed_on") or "",
        part_back_within_days=entry.whole("part_back_within_days", required=False),
        part_back_counted_from=entry.choice("part_back_counted_from", PART_BACK_FROM, "failed_on") or "",
        old_part=entry.choice("old_part", OLD_PART, "return") or "",
        leave_first=entry.words("leave_first", words.COMPONENTS),
        wants=entry.words("wants"),
        fee=entry.number("fee", Decimal(0), money=True) or Decimal(0),
    )
    entry.close()
    return found


def _allowance(table: Table) -> Allowance | None:
    entry = table.table("allowance")
    if entry is None:
        return None
    bands: list[HandlingBand] = []
    for band in entry.tables("handling"):
        pays = band.number("pays", money=True)
        if pays is None:
            band.fault("pays", "is missing")
        below = band.number("below", money=True)
        if bands and (bands[-1].below is None or (below is not None and below <= bands[-1].below)):
            band.fault("below", "bands go from the smallest to the largest, the open one last")
        bands.append(HandlingBand(below, pays or Decimal(0)))
        band.close()
    zero = Decimal(0)
    found = Allowance(
        call=entry.number("call", zero, money=True) or zero,
        hourly=entry.number("hourly", zero, money=True) or zero,
        hours=tuple(entry.decimals("hours", ("*", *words.COMPONENTS)).items()),
        refrigerant_per_lb=tuple(entry.decimals("refrigerant_per_lb", money=True).items()),
        reclaim=entry.number("reclaim", zero, money=True) or zero,
        handling=tuple(bands),
    )
    entry.close()
    return found
