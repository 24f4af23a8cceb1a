"""Readings: what each is measured in, which bands warn and who says so, and how fast a system leaks.

A band warns and never blocks.
"""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from fleet.rules import words
from fleet.rules.dates import DAY


@dataclass(frozen=True, slots=True)
class Source:
    """Who says so, and the day somebody last checked it; `quoted` where only a page that quotes it was read."""

    title: str
    checked_on: dt.date
    quoted: bool = False


CHECKED_ON = dt.date(2026, 11, 24)
PRACTICE = Source("common practice", CHECKED_ON)
EPA_MOLD = Source("US EPA, mold course, chapter 2", CHECKED_ON, quoted=True)
PLATE = Source("the unit's nameplate", CHECKED_ON)
MAKERS_MANUALS = Source("manufacturers' installation manuals", CHECKED_ON)
# Read on public pages of the trade.
LINE_VOLTAGE = Source("within 10% of the nameplate voltage, as public pages of the trade say", CHECKED_ON)
STATIC = Source("usual limits, as public pages of the trade say; the nameplate comes first", CHECKED_ON)
AIR_CHANGE = Source("usual figures, as public pages of the trade say", CHECKED_ON)
ANSI_FURNACES = Source("ANSI Z21.47: 400 ppm, air-free; from memory", CHECKED_ON)

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
    "suction pressure": (_measure("psi", -15, 800), _measure("bar", -1, 55)),
    "liquid line pressure": (_measure("psi", 0, 1000), _measure("bar", 0, 70)),
    "external static pressure": (_measure("in wc", 0, 5), _measure("Pa", 0, 1250)),
    "insulation resistance": (_measure("megohm", 0, 100_000),),
    "capacitor": (_measure("µF", 0, 1000),),
    "gas manifold pressure": (_measure("in wc", 0, 30),),
    "flue carbon monoxide": (_measure("ppm", 0, 20_000),),
    "flue oxygen": (_measure("%", 0, 21),),
    "flue temperature": (_measure("F", 0, 1000), _measure("C", -20, 540)),
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
    LOW_VOLTAGE = "low voltage"
    HIGH_VOLTAGE = "high voltage"
    STATIC = "static pressure"
    CARBON_MONOXIDE = "carbon monoxide"
    SMALL_CHANGE = "small change"
    LARGE_CHANGE = "large change"


@dataclass(frozen=True, slots=True)
class OutOfBand:
    """A reading outside its band: which edge it passed, and who says so."""

    code: Warn
    value: Decimal
    edge: Decimal
    sources: tuple[Source, ...]
    measure: str = ""


@dataclass(frozen=True, slots=True)
class Band:
    """Where a reading is as it should be, edges included; a side without an edge never warns."""

    readings: tuple[str, ...]
    sources: tuple[Source, ...]
    low: Decimal | None = None
    below: Warn = Warn.TOO_DRY
    high: Decimal | None = None
    above: Warn = Warn.MOLD


# Indoor air is drier in the heating season, November through March (common practice, no source): then 30%, the low end of what
# the US EPA calls ideal; otherwise the 40% of common practice.
_HEATING_MONTHS = (11, 12, 1, 2, 3)
_HUMIDITY = (
    Band(("indoor relative humidity",), (PRACTICE,), low=Decimal(40), below=Warn.TOO_DRY),
    Band(("indoor relative humidity",), (EPA_MOLD,), low=Decimal(30), below=Warn.TOO_DRY),
)
BANDS = (
    Band(("indoor relative humidity",), (EPA_MOLD, PRACTICE), high=Decimal(60), above=Warn.MOLD),
    Band(VACUUMS, (MAKERS_MANUALS,), high=Decimal(500), above=Warn.VACUUM_SHORT),
    Band(("flue carbon monoxide",), (ANSI_FURNACES,), high=Decimal(400), above=Warn.CARBON_MONOXIDE),
)
# Ten percent around what the line is: 115 V, and what is rated for both 208 V and 230 V.
_LINES = (
    (
        Decimal(160),
        Band(("volts",), (LINE_VOLTAGE,), Decimal("103.5"), Warn.LOW_VOLTAGE, Decimal("126.5"), Warn.HIGH_VOLTAGE),
    ),
    (
        Decimal(300),
        Band(("volts",), (LINE_VOLTAGE,), Decimal("187.2"), Warn.LOW_VOLTAGE, Decimal(253), Warn.HIGH_VOLTAGE),
    ),
)
# The least that a line is taken for: what is lower is a control circuit.
_LEAST_LINE = Decimal(80)
# By role, in inches of water: what a low-static head, and an ordinary air handler, usually allow.
_STATIC = {"head": Decimal("0.2"), "air handler": Decimal("0.5"), "furnace": Decimal("0.5")}
_PASCALS = Decimal("249.1")


@dataclass(frozen=True, slots=True)
class Measured:
    """What has to be known to judge a reading: its measure (blank: the usual one), its day, and the unit's role and plate."""

    measure: str = ""
    on: dt.date | None = None
    role: str = ""
    plate_amps: Decimal | None = None


def warnings(reading: str, value: Decimal, of: Measured = Measured()) -> tuple[OutOfBand, ...]:
    """What a reading warns of; a reading without a band, or amps without a plate, warns of nothing."""
    warned = []
    for band in _bands(reading, value, of):
        if band.low is not None and value < band.low:
            warned.append(OutOfBand(band.below, value, band.low, band.sources, of.measure))
        if band.high is not None and value > band.high:
            warned.append(OutOfBand(band.above, value, band.high, band.sources, of.measure))
    return tuple(warned)


def _bands(reading: str, value: Decimal, of: Measured) -> Iterator[Band]:
    yield from (band for band in BANDS if reading in band.readings)
    match reading:
        case "indoor relative humidity":
            yield _HUMIDITY[of.on is not None and of.on.month in _HEATING_MONTHS]
        case "amps" if of.plate_amps is not None:
            yield Band((reading,), (PLATE,), high=of.plate_amps, above=Warn.OVER_PLATE)
        case "volts" if value >= _LEAST_LINE:
            yield from [band for most, band in _LINES if value < most][:1]
        case "external static pressure" if of.role in _STATIC:
            most = _STATIC[of.role] * (_PASCALS if of.measure == "Pa" else 1)
            yield Band((reading,), (STATIC,), high=most, above=Warn.STATIC)


RETURN, SUPPLY = "return air temperature", "supply air temperature"
# By mode and role, by how many degrees F the air usually changes on its way through.
_CHANGES = {
    ("cooling", "head"): (Decimal(14), Decimal(25)),
    ("cooling", "air handler"): (Decimal(16), Decimal(21)),
    ("cooling", "furnace"): (Decimal(16), Decimal(21)),
    ("heating", "head"): (Decimal(20), Decimal(45)),
    ("heating", "air handler"): (Decimal(20), Decimal(45)),
}


def air_change(return_air: Decimal, supply_air: Decimal, *, measure: str, mode: str, role: str) -> OutOfBand | None:
    """What the change of the air between return and supply warns of; nothing in a mode, or for a role, that has no band."""
    band = _CHANGES.get((mode, role))
    if band is None:
        return None
    change = return_air - supply_air if mode == "cooling" else supply_air - return_air
    degrees = change * Decimal("1.8") if measure == "C" else change
    low, high = band
    if degrees < low:
        return OutOfBand(Warn.SMALL_CHANGE, degrees, low, (AIR_CHANGE,), "F")
    return OutOfBand(Warn.LARGE_CHANGE, degrees, high, (AIR_CHANGE,), "F") if degrees > high else None


def out_of_range(reading: str, value: Decimal, measure: str = "") -> Measure | None:
    """The measure of which a value must be a slip of the pen; None where it may be right, or the reading is not known."""
    measures = {one.unit: one for one in READINGS.get(reading, ())}
    known = measures.get(measure) or next(iter(measures.values()), None)
    return known if known is not None and not known.least <= value <= known.most else None


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
    ledger: Iterable[Weighing], full_charge: Decimal, *, as_of: dt.date, verified_on: dt.date | None = None
) -> tuple[LeakRate, ...]:
    """Reckon both leak rates for every day on which refrigerant was added, up to the day of asking.

    Additions of one day are one. The last 365 days are that day and the 364 before it, and only those after the repair
    was proven tight, if it was.
    """
    rows = sorted((row for row in ledger if row.on <= as_of and row.move is not Move.RECOVERED), key=lambda row: row.on)
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


class Doubt(StrEnum):
    """What is improbable about an entry of refrigerant, so that somebody is asked whether it is right."""

    OTHER_KIND = "another refrigerant than the system's"
    TOO_HEAVY = "more than such a system can hold"


# Where no plate is known: more than this no system of the trade takes (common practice, no source).
_MOST_POUNDS = Decimal(30)


def doubts(refrigerant: str, pounds: Decimal, *, system: str, full_charge: Decimal) -> tuple[Doubt, ...]:
    """What is improbable about an entry, where the system's own refrigerant is known (else blank) and its full charge (else 0).

    A system takes its full charge and, where the line is long, half of that more.
    """
    found = []
    if system and words.key(refrigerant) != words.key(system):
        found.append(Doubt.OTHER_KIND)
    if pounds > (full_charge * 3 / 2 or _MOST_POUNDS):
        found.append(Doubt.TOO_HEAVY)
    return tuple(found)
