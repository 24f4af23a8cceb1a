"""A whole install undone: nothing of it is left, what it filled is blank again, and what hangs on it holds it."""

import datetime as dt

import pytest

from fleet import models
from fleet.coverage.actions import registrations
from fleet.derived import lookup, recheck
from fleet.elements.edits import Edit
from fleet.loading import history, installs
from fleet.refusals import Refused
from fleet.registry.actions import correct, lives, merges, new_install, sales
from fleet.registry.actions.undo_install import undo_install
from fleet.registry.pages.new_install import Told
from tests import company
from tests.rows import everything

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
SYSTEM = {
    "customer": "Brit Sørby",
    "site": "Cabin",
    "system": "System 1",
    "installed_on": "2026-02-20",
    "started_on": "2026-02-21",
    "region": "US-ME",
    "use": "rental",
}
HEAD = {"role": "head", "style": "wall", "maker": "Northrill", "model": "NH-9"}
UNITS = {0: HEAD | {"serial": "NW-1", "room": "Den"}, 1: HEAD | {"serial": "NW-2", "room": "Loft"}}


@pytest.fixture
def robin():
    company.on_file()
    return company.person("office")


def save(robin, units=UNITS, **system) -> int:
    new_install.save(Told(SYSTEM | system, units), by=robin, on=TODAY)
    return models.Load.objects.get(kind="installs").pk


def back(load, robin):
    return undo_install(load, by=robin, on=TODAY)


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def on_file() -> dict[str, int]:
    tables = (
        models.Customer, models.Site, models.SiteUse, models.System, models.Unit, models.Place, models.Registration,
        models.Attachment, models.LookupEntry, models.HoldingRow, models.CoverageRow, models.FactRow,
    )  # fmt: skip
    return {table.__name__: table.objects.count() for table in tables}


def test_nothing_of_a_new_customers_install_is_left(robin):
    before = on_file()
    load = save(robin, {n: cells | {"registered_on": "2026-02-25"} for n, cells in UNITS.items()})
    assert on_file() != before
    taken = back(load, robin)
    assert (taken.units, taken.system, taken.site) == (2, "System 1", None)
    assert on_file() == before
    told = models.Change.objects.get(table="load", object_id=load)
    assert (told.before, told.by) == ("Cabin, System 1: Northrill NH-9 NW-1, Northrill NH-9 NW-2", robin)
    assert clean()


def test_at_a_site_on_file_everything_else_stands_as_it_did_and_its_history_tells_it(robin):
    there = company.unit(
        "SB-1", customer="Brit Sørby", site="Cabin", installed_on="2025-05-01", started_on="2025-05-01"
    )
    company.worked_out()
    before, site = on_file(), there.system.site
    load = save(robin, phone="555-0100")
    assert (models.Site.objects.get().region, models.SiteUse.objects.get().use) == ("US-ME", "rental")
    taken = back(load, robin)
    assert taken.site == site.pk
    assert on_file() == before
    assert (models.Site.objects.get().region, models.SiteUse.objects.count()) == ("", 0)
    told = models.Change.objects.get(table="site", object_id=site.pk, field="install")
    assert (told.before, told.after) == ("System 1: Northrill NH-9 NW-1, Northrill NH-9 NW-2", "")
    assert (told.why, told.by) == ("install undone", robin)
    assert clean()


def test_a_serial_that_it_filled_is_blank_again(robin):
    faded = company.unit("", customer="Brit Sørby", site="Cabin", room="Den")
    models.System.objects.update(name="System 1")
    company.worked_out()
    load = save(robin)
    faded.refresh_from_db()
    assert (faded.serial, faded.installed_on) == ("NW-1", dt.date(2026, 2, 20))
    assert back(load, robin).units == 1
    faded.refresh_from_db()
    assert (faded.serial, faded.serial_key, faded.installed_on) == ("", "", None)
    assert not models.LookupEntry.objects.filter(kind="unit").exists()
    assert clean()


def test_saved_again_after_it_was_taken_back_it_is_new(robin):
    first = save(robin)
    back(first, robin)
    new_install.save(Told(SYSTEM, UNITS), by=robin, on=TODAY)
    assert models.Unit.objects.count() == 2
    with pytest.raises(Refused, match="already undone"):
        back(first, robin)


def unit(serial: str = "NW-1") -> models.Unit:
    return models.Unit.objects.get(serial=serial)


def told(kind: str, **cells: str) -> None:
    history.load_rows([{"serial": "NW-1", "day": "2026-02-28", "kind": kind} | cells], on=TODAY)


def correct_room(robin) -> None:
    correct.unit(unit().pk, {"room": Edit("Den", "Study")}, by=robin, on=TODAY)


def register(robin) -> None:
    system = unit().system
    pair = (unit().pk, models.Terms.objects.get(code="northrill-1").pk)
    registrations.register(system=system, pairs=[pair], registered_on=TODAY, number="N-7", by=robin, on=TODAY)


def merge_away(robin) -> None:
    other = company.unit("", room="Den", customer="Brit Sørby", site="Cabin")
    differing = merges.contradictions("unit", other, unit())
    chosen = {one.field: "gone" for one in differing}
    merges.merge("unit", other.pk, unit().pk, chosen=chosen, by=robin, on=TODAY)


def second_system(robin) -> None:
    new_install.save(Told(SYSTEM | {"system": "System 2"}, {0: HEAD | {"serial": "NW-9"}}), by=robin, on=TODAY)


def sell(robin) -> None:
    site = unit().system.site_id
    sales.sell(site, sold_on=dt.date(2026, 2, 26), buyer=sales.Buyer("Wren Abbot"), by=robin, on=TODAY)


def move(robin) -> None:
    lives.tell(unit().pk, kind="moved", day="2026-02-28", told={"to_system": "Annex"}, by=robin, on=TODAY)


def use_it_otherwise(robin) -> None:
    correct.site(unit().system.site_id, {"use": Edit("rental", "business")}, by=robin, on=TODAY)


HANGS = {
    "a failure": (lambda robin: told("failure", component="compressor"), "1 failure on Northrill NH-9 NW-1"),
    "upkeep": (lambda robin: told("maintenance"), "1 record of maintenance on Northrill NH-9 NW-1"),
    "a notice": (lambda robin: told("notified"), "1 notice to a payer on Northrill NH-9 NW-1"),
    "a registration": (register, "1 registration recorded since on Northrill NH-9 NW-1"),
    "a promise": (lambda robin: told("attached", terms="ours-1"), "1 promise recorded since on Northrill NH-9 NW-1"),
    "idle": (lambda robin: told("idle"), "1 time out of use on Northrill NH-9 NW-1"),
    "taken out": (lambda robin: told("removed"), "“Removed on” of Northrill NH-9 NW-1 was changed since"),
    "moved": (move, "1 move on Northrill NH-9 NW-1"),
    "a correction": (correct_room, "“Room” of Northrill NH-9 NW-1 was changed since, by office"),
    "another use": (use_it_otherwise, "“Use” of Cabin was changed since, by office"),
    "a merge": (merge_away, "the merge with Northrill NH-9 NW-1"),
    "a second system": (second_system, "1 system put in since on Cabin"),
    "sold": (sell, "1 sale on Cabin"),
    "a contact": (
        lambda robin: models.Contact.objects.create(site=unit().system.site, name="Gate"),
        "1 contact on Cabin",
    ),
    "what a payer said": (
        lambda robin: models.PayerWord.objects.create(
            unit=unit(), terms=models.Terms.objects.first(), kind="parts", said_on=TODAY, who="Kim", covered=False
        ),
        "1 payer's word on Northrill NH-9 NW-1",
    ),
    "a paper": (
        lambda robin: models.Document.objects.create(
            unit=unit(), kind="document", name="a.pdf", media_type="application/pdf", stored="a", digest="a", size=1
        ),
        "1 photo or paper on Northrill NH-9 NW-1",
    ),
}


@pytest.mark.parametrize(("hang", "said"), HANGS.values(), ids=HANGS)
def test_what_hangs_on_it_holds_it_and_is_said(hang, said, robin):
    load = save(robin)
    hang(robin)
    before = everything()
    with pytest.raises(Refused) as refused:
        back(load, robin)
    assert said in str(refused.value)
    assert everything() == before


def test_a_registration_that_was_taken_back_holds_it_no_more(robin):
    load = save(robin)
    register(robin)
    made = models.Registration.objects.get()
    registrations.undo(system=unit().system, registrations=[made.pk], by=robin, on=TODAY)
    assert back(load, robin).units == 2


def test_the_proof_of_its_registration_holds_it(robin):
    load = save(robin, {0: UNITS[0] | {"registered_on": "2026-02-25"}})
    paper = models.Document.objects.create(
        site=unit().system.site,
        kind="document",
        name="a.pdf",
        media_type="application/pdf",
        stored="a",
        digest="a",
        size=1,
    )
    models.Registration.objects.update(proof=paper)
    with pytest.raises(Refused, match="the proof of the registration of Northrill NH-9 NW-1"):
        back(load, robin)


def test_what_it_filled_and_somebody_changed_since_holds_it(robin):
    company.unit("SB-1", customer="Brit Sørby", site="Cabin")
    load = save(robin)
    site = models.Site.objects.get()
    correct.site(site.pk, {"region": Edit("US-ME", "US-VT")}, by=robin, on=TODAY)
    with pytest.raises(Refused, match="“.*” of Cabin, which this filled, was changed since"):
        back(load, robin)


def test_what_a_file_brought_is_not_taken_back(robin, tmp_path):
    file = tmp_path / "installs.csv"
    file.write_text("customer,site,system,role,maker,model,serial\nAda,Home,Main,head,Northrill,NH-9,F-1\n")
    installs.load(file, by=None, on=TODAY)
    with pytest.raises(Refused, match="Only an install that was saved on this screen"):
        back(models.Load.objects.get(kind="installs").pk, robin)
    with pytest.raises(Refused, match="Only an install that was saved on this screen"):
        back(99_999, robin)


def test_an_install_under_the_name_that_a_merge_took_away_is_taken_where_it_went(robin):
    kept, gone = models.Customer.objects.create(name="Brit Sorby"), models.Customer.objects.create(name="Brit Sørby")
    lookup.index(customers=[kept, gone])
    merges.merge("customer", kept.pk, gone.pk, chosen={"name": "kept"}, by=robin, on=TODAY)
    saved = new_install.save(Told(SYSTEM, UNITS), by=robin, on=TODAY)
    assert models.System.objects.get(pk=saved.system).site.customer == kept
