"""What forms begin with: facts as they stand, and two things side by side."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from fleet import models
from fleet.elements.named import address, as_it_stands, gone, what
from fleet.facts import matches
from fleet.registry.facts import events, places
from fleet.registry.facts.labels import label, said
from fleet.registry.pages import editing as pages
from fleet.registry.queries import lookup
from fleet.rules.dates import in_words, written
from fleet.rules.wording.names import upper
from fleet.sheets.columns import in_plain

# A unit cleaned more often than this shows the newest.
MOST_RECORDS = 100
TABLES: dict[str, Any] = {"customer": models.Customer, "site": models.Site, "unit": models.Unit}


def shown(kind: str, pk: int, fields: tuple[str, ...], handed_on: tuple[str, ...] = ()) -> pages.Shown | None:
    """A thing's facts as its form shows them; of a unit that took over, the dates of the first of its line."""
    row = TABLES[kind].objects.filter(pk=pk).first()
    if row is None:
        return None
    root = row.first_of_line() if kind == "unit" else row
    told = tuple((field, _text(root if field in handed_on else row, field)) for field in fields)
    if kind == "unit" and (match := matches.deciding(row)) is not None:
        told = tuple((field, matches.said_of(match) if field == "matched_system" else text) for field, text in told)
    return pages.Shown(kind, pk, str(row), told, "" if root is row else str(root))


def system_shown(pk: int, fields: tuple[str, ...], handed_on: tuple[str, ...]) -> pages.ShownSystem | None:
    """The units in service of a system with some of their facts; of one that took over, the dates of the first of its line."""
    system = models.System.objects.select_related("site__customer").filter(pk=pk).first()
    if system is None:
        return None
    line = "took_over_from__took_over_from__took_over_from"  # a longer one costs a query for each step
    there = list(models.Unit.objects.in_service().filter(system=pk).select_related(line).order_by("pk"))
    there.sort(key=as_it_stands)
    units = []
    for row in there:
        root = row
        while root.took_over_from is not None:
            root = root.took_over_from
        facts = {field: _text(root if field in handed_on else row, field) for field in fields}
        units.append(pages.ShownUnit(row.pk, ", ".join(filter(None, (row.room or what(row), row.serial))), facts))
    where = f"{system.site.name}, {system.site.customer.name}"
    return pages.ShownSystem(pk, system.name, system.site_id, where, tuple(units))


def _text(row: Any, field: str) -> str:
    if field == "use":
        first = row.uses.filter(from_on=None).first()
        return first.use if first else ""
    return in_plain(getattr(row, field))


def _words(field: str, value: str) -> str:
    day = written(value)
    return in_words(day) if day else said(field, value)


def merge_page(kind: str, pk: int, *, text: str = "") -> pages.MergePage | None:
    """A thing and those it may be one with: what a search matches, else the ones beside it."""
    row = _named(kind, pk)
    if row is None:
        return None
    me = _candidate(row)
    found: list[Any] = []
    if text:
        hits = [hit.object_id for hit in lookup.find(text, kinds=(kind,)) if hit.object_id != pk]
        rows = _rows(kind).in_bulk(hits[:20])
        found = [rows[key] for key in hits[:20] if key in rows]
    elif kind == "unit":
        found = list(
            models.Unit.objects.filter(system=row.system_id).exclude(pk=pk).select_related("system__site__customer")
        )
    elif kind == "site":
        found = list(
            models.Site.objects.filter(customer=row.customer_id).exclude(pk=pk).select_related("customer")[:20]
        )
    return pages.MergePage(kind, pk, me.name, me.note, tuple(_candidate(one) for one in found))


def side_by_side(
    page: pages.MergePage, other: int, differing: tuple[Any, ...], same_names: Iterable[tuple[Any, Any, Any]] = ()
) -> pages.MergePage | None:
    """Set the two beside each other, with what they tell differently, and the sites of two customers that have one name."""
    row = _named(page.kind, other)
    if row is None or other == page.pk:
        return None
    return replace(
        page,
        other=_candidate(row),
        choices=_choices(differing),
        same_names=tuple(
            pages.SameName(
                theirs.pk, theirs.name, address(mine), address(theirs), _another(mine, theirs), _choices(of_sites)
            )
            for mine, theirs, of_sites in same_names
        ),
    )


def _choices(differing: Iterable[Any]) -> tuple[pages.Choice, ...]:
    return tuple(
        pages.Choice(one.field, label(one.field), _words(one.field, one.kept), _words(one.field, one.gone))
        for one in differing
    )


def _another(mine: models.Site, theirs: models.Site) -> str:
    """A name for the second of two sites of one name: its street, where that is another."""
    return theirs.street if theirs.street and theirs.street != mine.street else f"{theirs.name} 2"


def pair(kind: str, pk: int, other: int) -> tuple[Any, Any] | None:
    """Both rows; None where one is missing."""
    left, right = _named(kind, pk), _named(kind, other)
    return None if left is None or right is None else (left, right)


def _named(kind: str, pk: int) -> Any:
    return _rows(kind).filter(pk=pk).first()


def _rows(kind: str) -> Any:
    """The rows of a kind with what names them."""
    rows = TABLES[kind].objects
    match kind:
        case "unit":
            return rows.select_related("system__site__customer")
        case "site":
            return rows.select_related("customer")
        case _:
            return rows.prefetch_related("sites")


def _candidate(row: Any) -> pages.Candidate:
    match row:
        case models.Unit():
            site = row.system.site
            note = ", ".join(
                filter(
                    None, (row.room if row.serial else "", row.system.name, site.name, site.customer.name, gone(row))
                )
            )
        case models.Site():
            note = ", ".join(filter(None, (row.customer.name, row.street, row.city)))
        case _:
            streets = sorted(filter(None, (site.street for site in row.sites.all())))
            more = [f"and {len(streets) - 2} more"] if len(streets) > 2 else []
            note = ", ".join(filter(None, (row.phone, row.email, *streets[:2], *more)))
    return pages.Candidate(row.pk, str(row), note)


def swap_page(pk: int) -> pages.SwapPage | None:
    """A head with the others of its system, by room; None if it is none in service."""
    row = models.Unit.objects.in_service().select_related("system__site__customer").filter(pk=pk, role="head").first()
    if row is None:
        return None
    others = models.Unit.objects.in_service().filter(system=row.system_id, role="head").exclude(pk=pk)
    site = row.system.site
    where = f"{row.system.name}, {site.name}, {site.customer.name}"
    return pages.SwapPage(_head(row), where, tuple(map(_head, sorted(others, key=as_it_stands))))


def _head(row: models.Unit) -> pages.Head:
    return pages.Head(row.pk, row.room, f"{row.maker} {row.model}", row.serial)


def life_page(pk: int) -> pages.LifePage | None:
    """The page around the forms about a unit's life; None if there is no such unit."""
    row = _named("unit", pk)
    if row is None:
        return None
    site = row.system.site
    return pages.LifePage(
        pk=pk,
        name=str(row),
        model=row.model,
        where=f"{row.system.name}, {site.name}, {site.customer.name}",
        serial=row.serial,
        gone=gone(row),
        is_idle=row.idles.filter(back_on=None).exists(),
        asks_match=matches.is_asked(row),
        sites=tuple(site.customer.sites.order_by("name").values_list("name", flat=True)[:200]),
        systems=tuple(
            models.System.objects.filter(site__customer=site.customer_id)
            .order_by("name")
            .values_list("name", flat=True)
            .distinct()[:200]
        ),
        told=tuple(_told(row)),
        may_take_a_place=bool(places.offered(row, places.gone(row.system_id))),
    )


def place_page(pk: int) -> pages.PlacePage | None:
    """A head and those whose place it may have taken; None if there is no such unit."""
    row = _named("unit", pk)
    return None if row is None else _place_page(row, places.gone(row.system_id))


def places_to_say(system: int) -> tuple[pages.PlacePage, ...]:
    """The heads in service in a system that may have taken the place of one that was taken out there."""
    heads = places.gone(system)
    rows = models.Unit.objects.in_service().filter(system=system, role="head") if heads else models.Unit.objects.none()
    found = [_place_page(row, heads) for row in rows.select_related("system__site__customer").order_by("pk")]
    return tuple(page for page in found if page.choices)


def _place_page(row: models.Unit, heads: list[models.Unit]) -> pages.PlacePage:
    site = row.system.site
    choices = tuple(
        (str(one.pk), f"{one}, {one.room}, {gone(one)}".replace(", ,", ",")) for one in places.offered(row, heads)
    )
    return pages.PlacePage(
        pk=row.pk,
        name=str(row),
        what=f"{row.room}, {row}" if row.room and row.serial else str(row),
        where=f"{row.system.name}, {site.name}, {site.customer.name}",
        now=str(row.in_place_of_id or ""),
        choices=choices,
    )


def _told(row: models.Unit) -> Iterator[tuple[str, str]]:
    """List what may be taken back: what became of the unit last, then what was told of it, newest first."""
    last = events.last_event(row)
    if last is not None:
        yield f"life {last.day} {last.kind}", upper(last.words)
    records = row.records.order_by("-done_on", "-pk")[:MOST_RECORDS]
    promises, notices = row.attachments.select_related("terms"), row.notices.select_related("terms")
    for kind, found in (("record", records), ("promise", promises), ("notice", notices)):
        for one in found:
            yield f"{kind} {one.pk}", upper(events.record_words(one))
