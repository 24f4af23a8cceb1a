"""The customer's share of a failure: billed, paid in parts, undone, in the money of its period, and kept by a backup."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet import models
from fleet.claims.actions import failures, shares
from fleet.claims.queries import money as queries
from fleet.derived import recheck
from fleet.office.facts import archive
from tests import claimed, company
from tests.claimed import refused
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
PERIOD = queries.Period(company.day("2026-01-01"), TODAY)


@pytest.fixture
def failure() -> models.Failure:
    """A sensor of February 1, 2026 that no payer covers; it cost 200.00 for the part."""
    company.on_file(company.OURS)
    unit = company.unit("SB-1002", started_on="2015-03-10", installed_on="2015-03-09")
    company.worked_out()
    return claimed.failure(unit, "2026-02-01", labor_minutes=None)


@pytest.fixture
def office():
    return company.as_role("office")


def billed(failure, amount="150.00", on="2026-02-05", number="1044"):
    return shares.bill(failure.pk, billed_on=company.day(on), amount=Decimal(amount), number=number, by=None, on=TODAY)


def paid(bill, amount, on="2026-02-20"):
    return shares.pay(bill.pk, paid_on=company.day(on), amount=Decimal(amount), by=None, on=TODAY)


def figures() -> dict[str, str]:
    found = queries.page(PERIOD, on=TODAY)
    assert [str(one) for one in recheck.differences(on=TODAY)] == []
    return {line.figure: str(line.amount) for line in found.figures if line.amount}


def test_a_bill_and_its_payments_take_their_place_in_the_cost(failure):
    assert figures() == {"ours": "200.00"}
    bill = billed(failure)
    assert figures() == {"customer owes": "150.00", "ours": "50.00"}
    paid(bill, "100.00")
    assert figures() == {"customer paid": "100.00", "customer owes": "50.00", "ours": "50.00"}
    paid(bill, "50.00", on="2026-03-02")
    assert figures() == {"customer paid": "150.00", "ours": "50.00"}


def test_by_the_day_the_money_moved(failure, office):
    bill = billed(failure)
    paid(bill, "100.00", on="2026-02-20")
    paid(bill, "50.00", on="2026-03-02")
    rows = [[cell.value for cell in row.cells] for row in office.get("/money/by-day").context["listing"].rows]
    assert [(row[0], row[1], row[2], row[3], row[4]) for row in rows] == [
        (company.day("2026-02-20"), "customer", "Odile Marsh", "1044", Decimal("100.00")),
        (company.day("2026-03-02"), "customer", "Odile Marsh", "1044", Decimal("50.00")),
    ]
    assert "$150.00 came in:" in words(office.get("/money/by-day"))
    assert len(office.get("/money/by-day?since=2026-02-21").context["listing"].rows) == 1
    assert len(office.get("/money/by-day?until=2026-02-19").context["listing"].rows) == 0


@pytest.mark.parametrize(
    ("on", "amount", "said"),
    [
        ("2026-01-31", "10.00", {"billed_on": "January 31, 2026 is before the failure on February 1, 2026."}),
        ("2026-02-01", "10.00", None),
        ("2026-03-02", "10.00", None),
        ("2026-03-03", "10.00", {"billed_on": "March 3, 2026 is later than today."}),
        ("2026-02-05", "0", {"amount": "Enter an amount above zero, in dollars and cents, such as 320.00."}),
        ("2026-02-05", "0.001", {"amount": "Enter an amount above zero, in dollars and cents, such as 320.00."}),
    ],
)
def test_which_bill_may_be_recorded(failure, on, amount, said):
    if said is None:
        assert billed(failure, amount, on).amount == Decimal(amount)
    else:
        assert refused(billed, failure, amount, on) == said


@pytest.mark.parametrize(
    ("on", "amount", "said"),
    [
        ("2026-02-04", "10.00", {"paid_on": "February 4, 2026 is before the bill of February 5, 2026."}),
        ("2026-02-05", "110.00", None),
        ("2026-02-05", "110.01", {"amount": "$110.01 is more than the $110.00 still owed on this bill."}),
        ("2026-03-03", "10.00", {"paid_on": "March 3, 2026 is later than today."}),
        ("2026-02-20", "-1.00", {"amount": "Enter an amount above zero, in dollars and cents, such as 320.00."}),
    ],
)
def test_which_payment_may_be_recorded(failure, on, amount, said):
    bill = billed(failure)
    paid(bill, "40.00")
    if said is None:
        assert paid(bill, amount, on).amount == Decimal(amount)
    else:
        assert refused(paid, bill, amount, on) == said


def test_what_was_entered_by_mistake_is_undone_the_payment_first_and_stays_in_the_log(failure):
    bill = billed(failure)
    payment = paid(bill, "40.00")
    undo = {"by": None, "on": TODAY}
    assert refused(shares.undo_bill, bill.pk, why="twice", **undo) == {
        "why": "Something was paid of this bill: undo the payments first."
    }
    assert refused(shares.undo_payment, payment.pk, why=" ", **undo) == {"why": "Say why you are undoing this payment."}
    shares.undo_payment(payment.pk, why="another house", **undo)
    shares.undo_bill(bill.pk, why="twice", **undo)
    assert figures() == {"ours": "200.00"}
    told = models.Change.objects.filter(table="failure", field__in=("bill", "payment")).order_by("pk")
    assert list(told.values_list("field", "before", "after", "why")) == [
        ("bill", "", "number 1044, $150.00 on February 5, 2026", ""),
        ("payment", "", "$40.00 on February 20, 2026", ""),
        ("payment", "$40.00 on February 20, 2026", "", "another house"),
        ("bill", "number 1044, $150.00 on February 5, 2026", "", "twice"),
    ]


def test_a_failure_that_was_billed_is_not_voided(failure):
    bill = billed(failure)
    void = {"reason": "never was", "by": None, "on": TODAY}
    assert refused(failures.void, failure.pk, **void) == {"": "The customer was billed for it: undo that bill first."}
    shares.undo_bill(bill.pk, why="never was", by=None, on=TODAY)
    failures.void(failure.pk, **void)
    assert refused(billed, failure) == {"billed_on": "This failure was voided: never was."}


def test_the_office_records_them_on_the_page_of_the_failure(failure, office):
    address = f"/failures/{failure.pk}"
    wrong = office.post(f"{address}/bill", {"billed_on": "2026-01-31", "number": "1044", "amount": "150"})
    assert wrong.status_code == 422
    assert "is before the failure on" in words(wrong)
    assert 'value="1044"' in wrong.content.decode()
    assert (
        office.post(f"{address}/bill", {"billed_on": "2026-02-05", "number": "1044", "amount": "150"}).status_code
        == 302
    )
    bill = models.FailureBill.objects.get()
    assert bill.by.role == "office"
    assert "Invoice 1044: $150.00 billed on February 5, 2026; <strong>$150.00 still owed</strong>" in words(
        office.get(address)
    )
    assert (
        office.post(f"/failure-bills/{bill.pk}/pay", {"paid_on": "2026-02-20", "amount": "150.01"}).status_code == 422
    )
    assert (
        office.post(f"/failure-bills/{bill.pk}/pay", {"paid_on": "2026-02-20", "amount": "150.00"}).status_code == 302
    )
    assert "billed on February 5, 2026; paid" in words(office.get(address))
    payment = models.FailurePayment.objects.get()
    assert office.post(f"/failure-bills/{bill.pk}/undo", {"why": "twice"}).status_code == 422
    assert office.post(f"/failure-payments/{payment.pk}/undo", {"why": "twice"}).status_code == 302
    assert office.post(f"/failure-bills/{bill.pk}/undo", {"why": "twice"}).status_code == 302
    assert not models.FailureBill.objects.exists()
    assert office.post(f"/failure-bills/{bill.pk}/undo", {"why": "twice"}).status_code == 404


def test_a_technician_sees_the_share_and_records_none(failure):
    bill = billed(failure)
    technician = company.as_role("technician")
    page = words(technician.get(f"/failures/{failure.pk}"))
    assert "$150.00 still owed" in page
    assert "Record a bill" not in page
    for address in (f"/failures/{failure.pk}/bill", f"/failure-bills/{bill.pk}/pay", f"/failure-bills/{bill.pk}/undo"):
        assert technician.post(address, {}).status_code == 403


def test_a_backup_has_them(failure):
    paid(billed(failure), "40.00")
    for table, column, amount in ((models.FailureBill, "amount", "150.00"), (models.FailurePayment, "amount", "40.00")):
        assert table in archive.tables(models_of())
        head, row = list(archive.rows_out(table))
        assert column in head.decode()
        assert amount in row.decode()


def models_of():
    from django.apps import apps

    return apps


def test_they_move_with_their_failure_to_another_customer(failure):
    """A bill hangs on the failure, the failure on its unit: whatever customer the house has by now is the one who owes."""
    billed(failure)
    other = models.Customer.objects.create(name="Cato Wren")
    models.Site.objects.filter(pk=failure.unit.system.site_id).update(customer=other)
    bill = models.FailureBill.objects.select_related("failure__unit__system__site__customer").get()
    assert bill.failure.unit.system.site.customer == other
    assert figures() == {"customer owes": "150.00", "ours": "50.00"}
    assert dt.date(2026, 2, 5) == bill.billed_on
