"""Is a visit booked for what is due, on a day that its windows allow or somebody answers for? Asked on March 2, 2026."""

import uuid

import pytest

from fleet import models
from fleet.care.actions import bookings, due
from fleet.refusals import Conflict, Refused
from tests import company, stops
from tests.company import day

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY


@pytest.fixture
def units():
    """Two heads and their outdoor unit: due on February 1, fine from January 2 to March 3, 2026; the drive is 40 minutes."""
    return stops.house(2)


@pytest.fixture
def jules():
    return company.person("technician", first_name="Jules", last_name="Ouellet")


def book(units, *, on_day: str = "2026-03-03", tasks=None, **named) -> models.Booking:
    chosen = [(units[0].pk, "coil"), (units[1].pk, "coil")] if tasks is None else tasks
    return bookings.book(units[0].system.site_id, chosen, day=day(on_day), **{"by": None, "on": TODAY} | named)


def test_a_booking_has_the_minutes_and_the_price_of_what_it_is_for(units, jules):
    made = book(units, technician=jules.pk, note="Ring first")
    # Setting up 20, two coils at 20, the drive 40; the second coil of the system at its further price.
    assert (made.minutes, str(made.price), made.state) == (100, "100.00", "booked")
    assert sorted(made.tasks.values_list("unit__serial", "task")) == [("SB-1", "coil"), ("SB-2", "coil")]
    assert (made.technician, made.note) == (jules, "Ring first")


@pytest.mark.parametrize(
    ("on_day", "field"),
    [
        pytest.param("2026-03-01", "day", id="yesterday"),
        pytest.param("2026-03-02", None, id="today"),
        pytest.param("2026-03-03", None, id="the last day of the window"),
        pytest.param("2026-03-04", "why", id="the day after it"),
        pytest.param("2026-03-07", "why", id="a Saturday"),
    ],
)
def test_a_day_outside_its_windows_wants_a_reason(units, on_day, field):
    if field is None:
        assert book(units, on_day=on_day).why == ""
        return
    with pytest.raises(Refused) as refused:
        book(units, on_day=on_day)
    assert list(refused.value.faults) == [field]
    assert models.Booking.objects.count() == 0
    if field == "why":
        assert book(units, on_day=on_day, why="The customer is away").why == "The customer is away"


def test_what_is_late_already_may_be_booked_for_any_working_day(units):
    later = day("2026-03-16")
    made = bookings.book(units[0].system.site_id, [(units[0].pk, "coil")], day=day("2026-03-27"), by=None, on=later)
    assert made.why == ""


@pytest.mark.parametrize(
    ("named", "field"),
    [
        pytest.param({"tasks": []}, "tasks", id="nothing"),
        pytest.param({"tasks": [(0, "coil")]}, "tasks", id="no such due"),
        pytest.param({"technician": 0}, "technician", id="nobody"),
    ],
)
def test_what_cannot_be_booked(units, named, field):
    with pytest.raises(Refused) as refused:
        book(units, **named)
    assert list(refused.value.faults) == [field]


def test_the_office_stays_at_its_desk(units):
    with pytest.raises(Refused):
        book(units, technician=company.person("office").pk)


def test_a_promised_visit_may_be_booked_with_nothing_due(units):
    assert book(units, tasks=[], promised=True).minutes == 60


def test_nothing_is_booked_twice_and_no_site_twice_a_day(units):
    book(units)
    with pytest.raises(Refused) as refused:
        book(units, tasks=[(units[0].pk, "drain")])
    assert list(refused.value.faults) == ["day"]
    with pytest.raises(Refused) as refused:
        book(units, on_day="2026-03-02")
    assert list(refused.value.faults) == ["tasks"]


def test_sent_twice_it_is_booked_once(units):
    key = uuid.uuid4()
    assert book(units, key=key) == book(units, key=key)
    assert models.Booking.objects.count() == 1


def test_done_meanwhile_it_is_due_no_longer(units):
    due.record(units[0].pk, "coil", day=TODAY, technician="Kim", by=None, on=TODAY)
    with pytest.raises(Refused) as refused:
        # It is due again in a year: outside what is fine.
        book(units)
    assert list(refused.value.faults) == ["why"]


def test_moving_within_the_windows_needs_no_reason_and_outside_them_does(units, jules):
    made = book(units)
    moved = bookings.change(made.pk, was=bookings.seen(made), day=TODAY, technician=jules.pk, by=jules, on=TODAY)
    assert (moved.on, moved.technician) == (TODAY, jules)
    with pytest.raises(Refused) as refused:
        bookings.change(
            made.pk, was=bookings.seen(moved), day=day("2026-03-04"), technician=jules.pk, by=jules, on=TODAY
        )
    assert list(refused.value.faults) == ["why"]
    moved = bookings.change(
        made.pk,
        was=bookings.seen(moved),
        day=day("2026-03-04"),
        technician=jules.pk,
        why="Asked to",
        by=jules,
        on=TODAY,
    )
    assert (moved.on, moved.why) == (day("2026-03-04"), "Asked to")
    told = models.Change.objects.filter(table="booking", object_id=made.pk, field="on")
    assert list(told.order_by("pk").values_list("before", "after")) == [
        ("", "2026-03-03"), ("2026-03-03", "2026-03-02"), ("2026-03-02", "2026-03-04"),
    ]  # fmt: skip


def test_the_second_of_two_people_is_told(units, jules):
    made = book(units)
    seen = bookings.seen(made)
    bookings.change(made.pk, was=seen, day=TODAY, technician=None, by=jules, on=TODAY)
    with pytest.raises(Conflict, match="Jules Ouellet changed this visit in the meantime: it is now on March 2, 2026"):
        bookings.change(made.pk, was=seen, day=day("2026-03-03"), technician=jules.pk, by=None, on=TODAY)
    with pytest.raises(Conflict):
        bookings.cancel(made.pk, was=seen, why="Rang", by=None, on=TODAY)


def test_calling_off_says_why_and_frees_what_it_was_for(units):
    made = book(units)
    with pytest.raises(Refused):
        bookings.cancel(made.pk, was=bookings.seen(made), why=" ", by=None, on=TODAY)
    bookings.cancel(made.pk, was=bookings.seen(made), why="Customer rang", by=None, on=TODAY)
    again = book(units)
    assert again.state == "booked"
    with pytest.raises(Conflict, match="canceled"):
        bookings.cancel(made.pk, was=bookings.seen(made), why="Twice", by=None, on=TODAY)
