"""Switching somebody off who has booked visits: they go to somebody else, or back to the plan; nothing is left with nobody."""

import datetime as dt

import pytest
import time_machine

from fleet import models
from fleet.care.actions import bookings
from tests import company
from tests.pages import read_out

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=False):
        yield


@pytest.fixture
def jules() -> models.User:
    return company.person("technician", first_name="Jules", last_name="Ouellet")


@pytest.fixture
def booked(jules) -> list[models.Booking]:
    """Two visits of hers to come, and one that was called off."""
    made = [
        models.Booking.objects.create(
            site=company.unit(f"NW-{number}", customer=f"Marsh {number}").system.site,
            on=TODAY + dt.timedelta(days=number),
            technician=jules,
            minutes=60,
            price=90,
            note="Ring first",
        )
        for number in (1, 2, 3)
    ]
    bookings.cancel(made[2].pk, was=bookings.seen(made[2]), why="sold", by=None, on=TODAY)
    return made


def test_it_is_asked_who_takes_them_and_nothing_happens_before(jules, booked):
    owner = company.as_role("owner")
    assert "Jules Ouellet has 2 booked visits." in read_out(owner.get(f"/people/{jules.pk}"))
    for sent in ({}, {"visits": str(jules.pk)}, {"visits": "987"}):
        assert owner.post(f"/people/{jules.pk}/off", sent).status_code == 422
    jules.refresh_from_db()
    assert jules.is_active
    assert models.Booking.objects.filter(technician=jules, state="booked").count() == 2


def test_another_takes_them_on_their_days(jules, booked):
    other = models.User.objects.create_user("sam", role="technician", first_name="Sam", last_name="Vail")
    company.as_role("owner").post(f"/people/{jules.pk}/off", {"visits": str(other.pk)})
    jules.refresh_from_db()
    assert not jules.is_active
    now = {one.pk: one for one in models.Booking.objects.all()}
    assert [now[one.pk].technician for one in booked] == [other, other, jules]
    assert [(now[one.pk].on, now[one.pk].note) for one in booked] == [(one.on, "Ring first") for one in booked]
    changes = models.Change.objects.filter(table="booking", field="technician", object_id=booked[0].pk)
    assert [(one.before, one.after, str(one.by)) for one in changes] == [(str(jules.pk), str(other.pk), "Wynn Owner")]


def test_back_to_the_plan_they_are_canceled_and_say_why(jules, booked):
    company.as_role("owner").post(f"/people/{jules.pk}/off", {"visits": "plan"})
    assert not models.Booking.objects.filter(state="booked").exists()
    assert [one.why for one in models.Booking.objects.order_by("on")][:2] == ["Jules Ouellet no longer works here"] * 2


def test_nobody_who_cannot_go_out_may_take_them(jules, booked):
    desk = models.User.objects.create_user("ann", role="office")
    refused = company.as_role("owner").post(f"/people/{jules.pk}/off", {"visits": str(desk.pk)})
    assert refused.status_code == 422
    assert models.Booking.objects.filter(technician=jules, state="booked").count() == 2


def test_without_visits_nothing_is_asked(jules):
    owner = company.as_role("owner")
    assert "Who takes their booked visits?" not in read_out(owner.get(f"/people/{jules.pk}"))
    assert owner.post(f"/people/{jules.pk}/off").status_code == 302
