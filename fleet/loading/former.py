"""What things on file were known by before: customers, sites and units made one with another, houses sold under other names.

A file may be older than a merge or a sale. What it names by a name that nothing has now is then found by the former one.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from functools import cached_property

from fleet import models

# Of a site: whose it was, and its name. Of a unit: maker, model and serial, folded.
SiteName = tuple[int, str]
Plate = tuple[str, str, str]


@dataclass(slots=True)
class _Merged:
    """What merges took away, by the names it had; and of each kind which one survived in its stead.

    A part of a name that is None was not changed by the merge: it is the survivor's own.
    """

    survivor: defaultdict[str, dict[int, int]] = field(default_factory=lambda: defaultdict(dict))
    customers: defaultdict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    sites: defaultdict[str, list[tuple[int | None, int]]] = field(default_factory=lambda: defaultdict(list))
    renamed: set[tuple[str, str]] = field(default_factory=set)
    units: defaultdict[str, list[tuple[str | None, str | None, int]]] = field(default_factory=lambda: defaultdict(list))

    def now(self, kind: str, pk: int) -> int:
        """The survivor, however often it was merged on."""
        while pk in self.survivor[kind]:
            pk = self.survivor[kind][pk]
        return pk

    def note(self, merge: models.Merge) -> None:
        """Note what the gone one was known by, and what the survivor was before."""
        self.survivor[merge.kind][merge.gone_id] = merge.kept_id
        if merge.kind == "customer":
            for name in set(merge.content["names"]):
                self.customers[name].append(merge.kept_id)
            gone = merge.content["names"][1]
            sites = [step for step in merge.content["steps"] if step[:2] == ["set", "site"]]
            self.renamed |= {(gone, before["name"]) for *_, before, _ in sites if "name" in before}
            return
        for _, name, pk, before, _ in merge.content["steps"]:
            if name != merge.kind or pk not in (merge.kept_id, merge.gone_id):
                continue
            if merge.kind == "site" and before.keys() & {"name", "customer_id"}:
                # The survivor's own name before, where only whose it is was changed.
                called = before.get("name", merge.content["names"][0])
                self.sites[called].append((before.get("customer_id"), merge.kept_id))
            elif merge.kind == "unit" and before.get("serial_key"):
                maker, model = before.get("maker_key"), before.get("model_key")
                self.units[before["serial_key"]].append((maker, model, merge.kept_id))


class Former:
    """Finds what is on file by what it was known by before; of many names at once, in a fixed number of queries."""

    @cached_property
    def _merged(self) -> _Merged:
        merged = _Merged()
        for merge in models.Merge.objects.filter(undone_at=None).order_by("pk").iterator(chunk_size=100):
            merged.note(merge)
        return merged

    def renamed(self, names: Collection[tuple[str, str]]) -> set[tuple[str, str]]:
        """Those names of a customer and a site whose site got another name when customers were merged, as the other had one so named."""
        return self._merged.renamed & set(names) if names else set()

    def customers(self, names: Collection[str]) -> dict[str, list[models.Customer]]:
        """Customers by names that they had before two were made one: several where the same name was that of several."""
        known = self._merged.customers if names else {}
        pks = {name: {self._merged.now("customer", pk) for pk in known[name]} for name in names if name in known}
        rows = models.Customer.objects.in_bulk(set().union(*pks.values())) if pks else {}
        found = {name: [rows[pk] for pk in sorted(those) if pk in rows] for name, those in pks.items()}
        return {name: those for name, those in found.items() if those}

    def sites(self, names: Collection[SiteName]) -> dict[SiteName, list[models.Site]]:
        """Sites by whose they were and what they were called: one merged away, or a house that this customer sold.

        More than one where the same name was that of several.
        """
        by_name: defaultdict[SiteName, dict[int, models.Site]] = defaultdict(dict)
        merged = [
            (name, whose and self._merged.now("customer", whose), self._merged.now("site", pk))
            for name in {name for _, name in names}
            for whose, pk in self._merged.sites.get(name, ())
        ]
        rows = models.Site.objects.in_bulk({pk for _, _, pk in merged})
        called: defaultdict[int, set[str]] = defaultdict(set)
        for name, whose, pk in merged:
            called[pk].add(name)
            owner = whose if whose is not None or pk not in rows else rows[pk].customer_id
            if owner is not None and (owner, name) in names and pk in rows:
                by_name[owner, name][pk] = rows[pk]
        for known_as, site in self._sold(names, called):
            by_name[known_as][site.pk] = site
        return {known_as: list(sites.values()) for known_as, sites in by_name.items()}

    def _sold(
        self, names: Collection[SiteName], called: defaultdict[int, set[str]]
    ) -> Iterator[tuple[SiteName, models.Site]]:
        """Houses by who sold them and any name they have, had before it was corrected, or had before a merge."""
        sales = models.Sale.objects.filter(seller__in={owner for owner, _ in names}, buyer__isnull=False)
        sold = [(sale.seller_id, sale.site) for sale in sales.select_related("site").order_by("sold_on")]
        renamed = models.Change.objects.filter(
            table="site", field="name", object_id__in={site.pk for _, site in sold}
        ).values_list("object_id", "before")
        for pk, name in renamed if sold else ():
            called[pk].add(name)
        for seller, site in sold:
            for name in {site.name, *called[site.pk]}:
                if seller is not None and (seller, name) in names:
                    yield (seller, name), site

    def units(self, plates: Collection[Plate]) -> dict[Plate, models.Unit]:
        """Units by a maker, model and serial that were merged away; a blank maker or model means any."""
        matches = {plate: pks for plate in plates if len(pks := self._units(plate)) == 1}
        rows = models.Unit.objects.in_bulk({pk for pks in matches.values() for pk in pks}) if matches else {}
        return {plate: rows[pk] for plate, (pk,) in matches.items() if pk in rows}

    def _units(self, plate: Plate) -> set[int]:
        maker, model, serial = plate
        return {
            self._merged.now("unit", pk)
            for one, other, pk in self._merged.units.get(serial, ())
            if one in (None, maker) or not maker
            if other in (None, model) or not model
        }
