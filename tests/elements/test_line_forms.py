"""A one-line field holds one line, in every form that writes."""

import pytest
from django import forms

from fleet import models
from fleet.elements.action_form import ActionForm, LineForm
from tests import company


class Both(ActionForm):
    name = forms.CharField()
    notes = forms.CharField(widget=forms.Textarea)


@pytest.mark.parametrize("between", ["\n", "\r\n", "\r", "\v", "\f", "\x1c", "\x85", "\u2028", "\u2029"])
def test_a_line_break_is_refused_where_one_line_is_meant(between):
    form = Both({"name": f"Ida{between}Moss", "notes": f"one{between}two"})
    assert form.errors == {"name": ["This must be one line."]}


def test_a_break_at_the_end_is_only_space():
    assert Both({"name": " Ida Moss\n", "notes": "one"}).is_valid()


def every_form(form: type[forms.Form]) -> set[type[forms.Form]]:
    return {form, *(below for one in form.__subclasses__() for below in every_form(one))}


def test_each_form_with_a_one_line_field_that_writes_refuses_them():
    """What only asks (filters, a plan to compare, an address for a link) writes nothing."""
    from django.urls import get_resolver

    assert get_resolver().url_patterns  # which imports every form
    asks = {
        "ListForm",
        "LayoutForm",
        "LayoutsForm",
        "YearForm",
        "MoneyForm",
        "AnswerForm",
        "WhichForm",
        "ForgottenForm",
        "SiteForm",
    }
    ours = {form for form in every_form(forms.Form) if form.__module__.startswith("fleet.")}
    asking = {form for form in ours if any(base.__name__ in asks for base in form.__mro__)}
    has_line = {
        form
        for form in ours - asking - every_form(LineForm)
        if any(
            isinstance(field, forms.CharField) and not isinstance(field.widget, forms.Textarea | forms.PasswordInput)
            for field in form.base_fields.values()
        )
    }
    assert {form.__name__ for form in has_line} == set()


@pytest.mark.django_db
def test_a_first_name_of_two_lines_is_refused():
    answer = company.as_role("owner").post(
        "/people/add", {"first_name": "Ida\nBcc: all", "last_name": "Moss", "username": "ida", "role": "office"}
    )
    assert answer.status_code == 422
    assert "This must be one line." in answer.content.decode()
    assert not models.User.objects.filter(username="ida").exists()
