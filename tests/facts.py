"""Facts for the tests of the rules, in one line each: days are written as text, and only what matters is named."""

import datetime as dt
from typing import Any

from fleet.rules import facts, terms_table
from fleet.rules import terms as papers
from fleet.rules.findings import Answer

Table = dict[str, Any]


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def _days(named: Table) -> Table:
    """Read what is written as text under a name of a day, or of several."""
    read = {}
    for name, value in named.items():
        if name.endswith("_on") or name == "first":
            value = tuple(map(day, value)) if isinstance(value, tuple) else value and day(value)
        read[name] = value
    return read


def site(use: str = "", **named: Any) -> facts.Site:
    """A site; `use` is what it has always been used for."""
    if use:
        named["uses"] = (facts.Use(use),)
    return facts.Site(**_days(named))


def use(word: str, first: str | None = None) -> facts.Use:
    return facts.Use(word, first and day(first))


def stay(where: facts.Site, first: str | None = None) -> facts.Stay:
    return facts.Stay(where, first and day(first))


def repair(component: str, failed_on: str, **named: Any) -> facts.Repair:
    return facts.Repair(component, day(failed_on), **_days(named))


def unit(at: facts.Site | None = None, **named: Any) -> facts.Unit:
    """A unit that stands `at` one site, where nothing else is said."""
    if at is not None:
        named["stays"] = (facts.Stay(at),)
    return facts.Unit(**_days(named))


def holding(paper: papers.Terms, **named: Any) -> facts.Holding:
    if "attached_on" in named:
        named["attached"] = True
    return facts.Holding(paper, **_days(named))


def months(number: int, *when: str) -> Table:
    """A tier of so many months, with the conditions that it asks."""
    return {"months": number, "when": list(when)}


def pays(*tiers: Table, kind: str = "parts", components: tuple[str, ...] = ("*",), waits_days: int = 0) -> Table:
    """A coverage: of parts, of whatever component, where nothing else is said."""
    return {"pays_for": [kind], "components": list(components), "tiers": list(tiers), "waits_days": waits_days}


def table(*coverages: Table, **named: Any) -> Table:
    """The table of a paper, as its file gives it: five years on parts from the day of installing, if nothing is said."""
    left_out: Table = {
        "code": "paper",
        "payer": "maker",
        "maker": "Halvik",
        "title": "Warranty statement",
        "models": ["*"],
        "installed_from": day("1990-01-01"),
        "checked_on": day("2026-08-01"),
        "source": {"title": "Warranty statement", "page": "1"},
        "starts": [{"from": "installed_on"}],
        "coverage": list(coverages) or [pays(months(60))],
    }
    return left_out | named


def terms(*coverages: Table, **named: Any) -> papers.Terms:
    return terms_table.read(table(*coverages, **named))


def registration(within_days: int = 60, counted_from: str = "installed_on", **named: Any) -> Table:
    return {"within_days": within_days, "counted_from": counted_from, **named}


def codes(answer: Answer) -> list[str]:
    """The codes of the reasons, in their order."""
    return [str(reason.code) for reason in answer.reasons]


def needs(answer: Answer) -> list[str]:
    return [str(reason.code) for reason in answer.needs]
