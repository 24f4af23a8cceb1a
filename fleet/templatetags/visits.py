"""How lengths of work are written."""

from django import template

from fleet.rules.wording import care

register = template.Library()


@register.filter
def duration(minutes: int) -> str:
    """Write minutes as a length of time: 45 min, 2 h 35 min."""
    return care.duration(minutes)


@register.filter
def in_hours(minutes: int | None) -> str:
    """Write minutes as hours to one place, half up.

    >>> in_hours(90), in_hours(27), in_hours(0), in_hours(6000), in_hours(None)
    ('1.5', '0.5', '0', '100', '')
    """
    if minutes is None:
        return ""
    tenths = (minutes * 10 + 30) // 60
    return f"{tenths // 10:,}" if tenths % 10 == 0 else f"{tenths // 10:,}.{tenths % 10}"
