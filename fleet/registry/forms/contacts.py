"""Contacts of a site, the sale of a house, and the closing day of a new one."""

from django import forms

from fleet.elements.action_form import A_DAY, ActionForm, DayInput, why_field
from fleet.models.office import CONTACT_ROLES
from fleet.registry.forms.whose import WhoseForm, whose_field


def _day(label: str) -> forms.DateField:
    return forms.DateField(
        label=label,
        widget=DayInput(),
        error_messages={"invalid": A_DAY, "required": "Choose a day."},
    )


class ContactForm(ActionForm):
    """Somebody to reach."""

    name = forms.CharField(max_length=200, label="Name", error_messages={"required": "Enter a name."})
    role = forms.ChoiceField(label="Who they are here", choices=[(role, role) for role in CONTACT_ROLES])
    phone = forms.CharField(
        required=False, max_length=60, label="Phone", widget=forms.TextInput(attrs={"inputmode": "tel"})
    )
    email = forms.EmailField(required=False, label="E-mail")
    reach = forms.CharField(required=False, max_length=300, label="When and how to reach them")


class SoldForm(WhoseForm, ActionForm):
    """To whom a house was sold, and when."""

    sold_on = _day("Sold on")
    buyer = forms.CharField(
        max_length=200,
        label="New owner",
        help_text="If the name is on file, you choose whether it is that customer or another one.",
        error_messages={"required": "Enter the new owner's name."},
    )
    whose = whose_field("Who bought the house?")
    phone = forms.CharField(required=False, max_length=60, label="Phone of a new customer")
    email = forms.EmailField(required=False, label="E-mail of a new customer")
    called = forms.CharField(
        required=False,
        max_length=200,
        label="Name of the site from now on",
        help_text="Leave blank to keep its name. Files still find it by the old one.",
    )


class SaleBackForm(ActionForm):
    """Why a sale is taken back that never was."""

    sold_on = forms.DateField(widget=forms.HiddenInput)
    called = forms.CharField(required=False, max_length=200, label="Name of the site from now on")
    why = why_field()


class ToldForm(ActionForm):
    """That a payer was told of a sale."""

    terms = forms.IntegerField(widget=forms.HiddenInput)
    told_on = _day("Notified on")
    number = forms.CharField(required=False, max_length=120, label="Their number")


class ClosedForm(ActionForm):
    """The closing day of a new house."""

    site = forms.IntegerField(widget=forms.HiddenInput)
    closed_on = _day("Closing day")
