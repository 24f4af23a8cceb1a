"""What is said when terms were checked again."""

from django import forms

from fleet.elements.action_form import LineForm


class TermsCheckedForm(LineForm):
    """What was seen when the terms were held against the paper again."""

    note = forms.CharField(required=False, max_length=300, label="What you saw (may stay blank)", label_suffix="")
