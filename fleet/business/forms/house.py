"""What the company settles for itself, the days it is closed, and the hours its technicians have by month."""

import datetime as dt
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms

from fleet.elements.action_form import ActionForm, DayInput
from fleet.elements.carried import CarriedForm
from fleet.elements.money_field import MoneyField
from fleet.rules.dates import in_words
from fleet.rules.usual_holidays import Holiday

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_NUMBER = {"inputmode": "decimal"}
_PER_HOUR: Any = {"max_value": 99_999, "error_messages": {"required": "Enter an amount; 0 is fine."}}


def _number(
    label: str, most: int, *, places: int = 2, required: bool = True, help_text: str = ""
) -> forms.DecimalField:
    return forms.DecimalField(
        min_value=Decimal(0),
        max_value=Decimal(most),
        decimal_places=places,
        required=required,
        label=label,
        help_text=help_text,
        widget=forms.TextInput(attrs=_NUMBER),
        error_messages={"required": "Enter a number; 0 is fine."},
    )


def _days(label: str, *, required: bool = True, help_text: str = "") -> forms.IntegerField:
    return forms.IntegerField(
        min_value=1,
        max_value=365,
        required=required,
        label=label,
        help_text=help_text,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
        error_messages={"required": "Enter a number of days, such as 30.", "invalid": "Enter a whole number of days."},
    )


class DaysField(forms.MultipleChoiceField):
    """Weekdays ticked, kept as their numbers in a row, Monday as 0."""

    def to_python(self, value: Any) -> Any:
        """Read ticks, or the numbers in a row."""
        return list(value) if isinstance(value, str) else super().to_python(value)

    def clean(self, value: Any) -> Any:
        """The chosen numbers in order, as one text."""
        return "".join(sorted(super().clean(value)))

    def prepare_value(self, value: Any) -> Any:
        """Tick what a row of numbers says; a hidden field carries the row itself."""
        return list(value) if isinstance(value, str) and not self.widget.is_hidden else value


class HouseForm(CarriedForm):
    """Rates, days and hours, and since when our own record is whole."""

    hourly_rate = MoneyField(label="Our labor rate, per hour ($)", **_PER_HOUR)
    drive_price = MoneyField(
        label="Driving costs us, per hour ($)",
        **_PER_HOUR,
        help_text="Visits that do not pay for their drive are marked.",
    )
    hours_a_day = _number(
        "Technician hours for visits, per day", 24, help_text="All technicians together; 0 for no limit."
    )
    renewal_percent = _number(
        "Agreements that renew (%)",
        100,
        help_text="Your estimate, used until 20 have come up for renewal; after that, the actual rate.",
    )
    record_complete_from = forms.DateField(
        required=False,
        widget=DayInput,
        label="Our record of failures is complete since",
        help_text="What fails counts failures from this day on; blank: from the day each unit was installed.",
    )
    call_back_days = _days(
        "Days after our work in which a call may be a call-back",
        help_text="30 is usual. The office says yes or no to each.",
    )
    renewal_notice_days = _days(
        "Days before a renewal to give notice of it",
        required=False,
        help_text="For agreements that renew by themselves; blank: you give no notice.",
    )
    promise_reserve = MoneyField(
        label="Put aside for our own promises, in dollars",
        max_value=9_999_999,
        help_text="The year ahead compares it with what your promises to customers could cost.",
    )
    weekdays = DaysField(
        label="Days worked",
        choices=[(str(number), name) for number, name in enumerate(WEEKDAYS)],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Check at least one day."},
    )

    def __init__(self, data: Any = None, *, shown: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, shown=shown, auto_id="house_%s")


class ClosedForm(ActionForm):
    """A day, or the days until another, on which nobody works."""

    first = forms.DateField(widget=DayInput, label="Closed on", error_messages={"required": "Enter a day."})
    last = forms.DateField(required=False, widget=DayInput, label="Through", help_text="Blank: that day only.")
    why = forms.CharField(required=False, max_length=120, label="Reason")

    # Longer than this nobody closes at once.
    MOST = 62

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, auto_id="closed_%s")

    def clean(self) -> dict[str, Any]:
        """Hold the days in order and few."""
        cleaned = super().clean() or {}
        first, last = cleaned.get("first"), cleaned.get("last")
        if first and last and not 0 <= (last - first).days < self.MOST:
            self.add_error("last", f"Enter a day no earlier than {in_words(first)}, at most {self.MOST} days in all.")
        return cleaned

    def days(self) -> dict[dt.date, str]:
        """Each day from the first to the last, with why it is closed."""
        first, last = self.cleaned_data["first"], self.cleaned_data["last"] or self.cleaned_data["first"]
        count = (last - first).days + 1
        return {first + dt.timedelta(days=number): self.cleaned_data["why"] for number in range(count)}


class HolidaysForm(ActionForm):
    """The usual holidays that are not closed yet; those that a company is usually closed on are ticked."""

    days = forms.MultipleChoiceField(
        label="Holidays to close",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Check at least one holiday."},
    )

    def __init__(self, data: Any = None, *, holidays: Iterable[Holiday]) -> None:
        self._names = {day.on.isoformat(): day.name for day in holidays}
        super().__init__(data, initial={"days": [day.on.isoformat() for day in holidays if day.closes]})
        self.fields["days"].choices = [  # type: ignore[attr-defined]
            (day.on.isoformat(), f"{day.on:%A}, {in_words(day.on)}: {day.name}") for day in holidays
        ]

    def closed(self) -> dict[dt.date, str]:
        """The days chosen, each with its name."""
        return {dt.date.fromisoformat(day): self._names[day] for day in self.cleaned_data["days"]}


class MonthsForm(CarriedForm):
    """Technician hours on hand for each month of a year; blank where nobody knows."""

    def __init__(self, data: Any = None, *, year: int, shown: Mapping[dt.date, Decimal | None]) -> None:
        more = {
            name_of(dt.date(year, month, 1)): _number(f"{dt.date(year, month, 1):%B}", 99_999, required=False)
            for month in range(1, 13)
        }
        named = {name_of(month): hours for month, hours in shown.items()}
        super().__init__(data, shown=named, auto_id="hours_%s", more=more)

    def field_of(self, fact: str) -> str:
        """A month's field is named for it."""
        return f"month_{fact}"

    def months(self, fields: Mapping[str, Any]) -> dict[dt.date, Decimal | None]:
        """Hours by the first day of their month."""
        return {dt.date.fromisoformat(f"{name.removeprefix('month_')}-01"): hours for name, hours in fields.items()}


def name_of(month: dt.date) -> str:
    """The name of a month's field.

    >>> name_of(dt.date(2026, 12, 1))
    'month_2026-12'
    """
    return f"month_{month:%Y-%m}"
