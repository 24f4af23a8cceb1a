"""One answer against the date arithmetic it cannot avoid: the last day of each tier and each limit, nothing else."""

import datetime as dt
import tomllib

from dateutil.relativedelta import relativedelta

from fleet.rules import coverage, dates, facts, terms, terms_table
from tests.bench import fleets
from tests.bench.timing import best, tell

ON = dt.date(2026, 11, 24)


def main() -> None:
    """Answer for a compressor under three terms with nine coverages; every start day another, and no cache kept between runs."""
    book = [terms_table.read(tomllib.loads(text)) for text in fleets.TERMS]
    units = [_unit(dt.date(2016, 1, 1) + dt.timedelta(days=3 * number), book) for number in range(300)]
    months = [
        tier.length.months
        for one in book
        for kind in one.kinds
        if (found := one.coverage(kind, "compressor"))
        for tier in found.tiers
    ]

    def ours() -> None:
        dates.add_months.cache_clear()
        dates.last_day.cache_clear()
        for unit, held in units:
            coverage.payments(coverage.answers(unit, held, "compressor", on=ON, asked=ON))

    def floor() -> None:
        for unit, _ in units:
            start = unit.started_on
            for month in months:
                start + relativedelta(months=month)
            start + dt.timedelta(days=60)
            dt.date(2021, 6, 1) + dt.timedelta(days=90)

    tell("one answer | the date arithmetic it cannot avoid", best(ours), best(floor), 8)


def _unit(start: dt.date, book: list[terms.Terms]) -> tuple[facts.Unit, tuple[facts.Holding, ...]]:
    site = facts.Site("US-KY", (facts.Use("owner home"),), sold_on=(dt.date(2021, 6, 1),))
    unit = facts.Unit(
        "Tarnvale",
        "TV-12",
        (facts.Stay(site),),
        installed_on=start,
        started_on=start,
        licensed_installer=True,
        maintained_on=tuple(dt.date(2016 + year, 10, 1) for year in range(10)),
    )
    notified = (dt.date(2021, 6, 20),)
    told = [facts.Holding(one, one.code == "bench-plan", start, start, "", notified_on=notified) for one in book]
    return unit, coverage.held(unit, told)


main()
