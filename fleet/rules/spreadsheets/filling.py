"""What a spreadsheet does not say and its other columns do: which site, which system, which manufacturer.

Each is one stated way of working it out, which a person chooses for the whole file.
"""

import datetime as dt
import fnmatch
from collections.abc import Collection, Iterable, Sequence
from enum import StrEnum

from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.rules.spreadsheets import places
from fleet.rules.terms import Terms

HOME = "Home"
SYSTEM = "System"
# A pattern that leaves out less than this would fit models of anybody.
_LEAST_LETTERS = 2


class Way(StrEnum):
    """How a column that the file does not have is filled."""

    SITE_HOME = "home"
    SITE_STREET = "street"
    SYSTEM_DAY = "day"
    SYSTEM_OUTDOOR = "outdoor"
    MAKER_MODEL = "model"


def site(street: str, streets: int) -> str:
    """The name of a customer's site: Home, or its street where the customer has more than one (by `places.same_street`).

    >>> site("12 Elm St", 1), site("12 Elm St", 2), site("", 2)
    ('Home', '12 Elm St', 'Home')
    """
    return street if street and streets > 1 else HOME


def system_by_day(installed_on: str, days_there: Collection[str]) -> str:
    """The name of the system that was put in at a site on a day: units of one day are one system.

    A unit without a day belongs to the only one there is; where there are several, nobody can say.

    >>> system_by_day("2019-03-08", {"2019-03-08"}), system_by_day("", {"2019-03-08"})
    ('Installed March 8, 2019', 'Installed March 8, 2019')
    >>> system_by_day("", set()), system_by_day("", {"2019-03-08", "2021-06-01"})
    ('System', 'Install date not known')
    """
    if not installed_on and not days_there:
        return SYSTEM
    day = installed_on or (next(iter(days_there)) if len(days_there) == 1 else "")
    if not day:
        return "Install date not known"
    return f"Installed {in_words(dt.date.fromisoformat(day))}"


def systems_by_outdoor(roles: Iterable[str]) -> list[str]:
    """The systems of a site's units, in the order of the file: each outdoor unit begins one, and what comes first is of the first.

    >>> systems_by_outdoor(["head", "outdoor", "head", "outdoor", "head"])
    ['System 1', 'System 1', 'System 1', 'System 2', 'System 2']
    """
    systems, count = [], 0
    for role in roles:
        count += role == "outdoor"
        systems.append(f"{SYSTEM} {max(count, 1)}")
    return systems


def is_same_fact(column: str, first: str, second: str) -> bool:
    """Whether two values say the same of a customer or a site, one of them in full.

    >>> is_same_fact("street", "12 Elm St", "12 elm street"), is_same_fact("phone", "207-555-0134", "555-0134")
    (True, True)
    >>> is_same_fact("postcode", "04791", "04791-0002"), is_same_fact("city", "Salt Neck", "Portsend")
    (True, False)
    """
    first, second = first.casefold(), second.casefold()
    match column:
        case "street":
            return places.same_street(first) == places.same_street(second)
        case "phone":
            return first.endswith(second) or second.endswith(first)
        case "postcode":
            return first.startswith(second) or second.startswith(first)
    return first == second


def maker(model: str, terms: Sequence[Terms]) -> str:
    """The one manufacturer whose terms name this model by its pattern; blank where none does, or several do."""
    key = words.key(model)
    return makers[0] if key and len(makers := makers_of(key, terms)) == 1 else ""


def makers_of(model_key: str, terms: Sequence[Terms]) -> list[str]:
    """The manufacturers whose terms name a folded model, each once; a pattern that fits nearly anything names none."""
    of_makers = [
        one for one in terms if one.payer == "maker" and any(_names(model_key, pattern) for pattern in one.models)
    ]
    return sorted({words.key(one.maker): one.maker for one in of_makers}.values())


def _names(model_key: str, pattern: str) -> bool:
    key = words.key(pattern)
    says_something = len(key.replace("*", "").replace("?", "")) >= _LEAST_LETTERS
    return says_something and fnmatch.fnmatchcase(model_key, key.replace("[", "[[]"))
