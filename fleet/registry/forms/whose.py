"""Which customer is meant, where others on file have the same name."""

from collections.abc import Collection

from django import forms

from fleet.registry.pages.namesakes import NEW, Namesake

_NEW = "new"


def whose_field(label: str) -> forms.CharField:
    """Which of the customers of one name is meant; not shown while nobody else has the name."""
    return forms.CharField(required=False, label=label, widget=forms.HiddenInput)


class WhoseForm(forms.Form):
    """A form with a customer's name in it, which asks whom it means once that name is on file."""

    def offer_customers(self, name: str, namesakes: Collection[Namesake]) -> None:
        """Offer the customers of that name, and another one of the same name; without any there is nothing to choose."""
        if namesakes:
            those = [(str(one.pk), one.words) for one in namesakes]
            self.fields["whose"].widget = forms.RadioSelect(choices=[*those, (_NEW, f"Another customer named {name}")])

    @property
    def chosen(self) -> int | None:
        """The key of the customer that was chosen, `NEW` for another of that name; None where nothing was, or no key."""
        text = str(self.cleaned_data.get("whose", ""))
        if text == _NEW:
            return NEW
        return int(text) if text.isascii() and text.isdecimal() and len(text) < 12 else None
