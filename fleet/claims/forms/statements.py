"""What is asked for a payer's statement: the file, and of each credit that is left, whose it is."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms

from fleet.claims.actions.statement_columns import Plan
from fleet.claims.pages.statements import Heading, LeftLine, Matching
from fleet.elements.action_form import A_DAY, ActionForm, DayInput, LineForm
from fleet.rules.spreadsheets import credit_lists
from fleet.rules.spreadsheets.days import Order

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


class ColumnsForm(LineForm):
    """What each heading of a payer's file is."""

    order = forms.ChoiceField(
        required=False,
        label="How days such as 3/8/2026 are written",
        choices=[("", "they can be read only one way"), *((one.value, one.value.capitalize()) for one in Order)],
    )

    use_required_attribute = False

    def __init__(self, matching: Matching, data: Any = None) -> None:
        super().__init__(data, label_suffix="", initial={"order": matching.order})
        self.matching = matching
        choices = [("", "not used"), *((name, credit_lists.TITLES[name]) for name in credit_lists.TARGETS)]
        for number, heading in enumerate(matching.headings):
            self.fields[f"column_{number}"] = forms.ChoiceField(
                required=False, label=heading.name, choices=choices, initial=heading.ours
            )

    @staticmethod
    def remembered(matching: Matching) -> dict[str, str]:
        """What a person would send who leaves all as it was matched before."""
        columns = {f"column_{number}": heading.ours for number, heading in enumerate(matching.headings)}
        return columns | {"order": matching.order}

    @property
    def lines(self) -> list[tuple[Heading, forms.BoundField]]:
        """Each heading with its field."""
        return [(heading, self[f"column_{number}"]) for number, heading in enumerate(self.matching.headings)]

    def clean(self) -> dict[str, Any]:
        """Each of our columns once at most; a day and an amount at least."""
        told = super().clean() or self.cleaned_data
        taken: dict[str, str] = {}
        for number, heading in enumerate(self.matching.headings):
            ours = told.get(f"column_{number}", "")
            if ours and ours in taken:
                self.add_error(f"column_{number}", f"{taken[ours]} is that already.")
            elif ours:
                taken[ours] = heading.name
        if "day" not in taken:
            self.add_error(None, "Choose which column is the day of the credit.")
        if not {"amount", credit_lists.DEBIT} & taken.keys():
            self.add_error(None, "Choose which column is the amount.")
        if taken.get("day") in self.matching.open_order and not told.get("order"):
            self.add_error("order", f"Days in {taken['day']} can be read in two ways. Choose which part comes first.")
        return told

    def plan(self) -> Plan:
        """What was chosen."""
        told = self.cleaned_data
        columns = {one.name: told[f"column_{number}"] for number, one in enumerate(self.matching.headings)}
        return Plan(columns, Order(told["order"]) if told["order"] else None)


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
        widget=DayInput(),
        error_messages={"invalid": A_DAY},
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
