"""What one load brought, as it is undone: the rows that it added, and the facts of others that it filled or changed."""

from collections.abc import Collection, Iterator
from itertools import islice
from typing import Any

from django.apps import apps
from django.db import models as fields
from django.db.models import QuerySet

from fleet import models
from fleet.derived import apart, lookup, refresh
from fleet.loading.namesakes import address_of
from fleet.log import Log
from fleet.refusals import Refused
from fleet.registry.actions.undoing import loosen
from fleet.rules import words
from fleet.rules.spreadsheets import headings
from fleet.sheets.columns import in_plain

CHUNK = 1_000
_WHY = "import undone"
# Of a unit, what is kept folded beside it.
_KEYED = ("maker", "model", "serial")


class Undoing:
    """The rows of one load by table, from the inside out, and what is logged while it is undone."""

    def __init__(self, load: models.Load, tables: tuple[Any, ...], log: Log) -> None:
        self.load = load
        self.tables = tables
        self.log = log
        self._touched: set[int] = set()

    def _added(self, table: Any) -> QuerySet[Any]:
        rows: QuerySet[Any] = table.objects.filter(load=self.load)
        return rows

    # -- what it filled or changed

    def change_back(self, *, skipped: Collection[tuple[str, str]] = ()) -> None:
        """Set the facts of older rows to what they were, the latest first; raises Refused where one was changed since.

        `skipped` are facts, by table and field, that are undone in another way.
        """
        changes = models.Change.objects.filter(load=self.load).order_by("-pk").iterator(chunk_size=CHUNK)
        while chunk := list(islice(changes, CHUNK)):
            self._change_back([one for one in chunk if (one.table, one.field) not in skipped])

    def _change_back(self, changes: list[models.Change]) -> None:
        keys: dict[str, set[int]] = {}
        for change in changes:
            keys.setdefault(change.table, set()).add(change.object_id)
        rows = {table: apps.get_model("fleet", table).objects.in_bulk(pks) for table, pks in keys.items()}
        changed: dict[str, dict[int, Any]] = {}
        names: dict[str, set[str]] = {}
        for change in changes:
            row = rows[change.table].get(change.object_id)
            # Of a row that the load added, or that is gone, nothing is left to set.
            if row is None or getattr(row, "load_id", None) == self.load.pk:
                continue
            self._set(row, change, names.setdefault(change.table, set()))
            changed.setdefault(change.table, {})[row.pk] = row
        for table, those in changed.items():
            gone = [row.pk for row in those.values() if isinstance(row, models.SiteUse) and not row.use]
            self._touched |= set(_bearing_on(those.values()))
            model: Any = apps.get_model("fleet", table)
            model.objects.filter(pk__in=gone).delete()
            model.objects.bulk_update(
                [row for pk, row in those.items() if pk not in gone], names[table], batch_size=100
            )
        lookup.index(
            **{f"{kind}s": list(changed[kind].values()) for kind in ("customer", "site", "unit") if kind in changed}
        )

    def _set(self, row: Any, change: models.Change, names: set[str]) -> None:
        what = f"{headings.title(change.field)} of {row}"
        if isinstance(row, models.Unit) and change.field == "system":
            self._set_system(row, change, names)
            return
        if in_plain(getattr(row, change.field)) != change.after:
            raise Refused(f"{what}, which this import wrote, was changed since. Change it back first.")
        self.log.note(None, row, change.field, change.after, change.before, why=_WHY)
        setattr(row, change.field, value_of(row._meta.get_field(change.field), change.before))
        names.add(change.field)
        if isinstance(row, models.Unit) and change.field in _KEYED:
            setattr(row, f"{change.field}_key", words.key(change.before))
            names.add(f"{change.field}_key")

    def _set_system(self, unit: models.Unit, change: models.Change, names: set[str]) -> None:
        """Put a unit back into the system that it was corrected from, which the log has by its names."""
        before, after = self._system(change.before), self._system(change.after, now=unit.system_id)
        place = models.Place.objects.filter(unit=unit).first()
        if before is None or after is None or place is None or unit.system_id != after.pk:
            raise Refused(f"{unit}, which this import put into another system, was moved since. Undo that first.")
        self.log.note(None, unit, "system", change.after, change.before, why=_WHY)
        models.Place.objects.filter(pk=place.pk).update(system=before)
        unit.system = before
        names.add("system")

    def _system(self, text: str, *, now: int | None = None) -> models.System | None:
        """The one system that the log names as customer, site and system, of several `now`; names may have commas themselves."""
        rows = models.System.objects.select_related("site__customer").filter(name__in=_ends(text))
        plain = [one for one in rows if f"{one.site.customer.name}, {one.site.name}, {one.name}" == text]
        found = plain or [one for one in rows if ", ".join(address_of(one)) == text]
        if len(found) > 1:
            found = [one for one in found if one.pk == now]
        return found[0] if found else None

    # -- what stands in the way

    def rows_on(self, table: Any) -> Iterator[tuple[str, QuerySet[Any]]]:
        """Rows that point at what the load added to a table and are none of its own, by the field that points."""
        for relation in table._meta.related_objects:
            other: Any = relation.related_model
            if other in refresh.WORKED_OUT or other is models.Label:
                continue
            field = relation.field.name
            rows = other.objects.filter(**{f"{field}__load": self.load})
            if other is models.Place:
                # The place where a unit was put in is part of its being there.
                rows = rows.exclude(unit__load=self.load, joined_on=None)
            elif other is models.SiteUse:
                rows = rows.exclude(from_on=None)
            elif any(one.name == "load" for one in other._meta.concrete_fields):
                rows = rows.exclude(load=self.load)
            yield field, rows

    def changed_since(self) -> Iterator[str]:
        """Facts of what the load added that were changed since, with who did."""
        uses = models.SiteUse.objects.filter(site__load=self.load)
        tables = [(table, self._added(table)) for table in self.tables]
        if models.Site in self.tables:
            tables.append((models.SiteUse, uses))
        for table, rows in tables:
            facts = {field.name for field in table._meta.concrete_fields} | {"use"}
            changes = models.Change.objects.filter(
                table=table._meta.model_name, object_id__in=rows.values("pk"), field__in=facts
            ).exclude(load=self.load)
            for change in changes.select_related("by").order_by("pk").iterator(chunk_size=CHUNK):
                who = change.by or "the command line"
                thing = table.objects.get(pk=change.object_id)
                yield f"{headings.title(change.field)} of {thing}, which {who} changed"

    def merged_since(self) -> Iterator[str]:
        """Merges since that took in, or took away, what the load added."""
        for merge in models.Merge.objects.filter(undone_at=None, at__gte=self.load.at):
            is_dropped = any(
                what == "drop" and before.get("load_id") == self.load.pk
                for what, _, _, before, _ in merge.content["steps"]
            )
            table: Any = apps.get_model("fleet", merge.kind)
            if is_dropped or (table in self.tables and self._added(table).filter(pk=merge.kept_id).exists()):
                yield f"the merge with {merge.content['gone']}"

    # -- what it added

    def near(self) -> set[int]:
        """Units whose answers hang on what the load brought, those that go among them."""
        added = [
            table.objects.filter(load=self.load).values_list("unit_id", flat=True)
            for table in self.tables
            if any(field.name == "unit" for field in table._meta.concrete_fields)
        ]
        units = {pk for rows in added for pk in rows.iterator(chunk_size=CHUNK)}
        if models.Unit in self.tables:
            systems = models.Place.objects.filter(unit__load=self.load).values("system")
            units |= set(models.Place.objects.filter(system__in=systems).values_list("unit_id", flat=True))
        return units | self._touched

    def remove(self) -> dict[str, int]:
        """Take away what the load added, from the inside out; return how many there were, by what they are called."""
        counts = {}
        if models.Unit in self.tables:
            # Worked out of units that go: written off at once, not row by row as what hangs on each.
            for worked_out in (models.HoldingRow, models.CoverageRow, models.FactRow, models.DueRow):
                worked_out.objects.filter(unit__load=self.load).delete()
            labeled = models.Unit.objects.filter(load=self.load, labels__isnull=False).values_list("pk", flat=True)
            loosen(list(labeled), self.log, why="import undone")
        for table in self.tables:
            rows, name = self._added(table), str(table._meta.model_name)
            counts[str(table._meta.verbose_name)] = rows.count()
            models.LookupEntry.objects.filter(kind=name, object_id__in=rows.values("pk")).delete()
            while keys := list(rows.order_by("pk").values_list("pk", flat=True)[:CHUNK]):
                table.objects.filter(pk__in=keys).delete()
        apart.keep(apart.told_apart())
        return counts


def value_of(field: Any, text: str) -> Any:
    """The value of a field that the log has as text.

    >>> value_of(fields.BooleanField(null=True), "yes"), value_of(fields.DateField(null=True), ""), value_of(fields.CharField(), "")
    (True, None, '')
    """
    if not text:
        return None if field.null else ""
    return text == "yes" if isinstance(field, fields.BooleanField) else field.to_python(text)


def _ends(text: str) -> list[str]:
    """The texts that may be the last of several names with commas between."""
    parts = text.split(", ")
    return [", ".join(parts[place:]) for place in range(len(parts))]


def _bearing_on(rows: Any) -> Iterator[int]:
    """The units whose answers such rows bear on."""
    sites = set()
    for row in rows:
        match row:
            case models.CareSheet():
                yield from models.Unit.objects.values_list("pk", flat=True)
            case models.Unit():
                yield row.pk
            case models.Registration() | models.Attachment():
                yield row.unit_id
            case models.Site():
                sites.add(row.pk)
            case models.SiteUse():
                sites.add(row.site_id)
    yield from models.Place.objects.filter(system__site__in=sites).values_list("unit_id", flat=True)
