"""What a form asks back before it is saved: something odd, said beside its field, with a tick by which somebody says that it is so."""

from collections.abc import Iterable
from typing import Any, cast

from django import forms
from django.http import QueryDict

from fleet.rules.plausible import Oddity

SURE = "sure"


class AskingForm(forms.Form):
    """A form that may ask back; what was typed stays in it, and each tick holds for what it was set for alone."""

    questions: tuple[Oddity, ...] = ()

    def asks_back(self, oddities: Iterable[Oddity]) -> bool:
        """Show what is odd; return whether any of it is still to be confirmed."""
        self.questions = tuple(oddities)
        still = [one for one in self.questions if one.value not in self._sure()]
        for one in still:
            shown = one.field in self.fields and not self.fields[one.field].widget.is_hidden
            self.add_error(one.field if shown else None, f"{one.text} Correct it, or confirm it with the tick.")
        return bool(still)

    @property
    def ticks(self) -> list[dict[str, Any]]:
        """The ticks to show: name, id, what is sent, what it says, and whether it is set."""
        name = self.add_prefix(SURE)
        sure = self._sure()
        return [
            {"name": name, "id": f"{name}_{at}", "value": one.value, "words": one.tick, "set": one.value in sure}
            for at, one in enumerate(self.questions)
        ]

    def _sure(self) -> set[str]:
        return set(cast(QueryDict, self.data).getlist(self.add_prefix(SURE))) if self.is_bound else set()
