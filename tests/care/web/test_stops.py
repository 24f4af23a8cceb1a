"""Today's stops: in what order, how to get there, what for, what to take along, and when all of it is done. On March 2, 2026."""

import datetime as dt
import uuid

import pytest

from fleet import models
from fleet.calls.actions import calls
from fleet.care.queries import stops as queries
from tests import company, stops
from tests.company import day
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY


@pytest.fixture
def units():
    return stops.house(2)


@pytest.fixture
def phone(units):
    return company.as_role("technician")


def book(site: models.Site, on: dt.date = TODAY, **named) -> models.Booking:
    jules = models.User.objects.get(username="technician")
    return models.Booking.objects.create(site=site, on=on, technician=jules, minutes=60, price=0, **named)


def call(unit: models.Unit, **named) -> models.Call:
    facts = {"site": unit.system.site, "unit": unit, "came_on": TODAY, "caller": "Odile Marsh", "trouble": "noise"}
    return calls.note(facts=facts | named, key=uuid.uuid4(), by=None, on=TODAY)


def page(phone) -> str:
    return words(phone.get("/todays-stops"))


def test_stops_stand_by_the_time_at_which_we_arrive_and_those_without_one_last(phone, units):
    marsh = units[0].system.site.customer
    for name, time in (("Barn", None), ("Annex", dt.time(13)), ("Cabin", dt.time(8, 30))):
        book(models.Site.objects.create(customer=marsh, name=name, city="Aldport"), arrive_from=time)
    text = page(phone)
    assert sorted(["Barn", "Annex", "Cabin"], key=lambda name: text.index(f"Odile Marsh, {name}")) == [
        "Cabin",
        "Annex",
        "Barn",
    ]
    assert "from 8:30 AM" in text


def test_the_address_goes_to_the_map_program_of_the_phone(phone, units):
    site = units[0].system.site
    book(site)
    models.Site.objects.update(street="7 Tar & Feather Lane #2", city="Aldport", region="US-ME", postcode="04791")
    models.Customer.objects.update(phone="555-0100")
    text = page(phone)
    assert 'href="geo:0,0?q=7%20Tar%20%26%20Feather%20Lane%20%232%2C%20Aldport%2C%20ME%2004791"' in text
    assert '<a class="button second" href="tel:555-0100">' in text
    models.Site.objects.update(street="", city="", region="", postcode="")
    assert "geo:" not in page(phone)
    assert "no address on file" in page(phone)


def test_each_task_names_the_heads_that_it_is_for(phone, units):
    book(units[0].system.site)
    text = page(phone)
    assert "<li>Clean the coil: Room 1, Room 2</li>" in text
    assert "<li>Check the volts: outdoor unit OD-1</li>" in text


def test_open_calls_stand_first_with_their_unit(phone, units):
    book(units[0].system.site)
    noise, water = call(units[1], said="It  rattles"), call(units[0], trouble="water")
    over = call(units[0], trouble="no heat")
    calls.step(over.pk, calls.State.CLOSED, why="It was the breaker", by=None, on=TODAY)
    text = page(phone)
    assert f'<a href="/calls/{noise.pk}">Room 2: noise: It rattles (Odile Marsh)</a>' in text
    assert text.index("Room 1: water") < text.index("Room 2: noise") < text.index("7 Tar Lane")
    assert f"/calls/{over.pk}" not in text
    assert water.pk != noise.pk


def test_parts_that_arrived_for_an_open_call_are_brought(phone, units):
    book(units[0].system.site)
    waiting = call(units[1])
    for what, arrived in (("Fan motor", day("2026-02-27")), ("Fan blade", None)):
        calls.add_part(waiting.pk, facts={"what": what, "arrived_on": arrived}, by=None, on=TODAY)
    text = page(phone)
    assert "<strong>Bring:</strong> Fan motor, arrived February 27, 2026." in text
    assert "Fan blade" not in text
    calls.step(waiting.pk, calls.State.CLOSED, why="They moved", by=None, on=TODAY)
    assert "Bring" not in page(phone)


@pytest.mark.parametrize(
    ("on", "brings"),
    [("2026-02-21", False), ("2026-02-22", True), ("2026-03-15", True), ("2026-03-16", True), (None, False)],
    ids=["before its window", "from its first day", "to its last", "late", "no start known"],
)
def test_filters_that_are_due_are_brought_by_their_size(on, brings, units):
    """That the customer is to wash it makes no difference; of a head whose size is not on file nothing is said."""
    wash = models.DueRow.objects.filter(task="wash")
    wash.update(due_on=day("2026-03-01"), opens_on=day("2026-02-22"), late_after=day("2026-03-15"))
    if on is None:
        wash.delete()
    models.Unit.objects.filter(pk=units[1].pk).update(filter_size="16 x 25 x 1")
    stop = queries.at_site(units[0].system.site_id, on=day(on or "2026-03-15"))
    assert stop is not None
    assert stop.bring == (("filter 16 x 25 x 1 for Room 2",) if brings else ())


def test_filters_of_one_size_are_counted(units):
    models.DueRow.objects.filter(task="wash").update(opens_on=day("2026-02-22"))
    models.Unit.objects.exclude(pk=units[2].pk).update(filter_size="16 x 25 x 1")
    stop = queries.at_site(units[0].system.site_id, on=TODAY)
    assert stop is not None
    assert stop.bring == ("2 filters 16 x 25 x 1 for Room 1, Room 2",)


def test_what_happened_last_time_is_in_sight(phone, units):
    book(units[0].system.site)
    by = models.User.objects.get(username="technician")
    models.WriteUp.objects.create(
        key=uuid.uuid4(),
        site=units[0].system.site,
        on=day("2025-02-20"),
        technician="Ike",
        notes="The dog is kind",
        by=by,
    )
    text = page(phone)
    last = text.index("Last write-up: February 20, 2025, Ike. “The dog is kind”")
    assert text.index("Clean the coil") < last < text.index("3 units, and last time")


@pytest.mark.parametrize(
    ("visits", "says"),
    [
        ({}, "No stop is booked for today."),
        ({0: "booked", 1: "booked"}, "1 stop today, 1 h including the drive."),
        ({0: "made"}, "Every stop of today is written up."),
        ({0: "called off"}, "No stop is booked for today."),
        ({1: "made"}, "No stop is booked for today."),
        ({-1: "made"}, "No stop is booked for today."),
        ({0: "made", 1: "booked"}, "Every stop of today is written up."),
        ({0: "made", -1: "booked"}, "Every stop of today is written up. 1 past visit is not written up yet."),
        ({0: "made", -1: "booked", -2: "booked"}, "up. 2 past visits are not written up yet."),
    ],
)
def test_the_day_is_said_in_words(visits, says, phone, units):
    for number, state in visits.items():
        book(units[0].system.site, TODAY + dt.timedelta(days=number), state=state)
    assert says in page(phone)
    assert phone.get("/phone/stops").json()["sentence"].endswith(says)


def test_what_is_left_of_a_day_that_began(phone, units):
    marsh = units[0].system.site.customer
    book(units[0].system.site, state="made")
    book(models.Site.objects.create(customer=marsh, name="Barn"))
    assert "1 stop left today, 1 h including the drive." in page(phone)


def test_a_stop_of_another_technician_says_nothing_of_ones_own_day(phone, units):
    kim = models.User.objects.create_user("kim", password="quiet-ledger-9", role="technician")
    book(units[0].system.site, state="made")
    models.Booking.objects.update(technician=kim)
    assert "No stop is booked for today." in page(phone)
    assert "Every stop of today is written up." in words(company.as_role("office").get("/todays-stops"))
