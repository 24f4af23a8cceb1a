"""Fields that are drawn in Python are what Django's own templates draw."""

import datetime as dt

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates
from django.test.html import parse_html
from django.utils.safestring import mark_safe

from fleet.web.drawn import Renderer

TRICKY = """<b>"it's" & so</b>"""
CHOICES = [("", "any"), ("a", "A & B"), (1, "<one>"), ("group <g>", [("x", TRICKY), ("y", mark_safe("<i>y</i>"))])]


class Fields(forms.Form):
    words = forms.CharField(
        label=TRICKY, max_length=30, help_text="as on the plate", widget=forms.TextInput({"title": TRICKY})
    )
    number = forms.IntegerField(min_value=1, max_value=9)
    amount = forms.DecimalField(max_digits=6, decimal_places=2, localize=True)
    mail = forms.EmailField(required=False)
    secret = forms.CharField(widget=forms.PasswordInput(render_value=True))
    kept = forms.CharField(widget=forms.HiddenInput)
    day = forms.DateField(widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date", "data-on": False}))
    yes = forms.BooleanField(widget=forms.CheckboxInput({"autofocus": True, "data-none": None}))
    choice = forms.ChoiceField(choices=CHOICES, disabled=True)
    some = forms.MultipleChoiceField(choices=CHOICES)
    way = forms.ChoiceField(choices=CHOICES, widget=forms.RadioSelect)
    ways = forms.MultipleChoiceField(choices=CHOICES, widget=forms.CheckboxSelectMultiple({"title": TRICKY}))
    long = forms.CharField(widget=forms.Textarea)
    file = forms.FileField()


TOLD = [
    None,
    {},
    {
        "words": TRICKY, "number": "x", "amount": "1234.5", "mail": TRICKY, "secret": TRICKY, "kept": TRICKY,
        "day": "2026-08-01", "yes": "on", "choice": "1", "some": ["a", "x"], "way": "y", "ways": ["a", "x"], "long": TRICKY,
    },
]  # fmt: skip


@pytest.mark.parametrize("told", TOLD)
@pytest.mark.parametrize("name", Fields.base_fields)
def test_a_field_is_drawn_as_django_draws_it(name, told):
    initial = {"day": dt.date(2026, 8, 1), "amount": "12.50", "choice": "x", "kept": mark_safe("<i>told</i>")}
    ours, theirs = (
        Fields(told, initial=initial, auto_id="asked_%s", renderer=renderer())[name]
        for renderer in (Renderer, DjangoTemplates)
    )
    assert parse_html(f"<p>{ours}</p>") == parse_html(f"<p>{theirs}</p>")
    drawn, wanted = ([str(box) for field in (bound,) for box in field] for bound in (ours, theirs))
    assert list(map(parse_html, drawn)) == list(map(parse_html, wanted))
    assert ours.label_tag() == theirs.label_tag()
    assert ours.legend_tag(label_suffix=" ?") == theirs.legend_tag(label_suffix=" ?")


def test_a_label_without_a_tag_is_its_words_alone():
    found = [
        Fields(auto_id=False, renderer=renderer())["words"].label_tag() for renderer in (Renderer, DjangoTemplates)
    ]
    assert found[0] == found[1]


def test_what_was_typed_is_escaped():
    assert "<b>" not in str(Fields({"words": TRICKY}, renderer=Renderer())["words"])
