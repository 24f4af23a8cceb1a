"""What is asked for a payer's statement: the file, and of each credit that is left, whose it is."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms

from fleet.claims.pages.statements import LeftLine
from fleet.elements.action_form import ActionForm, LineForm

LARGEST = 5_000_000


class StatementForm(LineForm):
    """A payer's file of credits."""

    file = forms.FileField(
        label="The payer’s file of credits, CSV or XLSX",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.xlsx"}),
        error_messages={"required": "Choose the file first.", "empty": "The file is empty."},
    )
    payer_name = forms.ChoiceField(required=False, label="Whose credits these are")

    use_required_attribute = False

    def __init__(self, data: Any = None, files: Any = None, *, payers: Iterable[str]) -> None:
        super().__init__(data, files, label_suffix="")
        choices = [("", "any payer"), *((name, name) for name in payers)]
        cast(forms.ChoiceField, self.fields["payer_name"]).choices = choices

    def clean_file(self) -> Any:
        """Refuse a file that is larger than any statement."""
        file = self.cleaned_data["file"]
        if file.size > LARGEST:
            raise forms.ValidationError(f"It is larger than {LARGEST // 1_000_000} MB.")
        return file


class MatchForm(ActionForm):
    """To which claim a credit belongs: one of those shown, or another by its number."""

    # A claim with the version that was shown: an older one is for the action to refuse, which says what happened meanwhile.
    claim = forms.RegexField(r"^\d{1,18}:\d{1,9}$", required=False, label="The claim it is for")
    other = forms.IntegerField(
        required=False,
        min_value=1,
        label="Another claim, by number",
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    day = forms.DateField(
        required=False,
        label="Book it on",
        help_text="No earlier than the claim’s last step. The day on the statement stays in the note.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"invalid": "Write the day as 2026-03-08."},
    )
    last = forms.BooleanField(required=False, label="This is the last payment on this claim")
    reason = forms.CharField(required=False, max_length=500, label="If it is less than approved, why")
    confirmed = forms.BooleanField(required=False, label="It is more than was approved, and that is right")

    def __init__(self, line: LeftLine, data: Any = None) -> None:
        proposed = next((one.value for one in line.candidates if one.proposed), "")
        initial = {"claim": proposed, "day": line.book_on}
        super().__init__(data, prefix=f"line{line.pk}", initial=initial)

    @property
    def chosen(self) -> int | None:
        """The claim that is chosen now, whichever its version."""
        number = str(self["claim"].value() or "").partition(":")[0]
        return int(number) if number.isdecimal() else None

    def clean(self) -> dict[str, Any]:
        """Ask for one claim."""
        asked = super().clean() or {}
        if not asked.get("claim") and not asked.get("other") and not self.errors:
            self.add_error("other", "Choose the claim, or enter its number.")
        return asked

    def field_of(self, fact: str) -> str:
        """A claim that is not on file can only have been named by its number."""
        return "other" if fact == "claim" else fact


class AsideForm(ActionForm):
    """Why a credit is set aside."""

    why = forms.CharField(
        max_length=300, label="Set it aside because", error_messages={"required": "Say why you are setting it aside."}
    )

    def __init__(self, line: LeftLine, data: Any = None) -> None:
        super().__init__(data, prefix=f"aside{line.pk}")
