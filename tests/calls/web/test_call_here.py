"""A call noted from a unit by one button, and words added to it by whoever noted it."""

import uuid

import pytest
from django.urls import reverse

from fleet import models
from fleet.rules.calls import Trouble
from tests import company
from tests.company import NOON, TODAY
from tests.pages import words

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(NOON, tick=False)]


@pytest.fixture
def head() -> models.Unit:
    company.on_file()
    made = company.unit("SB-1", room="Den", started_on="2025-05-01", installed_on="2025-05-01")
    company.worked_out()
    return made


def sent(**named):
    return {"trouble": "no heat", "key": uuid.uuid4(), **named}


@pytest.mark.parametrize("role", company.everybody())
def test_one_button_notes_what_is_known(head, role):
    answer = company.as_role(role).post(reverse("unit_call", args=[head.pk]), sent(), follow=True)
    call = models.Call.objects.get()
    assert answer.redirect_chain == [(reverse("call", args=[call.pk]), 302)]
    assert (call.unit, call.site, call.trouble, call.caller, call.phone, call.said) == (
        head, head.system.site, "no heat", "Odile Marsh", "555-0100", "",
    )  # fmt: skip
    assert (call.came_on, f"{call.came_at:%H:%M}", call.by.username) == (TODAY, "12:00", role)
    change = models.Change.objects.get(table="call", object_id=call.pk)
    assert (change.field, change.after, change.by) == ("trouble", "no heat", call.by)


def test_a_second_tap_notes_nothing_more(head):
    technician, call = company.as_role("technician"), sent()
    for _ in range(2):
        technician.post(reverse("unit_call", args=[head.pk]), call)
    assert models.Call.objects.count() == 1


def test_the_page_has_a_button_for_each_trouble_and_the_sentence_to_read_out(head):
    page = words(company.as_role("technician").get(f"/units/{head.pk}"))
    for trouble in Trouble:
        assert f'name="trouble" value="{trouble}"' in page
    assert "leave the building now" in page
    models.Unit.objects.update(removed_on="2026-01-05", removal_reason="removed")
    assert 'name="trouble"' not in words(company.as_role("technician").get(f"/units/{head.pk}"))


@pytest.mark.parametrize("named", [{"trouble": "boredom"}, {"trouble": ""}, {"key": "none"}, {"key": ""}])
def test_what_no_button_sends_is_asked_by_the_whole_form(head, named):
    answer = company.as_role("technician").post(reverse("unit_call", args=[head.pk]), sent(**named), follow=True)
    assert answer.redirect_chain == [(f"{reverse('call_new')}?unit={head.pk}", 302)]
    assert 'value="Odile Marsh"' in words(answer)
    assert not models.Call.objects.exists()


def test_a_unit_that_is_not_there_has_no_calls():
    assert company.as_role("technician").post(reverse("unit_call", args=[404]), sent()).status_code == 404


def test_a_technician_adds_words_to_their_own_call_alone(head):
    technician = company.as_role("technician")
    technician.post(reverse("unit_call", args=[head.pk]), sent())
    call = models.Call.objects.get()
    correct = reverse("call_correct", args=[call.pk])
    assert correct in words(technician.get(reverse("call", args=[call.pk])))
    form = technician.get(correct).context["form"]
    shown = {field.name: field.value() for field in (*form.asked, *form.carried) if field.value() is not None}
    assert technician.post(correct, shown | {"caller": "Her son", "said": "It is cold"}).status_code == 302
    call.refresh_from_db()
    assert (call.caller, call.said, call.trouble, call.site, call.unit) == (
        "Her son", "It is cold", "no heat", head.system.site, head,
    )  # fmt: skip
    assert set(models.Change.objects.filter(table="call").values_list("field", flat=True)) == {
        "trouble",
        "caller",
        "said",
    }
    # What somebody else wrote meanwhile is not written over.
    answer = technician.post(correct, shown | {"caller": "Her aunt"})
    assert (answer.status_code, models.Call.objects.get().caller) == (409, "Her son")

    models.Call.objects.update(by=company.person("office"))
    assert technician.get(correct).status_code == 403
    assert technician.post(correct, shown | {"said": "Mine"}).status_code == 403
    assert correct not in words(technician.get(reverse("call", args=[call.pk])))
    office = company.as_role("office")
    assert "Correct this call" in words(office.get(reverse("call", args=[call.pk])))
    assert office.get(correct).status_code == 200
