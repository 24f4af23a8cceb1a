"""Is a customer's signature kept exactly as it was drawn, once, and gone with its write-up? Asked on March 2, 2026."""

import uuid

import pytest
from django.db import IntegrityError, transaction

from fleet import models
from fleet.care.actions import undo_write_up, write_ups
from fleet.care.queries import write_ups as queries
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import merges
from tests import company, stops

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY
DRAWN = "10,20 14,22 30,41;600,200 599,180;7,7"
SIGNED = {"signed_by": "Odile Marsh", "signature": DRAWN}


@pytest.fixture
def units():
    return stops.house(2)


@pytest.fixture
def jules():
    return company.person("technician", first_name="Jules", last_name="Ouellet")


def record(house, by, key: str = "", **named) -> write_ups.Recorded:
    message = {
        "key": key or str(uuid.uuid4()), "day": "2026-03-02", "technician": "Jules Ouellet",
        "units": [{"unit": str(house[0].pk), "done": ["coil"]}], **named,
    }  # fmt: skip
    return write_ups.record(house[0].system.site_id, message, sent=message, by=by, on=TODAY)


def test_it_is_kept_as_it_was_drawn_and_is_in_the_log(units, jules):
    made = record(units, jules, **SIGNED).write_up
    row = made.signature
    assert (row.name, row.strokes, row.unsigned) == ("Odile Marsh", DRAWN, "")
    change = models.Change.objects.get(table="writeup", field="signature")
    assert (change.before, change.after, change.by) == ("", "Signed by Odile Marsh", jules)
    signed = queries.page(made.pk, on=TODAY).signed
    assert (signed.words, signed.name) == ("Signed by Odile Marsh", "Odile Marsh")
    # A dot is drawn as a line from itself to itself.
    assert signed.strokes == ("10,20 14,22 30,41", "600,200 599,180", "7,7 7,7")


@pytest.mark.parametrize(
    ("unsigned", "words"),
    [
        ("nobody there", "Not signed: nobody there to sign"),
        ("declined", "Not signed: the customer did not want to sign"),
        ("on paper", "Signed on paper"),
    ],
)
def test_that_nobody_signed_is_kept_with_the_reason(units, jules, unsigned, words):
    made = record(units, jules, unsigned=unsigned).write_up
    assert (made.signature.name, made.signature.strokes, made.signature.unsigned) == ("", "", unsigned)
    assert queries.page(made.pk, on=TODAY).signed.words == words


def test_where_nothing_is_said_of_it_nothing_is_kept(units, jules):
    made = record(units, jules, signed_by=" ", signature="", unsigned=None).write_up
    assert not models.Signature.objects.exists()
    assert queries.page(made.pk, on=TODAY).signed is None


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"signed_by": "Odile Marsh"}, "signed_by"),
        ({"signature": DRAWN}, "signed_by"),
        ({**SIGNED, "unsigned": "nobody there"}, "unsigned"),
        ({"signed_by": "Odile Marsh", "unsigned": "on paper"}, "unsigned"),
        ({"unsigned": "asleep"}, "unsigned"),
        ({**SIGNED, "signature": "10,20"}, "signature"),
        ({**SIGNED, "signature": "10,20 900,20"}, "signature"),
        ({**SIGNED, "signed_by": "O" * 121}, "signed_by"),
    ],
)
def test_what_is_no_signature_is_refused_by_field_and_nothing_is_kept(units, jules, wrong, field):
    with pytest.raises(Refused) as refused:
        record(units, jules, **wrong)
    assert list(refused.value.faults) == [field]
    assert not models.WriteUp.objects.exists()


def test_a_signature_alone_is_no_write_up(units, jules):
    with pytest.raises(Refused, match="Check off what was done"):
        record(units, jules, **{"units": []} | SIGNED)


def test_sent_twice_it_is_on_file_once_and_another_signature_says_something_else(units, jules):
    key = str(uuid.uuid4())
    first = record(units, jules, key, **SIGNED)
    again = record(units, jules, key, **SIGNED)
    assert (again.write_up, again.new) == (first.write_up, False)
    assert models.Signature.objects.count() == 1
    with pytest.raises(Conflict):
        record(units, jules, key, **SIGNED | {"signature": "1,1 2,2"})


def test_taken_back_it_goes_with_the_rest_and_stays_readable(units, jules):
    made = record(units, jules, **SIGNED).write_up
    undo_write_up.undo(made.pk, why="Wrong house", by=jules, on=TODAY)
    assert not models.Signature.objects.exists()
    page = queries.page(made.pk, on=TODAY)
    assert "Signed by Odile Marsh" in page.taken_back.said
    assert page.signed is None
    made.refresh_from_db()
    assert made.content["signature"] == DRAWN


def test_it_moves_with_its_write_up_when_sites_are_merged(units, jules):
    made = record(units, jules, **SIGNED).write_up
    survivor = models.Site.objects.create(customer=made.site.customer, name="Cabin")
    merges.merge("site", survivor.pk, made.site_id, chosen={"name": "kept"}, by=None, on=TODAY)
    made.refresh_from_db()
    assert made.site == survivor
    assert made.signature.strokes == DRAWN


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": "Odile"}, {"strokes": DRAWN}, {}, {"name": "Odile", "strokes": DRAWN, "unsigned": "declined"},
        {"unsigned": "asleep"},
    ],
)  # fmt: skip
def test_the_database_keeps_no_half_signature(units, jules, wrong):
    made = record(units, jules).write_up
    with pytest.raises(IntegrityError), transaction.atomic():
        models.Signature.objects.create(write_up=made, **wrong)
