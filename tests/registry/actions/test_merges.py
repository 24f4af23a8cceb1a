"""Two that are one: joined with all that is told of them, and taken apart again exactly."""

import datetime as dt

import pytest

from fleet import models
from fleet.derived import recheck, refresh
from fleet.loading import history, installs
from fleet.refusals import Refused
from fleet.registry.actions import contacts, merges
from fleet.registry.queries.lookup import find
from fleet.sheets import BadFile
from tests import company, rows

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
TABLES = (
    models.Customer, models.Site, models.SiteUse, models.Sale, models.Contact, models.System, models.Unit, models.Place,
    models.Idle, models.Registration, models.Notice, models.Attachment, models.Failure, models.MaintenanceRecord,
    models.HistoryRow, models.LookupEntry, models.PayerWord,
)  # fmt: skip


def told() -> dict[str, list[tuple]]:
    """Every row of every table, by key; what is worked out is asked of recheck."""
    return {table.__name__: list(table.objects.order_by("pk").values_list()) for table in TABLES}


@pytest.fixture
def two():
    """One unit entered twice at one site entered twice of one customer entered twice."""
    company.on_file()
    left = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    right = company.unit(
        "SB-10O2", customer="O. Marsh", site="House", started_on="2021-03-20", registered_on="2021-04-01"
    )
    site = right.system.site
    site.uses.create(use="rental")
    site.region = "US-ME"
    site.save()
    contacts.add(site=site.pk, told={"name": "Tam Reyes", "role": "tenant"}, by=None)
    models.Sale.objects.create(site=site, sold_on=dt.date(2022, 5, 1))
    company.worked_out()
    history.load_rows(
        [
            {"serial": "SB-10O2", "day": "2023-04-01", "kind": "failure", "component": "sensor"},
            {"serial": "SB-10O2", "day": "2023-05-01", "kind": "maintenance"},
            {"serial": "SB-1002", "day": "2023-05-01", "kind": "maintenance"},
        ],
        on=TODAY,
    )
    return left, right


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def test_a_merged_unit_has_what_was_told_of_both(two):
    left, right = two
    chosen = {"serial": "kept", "started_on": "gone", "system": "kept"}
    merge = merges.merge("unit", left.pk, right.pk, chosen=chosen, by=None, on=TODAY, why="typed twice")
    left.refresh_from_db()
    assert (left.serial, left.started_on, left.room) == ("SB-1002", dt.date(2021, 3, 20), "Den")
    assert left.failures.count() == 1
    # Told of both on one day in the same words: it is one record.
    assert left.records.count() == 1
    assert left.registrations.get().registered_on == dt.date(2021, 4, 1)
    assert not models.Unit.objects.filter(pk=right.pk).exists()
    assert (merge.kept_id, merge.gone_id, merge.why) == (left.pk, right.pk, "typed twice")
    change = models.Change.objects.get(table="unit", object_id=left.pk, field="started_on")
    assert (change.before, change.after) == ("2021-03-10", "2021-03-20")
    assert clean()
    report = history.load_rows(
        [{"serial": "SB-1002", "day": "2023-04-01", "kind": "failure", "component": "sensor"}], on=TODAY
    )
    assert (report.added, report.unchanged) == (0, 1)


@pytest.mark.parametrize("side", ["kept", "gone"])
@pytest.mark.parametrize("kind", ["customer", "site", "unit"])
def test_undone_leaves_every_row_as_it_was(two, kind, side):
    left, right = two
    keys = {
        "unit": (left.pk, right.pk),
        "site": (left.system.site_id, right.system.site_id),
        "customer": (left.system.site.customer_id, right.system.site.customer_id),
    }[kind]
    before = told()
    table = merges.TABLES[kind]
    pair = [table.objects.get(pk=pk) for pk in keys]
    chosen = {one.field: side for one in merges.contradictions(kind, *pair)}
    merge = merges.merge(kind, *keys, chosen=chosen, by=None, on=TODAY)
    assert told() != before
    assert clean()
    merges.undo(merge.pk, by=None, on=TODAY)
    assert told() == before
    assert clean()
    with pytest.raises(Refused, match="already undone"):
        merges.undo(merge.pk, by=None, on=TODAY)


def test_a_contradiction_is_chosen_first(two):
    left, right = two
    with pytest.raises(Refused, match="Choose which is right first: System, Serial, Started"):
        merges.merge("unit", left.pk, right.pk, chosen={}, by=None, on=TODAY)
    assert models.Unit.objects.count() == 2


def test_two_units_of_different_models_with_serials_are_two(two):
    left, _ = two
    other = company.unit("ZZ-1", model="NO-30")
    with pytest.raises(Refused, match="are two"):
        merges.merge("unit", left.pk, other.pk, chosen={"model": "kept", "serial": "kept"}, by=None, on=TODAY)


def test_a_unit_without_a_serial_may_be_any_other(two):
    left, _ = two
    blank = company.unit("", model="NH-12", room="Loft")
    refresh.refresh([blank.pk], on=TODAY)
    merges.merge("unit", left.pk, blank.pk, chosen={"model": "gone", "room": "gone"}, by=None, on=TODAY)
    left.refresh_from_db()
    assert (left.model, left.model_key, left.room, left.serial) == ("NH-12", "nh12", "Loft", "SB-1002")
    assert clean()


def test_an_exchanged_unit_and_the_one_that_took_over_are_two(two):
    left, _ = two
    history.load_rows(
        [{"serial": "SB-1002", "day": "2024-01-01", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"}],
        on=TODAY,
    )
    heir = models.Unit.objects.get(serial="N1")
    with pytest.raises(Refused, match="came in exchange for the other"):
        merges.merge("unit", left.pk, heir.pk, chosen={"serial": "kept"}, by=None, on=TODAY)


def test_sites_merged_join_their_systems_of_one_name(two):
    left, right = two
    pair = (left.system.site, right.system.site)
    merges.merge("site", pair[0].pk, pair[1].pk, chosen={"customer": "kept", "name": "kept"}, by=None, on=TODAY)
    system = models.System.objects.get()
    assert set(system.units.values_list("pk", flat=True)) == {left.pk, right.pk}
    site = models.Site.objects.get()
    assert (site.region, site.uses.get().use, site.contacts.get().name) == ("US-ME", "rental", "Tam Reyes")
    assert clean()


def test_customers_with_a_site_of_one_name_are_refused_in_words(two):
    left, _ = two
    other = company.unit("ZZ-2", customer="O. Marsh", site="Home")
    with pytest.raises(Refused, match="Each of them has a site named Home. Choose whether they are one site or two."):
        merges.merge(
            "customer",
            left.system.site.customer_id,
            other.system.site.customer_id,
            chosen={"name": "kept"},
            by=None,
            on=TODAY,
        )


def test_a_merged_customer_is_found_by_the_name_that_was_kept(two):
    left, right = two
    gone = right.system.site.customer_id
    merges.merge("customer", left.system.site.customer_id, gone, chosen={"name": "kept"}, by=None, on=TODAY)
    assert left.system.site.customer.sites.count() == 2
    hits = [hit.object_id for hit in find("marsh") if hit.kind == "customer"]
    assert hits == [left.system.site.customer_id]


@pytest.mark.parametrize("side", ["kept", "gone"])
def test_a_file_that_knows_either_name_finds_the_one_customer(two, side):
    left, right = two
    keys = (left.system.site.customer_id, right.system.site.customer_id)
    merge = merges.merge("customer", *keys, chosen={"name": side}, by=None, on=TODAY)
    row = {"system": "Whole house", "role": "head", "maker": "Northrill", "model": "NH-9"}
    told = [
        row | {"customer": "O. Marsh", "site": "House", "serial": "N-1"},
        row | {"customer": "Odile Marsh", "site": "Home", "serial": "N-2"},
    ]
    assert installs.load_rows(told, on=TODAY).added == 2
    assert (models.Customer.objects.count(), models.Site.objects.count(), models.System.objects.count()) == (1, 2, 2)
    assert clean()
    merges.undo(merge.pk, by=None, on=TODAY)
    assert models.Unit.objects.get(serial="N-1").system.site.customer.name == "O. Marsh"
    assert installs.load_rows(told, on=TODAY).unchanged == 2


ROW = {
    "customer": "O. Marsh",
    "site": "House",
    "system": "Whole house",
    "role": "head",
    "maker": "Northrill",
    "model": "NH-9",
}


def merged_sites(two, **chosen) -> models.Merge:
    sites = [unit.system.site_id for unit in two]
    chosen = {"name": "kept", "customer": "kept"} | chosen
    return merges.merge("site", *sites, chosen=chosen, by=None, on=TODAY)


@pytest.mark.parametrize(
    "chosen",
    [{"name": name, "customer": customer} for name in ("kept", "gone") for customer in ("kept", "gone")],
    ids=lambda chosen: f"name of the {chosen['name']}, customer of the {chosen['customer']}",
)
def test_a_file_that_names_either_site_finds_the_one(two, chosen):
    merge = merged_sites(two, **chosen)
    rows = [ROW | {"serial": "N-1"}, ROW | {"customer": "Odile Marsh", "site": "Home", "serial": "N-2"}]
    assert installs.load_rows(rows, on=TODAY).added == 2
    assert (models.Site.objects.count(), models.System.objects.count()) == (1, 1)
    assert {unit.system.site_id for unit in models.Unit.objects.all()} == {merge.kept_id}
    assert installs.load_rows(rows, on=TODAY).unchanged == 2
    assert clean()


def test_a_site_merged_away_is_found_after_its_customer_was_merged_too(two):
    left, right = two
    customers = (left.system.site.customer_id, right.system.site.customer_id)
    merge = merged_sites(two)
    merges.merge("customer", *customers, chosen={"name": "kept"}, by=None, on=TODAY)
    for customer in ("O. Marsh", "Odile Marsh"):
        installs.load_rows([ROW | {"customer": customer, "serial": f"N-{customer[1]}"}], on=TODAY)
    assert {unit.system.site_id for unit in models.Unit.objects.all()} == {merge.kept_id}
    assert models.Customer.objects.count() == 1


def test_a_site_merged_away_twice_is_found_where_it_ended(two):
    merge = merged_sites(two)
    third = company.unit("SB-3", customer="Odile Marsh", site="Cabin")
    merges.merge("site", third.system.site_id, merge.kept_id, chosen={"name": "kept"}, by=None, on=TODAY)
    rows = [ROW | {"serial": "N-1"}, ROW | {"customer": "Odile Marsh", "site": "Home", "serial": "N-2"}]
    installs.load_rows(rows, on=TODAY)
    assert {unit.system.site_id for unit in models.Unit.objects.all()} == {third.system.site_id}


def test_a_site_merged_away_is_itself_again_once_undone(two):
    _, right = two
    merges.undo(merged_sites(two).pk, by=None, on=TODAY)
    installs.load_rows([ROW | {"serial": "N-1"}], on=TODAY)
    assert models.Unit.objects.get(serial="N-1").system_id == right.system_id


def test_a_unit_moves_by_a_file_to_a_site_that_was_merged_away(two):
    merge = merged_sites(two, customer="gone")
    third = company.unit("SB-3", customer="O. Marsh", site="Cabin")
    history.load_rows([{"serial": "SB-3", "day": "2024-05-01", "kind": "moved", "to_site": "House"}], on=TODAY)
    third.refresh_from_db()
    assert third.system.site_id == merge.kept_id


@pytest.mark.parametrize("side", ["kept", "gone"])
def test_a_file_that_names_either_serial_finds_the_one_unit(two, side):
    left, _ = two
    chosen = {"serial": side, "started_on": "kept", "system": "kept"}
    merges.merge("unit", *(unit.pk for unit in two), chosen=chosen, by=None, on=TODAY)
    here = ROW | {"customer": "Odile Marsh", "site": "Home", "room": "Den"}
    for serial in ("SB-1002", "SB-10O2"):
        report = installs.load_rows([here | {"serial": serial}], on=TODAY)
        assert (report.added, report.unchanged) == (0, 1)
        told = {"serial": serial, "day": "2025-06-01", "kind": "failure", "component": "compressor"}
        history.load_rows([told | {"notes": serial}], on=TODAY)
    both = [{"serial": serial, "day": "2025-07-01", "kind": "idle"} for serial in ("SB-1002", "SB-10O2")]
    assert (history.load_rows(both, on=TODAY).added, models.Idle.objects.get().unit_id) == (1, left.pk)
    assert left.failures.filter(component="compressor").count() == 2
    assert models.Unit.objects.get().serial == ("SB-1002" if side == "kept" else "SB-10O2")
    assert clean()


def test_a_plate_that_was_merged_away_must_be_the_whole_one(two):
    left, right = two
    chosen = {"serial": "kept", "started_on": "kept", "system": "kept"}
    merges.merge("unit", left.pk, right.pk, chosen=chosen, by=None, on=TODAY)
    told = {"serial": "SB-10O2", "day": "2025-06-01", "kind": "idle"}
    with pytest.raises(BadFile, match="a unit on file"):
        history.load_rows([told | {"model": "NH-12"}], on=TODAY)
    history.load_rows([told | {"model": "NH-9", "maker": "Northrill"}], on=TODAY)
    assert models.Idle.objects.get().unit_id == left.pk


def test_more_names_from_before_merges_take_no_more_queries(two):
    def asked(numbers: range) -> int:
        for number in numbers:
            pair = [
                company.unit(f"Q{side}-{number}", customer=f"Q{number}", site=side, room="Den") for side in ("a", "b")
            ]
            merges.merge("site", *(unit.system.site_id for unit in pair), chosen={"name": "kept"}, by=None, on=TODAY)
            merges.merge("unit", *(unit.pk for unit in pair), chosen={"serial": "kept"}, by=None, on=TODAY)
        told = [
            ROW | {"customer": f"Q{number}", "site": "b", "serial": f"Qb-{number}", "room": "Den"} for number in numbers
        ]
        upkeep = [{"serial": f"Qb-{number}", "day": "2025-06-01", "kind": "idle"} for number in numbers]
        with rows.asked() as queries:
            assert installs.load_rows(told, on=TODAY).unchanged == len(told)
            history.load_rows(upkeep, on=TODAY, check=True)
        return len([sql for sql in queries if "fleet_idle" not in sql])

    assert asked(range(1)) == asked(range(1, 6))


def test_what_was_changed_since_is_not_overwritten_by_undoing(two):
    left, right = two
    chosen = {"serial": "kept", "started_on": "gone", "system": "kept"}
    merge = merges.merge("unit", left.pk, right.pk, chosen=chosen, by=None, on=TODAY)
    models.Unit.objects.filter(pk=left.pk).update(started_on=dt.date(2020, 1, 1))
    with pytest.raises(Refused, match="Started of .* changed since the merge"):
        merges.undo(merge.pk, by=None, on=TODAY)
    assert models.Unit.objects.count() == 1


def test_a_merge_that_cannot_stand_changes_nothing(two):
    left, right = two
    for unit in two:
        unit.idles.create(idle_on=dt.date(2024, 1, unit.pk % 20 + 1))
    before = told()
    with pytest.raises(Refused, match="cannot be merged as they are"):
        merges.merge(
            "unit",
            left.pk,
            right.pk,
            chosen={"serial": "kept", "started_on": "kept", "system": "kept"},
            by=None,
            on=TODAY,
        )
    assert told() == before
