"""Layouts compared, in plain English: what each asks for, and where they differ; never which to choose."""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal

from fleet.rules.layouts import Layout, Outcome
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import listed

# Shown with every comparison.
BESIDES = (
    (
        "Not answered here: how air gets from room to room, how humidity is kept in check, and the load calculation. Each needs its"
        " own answer before anyone picks a layout."
    ),
    (
        "Counted from our care sheet, the list of what we do and how often, with one drain line for each head and nothing left out. Surroundings"
        " (pets, grease, dust), breakdowns and later price changes are left out."
    ),
)


def heads(layout: Layout) -> str:
    """Write what a layout consists of.

    >>> heads(Layout("A", Decimal(0), (("wall", 6),)))
    '6 wall heads on 1 outdoor unit'
    """
    styles: dict[str, int] = {}
    for style, count in layout.heads:
        styles[style] = styles.get(style, 0) + count
    each = listed(f"{count:,} {style} head{_s(count)}" for style, count in styles.items())
    return f"{each} on {layout.outdoor_units:,} outdoor unit{_s(layout.outdoor_units)}"


def hours(minutes: int) -> str:
    """Write a time in hours, to the nearest whole one; under ten hours to a tenth.

    >>> hours(7200), hours(90), hours(0), hours(60)
    ('120 hours', '1.5 hours', '0 hours', '1 hour')
    """
    exact = Decimal(minutes) / 60
    rounded = exact.quantize(Decimal(1) if exact >= 10 else Decimal("0.1"), ROUND_HALF_UP).normalize()
    return f"{rounded:,f} hour{'' if rounded == 1 else 's'}"


def asks(outcome: Outcome, *, years: int) -> str:
    """Write all that one layout asks for."""
    return (
        f"{heads(outcome.layout)}. Over {_years(years)}: {_times(outcome.washes, 'wash', 'es')} by the customer,"
        f" {_times(outcome.drain_lines, 'drain line')} cleared, {_times(outcome.blower_wheels, 'blower wheel')} cleaned,"
        f" {_times(outcome.visits, 'visit')} by us; {hours(outcome.owner_minutes)} of the customer's time and"
        f" {hours(outcome.technician_minutes)} of ours. Maintenance costs {dollars(outcome.care_cost)}; with"
        f" {dollars(outcome.layout.install_price)} for the installation, {dollars(outcome.total)} in all."
    )


def compared(outcomes: Sequence[Outcome], *, years: int) -> tuple[str, ...]:
    """Write what differs between layouts: work, time and money, each with every layout's figure."""
    if len(outcomes) < 2:
        return ()
    names = [one.layout.name for one in outcomes]
    said = (
        ("Washes by the customer", [f"{one.washes:,}" for one in outcomes]),
        ("Our visits", [f"{one.visits:,}" for one in outcomes]),
        ("The customer's time", [hours(one.owner_minutes) for one in outcomes]),
        ("Installation and maintenance, in all", [dollars(one.total) for one in outcomes]),
    )
    lead = f"Over {_years(years)}:"
    return (lead, *(f"{what}: {_each(names, figures)}." for what, figures in said))


def _each(names: Sequence[str], figures: Sequence[str]) -> str:
    if len(set(figures)) == 1:
        return f"{figures[0]} with each"
    return listed(f"{figure} with {name}" for name, figure in zip(names, figures, strict=True))


def _years(years: int) -> str:
    return "1 year" if years == 1 else f"{years:,} years"


def _times(count: int, what: str, plural: str = "s") -> str:
    return f"{count:,} {what}{'' if count == 1 else plural}"


def _s(count: int) -> str:
    return "" if count == 1 else "s"
