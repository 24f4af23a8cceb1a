"""Agreements and what the house settles: each act with its edges, refused where it cannot be, logged, nobody's change lost."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet import models
from fleet.business.actions import agreements, house
from fleet.derived import recheck
from fleet.refusals import Refused
from tests import rows

pytestmark = pytest.mark.django_db

TODAY = dt.date(2026, 11, 24)
TOLD = {
    "reference": "A-1", "start_on": dt.date(2026, 3, 1), "months": 12, "visits_per_year": 2, "first_head": Decimal(120),
    "further_head": Decimal(80), "discount_percent": Decimal(0), "billing": "upfront", "renews": "by asking",
    "rise_percent": Decimal(0), "notes": "",
}  # fmt: skip
HOW = {"by": None, "on": TODAY}


@pytest.fixture
def site():
    return rows.site()


@pytest.fixture
def made(site):
    return agreements.make(site.pk, facts=TOLD, **HOW)


def again(row):
    return models.Agreement.objects.get(pk=row.pk)


def changes(table="agreement"):
    return list(models.Change.objects.filter(table=table).order_by("pk").values_list("field", "before", "after"))


def test_one_is_made_and_that_is_logged(made, site):
    assert (made.site, made.reference, made.terms_agreed) == (site, "A-1", 1)
    assert changes() == [("start_on", "", "2026-03-01")]
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"months": 0}, ""),
        ({"visits_per_year": 0}, ""),
        ({"first_head": Decimal(-1)}, ""),
        ({"discount_percent": Decimal("100.01")}, ""),
        ({"billing": "weekly"}, "billing"),
        ({"renews": "perhaps"}, "renews"),
        ({"reference": "A-1"}, ""),
    ],
)
def test_what_cannot_be_agreed_is_refused(made, site, told, field):
    with pytest.raises(Refused) as refused:
        agreements.make(site.pk, facts=TOLD | {"reference": "A-2"} | told, **HOW)
    assert field in refused.value.faults
    assert models.Agreement.objects.count() == 1


def test_two_without_a_reference_cannot_begin_on_one_day(made, site):
    agreements.make(site.pk, facts=TOLD | {"reference": ""}, **HOW)
    with pytest.raises(Refused, match="Give this one a reference"):
        agreements.make(site.pk, facts=TOLD | {"reference": ""}, **HOW)


def test_what_was_agreed_is_changed_and_logged(made):
    assert agreements.change(made.pk, was=TOLD, facts=TOLD | {"first_head": Decimal("130.00")}, **HOW) is True
    assert again(made).first_head == Decimal(130)
    assert changes()[1:] == [("first_head", "120.00", "130.00")]
    assert agreements.change(made.pk, was=TOLD, facts=TOLD, **HOW) is False


def test_what_somebody_else_changed_meanwhile_is_told_and_not_lost(made):
    agreements.change(made.pk, was=TOLD, facts=TOLD | {"months": 24}, **HOW)
    with pytest.raises(Refused) as refused:
        agreements.change(made.pk, was=TOLD, facts=TOLD | {"months": 36}, **HOW)
    assert refused.value.faults == {"months": "Somebody changed this meanwhile; it is now 24."}
    # Another field, and the same wish, stand in nobody's way.
    assert agreements.change(made.pk, was=TOLD, facts=TOLD | {"months": 24, "notes": "Rings twice"}, **HOW)
    assert (again(made).months, again(made).notes) == (24, "Rings twice")


def test_a_further_term_is_agreed_once_however_often_it_is_asked(made):
    assert agreements.renew(made.pk, seen=1, **HOW).terms_agreed == 2
    with pytest.raises(Refused, match="renewed it meanwhile"):
        agreements.renew(made.pk, seen=1, **HOW)
    assert again(made).terms_agreed == 2


def test_terms_that_began_by_themselves_are_agreed_already(site):
    row = agreements.make(
        site.pk, facts=TOLD | {"renews": "by itself", "start_on": dt.date(2023, 11, 24)}, **HOW
    )  # the fourth began today
    assert agreements.renew(row.pk, seen=4, **HOW).terms_agreed == 5


def test_a_renewal_is_taken_back_until_its_term_begins(made):
    agreements.renew(made.pk, seen=1, **HOW)  # its second term begins on March 1, 2027
    with pytest.raises(Refused, match="has begun"):
        agreements.unrenew(made.pk, seen=2, by=None, on=dt.date(2027, 3, 1))
    agreements.unrenew(made.pk, seen=2, by=None, on=dt.date(2027, 2, 28))
    assert again(made).terms_agreed == 1
    with pytest.raises(Refused):
        agreements.unrenew(made.pk, seen=1, **HOW)


def test_one_that_was_not_to_renew_is_not_renewed(site):
    row = agreements.make(site.pk, facts=TOLD | {"renews": "no"}, **HOW)
    with pytest.raises(Refused, match="does not renew"):
        agreements.renew(row.pk, seen=1, **HOW)


def test_it_ends_with_a_day_and_a_reason_and_may_be_taken_up_again(made):
    for day, why, field in ((dt.date(2026, 2, 28), "Moved", "day"), (TODAY, "  ", "why")):
        with pytest.raises(Refused) as refused:
            agreements.end(made.pk, day=day, why=why, **HOW)
        assert field in refused.value.faults
    agreements.end(made.pk, day=dt.date(2026, 3, 1), why=" Moved away ", **HOW)
    assert (again(made).ended_on, again(made).ended_why) == (dt.date(2026, 3, 1), "Moved away")
    with pytest.raises(Refused, match="already ended"):
        agreements.end(made.pk, day=TODAY, why="Again", **HOW)
    with pytest.raises(Refused, match="Resume it first"):
        agreements.renew(made.pk, seen=1, **HOW)
    agreements.resume(made.pk, **HOW)
    assert (again(made).ended_on, again(made).ended_why) == (None, "")
    with pytest.raises(Refused):
        agreements.resume(made.pk, **HOW)


# ------------------------------------------------------------------------------------------------------------ the house

WAS = {
    "hourly_rate": Decimal("0.00"), "weekdays": "01234", "hours_a_day": Decimal(6), "drive_price": Decimal("0.00"),
    "renewal_percent": Decimal(80), "record_complete_from": None,
}  # fmt: skip


def test_the_house_is_settled_and_what_changed_is_logged():
    told = WAS | {"weekdays": "0123", "hours_a_day": Decimal("7.5"), "record_complete_from": TODAY}
    assert house.settle(was=WAS, facts=told, **HOW) is True
    row = models.House.objects.get()
    assert (row.weekdays, row.hours_a_day, row.record_complete_from) == ("0123", Decimal("7.5"), TODAY)
    assert {field for field, _, _ in changes("house")} == {"weekdays", "hours_a_day", "record_complete_from"}
    assert house.settle(was=told, facts=told, **HOW) is False


@pytest.mark.parametrize(
    "told",
    [
        {"weekdays": ""},
        {"hours_a_day": Decimal("-0.01")},
        {"renewal_percent": Decimal("100.01")},
        {"record_complete_from": dt.date(2026, 11, 25)},
    ],
)
def test_what_no_house_can_be_is_refused(told):
    with pytest.raises(Refused):
        house.settle(was=WAS, facts=WAS | told, **HOW)
    assert models.Change.objects.count() == 0


def test_a_setting_that_somebody_else_changed_meanwhile_is_told():
    house.settle(was=WAS, facts=WAS | {"renewal_percent": Decimal(70)}, **HOW)
    with pytest.raises(Refused) as refused:
        house.settle(was=WAS, facts=WAS | {"renewal_percent": Decimal(90)}, **HOW)
    assert refused.value.faults == {"renewal_percent": "Somebody changed this meanwhile; it is now 70.00."}


def test_our_rate_moves_claims_that_reckon_with_it():
    """Whatever hangs on it is worked out again in the same transaction."""
    house.settle(was=WAS, facts=WAS | {"hourly_rate": Decimal("120.00")}, **HOW)
    assert list(recheck.differences(on=TODAY)) == []


def test_days_are_closed_once_and_worked_after_all():
    christmas = {dt.date(2026, 12, 24): "Holidays", dt.date(2026, 12, 25): ""}
    assert house.close(days=christmas, **HOW) == 2
    assert house.close(days=christmas, **HOW) == 0
    first = models.ClosedDay.objects.first()
    assert house.reopen(first.pk, **HOW) == dt.date(2026, 12, 24)
    assert house.reopen(first.pk, **HOW) is None
    assert models.ClosedDay.objects.count() == 1


def test_hours_of_months_are_entered_changed_and_emptied():
    january, february = dt.date(2027, 1, 1), dt.date(2027, 2, 1)
    assert house.month_hours(was={}, facts={january: Decimal(80), february: None}, **HOW) == 1
    assert house.month_hours(was={january: Decimal(80)}, facts={january: Decimal("72.5")}, **HOW) == 1
    assert models.MonthHours.objects.get().hours == Decimal("72.5")
    with pytest.raises(Refused) as refused:
        house.month_hours(was={january: Decimal(80)}, facts={january: Decimal(60)}, **HOW)
    assert refused.value.faults == {"2027-01": "Somebody changed this meanwhile; it is now 72.50."}
    assert house.month_hours(was={january: Decimal("72.5")}, facts={january: None}, **HOW) == 1
    assert models.MonthHours.objects.count() == 0
    assert changes("monthhours") == [("hours", "", "80"), ("hours", "80.00", "72.5"), ("hours", "72.50", "")]
