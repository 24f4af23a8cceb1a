"""Is a sum a sum wherever it is typed, however it is written?"""

from decimal import Decimal

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from fleet.elements.money_field import WANTED, MoneyField, MoneyTextField
from fleet.rules.wording.money import dollars, plain_amount
from tests.elements.test_line_forms import every_form


class Sums(forms.Form):
    any = MoneyField(required=False)
    owed = MoneyField(required=False, least=None)
    text = MoneyTextField(required=False)


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("$1,412.50", "1412.50"),
        ("1,412.50", "1412.50"),
        ("1412.5", "1412.5"),
        (" $ 1,412 ", "1412"),
        ("$1,234,567.89", "1234567.89"),
        ("$.50", "0.50"),
        ("35.", "35"),
        ("0", "0"),
    ],
)
def test_a_sum_however_it_is_written(typed, amount):
    form = Sums({"any": typed, "owed": typed, "text": typed})
    assert form.is_valid()
    assert form.cleaned_data == {"any": Decimal(amount), "owed": Decimal(amount), "text": amount}


@pytest.mark.parametrize(
    "typed",
    ["1,41", "14,12.50", "1,4125", "1.412,50", "1 412.50", "$$5", "5$", "$", ".", "$.", ",", "five", "€5", "1e5x"],
)
def test_what_is_no_sum_is_refused_and_stays_as_typed(typed):
    form = Sums({"any": typed})
    assert form.errors == {"any": [WANTED]}
    assert f'value="{typed}"' in str(form["any"])
    assert plain_amount(typed) == typed


def test_a_minus_where_one_may_stand():
    form = Sums({"any": "-$20.00", "owed": "−$20.00"})
    assert form.errors.keys() == {"any"}
    assert form.cleaned_data["owed"] == Decimal("-20.00")


@given(st.decimals("-99999999", "99999999", places=2))
def test_what_we_write_we_read(amount):
    assert Decimal(plain_amount(dollars(amount))) == amount


def test_no_form_reads_a_sum_in_another_way():
    """A decimal field of a form is either a sum or says by its label that it is none."""
    from django.urls import get_resolver

    assert get_resolver().url_patterns  # which imports every form
    fields = [
        (form.__name__, name, field)
        for form in every_form(forms.Form)
        for name, field in getattr(form, "base_fields", {}).items()
        if form.__module__.startswith("fleet.") and isinstance(field, forms.DecimalField)
    ]
    assert len([1 for *_, field in fields if isinstance(field, MoneyField)]) > 12
    strict = {(form, name) for form, name, field in fields if not isinstance(field, MoneyField)}
    assert {name for _, name in strict} <= {"discount_percent", "rise_percent", "hours_a_day", "renewal_percent"}, (
        strict
    )
