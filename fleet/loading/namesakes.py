"""Customers of one name: which of them a row of a file means.

A file knows a customer by name. Where several on file have it, the site that a row names says which of them is meant; where more
than one has a site so named, its street does. What neither settles is refused, with both streets.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice

from fleet import models
from fleet.loading.former import Former
from fleet.loading.loading import BATCH, Loading
from fleet.rules import words

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
    _, mark, key = text.partition(_MARK)
    return int(key) if mark else None


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
            there = [(pk, one) for pk, one in there if words.key(one.street) == words.key(street)]
        matches = {pk for pk, _ in there}
        return matches.pop() if len(matches) == 1 else None

    def question(self, name: str, site: str, *, with_street: bool = True) -> str:
        """What a cell has to be, where it is not clear which customer is meant: their sites with their streets.

        `with_street` says whether a file of this kind has a column for the street.
        """
        named = [(one, of) for of in self.customers[name] for one in self.sites.get((of.pk, site), ())]
        if named:
            streets = " or ".join(
                one.street or f"no street on file for {_of(one, of)}" for one, of in named[:MOST_SAID]
            )
            expected = "the street of the site" if with_street else "a name that one site has"
            return f"{expected}, since {len(named)} sites on file are {name}, {site}: {streets}"
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


def namesakes(sites: Mapping[str, set[str]], former: Former) -> Namesakes:
    """Those of the names that several customers have, each with the names of sites that it is asked with."""
    several = {name: rows for name, rows in by_name(sites, former).items() if len(rows) > 1}
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


def tell_apart(loading: Loading, former: Former, *, owner: int | None = None) -> None:
    """Mark each staged row whose customer's name is that of several with the one it means; note those that leave it open.

    `owner` is the key of the customer of every row, where whoever gave them said so; 0 for one still to be made.
    """
    stage = loading.stage
    if owner is not None:
        stage.run(f"UPDATE staged SET customer = customer || '{_MARK}' || ?", [owner])
        return
    _renamed(loading, former)
    # All of them first: the rows that are read change below.
    names: list[str] = []
    for chunk in stage.in_chunks("SELECT DISTINCT customer FROM staged", BATCH):
        found = by_name([name for (name,) in chunk], former)
        names += [name for (name,) in chunk if len(found.get(name, ())) > 1]
    named = {name: _sites_of(name, loading) for name in names}
    several = namesakes({name: set(sites) for name, sites in named.items()}, former)
    for name, sites in named.items():
        for site, rows in sites.items():
            _mark(name, site, rows, several, loading)


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


def _sites_of(name: str, loading: Loading) -> dict[str, list[tuple[int, int, str | None]]]:
    """The rows of a customer's name by the site that each names: its key in the stage, its number in the file, its street."""
    found: defaultdict[str, list[tuple[int, int, str | None]]] = defaultdict(list)
    rows = loading.stage.select("SELECT site, n, row, street FROM staged WHERE customer = ? ORDER BY row", [name])
    for site, *row in rows:
        found[site].append((row[0], row[1], row[2]))
    return dict(found)


def _mark(
    name: str, site: str, rows: Iterable[tuple[int, int, str | None]], several: Namesakes, loading: Loading
) -> None:
    """Mark the rows of one site's name; a blank street takes the others', where they all say the same."""
    rows = list(rows)
    streets = {words.key(street): street for _, _, street in rows if street}
    common = next(iter(streets.values())) if len(streets) == 1 else ""
    noted = set()
    for n, number, street in rows:
        asked = street or common or ""
        customer = several.of(name, site, asked)
        if customer is not None:
            loading.stage.run("UPDATE staged SET customer = ? WHERE n = ?", [marked(name, customer), n])
        elif asked not in noted:
            noted.add(asked)
            named = any((row.pk, site) in several.sites for row in several.customers[name])
            loading.problems.note(number, "street" if named else "customer", several.question(name, site))
