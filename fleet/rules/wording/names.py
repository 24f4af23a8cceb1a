"""What things are called in a sentence, and the small change of English: lists, lengths, days."""

import datetime as dt
from collections.abc import Iterable

from fleet.rules import payers
from fleet.rules.dates import in_words

DATES = {
    "started_on": "the day it was started",
    "installed_on": "the day it was installed",
    "purchased_on": "the day it was purchased",
    "closed_on": "the closing day of the house",
    "manufactured_on": "the day it was manufactured",
    "attached_on": "the day these terms were bought or promised",
    "failed_on": "the day it failed",
    "repaired_on": "the day it was repaired",
    "part_taken_on": "the day the new part was taken",
}
PAYERS = {payer.code: payer.name for payer in payers.PAYERS} | {"customer": "the customer"}
# The same as an answer to "who pays?".
PAYS = {payer.code: payer.pays for payer in payers.PAYERS} | {"customer": "the customer"}
CAUSES = {"installation ours": "our installation", "installation others": "another firm's installation"}
# For each condition: that it holds, that it does not, and what is open ("if ...", "whether ...").
CONDITIONS = {
    "registered": ("It is registered", "It is not registered", "it is registered"),
    "recognized installer": (
        "A recognized installer put it in",
        "It was not put in by a recognized installer",
        "a recognized installer put it in",
    ),
    "licensed installer": (
        "A licensed installer put it in",
        "It was not put in by a licensed installer",
        "a licensed installer put it in",
    ),
    "matched system": (
        "It is part of a matched system",
        "It is not part of a matched system",
        "it is part of a matched system",
    ),
    "original site": ("It is at its original site", "It is not at its original site", "it is at its original site"),
    "owner home": ("It is in an owner's home", "It is not in an owner's home", "it is in an owner's home"),
    "rental": ("It is in a rental", "It is not in a rental", "it is in a rental"),
    "business": ("It is in a business", "It is not in a business", "it is in a business"),
    "first owner": (
        "No sale of the house since the start is on file",
        "The house was sold",
        "the house was not sold",
    ),
    "yearly maintenance": (
        "No full year is without a technician's maintenance on file",
        "A full year is without a technician's maintenance",
        "a technician maintained it every year",
    ),
    "away from coast": ("It is not near the coast", "It is near the coast", "it is not near the coast"),
}
# The same as what a paper asks for.
ASKED = {
    "registered": "registered",
    "recognized installer": "put in by a recognized installer",
    "licensed installer": "put in by a licensed installer",
    "matched system": "part of a matched system",
    "original site": "at its original site",
    "owner home": "in an owner's home",
    "rental": "in a rental",
    "business": "in a business",
    "first owner": "with its first owner",
    "yearly maintenance": "maintained by a technician every year",
    "away from coast": "away from the coast",
}


def length(what: str) -> str:
    """Write a length as people say it.

    >>> length("120 months"), length("18 months"), length("1 days"), length("lifetime")
    ('10 years', '18 months', '1 day', 'the life of the unit')
    """
    if what == "lifetime":
        return "the life of the unit"
    number, unit = _counted(what)
    return f"{number:,} {unit}" if number == 1 else f"{number:,} {unit}s"


def term(what: str) -> str:
    """A term by its length: `the 10-year term`; a bare `the term` where the length is not given."""
    if not what:
        return "the term"
    if what == "lifetime":
        return "the lifetime term"
    number, unit = _counted(what)
    return f"the {number:,}-{unit} term"


def _counted(what: str) -> tuple[int, str]:
    number, unit = int(what.split()[0]), what.split()[1].removesuffix("s")
    return (number // 12, "year") if unit == "month" and number % 12 == 0 else (number, unit)


def days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"


def span(number: int, more: str = "") -> str:
    """So many days as people feel them: days up to two months, then months, from two years on years and months.

    `more` stands between the number and its unit. A year counts as 365.25 days, and months are rounded to the nearest.

    >>> span(30), span(90), span(1826), span(1826, "more"), span(1000)
    ('30 days', '3 months', '5 years', '5 more years', '2 years 9 months')
    """
    more = f"{more} " if more else ""
    if number <= 60:
        return f"{number} {more}{'day' if number == 1 else 'days'}"
    months = (number * 48 + 730) // 1461
    if months < 24 and months != 12:
        return f"{months} {more}months"
    years, rest = divmod(months, 12)
    text = f"{years:,} {more}{'year' if years == 1 else 'years'}"
    return f"{text} {rest} {'month' if rest == 1 else 'months'}" if rest else text


def listed(items: Iterable[str], last: str = "and") -> str:
    found = tuple(items)
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} {last} {found[-1]}"


def dated(day: dt.date | None, before: str = " on ") -> str:
    """Write a day with its lead, or nothing where it is not known."""
    return "" if day is None else f"{before}{in_words(day)}"


def upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def component(name: str) -> str:
    return "any other component" if name in ("any other", "other", "*") else f"the {name}"
