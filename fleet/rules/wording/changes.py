"""What somebody changed, in a sentence for the page of what was changed."""

from collections.abc import Mapping

from fleet.rules.dates import in_words, written


def change(names: Mapping[str, str], when: str, who: str, field: str, before: str, after: str) -> str:
    """Write what somebody changed; `names` has what people call a field.

    >>> at, who = "March 2, 2026, 9:05 AM", "Wren Halloran"
    >>> change({"terms_agreed": "terms agreed"}, at, who, "terms_agreed", "1", "2")
    'March 2, 2026, 9:05 AM: Wren Halloran changed terms agreed from 1 to 2'
    >>> change({"start_on": "first day"}, at, "a file", "start_on", "", "2026-03-01")
    'March 2, 2026, 9:05 AM: a file set first day to March 1, 2026'
    >>> change({"until": "last day"}, at, who, "until", "2027-03-01", "2028-03-01")
    'March 2, 2026, 9:05 AM: Wren Halloran changed last day from March 1, 2027 to March 1, 2028'
    """
    name, now = names.get(field, field), value_or_blank(after)
    return (
        f"{when}: {who} changed {name} from {value(before)} to {now}"
        if before
        else f"{when}: {who} set {name} to {now}"
    )


def value(text: str) -> str:
    """What the log keeps of a value, as people say it: a day in words, all else as it is.

    >>> value("2026-03-01"), value("M-101"), value("2026-02-30")
    ('March 1, 2026', 'M-101', '2026-02-30')
    """
    day = written(text)
    return in_words(day) if day else text


def value_or_blank(text: str) -> str:
    """The same as `value`, or that it is blank.

    >>> value_or_blank("2026-03-01"), value_or_blank("")
    ('March 1, 2026', 'blank')
    """
    return value(text) or "blank"
