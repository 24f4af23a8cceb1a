"""What the federal rules ask of a system that leaks, or is taken out, by its refrigerant, its charge and its use.

They leave nearly every system of this trade out; which rule does, and why, is said beside each leak rate.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from fleet.rules import words
from fleet.rules.readings import CHECKED_ON, Move, Source, Weighing, rolling


class Substance(StrEnum):
    """What a refrigerant is in the eyes of the federal rules."""

    OZONE_DEPLETING = "class I or II, or a blend with it"
    HFC = "an HFC, or a substitute with a GWP over 53"
    OTHER = "other"


class Subsector(StrEnum):
    """What a system is for in the eyes of the federal rules."""

    RESIDENTIAL = "residential and light commercial air conditioning and heat pumps"
    COMFORT_COOLING = "comfort cooling and other"
    COMMERCIAL_REFRIGERATION = "commercial refrigeration"
    INDUSTRIAL_PROCESS = "industrial process refrigeration"


@dataclass(frozen=True, slots=True)
class FederalRule:
    """From which day and from how many pounds a rule asks for leak repair, of which substance, and for whom it does not."""

    substance: Substance
    first_day: dt.date
    least_pounds: Decimal
    left_out: tuple[Subsector, ...]
    source: Source


FEDERAL_RULES = (
    FederalRule(
        Substance.OZONE_DEPLETING, dt.date(2020, 4, 10), Decimal(50), (), Source("40 CFR 82.157(a)", CHECKED_ON)
    ),
    FederalRule(
        Substance.HFC,
        dt.date(2026, 1, 1),
        Decimal(15),
        (Subsector.RESIDENTIAL,),
        Source("40 CFR 84.106; 89 FR 82682 (October 11, 2024)", CHECKED_ON, quoted=True),
    ),
)
# 40 CFR 82.157(c)(2): the leak must be repaired where the rate is over so many percent a year.
TRIGGERS = {
    Subsector.RESIDENTIAL: Decimal(10),
    Subsector.COMFORT_COOLING: Decimal(10),
    Subsector.COMMERCIAL_REFRIGERATION: Decimal(20),
    Subsector.INDUSTRIAL_PROCESS: Decimal(30),
}
# 40 CFR 82.157 and 84.106, as quoted in a study guide: reported where so many percent leaked within a calendar year.
_REPORTED_FROM = Decimal(125)
# 40 CFR 82.156(a)(3), as on an EPA page of January 2017: a record of what was recovered, between these charges.
_DISPOSAL_OVER, _DISPOSAL_UNDER = Decimal(5), Decimal(50)


def over(rate: Fraction, limit: Decimal | None) -> bool:
    """Whether a leak rate is over a trigger; at it is not over it."""
    return limit is not None and rate > Fraction(limit)


def report_by(ledger: Iterable[Weighing], full_charge: Decimal, *, year: int) -> dt.date | None:
    """The day by which a chronic leak of a calendar year is reported, under the federal rules; else None."""
    added = (row.pounds for row in ledger if row.move is Move.ADDED and row.on.year == year)
    if rolling(added, full_charge) < Fraction(_REPORTED_FROM):
        return None
    return dt.date(year + 1, 3, 1)


def disposal_recorded(full_charge: Decimal, substance: Substance | None) -> bool:
    """Whether taking such a system out needs a record of the refrigerant recovered from it; one of unknown kind does."""
    return substance is not Substance.OTHER and _DISPOSAL_OVER < full_charge < _DISPOSAL_UNDER


# What common refrigerants are, by their folded names: class I and II substances are listed in 40 CFR 82, subpart A, appendices
# A and B, regulated HFCs in 40 CFR 84, appendix A; propane and isobutane (R-600a) have a GWP far below 53. From memory.
_SUBSTANCES = {
    Substance.OZONE_DEPLETING: ("R-11", "R-12", "R-22", "R-123", "R-401A", "R-402A", "R-408A", "R-409A", "R-500", "R-502"),
    Substance.HFC: (
        "R-32", "R-125", "R-134a", "R-404A", "R-407A", "R-407C", "R-410A", "R-421A", "R-422B", "R-422D", "R-427A", "R-438A",
        "R-452B", "R-454B", "R-454C", "R-466A", "R-507", "R-507A",
    ),
    Substance.OTHER: ("R-290", "R-600a", "R-744"),
}  # fmt: skip
_BY_NAME = {words.key(name): substance for substance, names in _SUBSTANCES.items() for name in names}


def substance_of(refrigerant: str) -> Substance | None:
    """What a refrigerant is, by its name; None where the name is not known here.

    >>> substance_of("r410a"), substance_of("R-22"), substance_of("brine")
    (<Substance.HFC: 'an HFC, or a substitute with a GWP over 53'>, <Substance.OZONE_DEPLETING: 'class I or II, or a blend with it'>, None)
    """
    return _BY_NAME.get(words.key(refrigerant))


class LeftOut(StrEnum):
    """Why a rule asks nothing of a system; or that it does ask."""

    NO_RULE = "no rule names such a refrigerant"
    SUBSECTOR = "the rule leaves its use out"
    NOT_YET = "the rule holds from a later day"
    TOO_SMALL = "it holds less than the rule begins at"
    CHARGE_UNKNOWN = "its full charge is not known"
    APPLIES = "the rule asks for repair"


@dataclass(frozen=True, slots=True)
class Standing:
    """The leak rule for a refrigerant (None: no rule names it), and why it asks nothing of a system, or that it does."""

    rule: FederalRule | None
    why: LeftOut


def standing(full_charge: Decimal | None, substance: Substance, subsector: Subsector, *, on: dt.date) -> Standing:
    """Where a system stands with the federal leak rules on a day; its full charge in pounds, None where nobody knows."""
    rule = next((rule for rule in FEDERAL_RULES if rule.substance is substance), None)
    if rule is None:
        return Standing(None, LeftOut.NO_RULE)
    if subsector in rule.left_out:
        return Standing(rule, LeftOut.SUBSECTOR)
    if on < rule.first_day:
        return Standing(rule, LeftOut.NOT_YET)
    if full_charge is None:
        return Standing(rule, LeftOut.CHARGE_UNKNOWN)
    return Standing(rule, LeftOut.TOO_SMALL if full_charge < rule.least_pounds else LeftOut.APPLIES)


def trigger(full_charge: Decimal | None, substance: Substance, subsector: Subsector, *, on: dt.date) -> Decimal | None:
    """The leak rate (percent a year) over which federal law asks for repair; None where it asks nothing of such a system."""
    stands = standing(full_charge, substance, subsector, on=on)
    return TRIGGERS[subsector] if stands.why is LeftOut.APPLIES else None
