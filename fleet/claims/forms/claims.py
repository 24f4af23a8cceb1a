"""What is recorded of a claim."""

import datetime as dt
import uuid
from collections.abc import Collection, Iterable
from typing import Any, cast

from django import forms

from fleet.claims.pages import claims as pages
from fleet.elements.action_form import ActionForm, DayInput, why_field
from fleet.elements.money_field import MoneyField
from fleet.rules import words

_ACCEPT = "image/jpeg,image/png,image/webp,application/pdf"


class _OfClaim(ActionForm):
    """A form on the page of a claim, which carries the version of the claim that somebody saw."""

    version = forms.IntegerField(min_value=0, widget=forms.HiddenInput)


class StepForm(_OfClaim):
    """One step: only the fields that the step has a use for."""

    to = forms.CharField(max_length=20, widget=forms.HiddenInput)
    key = forms.UUIDField(required=False, widget=forms.HiddenInput)
    day = forms.DateField(label="On", widget=DayInput)
    amount = MoneyField(required=False, least=None, decimal_places=None)
    last = forms.BooleanField(required=False, label="This is the last payment on this claim")
    payers_correction = forms.BooleanField(required=False, label="The payer corrected its own credit")
    reason = forms.CharField(required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 2}))
    reference = forms.CharField(required=False, max_length=120, label="Their letter or credit number (optional)")
    confirmed = forms.BooleanField(required=False, label="That is right: record it anyway")
    note = forms.CharField(
        required=False, label="Note (optional)", widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, offer: pages.Offer, data: Any = None, *, version: int = 0, today: dt.date | None = None) -> None:
        name = offer.to.replace(" ", "-")
        initial = {"version": version, "to": offer.to, "day": today, "amount": offer.amount, "key": uuid.uuid4()}
        super().__init__(data, initial=initial, auto_id=f"{name}_%s")
        self.offer = offer
        self.fields["amount"].label = offer.amount_label
        self.fields["reason"].label = offer.reason_label
        for field, wanted in (
            ("amount", offer.may_say_amount),
            ("last", offer.may_be_last),
            ("payers_correction", offer.wants_correction),
            ("reference", offer.is_payers),
            ("reason", offer.may_say_reason),
        ):
            if not wanted:
                del self.fields[field]
        if "reason" in self.fields and not offer.wants_reason:
            self.fields["reason"].label = f"{offer.reason_label} (if this is the last payment and it is less)"
        if "amount" in self.fields and not offer.wants_amount:
            self.fields["amount"].label = f"{offer.amount_label} (blank: same as before)"

    def step(self) -> dict[str, Any]:
        """The step's facts, as the action takes them."""
        return {name: value for name, value in self.cleaned_data.items() if name not in ("version", "to")}


class KnownForm(_OfClaim):
    """What a claim has beside its steps; only what was sent is changed."""

    reference = forms.CharField(required=False, max_length=120, label="Their claim number")
    supplier = forms.TypedChoiceField(required=False, coerce=int, empty_value=None, label="Through a supplier")
    kinds = forms.MultipleChoiceField(
        required=False,
        label="What we are claiming",
        choices=[(kind, kind) for kind in words.KINDS],
        widget=forms.CheckboxSelectMultiple,
    )
    approved_on = forms.DateField(required=False, label="Prior approval received on", widget=DayInput)
    approval_number = forms.CharField(required=False, max_length=120, label="Approval number")
    form_on = forms.DateField(required=False, label="Claim form filled out on", widget=DayInput)
    part_back_on = forms.DateField(required=False, label="Old part returned on", widget=DayInput)
    part_asked_for = forms.TypedChoiceField(
        required=False,
        label="Do they want the old part?",
        choices=[("", "not known yet"), ("yes", "yes"), ("no", "no")],
        coerce=lambda text: text == "yes",
        empty_value=None,
    )
    carrier = forms.CharField(required=False, max_length=120, label="Carrier and tracking number of the old part")

    def __init__(self, page: pages.ClaimPage, data: Any = None, *, suppliers: Iterable[tuple[int, str]]) -> None:
        known = page.known
        asked_for = {None: "", True: "yes", False: "no"}[known.part_asked_for]
        initial = {name: getattr(known, name) for name in pages.Known.__dataclass_fields__}
        super().__init__(
            data,
            initial=initial | {"version": page.version, "part_asked_for": asked_for},
            auto_id="known_%s",
        )
        cast(forms.ChoiceField, self.fields["supplier"]).choices = [("", "none: directly to the payer"), *suppliers]
        if not page.asks_whether_part and known.part_asked_for is None:
            del self.fields["part_asked_for"]

    @property
    def sent(self) -> tuple[str, ...]:
        """The fields that were sent: one clock's day alone, or all of them."""
        known = [name for name in self.fields if name != "version"]
        whole = "whole" in self.data
        return tuple(name for name in known if name in self.data or (whole and name == "kinds"))

    def edits(self) -> dict[str, Any]:
        """The fields that were sent, with their values."""
        return {name: self.cleaned_data[name] for name in self.sent}


class DismissForm(_OfClaim):
    """Why a clock counts no more."""

    kind = forms.CharField(max_length=20, widget=forms.HiddenInput)
    why = forms.CharField(max_length=300, required=False, label="Why it no longer applies")


class TakeBackForm(_OfClaim):
    """Why the latest step of a claim is taken back."""

    why = why_field()

    def __init__(self, data: Any = None, *, version: int = 0) -> None:
        super().__init__(data, initial={"version": version}, auto_id="back_%s")


class GiveForm(ActionForm):
    """A photo or paper for what the payer wants."""

    want = forms.ChoiceField(label="What it proves")
    file = forms.FileField(
        required=False,
        label="A photo or document (JPEG, PNG, WebP or PDF), up to 20 MB",
        widget=forms.ClearableFileInput(attrs={"accept": _ACCEPT}),
    )
    document = forms.TypedChoiceField(
        required=False, coerce=int, empty_value=None, label="Or one already on file for this unit"
    )

    def __init__(
        self,
        data: Any = None,
        files: Any = None,
        *,
        wants: Collection[pages.WantLine],
        kept: Iterable[tuple[int, str]],
    ) -> None:
        super().__init__(data, files, auto_id="give_%s")
        # What is missing is offered first.
        ordered = sorted(wants, key=lambda want: want.there)
        cast(forms.ChoiceField, self.fields["want"]).choices = [(want.text, want.text) for want in ordered]
        cast(forms.ChoiceField, self.fields["document"]).choices = [("", "none"), *kept]


class OpenForm(ActionForm):
    """A claim on one payer of a failure, with everything known filled in."""

    terms = forms.IntegerField(widget=forms.HiddenInput)
    kinds = forms.MultipleChoiceField(required=False, label="What to claim", widget=forms.CheckboxSelectMultiple)
    supplier = forms.TypedChoiceField(required=False, coerce=int, empty_value=None, label="Through a supplier")
    because = forms.CharField(required=False, max_length=300)

    def __init__(self, offer: pages.MayOpen, data: Any = None, *, suppliers: Iterable[tuple[int, str]]) -> None:
        initial = {"terms": offer.terms_pk, "kinds": list(offer.kinds), "supplier": offer.supplier}
        super().__init__(data, initial=initial, auto_id=f"open_{offer.terms_pk}_%s")
        self.offer = offer
        cast(forms.ChoiceField, self.fields["kinds"]).choices = [(kind, kind) for kind in words.KINDS]
        cast(forms.ChoiceField, self.fields["supplier"]).choices = [("", "none: directly to the payer"), *suppliers]
        self.fields["because"].label = "Why we are claiming anyway" if not offer.promised else "Why we are not filing"
