"""Readings: what each is measured in, which bands warn and who says so, and how fast a system leaks.

A band warns and never blocks. A leak rate is shown with the word that small residential systems are outside the federal
trigger: it helps to find the leak, no law asks for it.
"""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from fleet.rules.dates import DAY


@dataclass(frozen=True, slots=True)
class Source:
    """Who says so, and the day somebody last checked it; `quoted` where only a page that quotes it was read."""

    title: str
    checked_on: dt.date
    quoted: bool = False


_CHECKED_ON = dt.date(2026, 11, 24)
PRACTICE = Source("common practice", _CHECKED_ON)
EPA_MOLD = Source("US EPA, mold course, chapter 2", _CHECKED_ON, quoted=True)
PLATE = Source("the unit's own rating plate", _CHECKED_ON)
MAKERS_MANUALS = Source("makers' installation manuals", _CHECKED_ON)

# ------------------------------------------------------------------------------------------------------------ bands


@dataclass(frozen=True, slots=True)
class Measure:
    """What a reading is measured in, and the range outside of which it must be a slip of the pen."""

    unit: str
    least: Decimal
    most: Decimal


def _measure(unit: str, least: int, most: int) -> Measure:
    return Measure(unit, Decimal(least), Decimal(most))


# The first measure of a reading is the one that a form offers first.
READINGS: dict[str, tuple[Measure, ...]] = {
    "indoor relative humidity": (_measure("%", 0, 100),),
    "indoor temperature": (_measure("F", -40, 150), _measure("C", -40, 65)),
    "outdoor temperature": (_measure("F", -60, 150), _measure("C", -50, 65)),
    "return air temperature": (_measure("F", -40, 150), _measure("C", -40, 65)),
    "supply air temperature": (_measure("F", -40, 250), _measure("C", -40, 120)),
    "liquid line temperature": (_measure("F", -60, 250), _measure("C", -50, 120)),
    "gas line temperature": (_measure("F", -60, 300), _measure("C", -50, 150)),
    "superheat": (_measure("F", -20, 150), _measure("C", -10, 85)),
    "subcooling": (_measure("F", -20, 150), _measure("C", -10, 85)),
    "pressure test": (_measure("psi", 0, 1000), _measure("bar", 0, 70)),
    "vacuum reached": (_measure("micron", 0, 760_000),),
    "vacuum held": (_measure("micron", 0, 760_000),),
    "amps": (_measure("A", 0, 400),),
    "volts": (_measure("V", 0, 1000),),
    "line length": (_measure("ft", 0, 1000), _measure("m", 0, 300)),
    "charge added": (_measure("oz", 0, 3200), _measure("lb", 0, 200)),
}
VACUUMS = ("vacuum reached", "vacuum held")


class Warn(StrEnum):
    """What a reading outside its band may mean."""

    TOO_DRY = "too dry"
    MOLD = "mold"
    VACUUM_SHORT = "vacuum short"
    OVER_PLATE = "over the plate"


@dataclass(frozen=True, slots=True)
class OutOfBand:
    """A reading outside its band: which edge it passed, and who says so."""

    code: Warn
    value: Decimal
    edge: Decimal
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True)
class Band:
    """Where a reading is as it should be, edges included; a side without an edge never warns."""

    readings: tuple[str, ...]
    sources: tuple[Source, ...]
    low: Decimal | None = None
    below: Warn = Warn.TOO_DRY
    high: Decimal | None = None
    above: Warn = Warn.MOLD


BANDS = (
    Band(("indoor relative humidity",), (PRACTICE,), low=Decimal(40), below=Warn.TOO_DRY),
    Band(("indoor relative humidity",), (EPA_MOLD, PRACTICE), high=Decimal(60), above=Warn.MOLD),
    Band(VACUUMS, (MAKERS_MANUALS,), high=Decimal(500), above=Warn.VACUUM_SHORT),
)


def warnings(reading: str, value: Decimal, *, plate_amps: Decimal | None = None) -> tuple[OutOfBand, ...]:
    """What a reading warns of; a reading without a band, or amps without a plate, warns of nothing."""
    bands = [band for band in BANDS if reading in band.readings]
    if reading == "amps" and plate_amps is not None:
        bands.append(Band(("amps",), (PLATE,), high=plate_amps, above=Warn.OVER_PLATE))
    warned = []
    for band in bands:
        if band.low is not None and value < band.low:
            warned.append(OutOfBand(band.below, value, band.low, band.sources))
        if band.high is not None and value > band.high:
            warned.append(OutOfBand(band.above, value, band.high, band.sources))
    return tuple(warned)


def charges_by_it(reading: str, *, inverter_ductless: bool) -> bool:
    """Whether a charge may be judged by this reading, where the maker gives no test mode for it.

    On inverter ductless compressor, fans and valve all move, so neither superheat nor subcooling says how full it is.
    """
    return not (inverter_ductless and reading in ("superheat", "subcooling"))


# ------------------------------------------------------------------------------------------------- the leak of a system

OUNCES_A_POUND = 16
_YEAR = 365


class Move(StrEnum):
    """What a row of a system's refrigerant ledger did; `charged` is its first filling, which is no leak made good."""

    CHARGED = "charged"
    ADDED = "added"
    RECOVERED = "recovered"


@dataclass(frozen=True, slots=True)
class Weighing:
    """One row of the ledger: refrigerant put into a system or taken out of it on a day, by weight."""

    on: dt.date
    move: Move
    pounds: Decimal


@dataclass(frozen=True, slots=True)
class LeakRate:
    """How fast a system leaks, reckoned on a day on which refrigerant was added; in percent of its full charge a year.

    `days` are those since refrigerant was last put in, at most 365 and 365 where nobody knows.
    """

    on: dt.date
    added: Decimal
    days: int
    annualized: Fraction
    rolling: Fraction


def annualized(added: Decimal, full_charge: Decimal, *, days: int) -> Fraction:
    """Work out the leak rate by the annualizing method: added / full charge x 365 / days since the last addition, in percent.

    40 CFR 82.152 and 84.102, as quoted in a study guide: of days, never more than 365.
    """
    return Fraction(added) / Fraction(full_charge) * Fraction(_YEAR, min(days, _YEAR)) * 100


def rolling(added: Iterable[Decimal], full_charge: Decimal) -> Fraction:
    """Work out the leak rate by the rolling average: all that was added in the last 365 days / full charge, in percent."""
    return Fraction(sum(added, Decimal(0))) / Fraction(full_charge) * 100


def leak_rates(
    ledger: Iterable[Weighing], full_charge: Decimal, *, asked: dt.date, verified_on: dt.date | None = None
) -> tuple[LeakRate, ...]:
    """Reckon both leak rates for every day on which refrigerant was added, up to the day of asking.

    Additions of one day are one. The last 365 days are that day and the 364 before it, and only those after the repair
    was proven tight, if it was.
    """
    rows = sorted((row for row in ledger if row.on <= asked and row.move is not Move.RECOVERED), key=lambda row: row.on)
    by_day: dict[dt.date, Decimal] = {}
    for row in rows:
        if row.move is Move.ADDED:
            by_day[row.on] = by_day.get(row.on, Decimal(0)) + row.pounds
    rates = []
    for on, added in by_day.items():
        before = max((row.on for row in rows if row.on < on), default=None)
        days = _YEAR if before is None else min((on - before).days, _YEAR)
        first = on - DAY * (_YEAR - 1)
        if verified_on is not None and verified_on < on:
            first = max(first, verified_on + DAY)
        year = [pounds for day, pounds in by_day.items() if first <= day <= on]
        rate = annualized(added, full_charge, days=days)
        rates.append(LeakRate(on, added, days, rate, rolling(year, full_charge)))
    return tuple(rates)


def balance(ledger: Iterable[Weighing]) -> Decimal:
    """The pounds in the system by the ledger: put in less taken out. What leaked away is in no ledger."""
    return sum((-row.pounds if row.move is Move.RECOVERED else row.pounds for row in ledger), Decimal(0))


# ---------------------------------------------------------------------------------------------------- the federal rules


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
        Substance.OZONE_DEPLETING, dt.date(2020, 4, 10), Decimal(50), (), Source("40 CFR 82.157(a)", _CHECKED_ON)
    ),
    FederalRule(
        Substance.HFC,
        dt.date(2026, 1, 1),
        Decimal(15),
        (Subsector.RESIDENTIAL,),
        Source("40 CFR 84.106; 89 FR 82682 (October 11, 2024)", _CHECKED_ON, quoted=True),
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


def trigger(full_charge: Decimal, substance: Substance, subsector: Subsector, *, on: dt.date) -> Decimal | None:
    """The leak rate over which federal law asks for repair; None where it asks nothing of such a system."""
    for rule in FEDERAL_RULES:
        holds = rule.substance is substance and rule.first_day <= on and full_charge >= rule.least_pounds
        if holds and subsector not in rule.left_out:
            return TRIGGERS[subsector]
    return None


def over(rate: Fraction, limit: Decimal | None) -> bool:
    """Whether a leak rate is over a trigger; at it is not over it."""
    return limit is not None and rate > Fraction(limit)


def report_by(ledger: Iterable[Weighing], full_charge: Decimal, *, year: int) -> dt.date | None:
    """The day by which a chronic leak of a calendar year is reported, under the federal rules; else None."""
    added = (row.pounds for row in ledger if row.move is Move.ADDED and row.on.year == year)
    if rolling(added, full_charge) < Fraction(_REPORTED_FROM):
        return None
    return dt.date(year + 1, 3, 1)


def disposal_recorded(full_charge: Decimal) -> bool:
    """Whether taking such a system out needs a record of the refrigerant recovered from it."""
    return _DISPOSAL_OVER < full_charge < _DISPOSAL_UNDER
