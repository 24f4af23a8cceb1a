"""Labels: made once for each unit, put on one, moved only by somebody who saw where they were, and blank again where the unit goes."""

import re
import uuid

import pytest

from fleet import models
from fleet.derived import recheck
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import lives, merges, new_install, swaps, undo_events
from fleet.registry.actions import unit_labels as actions
from fleet.registry.actions.undo_install import undo_install
from fleet.registry.pages.new_install import Told
from fleet.registry.queries import unit_labels as queries
from fleet.rules import label_codes
from fleet.rules.label_codes import ALPHABET, LENGTH
from tests import company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def robin() -> models.User:
    company.on_file()
    return company.person("office")


@pytest.fixture
def den(robin) -> models.Unit:
    return company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")


@pytest.fixture
def loft(den) -> models.Unit:
    return company.unit("SB-1003", started_on="2021-03-10", installed_on="2021-03-09", room="Loft")


def made(robin, *units: models.Unit, blank: int = 0, batch: uuid.UUID | None = None) -> list[models.Label]:
    keys = [unit.pk for unit in units]
    return actions.make(units=keys, blank=blank, batch=batch or uuid.uuid4(), by=robin)


def log_of(row) -> list[tuple[str, str, str, str]]:
    found = models.Change.objects.filter(table=row._meta.model_name, object_id=row.pk).order_by("pk")
    return [(one.field, one.before, one.after, one.why) for one in found]


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


# -- codes


def test_a_code_is_random_and_says_nothing_of_the_unit(robin, den):
    labels = made(robin, den, blank=40)
    codes = {label.code for label in labels}
    assert len(codes) == 41
    assert all(re.fullmatch(f"[{ALPHABET}]{{{LENGTH}}}", code) for code in codes)
    assert not set("ILOU01") & set(ALPHABET)
    assert not any("1002" in code or code == str(den.pk) for code in codes)
    # Forty codes of ten signs use nearly all thirty, wherever they stand.
    assert len(set("".join(codes))) > 25
    assert len({code[0] for code in codes}) > 10


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("HTTPS://SERVICE.EXAMPLE.COM/L/K7QM3RTX9W", "K7QM3RTX9W"),
        ("http://10.0.0.7:8000/l/k7qm3rtx9w/", "K7QM3RTX9W"),
        (" k7qm3 - rtx9w ", "K7QM3RTX9W"),
        ("K7QM3RTX9", ""),
        ("K7QM3RTX9WW", ""),
        ("K7QM3RTX90", ""),  # no zero is in a code
        ("HTTPS://SERVICE.EXAMPLE.COM/L/K7QM3RTX9W?x", ""),
        ("HTTPS://SERVICE.EXAMPLE.COM/M/K7QM3RTX9W", ""),
        ("ftp://service.example.com/L/K7QM3RTX9W", ""),
        ("", ""),
    ],
)
def test_a_code_is_found_in_what_was_scanned_or_typed(text, code):
    assert label_codes.read(text) == code


# -- made


def test_a_unit_keeps_its_label_when_it_is_printed_again(robin, den, loft):
    first = made(robin, den)
    again = made(robin, loft, den)
    assert [label.unit for label in again] == [loft, den]
    assert again[1] == first[0]
    assert log_of(den) == [("label", "", str(first[0]), "printed for it")]
    assert models.Label.objects.count() == 2


def test_blank_ones_are_made_once_however_often_the_form_is_sent(robin):
    batch = uuid.uuid4()
    first = made(robin, blank=5, batch=batch)
    assert made(robin, blank=5, batch=batch) == first
    assert made(robin, blank=5) != first
    assert {label.unit for label in first} == {None}


@pytest.mark.parametrize("blank", [0, 301])
def test_nothing_and_too_many_are_refused(blank, robin):
    with pytest.raises(Refused):
        made(robin, blank=blank)
    assert not models.Label.objects.exists()


def test_300_are_made_at_once(robin):
    assert len(made(robin, blank=300)) == 300


def test_a_unit_that_went_meanwhile_gets_none(robin, den, loft):
    lives.tell(den.pk, kind="removed", day="2026-02-01", told={}, by=robin, on=TODAY)
    with pytest.raises(Conflict, match="exchanged, taken out or merged meanwhile"):
        made(robin, loft, den)
    assert not models.Label.objects.exists()


# -- put on a unit, moved, taken off


def test_a_blank_one_is_put_on_a_unit_once(robin, den):
    (label,) = made(robin, blank=1)
    actions.tie(label.pk, unit=den.pk, was=None, by=robin)
    actions.tie(label.pk, unit=den.pk, was=None, by=robin)
    assert log_of(den) == [("label", "", str(label), "put on it")]


def test_one_on_another_unit_is_moved_only_from_where_it_was_seen(robin, den, loft):
    (label,) = made(robin, den)
    with pytest.raises(Conflict, match="SB-1002"):
        actions.tie(label.pk, unit=loft.pk, was=None, by=robin)
    label.refresh_from_db()
    assert label.unit == den
    actions.tie(label.pk, unit=loft.pk, was=den.pk, by=robin)
    label.refresh_from_db()
    assert label.unit == loft
    assert log_of(den)[-1] == ("label", str(label), "", f"moved to {loft}")
    assert log_of(loft) == [("label", "", str(label), f"moved from {den}")]


def test_none_is_put_on_a_unit_that_is_gone_or_not_on_file(robin, den):
    (label,) = made(robin, blank=1)
    lives.tell(den.pk, kind="removed", day="2026-02-01", told={}, by=robin, on=TODAY)
    for unit, why in ((den.pk, "no longer in service"), (987_654, "no longer on file")):
        with pytest.raises(Refused, match=why):
            actions.tie(label.pk, unit=unit, was=None, by=robin)
    label.refresh_from_db()
    assert label.unit is None


def test_one_is_taken_off_and_can_be_used_again(robin, den, loft):
    (label,) = made(robin, den)
    assert actions.take_off(label.pk, by=robin) == den
    assert actions.take_off(label.pk, by=robin) is None
    assert log_of(den)[-1] == ("label", str(label), "", "taken off")
    actions.tie(label.pk, unit=loft.pk, was=None, by=robin)
    assert queries.of_unit(loft.pk) == [label]


# -- what becomes of the unit


def test_a_merge_moves_labels_and_undoing_it_moves_them_back(robin, den):
    twice = company.unit("", room="Den 2", model="NH-9")
    company.worked_out()
    mine, theirs = made(robin, den, twice)
    merge = merges.merge("unit", den.pk, twice.pk, chosen={"room": "kept"}, by=robin, on=TODAY)
    assert set(queries.of_unit(den.pk)) == {mine, theirs}
    merges.undo(merge.pk, by=robin, on=TODAY)
    assert queries.of_unit(twice.pk) == [theirs]
    assert queries.of_unit(den.pk) == [mine]


def test_a_moved_unit_keeps_its_label(robin, den):
    company.worked_out()
    (label,) = made(robin, den)
    told = {"to_system": "Annex"}
    lives.tell(den.pk, kind="moved", day="2026-02-01", told=told, by=robin, on=TODAY)
    label.refresh_from_db()
    assert label.unit == den
    assert label.unit.system.name == "Annex"


def test_a_label_of_an_exchanged_unit_stays_with_it_and_leads_on_to_what_came(robin, den):
    company.worked_out()
    (label,) = made(robin, den)
    told = {"new_model": "NH-9", "new_serial": "SB-2000", "under_warranty": "yes"}
    heir = lives.tell(den.pk, kind="exchanged", day="2026-02-01", told=told, by=robin, on=TODAY)
    label.refresh_from_db()
    assert (label.unit, queries.next_of(label.unit)) == (den, heir)


def test_undoing_an_exchange_leaves_the_new_units_label_blank(robin, den):
    company.worked_out()
    told = {"new_model": "NH-9", "new_serial": "SB-2000", "under_warranty": "yes"}
    heir = lives.tell(den.pk, kind="exchanged", day="2026-02-01", told=told, by=robin, on=TODAY)
    (label,) = made(robin, heir)
    said = str(heir)
    undo_events.undo_event(
        den.pk, kind="exchanged", day=company.day("2026-02-01"), why="wrong unit", by=robin, on=TODAY
    )
    label.refresh_from_db()
    assert label.unit is None
    assert log_of(label) == [("unit", said, "", "exchange undone")]
    assert clean()


def test_undoing_an_install_leaves_its_labels_blank(robin):
    system = {"customer": "Brit Sørby", "site": "Cabin", "system": "System 1", "installed_on": "2026-02-20"}
    head = {"role": "head", "style": "wall", "maker": "Northrill", "model": "NH-9", "serial": "NW-1", "room": "Den"}
    new_install.save(Told(system, {0: head}), by=robin, on=TODAY)
    unit = models.Unit.objects.get()
    (label,) = made(robin, unit)
    said = str(unit)
    undo_install(models.Load.objects.get(kind="installs").pk, by=robin, on=TODAY)
    label.refresh_from_db()
    assert (label.unit, models.Unit.objects.count()) == (None, 0)
    assert log_of(label) == [("unit", said, "", "install undone")]


@pytest.mark.parametrize("what", ["rooms", "serials"])
def test_a_swap_leaves_each_label_with_its_record(what, robin, den, loft):
    company.worked_out()
    mine, others = made(robin, den, loft)
    swaps.swap(den.pk, loft.pk, what=what, by=robin, on=TODAY)
    assert (queries.of_unit(den.pk), queries.of_unit(loft.pk)) == ([mine], [others])
