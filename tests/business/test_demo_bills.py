"""The demo company's money of agreements: most of it billed and paid, one bill unpaid, one end to settle, two promises."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet import clock, models
from fleet.business.facts.bills import with_paid
from fleet.business.queries import own_promises, to_decide
from fleet.derived import recheck

TODAY = dt.date(2026, 11, 24)


@pytest.mark.django_db
def test_what_the_demo_company_has_billed_and_promised(monkeypatch, demo_company):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    demo_company.load()
    open_bills = [row for row in with_paid(models.AgreementBill.objects.all()) if (row.paid or 0) < row.amount]
    assert models.AgreementBill.objects.count() > 20
    assert any(row.agreement.site.customer.name == "Murdo Kerrigan" for row in open_bills)
    assert all(row.billed_on > TODAY - dt.timedelta(days=32) for row in open_bills)
    counts = {one.what for one in to_decide.waiting(on=TODAY)}
    assert {"refund", "over"} <= counts
    reserve = own_promises.reserve(on=TODAY)
    assert sum(one.cost for one in reserve.months) == Decimal("5250.00")
    assert list(recheck.differences(on=TODAY)) == []
