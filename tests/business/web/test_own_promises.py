"""Promises of our own on their pages, on the site, the year ahead and paper. Asked on March 2, 2026."""

import csv
import datetime as dt
import io
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction
from pypdf import PdfReader

from fleet import models
from fleet.business.actions import own_promises as actions
from fleet.coverage.queries import answers
from fleet.derived import recheck
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import merges
from tests import company, rows
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = company.TODAY
HOW = {"by": None, "on": TODAY}
PROMISED = {
    "system_id": None, "words": "Should this size not carry the house, we change it.", "conditions": "Doors stay open.",
    "made_by": "Wynn Halloran", "made_on": dt.date(2026, 2, 1), "until": dt.date(2028, 5, 1),
    "cost_at_most": Decimal("4200.00"),
}  # fmt: skip
TYPED = {name: "" if value is None else str(value) for name, value in PROMISED.items()}


def day(text):
    return dt.date.fromisoformat(text)


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit("SB-1", room="Den", started_on="2024-05-01", installed_on="2024-05-01")
    company.worked_out()
    return made


@pytest.fixture
def site(unit):
    return unit.system.site


@pytest.fixture
def made(site):
    return actions.make(site.pk, facts=PROMISED, **HOW)


@pytest.fixture(params=["office", "owner"])
def client(request):
    return company.as_role(request.param)


def carried(told):
    return {f"was_{name}": value for name, value in told.items()}


def test_one_is_made_for_a_site_and_stands_on_its_page(client, site, unit):
    address = f"/sites/{site.pk}/promise"
    assert f'href="{address}"' in client.get(f"/sites/{site.pk}").content.decode()
    assert "Odile Marsh, Home" in words(client.get(address))
    answer = client.post(address, TYPED | {"system_id": str(unit.system_id)})
    row = models.OwnPromise.objects.get()
    assert answer["Location"] == f"/our-promises/{row.pk}"
    assert (row.customer, row.system, row.until) == (site.customer, unit.system, day("2028-05-01"))
    text = words(client.get(f"/sites/{site.pk}"))
    assert "Whole house: Should this size not carry the house, we change it." in text
    assert "(good through May 1, 2028)" in text
    assert "<dt>Most it could cost us</dt><dd>$4,200.00</dd>" in words(client.get(f"/our-promises/{row.pk}"))


@pytest.mark.parametrize(
    ("change", "field"),
    [
        pytest.param({"words": " "}, "words", id="nothing promised"),
        pytest.param({"until": "2026-01-31"}, "until", id="it ends the day before it was made"),
        pytest.param({"made_on": "2026-03-03", "until": "2026-03-04"}, "made_on", id="made tomorrow"),
        pytest.param({"cost_at_most": "-1"}, "cost_at_most", id="it costs less than nothing"),
        pytest.param({"system_id": "77"}, "system_id", id="no such system here"),
        pytest.param({"made_by": ""}, "made_by", id="nobody made it"),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_stays(client, site, change, field):
    answer = client.post(f"/sites/{site.pk}/promise", TYPED | {"conditions": "Only in summer"} | change)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert "Only in summer" in words(answer)
    assert not models.OwnPromise.objects.exists()


def test_it_may_end_on_the_day_it_was_made(site):
    assert actions.make(site.pk, facts=PROMISED | {"until": PROMISED["made_on"]}, **HOW).pk


def test_a_system_of_another_site_is_refused(site):
    other = rows.system(rows.site())
    with pytest.raises(Refused, match="at this site"):
        actions.make(site.pk, facts=PROMISED | {"system_id": other.pk}, **HOW)


def test_it_is_changed_and_a_change_made_meanwhile_is_shown(client, made):
    address = f"/our-promises/{made.pk}"
    assert client.post(address, TYPED | carried(TYPED) | {"until": "2029-05-01"})["Location"] == address
    answer = client.post(address, TYPED | carried(TYPED) | {"until": "2030-05-01"})
    assert answer.status_code == 409
    assert models.OwnPromise.objects.get().until == day("2029-05-01")
    assert "changed last day from May 1, 2028 to May 1, 2029" in words(client.get(address))


def test_it_is_called_on_and_that_is_undone(client, made):
    address = f"/our-promises/{made.pk}"
    refused = client.post(f"{address}/called-on", {"day": "2026-03-03", "what": "", "cost": ""})
    assert refused.status_code == 422
    assert "no later than today" in words(refused)
    told = {"day": "2026-03-01", "what": "Put in the next size", "cost": "3100"}
    assert client.post(f"{address}/called-on", told | {"what": " "}).status_code == 422
    assert client.post(f"{address}/called-on", told | {"day": "2026-01-31"}).status_code == 422
    assert client.post(f"{address}/called-on", told)["Location"] == address
    text = words(client.get(address))
    assert "called on March 1, 2026" in text
    assert "Put in the next size, $3,100.00" in text
    assert client.post(f"{address}/released", {"day": "2026-03-01", "why": "Paid"}).status_code == 409
    assert "Undo that first." in words(client.post(f"{address}/delete", follow=True))
    assert client.post(f"{address}/restore")["Location"] == address
    assert "good through May 1, 2028" in words(client.get(address))
    row = models.OwnPromise.objects.get()
    assert (row.called_on, row.called_what, row.called_cost) == (None, "", None)
    with pytest.raises(Conflict):
        actions.restore(made.pk, **HOW)


def test_it_is_released_and_that_is_undone(client, made):
    address = f"/our-promises/{made.pk}"
    assert client.post(f"{address}/released", {"day": "2026-03-02", "why": ""}).status_code == 422
    assert (
        client.post(f"{address}/released", {"day": "2026-03-02", "why": "They chose another size"})["Location"]
        == address
    )
    assert "released on March 2, 2026" in words(client.get(address))
    assert client.post(f"{address}/restore")["Location"] == address
    assert models.OwnPromise.objects.get().released_why == ""


def test_one_entered_by_mistake_is_deleted_and_the_sites_log_says_so(client, made, site):
    assert client.post(f"/our-promises/{made.pk}/delete")["Location"] == f"/sites/{site.pk}"
    assert not models.OwnPromise.objects.exists()
    log = words(client.get(f"/sites/{site.pk}/changes"))
    assert log.count("Should this size not carry the house, we change it. (until May 1, 2028)") == 2
    for act in ("", "/paper"):
        assert client.get(f"/our-promises/{made.pk}{act}").status_code == 404
    for act in ("called-on", "released", "restore", "delete"):
        told = {"day": "2026-03-01", "what": "It", "why": "It"}
        assert client.post(f"/our-promises/{made.pk}/{act}", told).status_code == 404


def test_the_list_and_its_file(client, made, site):
    actions.make(site.pk, facts=PROMISED | {"words": "A year more", "until": day("2026-03-01")}, **HOW)
    counts = {"": 2, "standing": 1, "lapsed": 1, "called on": 0, "released": 0}
    for state, count in counts.items():
        assert client.get("/our-promises", {"state": state}).context["listing"].count == count
    assert "1 of our own promises is in force. It could cost $4,200.00 at most; no reserve is set." in words(
        client.get("/our-promises")
    )
    answer = client.get("/our-promises?as=csv&state=standing")
    (row,) = csv.DictReader(io.StringIO(b"".join(answer.streaming_content).decode("utf-8-sig")))
    assert (row["until"], row["cost_at_most"], row["words"]) == ("2028-05-01", "4200.00", PROMISED["words"])


def test_the_owner_sees_what_they_could_cost_against_the_reserve(made, site):
    models.House.objects.update_or_create(pk=1, defaults={"promise_reserve": Decimal(2500)})
    company.worked_out()
    models.CareSheet.objects.all().delete()
    owner = company.as_role("owner")
    text = words(owner.get("/our-promises"))
    assert "$1,700.00 more than the reserve of $2,500.00." in text


def test_the_year_ahead_shows_them_by_the_month_in_which_they_lapse(made, site):
    from fleet.care.actions import care_sheets
    from tests.caring import entry

    task = entry("coil", title="Clean the coil", minutes=45, price="95.00", checked_on=dt.date(2026, 1, 1))
    care_sheets.load_table({"code": "ours-1", "setup_minutes": 30, "task": [task]}, on=TODAY)
    actions.make(site.pk, facts=PROMISED | {"until": day("2026-03-02"), "cost_at_most": None}, **HOW)
    text = words(company.as_role("owner").get("/the-year-ahead"))
    assert (
        "2 of our own promises are in force. They could cost $4,200.00 at most; no reserve is set; 1 has no amount."
        in text
    )
    assert "<span>$0.00, 1 without an amount</span>" in text
    assert (
        text.index("<span>March 2026</span>")
        < text.index("<span>May 2028</span>")
        < text.index("<span>$4,200.00</span>")
    )


def test_the_paper_has_the_promise_and_not_its_cost(client, made):
    answer = client.get(f"/our-promises/{made.pk}/paper")
    assert answer["Content-Type"] == "application/pdf"
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages).split())
    for said in (
        "Odile Marsh",
        PROMISED["words"],
        "Doors stay open.",
        "May 1, 2028",
        "Wynn Halloran",
        "February 1, 2026",
    ):
        assert said in text
    assert "4,200" not in text
    assert client.get(f"/our-promises/{made.pk}/paper").content == answer.content


def test_it_changes_no_answer(site, unit):
    before = answers.ask(serial="SB-1", component="compressor", on=TODAY, asked=TODAY)
    actions.make(site.pk, facts=PROMISED | {"system_id": unit.system_id}, **HOW)
    assert answers.ask(serial="SB-1", component="compressor", on=TODAY, asked=TODAY) == before
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.parametrize(
    "told",
    [
        pytest.param({"words": ""}, id="it says nothing"),
        pytest.param({"until": day("2026-01-31")}, id="it ends before it was made"),
        pytest.param({"called_on": TODAY}, id="called on without what"),
        pytest.param({"called_what": "It"}, id="what without the day"),
        pytest.param({"called_cost": 1}, id="a cost without the day"),
        pytest.param({"called_on": day("2026-01-31"), "called_what": "It"}, id="called on before it was made"),
        pytest.param({"released_on": TODAY}, id="released without why"),
        pytest.param({"released_why": "It"}, id="why without the day"),
        pytest.param(
            {"called_on": TODAY, "called_what": "It", "released_on": TODAY, "released_why": "It"}, id="it ends twice"
        ),
        pytest.param({"cost_at_most": -1}, id="it costs less than nothing"),
    ],
)
@pytest.mark.on_postgres
def test_what_the_table_refuses(site, told):
    values = PROMISED | {"site": site, "customer": site.customer}
    with transaction.atomic():
        models.OwnPromise.objects.create(**values).delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        models.OwnPromise.objects.create(**values | told)


# --------------------------------------------------------------------------------------------------- backup, merging, roles


def on_file():
    return list(models.OwnPromise.objects.order_by("pk").values_list())


def test_a_backup_brings_it_back(made, tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    actions.call_on(made.pk, day=TODAY, what="It", cost=Decimal("1.50"), **HOW)
    before = on_file()
    call_command("backup", tmp_path / "ours.backup", stdout=StringIO(), stderr=StringIO())
    models.OwnPromise.objects.all().delete()
    call_command("restore", tmp_path / "ours.backup", stdout=StringIO(), replace=True)
    assert on_file() == before


def test_sites_and_customers_merged_keep_it_and_apart_again(made, site, unit):
    actions.change(made.pk, was=PROMISED, facts=PROMISED | {"system_id": unit.system_id}, **HOW)
    other = rows.site(rows.customer("O. Marsh"), "House")
    system = rows.system(other, unit.system.name)
    before = on_file()
    chosen = {"customer": "kept", "name": "kept", "street": "kept"}
    merge = merges.merge("site", other.pk, site.pk, chosen=chosen, **HOW)
    made.refresh_from_db()
    assert (made.site_id, made.system_id, made.customer_id) == (other.pk, system.pk, site.customer_id)
    merges.undo(merge.pk, **HOW)
    assert on_file() == before
    merge = merges.merge("customer", other.customer_id, site.customer_id, chosen={"name": "kept"}, **HOW)
    made.refresh_from_db()
    assert made.customer_id == other.customer_id
    merges.undo(merge.pk, **HOW)
    assert on_file() == before


def test_a_sold_house_says_whom_it_was_made_to(client, made, site):
    models.Site.objects.filter(pk=site.pk).update(customer=rows.customer("Next Owner"))
    assert "made to Odile Marsh" in words(client.get(f"/sites/{site.pk}"))


def test_a_technician_reads_it_on_the_site_and_no_more(made, site):
    client = company.as_role("technician")
    page = client.get(f"/sites/{site.pk}")
    assert "Should this size not carry the house" in words(page)
    assert f"/our-promises/{made.pk}" not in page.content.decode()
    assert "4,200" not in words(page)
    for address in (
        "/our-promises",
        f"/our-promises/{made.pk}",
        f"/our-promises/{made.pk}/paper",
        f"/sites/{site.pk}/promise",
    ):
        assert client.get(address).status_code == 403


def test_more_of_them_ask_no_more_of_the_database(made, site):
    client = company.as_role("office")

    def asked(address):
        client.get(address)
        with rows.asked() as queries:
            client.get(address)
        return len(queries)

    one = {address: asked(address) for address in ("/our-promises", f"/sites/{site.pk}")}
    for number in range(4):
        actions.make(site.pk, facts=PROMISED | {"words": f"Promise {number}"}, **HOW)
    assert {address: asked(address) for address in one} == one
    assert one["/our-promises"] <= 30


def test_its_history_stands_in_the_companys_own_time(client, made):
    models.Company.objects.create(pk=1, name="Fogbank Heating", time_zone="America/Los_Angeles")
    models.Change.objects.filter(table="ownpromise").update(at=dt.datetime(2026, 3, 2, 17, tzinfo=dt.UTC))
    assert "March 2, 2026, 9:00 AM" in words(client.get(f"/our-promises/{made.pk}"))
