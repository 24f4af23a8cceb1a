"""Settling what a write-up said and what could not be recorded."""

from fleet.elements.action_form import ActionForm, why_field


class SettleForm(ActionForm):
    """What was done about it."""

    how = why_field("What was done about it")
