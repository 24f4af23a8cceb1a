"""What is said when terms were checked again."""

from django import forms


class TermsCheckedForm(forms.Form):
    """What was seen when the terms were held against the paper again."""

    note = forms.CharField(required=False, max_length=300, label="What you saw (may stay blank)", label_suffix="")
