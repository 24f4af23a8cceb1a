"""What things are called in a sentence, and the small change of English: lists, lengths, days."""

import datetime as dt
from collections.abc import Iterable

from fleet.rules import payers
from fleet.rules.dates import in_words
from fleet.rules.spreadsheets.places import REGIONS

DATES = {
    "started_on": "the startup day",
    "installed_on": "the day it was installed",
    "purchased_on": "the day it was purchased",
    "closed_on": "the closing day of the new house",
    "manufactured_on": "the day it was manufactured",
    "attached_on": "the day the plan was bought",
    "failed_on": "the day it failed",
    "repaired_on": "the day it was repaired",
    "part_taken_on": "the day the new part was picked up",
}
PAYERS = {payer.code: payer.name for payer in payers.PAYERS} | {"customer": "the customer"}
# The same as an answer to "who pays?".
PAYS = {payer.code: payer.pays for payer in payers.PAYERS} | {"customer": "the customer"}
CAUSES = {
    "installation ours": "our installation",
    "installation others": "another company's installation",
    "maintenance": "lack of maintenance",
    "power": "power surge",
    "not known": "cause not known",
}
# For each condition: that it holds, that it does not, and what is open ("if ...", "whether ...").
CONDITIONS = {
    "registered": ("It is registered", "It is not registered", "it is registered"),
    "recognized installer": (
        "It was installed by a recognized installer",
        "It was not installed by a recognized installer",
        "it was installed by a recognized installer",
    ),
    "licensed installer": (
        "It was installed by a licensed installer",
        "It was not installed by a licensed installer",
        "it was installed by a licensed installer",
    ),
    "matched system": (
        "It is part of a matched system",
        "It is not part of a matched system",
        "it is part of a matched system",
    ),
    "original site": (
        "It is still where it was first installed",
        "It is not where it was first installed",
        "it is still where it was first installed",
    ),
    "owner home": (
        "It is in an owner-occupied home",
        "It is not in an owner-occupied home",
        "it is in an owner-occupied home",
    ),
    "rental": ("It is in a rental", "It is not in a rental", "it is in a rental"),
    "business": (
        "It is in a non-residential building",
        "It is not in a non-residential building",
        "it is in a non-residential building",
    ),
    "first owner": (
        "House not sold since startup, by our records",
        "The house was sold",
        "the house was not sold",
    ),
    "yearly maintenance": (
        "Maintained by a technician every year so far, by our records",
        "A year without a technician's maintenance",
        "a technician maintained it every year",
    ),
    "away from coast": ("It is not near the coast", "It is near the coast", "it is not near the coast"),
}
# The same as what a paper asks for: "if it is ...".
ASKED = {
    "registered": "registered",
    "recognized installer": "installed by a recognized installer",
    "licensed installer": "installed by a licensed installer",
    "matched system": "part of a matched system",
    "original site": "still where it was first installed",
    "owner home": "in an owner-occupied home",
    "rental": "in a rental",
    "business": "in a non-residential building",
    "first owner": "still with its first owner",
    "yearly maintenance": "maintained by a technician every year",
    "away from coast": "away from the coast",
}
# Who may be the one to do something.
PEOPLE = {
    "owner": "the homeowner",
    "installer": "the installing contractor",
    "either": "the homeowner or the contractor",
}


def region(code: str) -> str:
    """A state or province by its name; a code of elsewhere as it is.

    >>> region("US-FL"), region("GB-ENG")
    ('Florida', 'GB-ENG')
    """
    return REGIONS.get(code, code)


def pays(payer: str) -> str:
    """Who pays, with the verb.

    >>> pays("maker"), pays("installer")
    ('the manufacturer pays', 'we pay')
    """
    return f"{subject(payer)} {'pay' if is_we(payer) else 'pays'}"


def subject(payer: str) -> str:
    """A payer as what a sentence begins with."""
    return "we" if is_we(payer) else PAYERS[payer]


def is_we(payer: str) -> bool:
    """Whether a payer is ourselves."""
    return payer in payers.BY_CODE and payers.BY_CODE[payer].ours


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


def source(title: str, page: str) -> str:
    """A paper with the page or pages where it says so.

    >>> source("Dealer book 3", "4"), source("Dealer book 3", "1 to 4"), source("Dealer book 3", "")
    ('Dealer book 3, page 4', 'Dealer book 3, pages 1 to 4', 'Dealer book 3')
    """
    return f"{title}, page{'s' if ' ' in page else ''} {page}" if page else title


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


def failed(name: str) -> str:
    """What failed, as a list names it; blank is a component that nobody knows yet.

    >>> failed("sensor"), failed("")
    ('sensor', 'component not known yet')
    """
    return name or "component not known yet"


def component(name: str) -> str:
    return "any other component" if name in ("any other", "other", "*") else f"the {name}"
