"""What bears on a new install before it is saved."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence

from django.db import connection
from django.db.models import Q, QuerySet

from fleet import models
from fleet.elements.named import address, gone, what
from fleet.elements.pieces import counted
from fleet.registry.pages import new_install as pages
from fleet.registry.pages.namesakes import NEW, Namesake
from fleet.registry.pages.new_install import Doubt, Known, Model, Place, Suggestions, Told
from fleet.registry.queries import lookup
from fleet.rules import payers, words
from fleet.rules.lookalike import folded
from fleet.rules.spreadsheets.places import region_name

MOST_MODELS = 500
MOST_PLACES = 8
_RECENT_SITES = 200

# From one model of the index to the next, else to the next maker: a scan of the whole fleet would find the same few hundred.
_MODELS = """
WITH RECURSIVE seen(id) AS (
    SELECT (SELECT u.id FROM fleet_unit u WHERE NOT (u.serial_key = '') ORDER BY u.maker_key, u.model_key LIMIT 1)
    UNION ALL
    SELECT COALESCE(
        (SELECT u.id FROM fleet_unit u WHERE NOT (u.serial_key = '') AND u.maker_key = c.maker_key AND u.model_key > c.model_key
         ORDER BY u.maker_key, u.model_key LIMIT 1),
        (SELECT u.id FROM fleet_unit u WHERE NOT (u.serial_key = '') AND u.maker_key > c.maker_key
         ORDER BY u.maker_key, u.model_key LIMIT 1))
    FROM seen JOIN fleet_unit c ON c.id = seen.id
)
SELECT u.maker, u.model, u.role, u.style FROM seen JOIN fleet_unit u ON u.id = seen.id LIMIT %s
"""


# ------------------------------------------------------------------------------------------------- suggestions


def suggestions() -> Suggestions:
    """List what a new install probably has, from what is on file."""
    with connection.cursor() as cursor:
        cursor.execute(_MODELS, [MOST_MODELS])
        found = tuple(Model(*row) for row in cursor.fetchall())
    papers = list(
        models.Terms.objects.order_by("title", "code").values_list("code", "title", "payer", "maker", "replaces")
    )
    withdrawn = {replaces for *_, replaces in papers if replaces}
    # The terms' spelling of a maker wins over that of some unit.
    makers = {words.key(one.maker): one.maker for one in found}
    makers |= {words.key(maker): maker for *_, payer, maker, _ in papers if payer == "maker"}
    recent = models.Site.objects.exclude(region="").order_by("-pk").values_list("region", flat=True)[:_RECENT_SITES]
    return Suggestions(
        makers=tuple(sorted(makers.values(), key=str.casefold)),
        models=found,
        regions=tuple(region_name(region) for region, _ in Counter(recent).most_common()),
        plans=tuple(
            (code, title) for code, title, payer, *_ in papers if payers.BY_CODE[payer].bought and code not in withdrawn
        ),
    )


def places(text: str) -> tuple[Place, ...]:
    """Find the sites that a text may mean: by the customer's name or phone, or the site's name or street."""
    hits = lookup.find(text, limit=MOST_PLACES, kinds=("customer", "site"))
    customers = [hit.object_id for hit in hits if hit.kind == "customer"]
    sites = [hit.object_id for hit in hits if hit.kind == "site"]
    found = list(_sites().filter(Q(customer__in=customers) | Q(pk__in=sites)).order_by("name", "pk")[:100])
    empty = models.Customer.objects.filter(pk__in=customers, sites=None)
    bare = {customer.pk: customer for customer in empty}
    chosen: dict[tuple[int, int], Place] = {}
    for hit in hits:
        if hit.kind == "customer" and hit.object_id in bare:
            chosen[hit.object_id, 0] = _bare(bare[hit.object_id])
        for site in found:
            if hit.object_id == (site.pk if hit.kind == "site" else site.customer_id):
                chosen.setdefault((site.customer_id, site.pk), _place(site))
    return tuple(chosen.values())[:MOST_PLACES]


def place(site: int) -> Place | None:
    """A site to put something in; None if there is none."""
    found = _sites().filter(pk=site).first()
    return None if found is None else _place(found)


def _sites() -> QuerySet[models.Site]:
    return models.Site.objects.with_facts().select_related("customer").prefetch_related("systems")


def _bare(customer: models.Customer) -> Place:
    fills = {
        "whose": str(customer.pk),
        "phone": customer.phone,
        "email": customer.email,
        "site": pages.FIRST_SITE,
        "system": pages.FIRST_SYSTEM,
    }
    return Place(customer.name, "", ", ".join(filter(None, (customer.phone, "no site yet"))), tuple(fills.items()))


def _place(site: models.Site) -> Place:
    systems = sorted(system.name for system in site.systems.all())
    fills = {
        "whose": str(site.customer_id),
        "phone": site.customer.phone,
        "email": site.customer.email,
        "site": site.name,
        "street": site.street,
        "city": site.city,
        "region": region_name(site.region),
        "postcode": site.postcode,
        # What it was used for ever since: a use from a day on is told elsewhere.
        "use": next((use.use for use in site.uses.all() if use.from_on is None), ""),
        "new_construction": {True: "yes", False: "no", None: ""}[site.new_construction],
        "closed_on": site.closed_on.isoformat() if site.closed_on else "",
        "system": _next_system(systems),
    }
    there = (
        f"there: {', '.join(systems[:3])}{' and more' if len(systems) > 3 else ''}" if systems else "nothing there yet"
    )
    return Place(site.customer.name, site.name, "; ".join(filter(None, (address(site), there))), tuple(fills.items()))


def _next_system(systems: Sequence[str]) -> str:
    """A name for one more system at a site, which no other there has."""
    number = len(systems) + 1
    while f"System {number}" in systems:
        number += 1
    return f"System {number}"


# ------------------------------------------------------------------------------------------------- before saving


def known(serials: Iterable[tuple[str, str, str]]) -> dict[str, tuple[Known, ...]]:
    """Find the units on file whose serial is written so or reads alike, by the folded serial; asked by maker, model, serial."""
    asked = {
        folded(serial): tuple(map(words.key, (maker, model, serial)))
        for maker, model, serial in serials
        if folded(serial)
    }
    entries = models.LookupEntry.objects.filter(kind="unit", part="serial", folded__in=asked)
    by_pk = dict(entries.order_by("pk").values_list("object_id", "folded")[: 10 * len(asked)])
    found: dict[str, list[Known]] = {}
    for unit in models.Unit.objects.filter(pk__in=by_pk).select_related("system__site__customer").order_by("pk"):
        fold = by_pk[unit.pk]
        same = (unit.maker_key, unit.model_key, unit.serial_key) == asked[fold]
        found.setdefault(fold, []).append(_known(unit, same=same))
    return {fold: tuple(sorted(these, key=lambda one: not one.same)) for fold, these in found.items()}


def _known(unit: models.Unit, *, same: bool) -> Known:
    site = unit.system.site
    where = ", ".join(filter(None, (unit.room, unit.system.name, site.name, site.customer.name)))
    return Known(unit.pk, unit.serial, f"{unit.maker} {unit.model}, {what(unit)}", where, gone(unit), same)


def owner(told: Told, chosen: int | None, namesakes: Collection[Namesake]) -> int | None:
    """The customer that an install is of: the one chosen, or the one of that name who has the site; None where that is not clear.

    Another one of the name at a street where one of them is on file already is that one, as when a form is sent twice.
    """
    keys = {one.pk for one in namesakes}
    if chosen in keys:
        return chosen
    street = words.key(told.system["street"])
    if chosen == NEW:
        same = {one.pk for one in namesakes if street and street in map(words.key, one.streets)}
        return same.pop() if len(same) == 1 else NEW
    name = folded(told.system["site"])  # one nearly of that name is asked about by itself
    sites = models.Site.objects.filter(customer__in=keys).values_list("customer_id", "name", "street")
    matches = {
        pk
        for pk, site, known in sites
        if folded(site) == name and (not street or not known or words.key(known) == street)
    }
    return matches.pop() if len(matches) == 1 else None


def there(told: Told) -> list[models.Unit]:
    """The units in service in the system that an install names; none where it is not on file yet."""
    systems = models.System.objects.filter(name=told.system["system"], site__name=told.system["site"])
    if told.owner is None:
        systems = systems.filter(site__customer__name=told.system["customer"])
    else:
        systems = systems.filter(site__customer=told.owner)
    return list(models.Unit.objects.filter(system__in=systems).in_service())


def doubts(told: Told, there: Sequence[models.Unit]) -> tuple[Doubt, ...]:
    """List what should be seen before an install that is new is saved; `there` are the units in its system."""
    return (*_alike_places(told), *_joined(told, there), *_alike_serials(told))


def units_of_rows(told: Told, system: int) -> dict[int, int]:
    """The units of an install that was saved, by the row of the form that each was told in."""
    units = models.Unit.objects.filter(system=system).in_service()
    by_key: dict[tuple[str, ...], int] = {
        (unit.maker_key, unit.model_key, unit.serial_key): unit.pk for unit in units if unit.serial_key
    }
    by_spot = {(unit.role, unit.room): unit.pk for unit in units}
    keys = {
        row: by_key.get(_key(cells)) if cells["serial"] else by_spot.get((cells["role"], cells["room"]))
        for row, cells in told.units.items()
    }
    return {row: pk for row, pk in keys.items() if pk is not None}


def is_new(told: Told, there: Sequence[models.Unit]) -> bool:
    """Whether anything of an install is not on file yet; all of it is, as when a form is sent twice."""
    keys = {(unit.maker_key, unit.model_key, unit.serial_key) for unit in there}
    spots = {(unit.role, unit.room) for unit in there}
    return not there or not all(
        _key(cells) in keys if cells["serial"] else (cells["role"], cells["room"]) in spots
        for cells in told.units.values()
    )


def _key(cells: pages.Cells) -> tuple[str, ...]:
    return tuple(words.key(cells[name]) for name in ("maker", "model", "serial"))


def _alike_places(told: Told) -> Iterator[Doubt]:
    """Look for a customer, or a site of theirs, whose name reads like the one written but is another."""
    customer, site = told.system["customer"], told.system["site"]
    names = models.LookupEntry.objects.filter(kind="customer", part="name", folded=folded(customer)).order_by("pk")
    alike = list(names.values_list("text", flat=True)[:5]) if folded(customer) else []
    if alike and customer not in alike:
        text = f"A customer with almost this name is on file: {', '.join(alike)}. Choose them from the list, or type the name that way."
        yield Doubt(None, "customer", text, f"{customer} is another customer", customer)
    theirs = {"customer__name": customer} if told.owner is None else {"customer": told.owner}
    sites = models.Site.objects.filter(**theirs).order_by("name").values_list("name", flat=True)
    alike = [name for name in sites if folded(name) == folded(site)]
    if alike and site not in alike:
        text = f"{customer} has a site with almost this name: {', '.join(alike[:5])}. Choose it from the list, or type it that way."
        yield Doubt(None, "site", text, f"{site} is another site", site)


def _joined(told: Told, there: Sequence[models.Unit]) -> Iterator[Doubt]:
    if there:
        name = told.system["system"]
        is_there = f"{name} is already on file at {told.system['site']}, with {counted(len(there), 'unit')}."
        yield Doubt(
            None, "system", f"{is_there} Give a new system another name.", f"These units belong to {name}", name
        )


def _alike_serials(told: Told) -> Iterator[Doubt]:
    """Look for each serial on file and among the rows above it."""
    written = [(cells["maker"], cells["model"], cells["serial"]) for cells in told.units.values()]
    found = known(written)
    above: dict[str, tuple[int, pages.Cells]] = {}
    for unit, cells in told.units.items():
        fold = folded(cells["serial"])
        if not fold:
            continue
        if fold in found:
            yield doubt(unit, cells["serial"], found[fold])
        elif fold in above:
            number, other = above[fold]
            where = " ".join(filter(None, (f"row {number + 1}", other["room"] and f"({other['room']})")))
            if _key(other) == _key(cells):
                yield Doubt(unit, "serial", f"The same serial as in {where}.")
            else:
                yield Doubt(
                    unit,
                    "serial",
                    f"It looks like the serial in {where}. Check both nameplates.",
                    "It is another unit",
                    fold,
                )
        above.setdefault(fold, (unit, cells))


def doubt(unit: int, serial: str, found: tuple[Known, ...]) -> Doubt:
    """The doubt about a serial on file, or one like it; the very same unit cannot be put in twice."""
    if found[0].same:
        return Doubt(unit, "serial", "This unit is already on file.", known=found)
    same = any(words.key(one.serial) == words.key(serial) for one in found)
    text = (
        "This serial is on file under another model."
        if same
        else "A serial that looks like this one is on file. Check the nameplate."
    )
    return Doubt(unit, "serial", text, "It is another unit", folded(serial), found)
