"""Customers of one name: which of them a row of a file means.

A file knows a customer by name. Where several on file have it, the site that a row names says which of them is meant; where more
than one has a site so named, its street does. A street that is none of theirs may be that of another customer of the name: of
that somebody says it (`whose.py`). What nothing settles is refused, with both streets.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby, islice

from fleet import models
from fleet.loading.former import Former
from fleet.loading.loading import BATCH, Loading
from fleet.loading.staging import Stage
from fleet.loading.whose import NEW, Whose
from fleet.rules.spreadsheets import places

# Stands between a customer's name and key where the name alone means several; no cell of a file has it.
_MARK = "\x1f"
# So many customers are named where it is asked which one is meant.
MOST_SAID = 5


def marked(name: str, customer: int) -> str:
    """A name with the key of the customer it stands for.

    >>> name_of(marked("Ada Quill", 7)), key_of(marked("Ada Quill", 7)), key_of("Ada Quill")
    ('Ada Quill', 7, None)
    """
    return f"{name}{_MARK}{customer}"


def name_of(text: str) -> str:
    """The name in a text that may have a key with it."""
    return text.partition(_MARK)[0]


def key_of(text: str) -> int | None:
    """The key of the customer that a text stands for; None where it is a name alone."""
    _, *key = text.split(_MARK)
    return int(key[0]) if key else None


@dataclass(slots=True)
class Namesakes:
    """Customers by the names of a file that several have or had, and their sites by customer and name, as now or before."""

    customers: dict[str, list[models.Customer]]
    sites: Mapping[tuple[int, str], list[models.Site]]
    _said: dict[str, str] = field(default_factory=dict)

    def of(self, name: str, site: str, street: str = "") -> int | None:
        """The key of the one customer of that name that has a site so named (and there); None where that is not one."""
        there = [
            (customer.pk, one) for customer in self.customers[name] for one in self.sites.get((customer.pk, site), ())
        ]
        if street and len({pk for pk, _ in there}) > 1:
            there = [(pk, one) for pk, one in there if places.same_street(one.street) == places.same_street(street)]
        matches = {pk for pk, _ in there}
        return matches.pop() if len(matches) == 1 else None

    def question(self, name: str, site: str) -> str:
        """What a cell has to be, where it is not clear which customer is meant: their sites with their streets."""
        named = [(one, of) for of in self.customers[name] for one in self.sites.get((of.pk, site), ())]
        if named:
            streets = " or ".join(
                one.street or f"no street on file for {_of(one, of)}" for one, of in named[:MOST_SAID]
            )
            return f"the street of the site, since {len(named)} sites on file are {name}, {site}: {streets}"
        if name not in self._said:
            theirs = [_at(one) for customer in self.customers[name] for one in customer.sites.order_by("pk")[:2]]
            self._said[name] = "; ".join(theirs[:MOST_SAID]) or "none has a site yet"
        return (
            f"a site of theirs, since {len(self.customers[name])} customers are named {name} ({self._said[name]}); "
            "enter a new site of one of them under New install first"
        )


def _at(site: models.Site) -> str:
    return f"{site.name}, {site.street}" if site.street else site.name


def _of(site: models.Site, customer: models.Customer) -> str:
    return f"{site} of {customer}" if site.customer_id != customer.pk else str(site)


def address_of(system: models.System) -> tuple[str, str, str]:
    """The names of a system's customer, site and itself; a customer's with the street, where another has the same name."""
    site = system.site
    name = site.customer.name
    if models.Customer.objects.filter(name=name).exclude(pk=site.customer_id).exists():
        name = f"{name} ({site.street or 'no street'})"
    return name, site.name, system.name


def by_name(names: Collection[str], former: Former) -> dict[str, list[models.Customer]]:
    """Customers by name; of a name that nobody has now, those who had it before a merge."""
    found: defaultdict[str, list[models.Customer]] = defaultdict(list)
    for row in models.Customer.objects.filter(name__in=names).order_by("pk"):
        found[row.name].append(row)
    return {**found, **former.customers(set(names) - found.keys())}


def namesakes(sites: Mapping[str, set[str]], former: Former, *, least: int = 2) -> Namesakes:
    """Those of the names that at least so many customers have, each with the names of sites that it is asked with."""
    several = {name: rows for name, rows in by_name(sites, former).items() if len(rows) >= least}
    asked = {(row.pk, site) for name, rows in several.items() for row in rows for site in sites[name]}
    found: defaultdict[tuple[int, str], dict[int, models.Site]] = defaultdict(dict)
    if asked:
        now = models.Site.objects.filter(customer__in={pk for pk, _ in asked}, name__in={name for _, name in asked})
        for one in now:
            if (one.customer_id, one.name) in asked:
                found[one.customer_id, one.name][one.pk] = one
        for known_as, rows in former.sites(asked - found.keys()).items():
            found[known_as].update((one.pk, one) for one in rows)
    return Namesakes(several, {known_as: list(rows.values()) for known_as, rows in found.items()})


@dataclass(frozen=True, slots=True)
class Named:
    """Rows of a file that name one customer, site and street: the first of them, and whom they mean.

    `means` is the customer's text, with a key where the name alone does not say it. `is_elsewhere`: the customer's name is on
    file, the street is none of theirs, and nobody said who is meant. `street` is blank where the row has none.
    """

    customer: str
    site: str
    street: str
    row: int
    means: str
    question: str = ""
    column: str = "street"
    is_elsewhere: bool = False
    adds_site: bool = False
    customers: tuple[int, ...] = ()  # those on file of the name


def tell_apart(loading: Loading, former: Former, *, owner: int | None = None) -> None:
    """Mark each staged row with the customer it means, where the name alone does not say it; note those that leave it open.

    `owner` is the key of the customer of every row, where whoever gave them said so; 0 for one still to be made.
    """
    if owner is not None:
        loading.stage.run(f"UPDATE staged SET customer = customer || '{_MARK}' || ?", [owner])
        return
    _renamed(loading, former)
    for one in mark(loading.stage, former, loading.whose):
        if one.question:
            or_another = f"; {loading.apart_option} makes it another customer of that name" if one.is_elsewhere else ""
            loading.problems.note(one.row, one.column, one.question + or_another)
        elif one.adds_site:
            loading.note_joined(f"{one.customer}, {one.street}")


def mark(stage: Stage, former: Former, whose: Whose) -> list[Named]:
    """Mark staged rows with the customer they mean; returns those rows of which somebody may want to say it."""
    stage.run("CREATE TABLE meant (customer, site, street, means, PRIMARY KEY (customer, site, street)) WITHOUT ROWID")
    open_lines, is_marked = [], False
    for one in read(stage, former, whose):
        if one.question or one.is_elsewhere:
            open_lines.append(one)
        if one.means != one.customer:
            is_marked = True
            stage.run("INSERT INTO meant VALUES (?, ?, ?, ?)", (one.customer, one.site, one.street, one.means))
    if is_marked:
        same = "m.customer = staged.customer AND m.site = COALESCE(staged.site, '') AND m.street = COALESCE(staged.street, '')"
        stage.run(
            f"UPDATE staged SET customer = (SELECT m.means FROM meant m WHERE {same})"
            f" WHERE EXISTS (SELECT 1 FROM meant m WHERE {same})"
        )
    stage.run("DROP TABLE meant")
    return sorted(open_lines, key=lambda one: one.row)


def read(stage: Stage, former: Former, whose: Whose) -> Iterator[Named]:
    """What staged rows name, with whom they mean: of those whose customer is on file, and of whom somebody said it."""
    lines = stage.select(
        "SELECT customer, COALESCE(site, ''), COALESCE(street, ''), MIN(row) FROM staged WHERE customer IS NOT NULL"
        " GROUP BY 1, 2, 3 ORDER BY 1, 2, MIN(row)"
    )
    by_name = ((name, [tuple(line[1:]) for line in those]) for name, those in groupby(lines, key=lambda line: line[0]))
    while chunk := dict(islice(by_name, BATCH)):
        yield from _read(chunk, former, whose)


def _renamed(loading: Loading, former: Former) -> None:
    """Note rows that name a site as it was called before customers were merged, where the name is another's now."""
    named = loading.stage.select(
        "SELECT customer, site, MIN(row) FROM staged GROUP BY customer, site HAVING MAX(street) IS NULL"
    )
    while rows := list(islice(named, BATCH)):
        found = former.renamed([(customer, site) for customer, site, _ in rows])
        for customer, site, number in rows:
            if (customer, site) in found:
                loading.problems.note(number, "street", renamed_question(customer, site))


def renamed_question(customer: str, site: str) -> str:
    """What a cell has to be, where the site that a row names got another name in a merge of customers."""
    return f"the street of the site, or the name it has now: the {site} of {customer} got another name in a merge"


# Lines of one name: the site, the street (blank where a row has none) and the first row.
Lines = Sequence[tuple[str, str, int]]


def _read(chunk: Mapping[str, Lines], former: Former, whose: Whose) -> Iterator[Named]:
    on_file = namesakes({name: {site for site, *_ in lines} for name, lines in chunk.items()}, former, least=1)
    streets = _streets({row.pk for rows in on_file.customers.values() for row in rows})
    for name, lines in chunk.items():
        if name in on_file.customers:
            yield from _of_known(name, _filled(lines), on_file, streets, whose)
        elif whose:
            yield from _of_new(name, _filled(lines), whose)


def _streets(customers: Collection[int]) -> Mapping[int, set[str]]:
    found: defaultdict[int, set[str]] = defaultdict(set)
    if customers:
        sites = models.Site.objects.filter(customer__in=customers)
        for pk, street in sites.values_list("customer_id", "street"):
            found[pk].add(places.same_street(street))
    return found


def _filled(lines: Lines) -> Iterator[tuple[str, str, str, int]]:
    """Each line's site, street, the same with that of the site's other rows for a blank, where they all say the same, and row."""
    said: defaultdict[str, dict[str, str]] = defaultdict(dict)
    for site, street, _ in lines:
        if street:
            said[site].setdefault(places.same_street(street), street)
    for site, street, row in lines:
        common = next(iter(said[site].values())) if len(said[site]) == 1 else ""
        yield site, street, street or common, row


def _of_new(name: str, lines: Iterable[tuple[str, str, str, int]], whose: Whose) -> Iterator[Named]:
    """Rows of a name that nobody on file has: apart where somebody said so, or one site of that name is at several streets."""
    lines = list(lines)
    at: defaultdict[str, set[str]] = defaultdict(set)
    for site, _, street, _ in lines:
        at[site] |= {places.same_street(street)} - {""}
    for site, own, street, row in lines:
        said = whose.by_street or len(at[site]) > 1
        if street and said and whose.of(name, street) == NEW:
            yield Named(name, site, own, row, _another(name, street))


def _another(name: str, street: str) -> str:
    """The text that stands for another customer of a name, who is still to be made."""
    return f"{marked(name, NEW)}{_MARK}{places.same_street(street)}"


def _of_known(
    name: str,
    lines: Iterable[tuple[str, str, str, int]],
    on_file: Namesakes,
    streets: Mapping[int, set[str]],
    whose: Whose,
) -> Iterator[Named]:
    """Rows of a name on file: those of one customer, of one of several, of another, or open."""
    customers = on_file.customers[name]
    pks = tuple(of.pk for of in customers)
    noted = set()
    for site, own, street, row in lines:
        folded = places.same_street(street)
        pk = on_file.of(name, site, street)
        there = [one for of in customers for one in on_file.sites.get((of.pk, site), ())]
        known = set().union(
            *(streets.get(of.pk, ()) for of in customers), (places.same_street(one.street) for one in there)
        )
        # A site of theirs without a street on file may be this one, and is filled by it.
        is_elsewhere = bool(folded and known) and folded not in known and all(one.street for one in there)
        if pk is None and (those := [of.pk for of in customers if folded and folded in streets.get(of.pk, ())]):
            pk = those[0] if len(those) == 1 else None
        if is_elsewhere and (said := whose.of(name, street)) in (NEW, *pks):
            yield Named(name, site, own, row, marked(name, said) if said else _another(name, street))
        elif len(customers) == 1:
            yield Named(name, site, own, row, name, is_elsewhere=is_elsewhere, adds_site=not there, customers=pks)
        elif pk is not None:
            yield Named(name, site, own, row, marked(name, pk), is_elsewhere=is_elsewhere, customers=pks)
        elif (site, street) not in noted:
            noted.add((site, street))
            column = "street" if there else "customer"
            question = on_file.question(name, site)
            yield Named(name, site, own, row, name, question, column, is_elsewhere, customers=pks)
