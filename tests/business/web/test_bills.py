"""Bills of agreements, payments, added heads and early ends, as the office does them. Asked on March 2, 2026.

Two wall heads at one site; a first head is 120 a visit and a further one 80: a year of one visit, billed upfront, is 200.
"""

import csv
import datetime as dt
import io
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from fleet import models
from fleet.business.actions import agreements, bills
from fleet.business.facts import outlook
from fleet.business.queries import to_decide
from fleet.care.actions import care_sheets, due
from fleet.derived import recheck
from fleet.office.facts import archive
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import lives, merges
from tests import company, rows
from tests.caring import entry
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = company.TODAY
HOW = {"by": None, "on": TODAY}
SHEET = {
    "code": "ours-1",
    "setup_minutes": 30,
    "task": [entry("coil", title="Clean the coil", minutes=45, price="95.00", checked_on=dt.date(2026, 1, 1))],
}
AGREED = {
    "reference": "A-1", "start_on": dt.date(2025, 9, 1), "months": 12, "visits_per_year": 1, "first_head": Decimal(120),
    "further_head": Decimal(80), "discount_percent": Decimal(0), "billing": "upfront", "renews": "by itself",
    "rise_percent": Decimal(0), "notes": "",
}  # fmt: skip
YEAR = {"kind": "term", "first": dt.date(2025, 9, 1), "last": dt.date(2026, 8, 31)}


def day(text):
    return dt.date.fromisoformat(text)


@pytest.fixture
def site():
    first = company.unit("SB-1", room="Den", started_on="2024-05-01", installed_on="2024-05-01")
    company.unit("SB-2", room="Loft", started_on="2024-05-01", installed_on="2024-05-01")
    care_sheets.load_table(SHEET, on=TODAY)
    return first.system.site


@pytest.fixture
def made(site):
    return agreements.make(site.pk, facts=AGREED, **HOW)


@pytest.fixture(params=["office", "owner"])
def client(request):
    return company.as_role(request.param)


def sent(made, amount="200.00", billed_on="2025-09-01", **named):
    told = YEAR | {"amount": Decimal(amount), "billed_on": day(billed_on), "number": "17"} | named
    return bills.send(made.pk, **told, **HOW)


def paid(bill, amount="200.00", on="2025-09-20"):
    return bills.pay(bill.pk, paid_on=day(on), amount=Decimal(amount), note="Check 412", **HOW)


def shown(client, made):
    return [
        (str(one.first), str(one.amount), one.words)
        for one in client.get(f"/agreements/{made.pk}").context["page"].bills
    ]


# ------------------------------------------------------------------------------------------------------------------ bills


def test_a_planned_bill_is_recorded_paid_in_parts_and_stays(client, made):
    assert shown(client, made) == [("2025-09-01", "200.00", "planned"), ("2026-09-01", "200.00", "planned, if renewed")]
    address = f"/agreements/{made.pk}/bill?kind=term&first=2025-09-01"
    assert address.replace("&", "&amp;") in client.get(f"/agreements/{made.pk}").content.decode()
    assert "Planned at $200.00" in words(client.get(address))
    answer = client.post(address, {"billed_on": "2026-02-02", "number": "17", "amount": "200.00"})
    assert answer["Location"] == f"/agreements/{made.pk}"
    bill = models.AgreementBill.objects.get()
    assert (bill.first_on, bill.last_on, bill.amount) == (day("2025-09-01"), day("2026-08-31"), Decimal("200.00"))

    # Later prices change what is planned, never what was sent.
    agreements.change(made.pk, was=AGREED, facts=AGREED | {"first_head": Decimal(200)}, **HOW)
    assert shown(client, made) == [
        ("2025-09-01", "200.00", "billed February 2, 2026, no. 17; not paid yet"),
        ("2026-09-01", "280.00", "planned, if renewed"),
    ]
    page = f"/agreement-bills/{bill.pk}"
    assert client.post(page, {"paid_on": "2026-02-20", "amount": "50", "note": "Check 4"})["Location"] == page
    assert "$50.00 of $200.00 paid" in words(client.get(page))
    refused = client.post(page, {"paid_on": "2026-02-20", "amount": "150.01", "note": ""})
    assert refused.status_code == 422
    assert "no more than is still open, $150.00." in words(refused)
    assert client.post(page, {"paid_on": "2026-02-27", "amount": "150", "note": ""}).status_code == 302
    assert shown(client, made)[0][2] == "billed February 2, 2026, no. 17; paid"
    assert "Record payment" not in words(client.get(page))
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.parametrize(
    ("change", "field"),
    [
        pytest.param({"billed_on": "2026-03-03"}, "billed_on", id="tomorrow"),
        pytest.param({"amount": "0"}, "amount", id="of nothing"),
        pytest.param({"amount": "much"}, "amount", id="no amount"),
        pytest.param({"billed_on": ""}, "billed_on", id="no day"),
    ],
)
def test_a_bill_that_cannot_be_is_refused_and_what_was_typed_stays(client, made, change, field):
    address = f"/agreements/{made.pk}/bill?kind=term&first=2025-09-01"
    answer = client.post(address, {"billed_on": "2026-03-02", "number": "No. 9", "amount": "200.00"} | change)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert "No. 9" in answer.content.decode()
    assert not models.AgreementBill.objects.exists()


def test_one_bill_is_recorded_once(client, made):
    sent(made)
    with pytest.raises(Conflict, match="September 1, 2025 meanwhile"):
        sent(made)
    assert client.get(f"/agreements/{made.pk}/bill?kind=term&first=2025-09-01").status_code == 404
    assert models.AgreementBill.objects.count() == 1


@pytest.mark.parametrize(
    "query", ["", "kind=term", "kind=other&first=2025-09-01", "kind=term&first=2025-09-02", "first=x"]
)
def test_a_bill_that_is_not_planned_is_not_there(client, made, query):
    assert client.get(f"/agreements/{made.pk}/bill?{query}").status_code == 404


def test_a_bill_and_a_payment_are_undone(client, made):
    bill = sent(made)
    payment = paid(bill)
    refused = client.post(f"/agreement-bills/{bill.pk}/undo", follow=True)
    assert "Undo its payments first." in words(refused)
    assert client.post(f"/agreement-payments/{payment.pk}/undo")["Location"] == f"/agreement-bills/{bill.pk}"
    assert client.post(f"/agreement-bills/{bill.pk}/undo")["Location"] == f"/agreements/{made.pk}"
    assert shown(client, made)[0] == ("2025-09-01", "200.00", "planned")
    assert client.post(f"/agreement-bills/{bill.pk}/undo").status_code == 404
    assert client.post(f"/agreement-payments/{payment.pk}/undo").status_code == 404
    text = words(client.get(f"/agreements/{made.pk}"))
    assert "set bill to $200.00 no. 17, sent September 1, 2025, for September 1, 2025 to August 31, 2026" in text
    assert "changed payment from $200.00 on September 20, 2025 (Check 412) to blank" in text


def test_what_decides_the_days_of_a_bill_stays_once_one_was_sent(made):
    agreements.change(made.pk, was=AGREED, facts=AGREED | {"billing": "monthly"}, **HOW)
    agreements.change(made.pk, was=AGREED | {"billing": "monthly"}, facts=AGREED, **HOW)
    sent(made)
    for change in ({"start_on": day("2025-10-01")}, {"months": 24}, {"billing": "monthly"}):
        with pytest.raises(Refused, match="Bills were sent"):
            agreements.change(made.pk, was=AGREED, facts=AGREED | change, **HOW)
    assert agreements.change(made.pk, was=AGREED, facts=AGREED | {"discount_percent": Decimal(10)}, **HOW)


@pytest.mark.parametrize(
    ("table", "told"),
    [
        pytest.param(models.AgreementBill, {"amount": 0}, id="a bill of nothing"),
        pytest.param(models.AgreementBill, {"last_on": day("2025-08-31")}, id="it ends before it begins"),
        pytest.param(models.AgreementBill, {"kind": "other"}, id="of no kind"),
        pytest.param(models.BillPayment, {"amount": -1}, id="a payment of less than nothing"),
        pytest.param(models.AgreementRefund, {"way": "another"}, id="another amount without a reason"),
        pytest.param(models.AgreementRefund, {"way": "by luck"}, id="by no way"),
    ],
)
@pytest.mark.on_postgres
def test_what_the_tables_refuse(made, table, told):
    bill = {
        "agreement": made,
        "first_on": day("2025-09-01"),
        "last_on": day("2025-09-01"),
        "amount": 1,
        "billed_on": TODAY,
    }
    there = models.AgreementBill.objects.create(**bill | {"first_on": day("2025-01-01")})
    values = {
        models.AgreementBill: bill,
        models.BillPayment: {"bill": there, "paid_on": TODAY, "amount": 1},
        models.AgreementRefund: {"agreement": made, "way": "by days", "amount": 1, "decided_on": TODAY},
    }[table]
    with transaction.atomic():
        table.objects.create(**values).delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        table.objects.create(**values | told)


def test_the_bills_come_as_a_list_and_as_a_file(client, made):
    paid(sent(made), "50.00")
    listing = client.get("/agreements/bills").context["listing"]
    assert listing.count == 1
    for state, count in (("open", 1), ("paid", 0)):
        assert client.get("/agreements/bills", {"state": state}).context["listing"].count == count
    paid(models.AgreementBill.objects.get(), "150.00")
    for state, count in (("open", 0), ("paid", 1)):
        assert client.get("/agreements/bills", {"state": state}).context["listing"].count == count
    answer = client.get("/agreements/bills?as=csv")
    (row,) = csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode("utf-8-sig")))
    assert (row["number"], row["billed_on"], row["amount"], row["paid"], row["open"]) == (
        "17", "2025-09-01", "200.00", "200.00", "0.00",
    )  # fmt: skip


# ------------------------------------------------------------------------------------------------------------ added heads


@pytest.fixture
def third(made):
    """80 more a year; from February 1 to August 31, 2026, 212 of 365 days are left: 46.4657."""
    company.unit("SB-3", room="Attic", started_on="2026-02-01", installed_on="2026-02-01")
    return made


def test_an_added_head_is_billed_or_not(client, third):
    address = f"/agreements/{third.pk}"
    assert "1 head was added on February 1, 2026: $46.47 for the days through August 31, 2026." in words(
        client.get(address)
    )
    assert client.post(f"{address}/added-heads", {"on": "2026-02-01", "taken": "no"}).status_code == 302
    assert len(shown(client, third)) == 2
    assert "Heads added on February 1, 2026: not billed." in words(client.get(address))
    assert client.post(f"{address}/added-heads", {"on": "2026-02-01", "taken": "yes"}).status_code == 409
    assert client.post(f"{address}/added-heads/undo", {"on": "2026-02-01"}).status_code == 302
    assert client.post(f"{address}/added-heads", {"on": "2026-02-01", "taken": "yes"}).status_code == 302
    assert shown(client, third)[1] == ("2026-02-01", "46.47", "planned")
    bill = f"{address}/bill?kind=added+heads&first=2026-02-01"
    assert client.post(bill, {"billed_on": "2026-02-05", "number": "18", "amount": "46.47"}).status_code == 302
    assert shown(client, third)[1] == ("2026-02-01", "46.47", "billed February 5, 2026, no. 18; not paid yet")
    refused = client.post(f"{address}/added-heads/undo", {"on": "2026-02-01"})
    assert refused.status_code == 422
    assert "Undo that bill first." in words(refused)


def test_heads_that_nobody_proposed_are_not_decided_about(client, third):
    answer = client.post(f"/agreements/{third.pk}/added-heads", {"on": "2026-02-02", "taken": "yes"})
    assert answer.status_code == 409
    assert "no longer waiting" in words(answer)
    assert client.post(f"/agreements/{third.pk}/added-heads", {"on": "soon", "taken": "yes"}).status_code == 409
    assert not models.AddedHeads.objects.exists()


# ------------------------------------------------------------------------------------------------------------ ended early


@pytest.fixture
def ended(made):
    """200 paid; ended on December 1, 2025, after 91 of 365 days: 49.863 is used."""
    paid(sent(made))
    agreements.end(made.pk, day=day("2025-12-01"), why="Sold the house", **HOW)
    return made


def test_both_ways_of_giving_back_are_shown_and_one_is_chosen(client, ended):
    address = f"/agreements/{ended.pk}"
    text = words(client.get(address))
    assert "Used by days: give back $150.14" in text
    assert "Used by visits: give back $200.00. 1 visit sold this year, 0 made: 1 to go." in text
    assert client.post(f"{address}/refund", {"way": "by days", "amount": "", "why": ""}).status_code == 302
    refund = models.AgreementRefund.objects.get()
    assert (refund.amount, refund.way, refund.decided_on) == (Decimal("150.14"), "by days", TODAY)
    assert "Decided: give back $150.14, by days." in words(client.get(address))
    assert client.post(f"{address}/refund", {"way": "by visits"}).status_code == 409
    assert "Undo that decision first." in words(client.post(f"{address}/take-up"))
    assert client.post(f"{address}/refund/undo").status_code == 302
    assert client.post(f"{address}/refund/undo", follow=True).status_code == 200
    assert client.post(f"{address}/take-up").status_code == 302


def test_a_visit_made_counts_whatever_door_it_came_by(client, ended, site):
    unit = site.systems.get().units.first()
    due.record(unit.pk, "coil", day=day("2025-11-30"), technician="Jules", **HOW)
    assert "Used by visits: nothing to give back. 1 visit sold this year, 1 made." in words(
        client.get(f"/agreements/{ended.pk}")
    )


def test_a_third_amount_needs_a_reason(client, ended):
    address = f"/agreements/{ended.pk}/refund"
    for told, field in (
        ({"way": "another", "amount": "", "why": "Goodwill"}, "amount"),
        ({"way": "another", "amount": "175", "why": ""}, "why"),
        ({"way": "by luck"}, "way"),
    ):
        answer = client.post(address, told)
        assert answer.status_code == 422
        assert field in answer.context["refund"].errors
    assert client.post(address, {"way": "another", "amount": "175", "why": "Goodwill"}).status_code == 302
    assert "Decided: give back $175.00, another amount. Goodwill" in words(client.get(f"/agreements/{ended.pk}"))


def test_one_that_goes_on_gives_nothing_back(client, made):
    assert "What to give back" not in words(client.get(f"/agreements/{made.pk}"))
    with pytest.raises(Refused, match="not ended"):
        bills.decide_refund(made.pk, way="by days", amount=Decimal(1), why="", **HOW)


# -------------------------------------------------------------------------------------------------------------- to decide


def waiting(client, **filters):
    listing = client.get("/agreements/to-decide", filters).context["listing"]
    names = [column.name for column in listing.columns]
    found = []
    for row in listing.rows:
        cells = dict(zip(names, (cell.value for cell in row.cells), strict=True))
        found.append((cells["what"], str(cells["day"]), str(cells["price"]), str(cells["next_price"])))
    return found


def test_each_kind_stands_in_the_list_with_its_prices(client, made, site):
    assert waiting(client) == []
    assert "Nothing to decide." in words(client.get("/agreements/to-decide"))
    sent(made, billed_on="2026-01-31")
    asking = AGREED | {
        "reference": "A-2",
        "start_on": day("2025-05-01"),
        "renews": "by asking",
        "rise_percent": Decimal(5),
    }
    agreements.make(site.pk, facts=asking, **HOW)
    late = AGREED | {"reference": "A-3", "start_on": day("2025-03-01"), "renews": "by asking"}
    agreements.make(site.pk, facts=late, **HOW)
    assert waiting(client) == [
        ("billed, and not paid in 30 days: ask for it", "2026-01-31", "200.00", "200.00"),
        ("past its term: renew it or end it", "2026-03-01", "200.00", "200.00"),
        ("ask whether they renew", "2026-05-01", "200.00", "210.00"),
        ("announce the new price", "2026-05-01", "200.00", "210.00"),
    ]
    sentence = "To decide: 1 agreement past its term, 1 renewal to ask for, 1 price rise to announce and 1 unpaid bill."
    assert sentence in words(client.get("/agreements/to-decide"))
    assert [one[0] for one in waiting(client, what="renewal")] == ["ask whether they renew"]
    assert waiting(client, text="nobody") == []
    assert "February" not in words(client.get(f"/agreements/{made.pk}"))
    assert "January 31, 2026: billed, and not paid in 30 days: ask for it." in words(
        client.get(f"/agreements/{made.pk}")
    )


def test_an_end_is_to_decide_until_somebody_has(client, ended):
    assert [one[:2] for one in waiting(client)] == [("ended early: decide what to give back", "2025-12-01")]
    bills.decide_refund(ended.pk, way="by days", amount=Decimal("150.14"), why="", **HOW)
    assert waiting(client) == []


def test_notice_of_a_renewal_is_given_where_the_house_asks_for_it(client, site):
    agreements.make(site.pk, facts=AGREED | {"start_on": day("2025-05-01")}, **HOW)
    assert waiting(client) == []
    models.House.objects.update_or_create(pk=1, defaults={"renewal_notice_days": 30})
    assert [one[:2] for one in waiting(client)] == [("last day to give notice of the renewal", "2026-04-01")]


def test_more_of_them_ask_no_more_of_the_database(made, site):
    client = company.as_role("owner")
    agreements.end(made.pk, day=day("2025-12-01"), why="Sold", **HOW)

    def asked(address):
        client.get(address)
        with rows.asked() as queries:
            client.get(address)
        return len(queries)

    sent(made)
    one = {address: asked(address) for address in ("/agreements/to-decide", "/agreements/bills")}
    for number in range(4):
        row = agreements.make(rows.site().pk, facts=AGREED | {"reference": f"B-{number}"}, **HOW)
        sent(row, number=f"B-{number}")
        agreements.end(row.pk, day=day("2025-12-01"), why="Sold", **HOW)
    assert len(to_decide.waiting(on=TODAY)) == 10
    assert {address: asked(address) for address in one} == one
    assert max(one.values()) <= 30


# ---------------------------------------------------------------------------------------------- backup, merging, moving


def on_file():
    tables = (models.AgreementBill, models.BillPayment, models.AddedHeads, models.AgreementRefund)
    return {table: list(table.objects.order_by("pk").values_list()) for table in tables}


@pytest.fixture
def everything(ended, tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    bills.decide_refund(ended.pk, way="another", amount=Decimal(-5), why="Goodwill", **HOW)
    ended.added_heads.create(on=day("2025-10-01"), taken=False, decided_on=TODAY)
    return ended


def test_a_backup_brings_all_of_it_back(everything, tmp_path):
    before = on_file()
    assert all(before.values())
    path = tmp_path / "ours.backup"
    call_command("backup", path, stdout=StringIO(), stderr=StringIO())
    for table in reversed(list(before)):
        if table is not models.AgreementBill:
            table.objects.all().delete()
    models.AgreementBill.objects.all().delete()
    call_command("restore", path, stdout=StringIO(), replace=True)
    assert on_file() == before
    assert {table._meta.db_table for table in before} <= {
        part.name.removeprefix(archive.TABLES) for part in _parts(path)
    }


def _parts(path):
    with path.open("rb") as file:
        return archive.Reader(file).contents.parts


def test_sites_merged_keep_their_bills_and_apart_again(everything, site):
    other = rows.site(site.customer, "Barn")
    before = on_file()
    merge = merges.merge("site", other.pk, site.pk, chosen={"name": "kept"}, **HOW)
    everything.refresh_from_db()
    assert everything.site_id == other.pk
    assert on_file() == before
    merges.undo(merge.pk, **HOW)
    everything.refresh_from_db()
    assert (everything.site_id, on_file()) == (site.pk, before)


def test_a_head_that_moves_away_changes_planned_bills_only(client, made, site):
    sent(made)
    barn = rows.site(site.customer, "Barn")
    unit = models.Unit.objects.get(serial="SB-2")
    lives.tell(unit.pk, kind="moved", day="2026-02-02", told={"to_site": barn.name, "to_system": "Main"}, **HOW)
    assert shown(client, made) == [
        ("2025-09-01", "200.00", "billed September 1, 2025, no. 17; not paid yet"),
        ("2026-09-01", "120.00", "planned, if renewed"),
    ]


def test_a_technician_sees_none_of_it(made):
    bill = sent(made)
    client = company.as_role("technician")
    for address in ("/agreements/to-decide", "/agreements/bills", f"/agreement-bills/{bill.pk}"):
        assert client.get(address).status_code == 403
    assert client.post(f"/agreement-bills/{bill.pk}/undo").status_code == 403
    assert models.AgreementBill.objects.exists()


def test_the_year_ahead_has_what_was_sent_as_it_was_sent(made):
    """The bill of September 2026 was sent ahead for 180; with later prices it would be 280."""
    ahead = {"first": day("2026-09-01"), "last": day("2027-08-31")}
    sent(made, "180.00", "2026-03-01", **ahead)
    agreements.change(made.pk, was=AGREED, facts=AGREED | {"first_head": Decimal(200)}, **HOW)
    look = outlook.look(first=TODAY, months=12, today=TODAY)
    money = {month.first: (month.money.contracted, month.money.renewals) for month in look.months}
    assert money[day("2026-09-01")] == (Decimal("180.00"), 0)
