"""A prepared query gives what the query itself gives, whatever the values; and refuses to bake a value into its SQL."""

import datetime as dt
import threading

import pytest
from django.db import connection
from django.db.models import Count, Q

from fleet import models
from fleet.models.prepared import counted, prepared

pytestmark = pytest.mark.django_db

SPRING, SUMMER = dt.date(2024, 3, 1), dt.date(2024, 6, 1)


@pytest.fixture
def sites():
    customer = models.Customer.objects.create(name="Odile Marsh", phone="1")
    found = [models.Site.objects.create(customer=customer, name=f"Site {number}") for number in range(1, 8)]
    for site, day in zip(found, (SPRING, SPRING, SUMMER), strict=False):
        models.Sale.objects.create(site=site, sold_on=day)
    return found


def in_places(keys):
    return models.Site.objects.filter(pk__in=keys).select_related("customer").order_by("-pk")


def sold_from(day, name):
    found = models.Sale.objects.filter(sold_on__gte=day, site__name=name)
    return found.order_by("pk").values_list("sold_on", "site__name", named=True)


def sold_on(day, *, counted):
    found = models.Sale.objects.filter(Q(sold_on=day) | Q(sold_on__lt=day)).order_by()
    return found.values("sold_on").annotate(n=Count("pk")) if counted else found.values_list("sold_on", flat=True)


def without_drive(minutes):
    found = models.Site.objects.order_by("pk").values_list("name", flat=True)
    return found.filter(drive_minutes=None) if minutes is None else found.filter(drive_minutes=minutes)


@pytest.mark.parametrize("number", [0, 1, 2, 3, 4, 5, 7])
def test_keys_of_any_number_are_looked_in(number, sites):
    keys = [site.pk for site in sites[:number]]
    ask = prepared(in_places)
    for _ in range(2):
        found = ask(keys)
        assert found == list(in_places(keys))
        assert [site.customer.name for site in found] == ["Odile Marsh"] * number


def test_the_same_plan_answers_for_other_values(sites):
    ask = prepared(sold_from)
    for day, name, expected in (
        (SPRING, "Site 1", [(SPRING, "Site 1")]),
        (dt.date(2024, 3, 2), "Site 1", []),
        (SUMMER, "Site 3", [(SUMMER, "Site 3")]),
        (SPRING, "ć' OR 1=1 --", []),
    ):
        assert [tuple(row) for row in ask(day, name)] == expected
    assert ask(SPRING, "Site 2")[0].site__name == "Site 2"


@pytest.mark.parametrize("number", [0, 1, 3, 7])
def test_keys_of_any_number_are_counted(number, sites):
    ask = counted(in_places)
    assert [ask([site.pk for site in sites[:number]]) for _ in range(2)] == [number, number]


def test_more_keys_than_a_plan_is_kept_for_are_looked_in_and_counted(sites):
    keys = [site.pk for site in sites] + list(range(1_000_000, 1_000_600))
    assert counted(in_places)(keys) == 7
    assert prepared(in_places)(keys) == list(in_places(keys))


def test_what_is_told_by_name_makes_another_query(sites):
    ask = prepared(sold_on)
    assert sorted(ask(SUMMER, counted=False)) == [SPRING, SPRING, SUMMER]
    assert sorted((row["sold_on"], row["n"]) for row in ask(SUMMER, counted=True)) == [(SPRING, 2), (SUMMER, 1)]
    assert ask(SPRING, counted=True) == [{"sold_on": SPRING, "n": 2}]


def test_nothing_is_a_value_of_its_own(sites):
    models.Site.objects.filter(name="Site 4").update(drive_minutes=30)
    ask = prepared(without_drive)
    assert ask(30) == ["Site 4"]
    assert len(ask(None)) == 6
    assert ask(31) == []


def test_a_value_that_is_changed_or_left_out_is_refused(sites):
    with pytest.raises(TypeError, match="hand each value"):
        prepared(lambda day: models.Sale.objects.filter(sold_on__lt=day + dt.timedelta(days=7)))(SPRING)
    with pytest.raises(TypeError, match="hand each value"):
        prepared(lambda day: models.Sale.objects.filter(Q(sold_on=day) | Q(sold_on=day + dt.timedelta(days=1))))(SPRING)
    with pytest.raises(TypeError, match="hand each value"):
        prepared(lambda text: models.Site.objects.filter(name__icontains=text))("Site")
    with pytest.raises(TypeError, match="hand each value"):
        prepared(lambda pk: models.Site.objects.all())(1)
    so = True
    with pytest.raises(TypeError, match="shape"):
        prepared(lambda told: models.Site.objects.filter(new_construction=told))(so)


@pytest.mark.django_db(transaction=True)
def test_each_thread_asks_over_its_own_connection(sites):
    ask = prepared(in_places)
    key = sites[0].pk
    assert [site.pk for site in ask([key])] == [key]
    found = []

    def other():
        try:
            found.extend(ask([key]))
        finally:
            connection.close()

    thread = threading.Thread(target=other)
    thread.start()
    thread.join()
    assert [site.pk for site in found] == [key]
