"""Templates of agreements: the owner's, and what a new agreement starts from. Asked on March 2, 2026."""

from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction

from fleet import models
from fleet.business.actions import agreement_templates as actions
from tests import company, rows
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = company.TODAY
HOW = {"by": None, "on": TODAY}
FACTS = {
    "name": "Two visits, monthly", "months": 24, "visits_per_year": 2, "first_head": Decimal("129.00"),
    "further_head": Decimal("84.00"), "discount_percent": Decimal(5), "billing": "monthly", "renews": "by asking",
    "rise_percent": Decimal(3),
}  # fmt: skip
TYPED = {name: str(value) for name, value in FACTS.items()}


@pytest.fixture
def owner():
    return company.as_role("owner")


@pytest.fixture
def made():
    return actions.make(facts=FACTS, **HOW)


def carried(told):
    return {f"was_{name}": value for name, value in told.items()}


def test_the_owner_makes_changes_and_deletes_one(owner):
    assert "No templates yet." in words(owner.get("/agreement-templates"))
    assert owner.post("/agreement-templates/add", TYPED)["Location"] == "/agreement-templates"
    row = models.AgreementTemplate.objects.get()
    assert {name: getattr(row, name) for name in FACTS} == FACTS
    assert "2 visits a year, billed monthly. One 24-month term." in words(owner.get("/agreement-templates"))
    address = f"/agreement-templates/{row.pk}"
    assert owner.post(address, TYPED | carried(TYPED) | {"months": "36"}).status_code == 302
    assert owner.post(address, TYPED | carried(TYPED) | {"months": "12"}).status_code == 409
    assert models.AgreementTemplate.objects.get().months == 36
    assert owner.post(f"{address}/delete").status_code == 302
    assert owner.post(f"{address}/delete").status_code == 404
    assert owner.get(address).status_code == 404
    log = models.Change.objects.filter(table="agreementtemplate").order_by("pk")
    assert [(one.field, one.before, one.after) for one in log] == [
        ("name", "", "Two visits, monthly"), ("months", "24", "36"), ("name", "Two visits, monthly", ""),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "field"),
    [
        pytest.param({"name": ""}, "name", id="no name"),
        pytest.param({"name": "two VISITS, monthly"}, "name", id="the name of another"),
        pytest.param({"name": "Other", "months": "0"}, "months", id="no month"),
        pytest.param({"name": "Other", "first_head": "-1"}, "first_head", id="less than nothing"),
        pytest.param({"name": "Other", "discount_percent": "101"}, "discount_percent", id="more than all of it"),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_stays(owner, made, change, field):
    answer = owner.post("/agreement-templates/add", TYPED | {"further_head": "77.77"} | change)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert "77.77" in answer.content.decode()
    assert models.AgreementTemplate.objects.count() == 1


def test_a_new_agreement_starts_from_one_and_goes_its_own_way(made):
    office, site = company.as_role("office"), rows.site()
    address = f"/sites/{site.pk}/agreement"
    assert f'href="?from={made.pk}"' in office.get(address).content.decode()
    form = office.get(f"{address}?from={made.pk}").context["form"]
    shown = {name: form[name].value() for name in FACTS if name != "name"}
    assert shown == {name: value for name, value in FACTS.items() if name != "name"}
    typed = {name: str(value) for name, value in shown.items()} | {"start_on": "2026-03-01", "reference": "A-1"}
    assert office.post(address, typed).status_code == 302
    actions.change(made.pk, was=FACTS, facts=FACTS | {"months": 12}, **HOW)
    assert models.Agreement.objects.get().months == 24


@pytest.mark.parametrize("text", ["", "77", "x", "-1", "9" * 30, "²"])
def test_from_a_template_that_is_not_there_it_starts_as_usual(made, text):
    site = rows.site()
    answer = company.as_role("office").get(f"/sites/{site.pk}/agreement", {"from": text})
    assert answer.status_code == 200
    assert answer.context["form"]["months"].value() == 12


@pytest.mark.parametrize("role", ["office", "technician"])
def test_only_the_owner_has_them(role, made):
    client = company.as_role(role)
    for address in ("/agreement-templates", "/agreement-templates/add", f"/agreement-templates/{made.pk}"):
        assert client.get(address).status_code == 403
    assert client.post(f"/agreement-templates/{made.pk}/delete").status_code == 403


@pytest.mark.parametrize(
    "told", [{"name": ""}, {"months": 0}, {"billing": "never"}, {"renews": "maybe"}, {"discount_percent": 101}]
)
@pytest.mark.on_postgres
def test_what_the_table_refuses(told):
    with transaction.atomic():
        models.AgreementTemplate.objects.create(**FACTS).delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        models.AgreementTemplate.objects.create(**FACTS | told)


def test_a_backup_brings_them_back(made, tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    before = list(models.AgreementTemplate.objects.values_list())
    call_command("backup", tmp_path / "ours.backup", stdout=StringIO(), stderr=StringIO())
    models.AgreementTemplate.objects.all().delete()
    call_command("restore", tmp_path / "ours.backup", stdout=StringIO(), replace=True)
    assert list(models.AgreementTemplate.objects.values_list()) == before
