"""A care sheet read back in sentences, as somebody would say it to a technician; and what one changes in another."""

from collections.abc import Iterator

from fleet.rules.caresheet import CareSheet, Task
from fleet.rules.dates import MONTHS, in_words
from fleet.rules.wording.care import PER, WHEN, months
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import listed, source

ACCESS = {"normal": "easy to reach", "high": "high up", "roof": "on a roof", "crawlspace": "in a crawlspace"}


def general(sheet: CareSheet) -> tuple[str, ...]:
    """What holds for every visit.

    >>> from decimal import Decimal
    >>> general(CareSheet("a", (), 20, (("roof", 30),), (("cassette", Decimal("1.5")),)))
    ('Every visit takes 20 minutes besides its tasks.', 'A unit on a roof takes 30 minutes more.', 'In the price of an agreement a cassette head counts 1.5 times a plain one.')
    """
    return tuple(_general(sheet))


def _general(sheet: CareSheet) -> Iterator[str]:
    yield f"Every visit takes {_minutes(sheet.setup_minutes)} besides its tasks."
    for access, more in sheet.access_minutes:
        yield f"A unit {ACCESS[access]} takes {_minutes(more)} more."
    for style, factor in sheet.style_factor:
        yield f"In the price of an agreement a {style} head counts {_plain(factor)} times a plain one."
    if sheet.upkeep_on_file_from:
        yield (
            f"Our maintenance is on file from {in_words(sheet.upkeep_on_file_from)}; what was due before that day counts as"
            " done."
        )


def task(one: Task) -> tuple[str, ...]:
    """One task: who does it to what and how often, when, how long it takes and what it costs, and what brings it forward."""
    return tuple(filter(None, (_who(one), _when(one), _season(one), _takes(one), *_sooner(one), _source(one))))


def _who(one: Task) -> str:
    who = "We do it" if one.by == "technician" else "The customer does it"
    styles = f" ({', '.join(one.styles)} only)" if one.styles else ""
    return f"{who} for {PER[one.per]}{styles}, {months(one.every_months)}."


def _when(one: Task) -> str:
    early = f"from {_days(one.early_days)} before it is due" if one.early_days else "from the day it is due"
    late = f"more than {_days(one.late_days)} after" if one.late_days else "the day after"
    counts = "the day it was due" if one.counts_from == "due day" else "the day it was done"
    return f"It may be done {early}; it is overdue {late}. The next one counts from {counts}."


def _season(one: Task) -> str:
    best = f"Best in {listed(MONTHS[month - 1] for month in one.months)}." if one.months else ""
    never = f"Never planned in {listed(MONTHS[month - 1] for month in one.not_months)}." if one.not_months else ""
    return " ".join(filter(None, (best, never)))


def _takes(one: Task) -> str:
    more = [f"{minutes} more for a {style} head" for style, minutes in one.style_minutes]
    takes = f"It takes {_minutes(one.minutes)}{''.join(f', {words}' for words in more)}."
    if one.by == "owner" and not one.price:
        return takes
    further = "" if one.further_price == one.price else f", {dollars(one.further_price)} for each other in the system"
    return f"{takes} It costs {dollars(one.price)}{further}."


def _sooner(one: Task) -> Iterator[str]:
    shares: dict[str, list[str]] = {}
    for each in one.shorten:
        shares.setdefault(f"{_plain(each.times * 100)}%", []).append(WHEN[each.when])
    if shares:
        first, *others = (f"{listed(whats, 'or')} ({share}{{}})" for share, whats in shares.items())
        named = listed([first.format(" of that time"), *(other.format("") for other in others)])
        yield f"It comes sooner with {named}."
    if one.shorten and one.floor_days:
        yield f"Never sooner than {_days(one.floor_days)} after the last time."
    if one.dirt:
        part = "blower wheel" if one.dirt == "wheel" else "coil"
        yield f"A {part} found dirty brings it forward."


def _source(one: Task) -> str:
    return f"Source: {source(one.source_title.rstrip('.'), one.source_page)}; checked {in_words(one.checked_on)}."


def differences(new: Task, old: Task) -> tuple[str, ...]:
    """What one task's sentences say now and said before; the same sentence on both sides is no difference."""
    before = task(old)
    changed = [line for line in task(new) if line not in before]
    gone = [line for line in before if line not in task(new)]
    renamed = [f"It was called “{old.title}”."] if new.title != old.title else []
    cautions = ["The cautions are changed."] if new.cautions != old.cautions else []
    return (*renamed, *changed, *(f"No longer: {line}" for line in gone), *cautions)


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number} days"


def _minutes(number: int) -> str:
    return "1 minute" if number == 1 else f"{number} minutes"


def _plain(number: object) -> str:
    """A decimal without zeros that say nothing.

    >>> from decimal import Decimal
    >>> _plain(Decimal("50.0")), _plain(Decimal("1.50")), _plain(Decimal("100"))
    ('50', '1.5', '100')
    """
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
