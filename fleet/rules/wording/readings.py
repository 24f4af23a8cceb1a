"""Readings in plain English: what a value warns of and who says so, and how fast a system leaks."""

from decimal import Decimal
from fractions import Fraction

from fleet.rules.dates import in_words
from fleet.rules.readings import Doubt, LeakRate, Measure, OutOfBand, Source, Warn
from fleet.rules.wording.names import days, listed

# Shown beside superheat and subcooling on inverter ductless.
NOT_A_CHARGING_METHOD = "Superheat and subcooling do not show the charge of an inverter ductless system, unless the manufacturer gives a test mode."


_NO_DIAGNOSIS = "This is no diagnosis by itself: check filter, airflow and how long it ran."
# What a value outside its band warns of, and who says so.
_SAYS = {
    Warn.TOO_DRY: "{value}% is under {edge}%: too dry ({said}).",
    Warn.MOLD: "{value}% is over {edge}%: mold can grow ({said}).",
    Warn.VACUUM_SHORT: "{value} micron is over {edge} micron: not a deep enough vacuum ({said}).",
    Warn.OVER_PLATE: "{value} A is over the {edge} A on the nameplate ({said}).",
    Warn.LOW_VOLTAGE: "{value} V is under {edge} V: low line voltage ({said}).",
    Warn.HIGH_VOLTAGE: "{value} V is over {edge} V: high line voltage ({said}).",
    Warn.STATIC: "{value} {measure} is over {edge} {measure}: check filter, coil and ducts ({said}).",
    Warn.CARBON_MONOXIDE: (
        "{value} ppm is over {edge} ppm: turn the furnace off and do not leave it running until it is corrected ({said}). "
        "The manufacturer's manual and local codes come first."
    ),
    Warn.SMALL_CHANGE: "The air changes by {value} F, less than the usual {edge} F ({said}). " + _NO_DIAGNOSIS,
    Warn.LARGE_CHANGE: "The air changes by {value} F, more than the usual {edge} F ({said}). " + _NO_DIAGNOSIS,
}

# What a reading is called where its name in files is not what people say.
_CALLED = {"gas line temperature": "vapor line temperature"}


def named(reading: str) -> str:
    """What a reading is called on screen and paper.

    >>> named("gas line temperature"), named("amps")
    ('vapor line temperature', 'amps')
    """
    return _CALLED.get(reading, reading)


def out_of_band(found: OutOfBand) -> str:
    """Write what a value outside its band warns of, and who says so.

    >>> from fleet.rules.readings import warnings
    >>> [out_of_band(one) for one in warnings("indoor relative humidity", Decimal("35"))]
    ['35% is under 40%: too dry (common practice).']
    """
    return _SAYS[found.code].format(
        value=f"{found.value.normalize():f}",
        edge=f"{found.edge.normalize():f}",
        measure=found.measure or "in wc",
        said=listed(map(_source, found.sources)),
    )


def slip(measure: Measure, written: str) -> str:
    """What is wanted in place of a value that cannot be.

    >>> slip(Measure("%", Decimal(0), Decimal(100)), "140")
    'a number from 0 to 100 %, not 140'
    """
    return f"a number from {measure.least} to {measure.most:,} {measure.unit}, not {written}"


def doubt(found: Doubt, *, refrigerant: str, system: str, weight: str) -> str:
    """Ask whether an improbable entry of refrigerant is right.

    >>> doubt(Doubt.OTHER_KIND, refrigerant="R-32", system="R-410A", weight="8 oz")
    'The system holds R-410A, and this says R-32.'
    """
    match found:
        case Doubt.OTHER_KIND:
            return f"The system holds {system}, and this says {refrigerant}."
        case Doubt.TOO_HEAVY:
            return f"{weight} is more than such a system holds."


def _source(source: Source) -> str:
    return f"{source.title}, as quoted elsewhere" if source.quoted else source.title


def leak_rate(found: LeakRate) -> str:
    """Write a leak rate by both methods."""
    return (
        f"{found.added.normalize():f} lb added on {in_words(found.on)}, over {days(found.days)}: "
        f"{percent(found.annualized)} of the full charge a year; {percent(found.rolling)} in the last 365 days."
    )


def percent(rate: Fraction) -> str:
    """Write a percentage to one place, half up."""
    tenths = (rate * 10 + Fraction(1, 2)).__floor__()
    return f"{Decimal(tenths) / 10:,.1f}%"
