"""The agreements file: what customers have bought of maintenance, one agreement a row."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from fleet import models
from fleet.loading.former import Former, SiteName
from fleet.loading.loading import BATCH, Cells, Columns, Loader, Loading
from fleet.loading.namesakes import by_name, namesakes, renamed_question
from fleet.rules import agreements
from fleet.rules.spreadsheets import places
from fleet.sheets import columns

__all__ = ["LOADER", "load", "load_rows"]

REQUIRED = ("customer", "site", "start_on", "months", "visits_per_year", "first_head")
FIELDS = (
    "reference", "start_on", "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing",
    "renews", "rise_percent", "notes",
)  # fmt: skip
# A hundred years, and a visit every day.
LONGEST_MONTHS, MOST_VISITS = 1200, 365
_IN_ORDER = "ORDER BY customer, site, start_on, reference, row"

# A site by its customer's name, its own, and its street where the file says it.
Names = tuple[str, str, str]


def columns_on(on: dt.date) -> Columns:
    """How each column is read; an agreement may begin on a day to come, whatever day it is brought on."""
    del on
    money, percent = columns.decimal(8, 2), columns.decimal(3, 4)
    return {
        "customer": columns.text(200),
        "site": columns.text(200),
        "street": columns.text(200),
        "reference": columns.text(120),
        "start_on": columns.day(of="no later than"),
        "months": columns.whole(LONGEST_MONTHS),
        "visits_per_year": columns.whole(MOST_VISITS),
        "first_head": money,
        "further_head": money,
        "discount_percent": percent,
        "billing": columns.choice(agreements.BILLING),
        "renews": columns.choice(agreements.RENEWS),
        "rise_percent": percent,
        "notes": columns.text(5_000, lines=True),
    }


class _Check:
    """Checks what one row says as a whole."""

    def __init__(self, loading: Loading) -> None:
        self._note = loading.problems.note

    def __call__(self, number: int, cells: Cells) -> bool:
        """Note what is missing, or less than can be agreed."""
        missing = [name for name in REQUIRED if name not in cells]
        for name in missing:
            self._note(number, name, "a value")
        for name in ("months", "visits_per_year"):
            if cells.get(name) == "0":
                self._note(number, name, "at least 1, not '0'")
        if Decimal(cells.get("discount_percent", 0)) > 100:
            self._note(number, "discount_percent", f"at most 100, not {cells['discount_percent']!r}")
        return not missing


@dataclass(slots=True)
class _OnFile:
    """The agreements of the sites that a lot of rows names."""

    sites: dict[Names, models.Site]
    agreements: dict[int, list[models.Agreement]]
    # What a row of several customers' name has to say, where its site's name leaves open which one is meant.
    questions: dict[Names, str]

    def match(self, site: int, facts: Mapping[str, Any]) -> models.Agreement | None:
        """The agreement that a row is of: by its reference; else by its start, where that says which one."""
        reference = facts.get("reference", "")
        there = self.agreements.get(site, [])
        if reference:
            for row in there:
                if row.reference == reference:
                    return row
        same = [row for row in there if row.start_on == facts["start_on"] and (not reference or not row.reference)]
        nameless = [row for row in same if not row.reference]
        match = nameless or same
        return match[0] if len(match) == 1 else None


@dataclass(slots=True)
class _Changes:
    """What is to be written of one lot of rows, and which agreements other rows of the file have settled."""

    new: list[models.Agreement] = field(default_factory=list)
    changed: dict[int, tuple[models.Agreement, set[str]]] = field(default_factory=dict)


def _apply(loading: Loading) -> None:
    """Apply the rows some thousand at a time; rows of one agreement stand together, however far apart the file has them."""
    former = Former()
    settled: set[int] = set()
    names = ("row", "customer", "site", "street", *FIELDS)
    for chunk in loading.stage.in_chunks(f"SELECT {', '.join(names)} FROM staged {_IN_ORDER}", BATCH):
        rows = [dict(zip(names, line, strict=True)) for line in chunk]
        on_file = _on_file(rows, former)
        changes = _Changes()
        for row in rows:
            _apply_row(row, loading, on_file, changes, settled)
        _write(changes)
        settled.update(row.pk for row in changes.new)


def _on_file(rows: Sequence[Mapping[str, Any]], former: Former) -> _OnFile:
    names = {_names(row) for row in rows}
    sites, questions = _of_names(names, former)
    agreements: dict[int, list[models.Agreement]] = {}
    for row in models.Agreement.objects.select_for_update().filter(site__in={site.pk for site in sites.values()}):
        agreements.setdefault(row.site_id, []).append(row)
    return _OnFile(sites, agreements, questions)


def _names(row: Mapping[str, Any]) -> Names:
    return row["customer"], row["site"], row["street"] or ""


def _of_names(names: set[Names], former: Former) -> tuple[dict[Names, models.Site], dict[Names, str]]:
    """Sites by the names of their customers and their own, as they are or were before a merge or a sale; and what is not clear."""
    asked: dict[str, set[str]] = {}
    for customer, site, _ in names:
        asked.setdefault(customer, set()).add(site)
    several = namesakes(asked, former)
    customers = {name: rows[0] for name, rows in by_name(asked, former).items() if name not in several.customers}
    questions: dict[Names, str] = {}
    known_as: dict[Names, SiteName] = {}
    renamed = former.renamed({(customer, site) for customer, site, _ in names})
    for named in names:
        customer, site, street = named
        if not street and (customer, site) in renamed:
            questions[named] = renamed_question(customer, site)
            continue
        if customer in several.customers:
            whose = several.of(customer, site, street)
            if whose is None:
                questions[named] = several.question(customer, site)
                continue
        elif customer in customers:
            whose = customers[customer].pk
        else:
            continue
        known_as[named] = (whose, site)
    wanted = set(known_as.values())
    now = models.Site.objects.filter(customer__in={pk for pk, _ in wanted}, name__in={name for _, name in wanted})
    known = {(row.customer_id, row.name): [row] for row in now}
    known |= former.sites(wanted - set(known))
    sites = {names: known[key][0] for names, key in known_as.items() if len(known.get(key, ())) == 1}
    for named, one in list(sites.items()):
        street = named[2]
        if street and one.street and places.same_street(street) != places.same_street(one.street):
            questions[named] = f"the street of {named[0]}, {named[1]}: {one.street!r} as on file, not {street!r}"
            del sites[named]
    return sites, questions


def _apply_row(
    row: Mapping[str, Any], loading: Loading, on_file: _OnFile, changes: _Changes, settled: set[int]
) -> None:
    names = _names(row)
    site = on_file.sites.get(names)
    if site is None and names in on_file.questions:
        loading.problems.note(row["row"], "street", on_file.questions[names])
        return
    if site is None:
        where = f"{row['customer']}, {row['site']}"
        loading.problems.note(row["row"], "site", f"a site on file; {where!r} is not one")
        return
    facts = loading.values({name: row[name] for name in FIELDS if row[name]}, FIELDS)
    match = on_file.match(site.pk, facts)
    if match is None:
        made = _made(site, facts, loading)
        changes.new.append(made)
        on_file.agreements.setdefault(site.pk, []).append(made)
        return
    triples = ((name, name, value) for name, value in facts.items())
    fields = loading.settle(match, triples, row["row"], final=match.pk is None or match.pk in settled)
    if match.pk is not None:
        settled.add(match.pk)
        if fields:
            before = changes.changed.get(match.pk, (match, set()))[1]
            changes.changed[match.pk] = (match, before | fields)
    if not fields:
        loading.same(row["row"])


def _made(site: models.Site, facts: Mapping[str, Any], loading: Loading) -> models.Agreement:
    """Make an agreement; a further head costs what the first does where the file does not say."""
    loading.count["added"] += 1
    return models.Agreement(site=site, load=loading.load, **{"further_head": facts["first_head"]} | dict(facts))


def _write(changes: _Changes) -> None:
    models.Agreement.objects.bulk_create(changes.new, batch_size=500)
    for row, fields in changes.changed.values():
        row.save(update_fields=sorted(fields))


LOADER = Loader("agreements", REQUIRED, columns_on, check=_Check, apply=_apply)
load, load_rows = LOADER.load, LOADER.load_rows
