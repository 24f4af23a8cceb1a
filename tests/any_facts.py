"""Any facts and any terms, for properties: crowded into a few years, so that days meet days."""

import datetime as dt
from typing import Any

from hypothesis import strategies as st

from fleet.rules import facts, terms, terms_table, words
from tests.facts import table

# Days at the ends of months, where the arithmetic can go wrong, as often as any.
ENDS = ("2016-02-29", "2017-01-31", "2017-02-28", "2018-03-01", "2018-08-31")
DAYS = st.dates(dt.date(2016, 1, 1), dt.date(2019, 12, 31)) | st.sampled_from(ENDS).map(dt.date.fromisoformat)
# Units were put in before most of what happens to them.
EARLY_DAYS = st.dates(dt.date(2015, 7, 1), dt.date(2016, 8, 31)) | st.just(dt.date(2016, 2, 29))
SOME_DAYS = st.lists(DAYS, max_size=3).map(tuple)
MAYBE_DAY = st.none() | DAYS


def _one_in(number: int, days: st.SearchStrategy[dt.date]) -> st.SearchStrategy[dt.date | None]:
    """A day in one case of so many: most units are still there, else most answers would be the first step's."""
    return st.sampled_from([*[False] * (number - 1), True]).flatmap(lambda given: days if given else st.none())


SELDOM_A_DAY = _one_in(10, DAYS)
MAYBE_EARLY = st.none() | EARLY_DAYS
MOSTLY_EARLY = _one_in(10, st.just(dt.date.min)).flatmap(lambda never: st.none() if never else EARLY_DAYS)
YES_NO_BLANK = st.sampled_from([True, False, None])
REGIONS = ("US-FL", "CA-QC")
COMPONENTS = ("compressor", "sensor")


def _in_order(entries: list[Any]) -> tuple[Any, ...]:
    return tuple(sorted(entries, key=lambda entry: entry.first or dt.date.min))


USES = st.lists(st.builds(facts.Use, st.sampled_from(words.USES), MAYBE_DAY), max_size=2).map(_in_order)
SITES = st.builds(
    facts.Site,
    region=st.sampled_from(["", *REGIONS]),
    uses=USES,
    new_construction=YES_NO_BLANK,
    closed_on=MAYBE_EARLY,
    sold_on=SOME_DAYS,
)


@st.composite
def stays(draw: st.DrawFn) -> tuple[facts.Stay, ...]:
    moved = sorted(draw(st.sets(DAYS, max_size=2)))
    return (facts.Stay(draw(SITES)), *(facts.Stay(draw(SITES), day) for day in moved))


REPAIRS = st.lists(
    st.builds(
        facts.Repair,
        component=st.sampled_from(COMPONENTS),
        failed_on=DAYS,
        repaired_on=DAYS,
        new_part=st.sampled_from([True, True, True, False]),
    ),
    max_size=3,
).map(tuple)
MATCHES = st.lists(
    st.builds(facts.Match, first=DAYS, matched=YES_NO_BLANK), max_size=2, unique_by=lambda match: match.first
).map(_in_order)
UNITS = st.builds(
    facts.Unit,
    maker=st.just("Halvik"),
    model=st.just("HW36"),
    stays=stays(),
    purchased_on=MAYBE_EARLY,
    installed_on=MOSTLY_EARLY,
    started_on=MOSTLY_EARLY,
    installed_by_us=st.booleans(),
    recognized_installer=YES_NO_BLANK,
    licensed_installer=YES_NO_BLANK,
    matched_system=YES_NO_BLANK,
    matches=st.just(()) | MATCHES,
    original_site=YES_NO_BLANK,
    surroundings=st.frozensets(st.sampled_from(words.SURROUNDINGS), max_size=2),
    repairs=REPAIRS,
    maintained_on=SOME_DAYS.map(sorted).map(tuple),
    replaced_on=SELDOM_A_DAY,
    exchanged_on=SELDOM_A_DAY,
    removed_on=SELDOM_A_DAY,
)

LENGTHS = (
    st.integers(1, 60).map(lambda number: {"months": number})
    | st.integers(1, 1500).map(lambda number: {"days": number})
    | st.just({"lifetime": True})
)
# Those that hang on days three times as often as the rest.
CONDITIONS = st.sampled_from([*words.CONDITIONS, *["registered", "first owner", "yearly maintenance"] * 2])
WHEN = st.lists(CONDITIONS, max_size=2, unique=True)
TIERS = st.lists(st.builds(lambda length, when: {**length, "when": when}, LENGTHS, WHEN), min_size=1, max_size=3)
STARTS = st.lists(
    st.fixed_dictionaries(
        {"from": st.sampled_from(["started_on", "installed_on", "purchased_on", "closed_on"]), "assumed": st.booleans()}
    ),
    min_size=1,
    max_size=2,
)
REGISTRATIONS = st.fixed_dictionaries(
    {
        "by": st.sampled_from(["owner", "installer", "either"]),
        "within_days": st.integers(0, 400),
        "counted_from": st.sampled_from(["installed_on", "started_on", "closed_on"]),
        "not_required_in": st.lists(
            st.fixed_dictionaries(
                {"region": st.sampled_from(REGIONS)},
                optional={
                    "use": st.lists(st.sampled_from(words.USES), min_size=1, max_size=2, unique=True),
                    "started_from": DAYS,
                },
            ),
            max_size=2,
        ),
    },
    optional={"new_house_counted_from": st.just("closed_on")},
)
_REGIONS_BY_LAW = st.lists(
    st.fixed_dictionaries({"region": st.sampled_from(REGIONS)}, optional={"from": DAYS}), max_size=1
)
TRANSFERS = st.fixed_dictionaries(
    {"rule": st.just("notice"), "within_days": st.integers(0, 400), "automatic_in": _REGIONS_BY_LAW}
) | st.fixed_dictionaries({"rule": st.sampled_from(["automatic", "none"]), "automatic_in": _REGIONS_BY_LAW})
REPLACEMENTS = st.just({"rule": "remainder"}) | st.sampled_from([{"rule": "longer of"}, {"rule": "fresh"}]).flatmap(
    lambda rule: (
        st.integers(1, 30).map(lambda number: rule | {"months": number})
        | st.integers(1, 900).map(lambda number: rule | {"days": number})
    )
)


@st.composite
def papers(draw: st.DrawFn) -> terms.Terms:
    """Any terms that the strict reading takes: all parts, the compressor apart, and labor."""
    waits = st.just(0) | st.integers(0, 120)
    reaches = [(["parts"], ["*"]), (["parts", "freight"], ["compressor"]), (["labor"], ["sensor"])]
    coverages = [
        {"pays_for": kinds, "components": components, "tiers": draw(TIERS), "waits_days": draw(waits)}
        for kinds, components in reaches[: draw(st.integers(1, 3))]
    ]
    named: dict[str, Any] = {
        "starts": draw(STARTS),
        "counts_first_day": draw(st.booleans()),
        "registration": draw(REGISTRATIONS),
        "requires": draw(st.sampled_from([[], [], [], *[[condition] for condition in words.CONDITIONS]])),
    }
    for key, choices in (("transfer", TRANSFERS), ("replacement", REPLACEMENTS)):
        if (value := draw(choices | st.none())) is not None:
            named[key] = value
    return terms_table.read(table(*coverages, **named))


@st.composite
def holdings(draw: st.DrawFn) -> facts.Holding:
    return facts.Holding(
        draw(papers()),
        registered_on=draw(MAYBE_EARLY),
        registration_number=draw(st.sampled_from(["", "R-77"])),
        accepted_late=draw(st.sampled_from([False, False, True])),
        notified_on=draw(SOME_DAYS),
    )
