"""How lengths of work are written."""

from django import template

register = template.Library()


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
