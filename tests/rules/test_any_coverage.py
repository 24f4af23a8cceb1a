"""What must hold for any unit and any terms, on any day."""

import datetime as dt
from dataclasses import replace

from hypothesis import example, given, settings
from hypothesis import strategies as st

from fleet.rules.coverage import Reading, answers, groups, held, payments
from fleet.rules.dates import DAY, Length
from fleet.rules.days_of_change import next_change
from fleet.rules.facts import Holding, Site, Stay, Unit
from fleet.rules.findings import Answer, Code, Result
from fleet.rules.terms import Coverage, Terms, Tier
from tests import any_facts
from tests.facts import day, holding, months, pays, repair, site, terms, unit, use

KINDS = st.sampled_from(["parts", "labor", "freight"])
COMPONENTS = st.sampled_from([*any_facts.COMPONENTS, "louver"])
# From best to worst.
ORDER = [Result.COVERED, Result.COVERED_IF, Result.NOT_COVERED]


def asked(at: Unit, by: Holding, on: dt.date, kind: str = "parts", component: str = "sensor", asked_on=None) -> Answer:
    return Reading(at, by, on=on, asked=asked_on or on).answer(kind, component)


def definite(answer: Answer) -> dt.date:
    if answer.lifetime:
        return dt.date.max
    return answer.last or dt.date.min


def possible(answer: Answer) -> dt.date:
    reach = dt.date.max if answer.possible_lifetime else answer.possible_last or dt.date.min
    return max(reach, definite(answer))


# --------------------------------------------------------------------------------------------------- passing time

# Around the facts, and long after them.
ANY_DAY = any_facts.DAYS | st.dates(dt.date(2015, 6, 1), dt.date(2022, 1, 1))


@st.composite
def days_before_the_next_change(draw: st.DrawFn) -> tuple[Unit, Holding, dt.date, list[dt.date]]:
    at, by, on = draw(any_facts.UNITS), draw(any_facts.holdings()), draw(ANY_DAY)
    change = next_change(at, by, on=on)
    last = on + 2000 * DAY if change is None else change - DAY
    between = draw(st.lists(st.dates(on, last), max_size=6))
    return at, by, on, sorted({*between, last, min(last, on + DAY)})


@given(days_before_the_next_change())
@settings(max_examples=100)
def test_nothing_changes_before_the_day_that_is_named(drawn):
    at, by, on, later = drawn
    found = groups(at, by, on=on)
    for again in later:
        assert groups(at, by, on=again) == found, again


def changes(at: Unit, by: Holding, first: str, last: str) -> tuple[list[str], list[str]]:
    """The days on which the answers are others than the day before, and the days named for that beforehand."""
    seen, named = [], []
    on, end = day(first), day(last)
    found, due = groups(at, by, on=on), next_change(at, by, on=on)
    while on < end:
        on += DAY
        if groups(at, by, on=on) != found:
            seen.append(str(on))
            found = groups(at, by, on=on)
        if on == due:
            named.append(str(on))
            due = next_change(at, by, on=on)
    return seen, named


def test_the_days_of_a_plain_term():
    """The start, the edge begins, the term is over, the edge is over: each named, and no other day."""
    at = unit(installed_on="2016-03-01")
    seen, named = changes(at, holding(terms(pays(months(12)))), "2016-01-01", "2018-01-01")
    assert seen == named == ["2016-03-01", "2017-02-28", "2017-03-02", "2017-03-03"]


def test_the_days_of_a_term_that_waits():
    at = unit(installed_on="2016-03-01")
    seen, named = changes(at, holding(terms(pays(months(12), waits_days=30))), "2016-01-01", "2018-01-01")
    assert seen == named == ["2016-03-01", "2016-03-31", "2017-02-28", "2017-03-02", "2017-03-03"]


def test_the_days_of_a_registration():
    at = unit(installed_on="2016-03-01")
    paper = terms(
        pays(months(12), months(24, "registered")), registration={"within_days": 60, "counted_from": "installed_on"}
    )
    seen, named = changes(at, holding(paper), "2016-03-01", "2019-01-01")
    assert "2016-05-01" in seen  # the day after April 30, 2016, when it can no longer be registered
    assert set(seen) <= set(named)


def test_the_days_of_everything_that_can_happen():
    where = site(uses=(use("owner home"), use("rental", "2017-09-09")), sold_on=("2017-05-05", "2017-07-07"))
    there = site("owner home", sold_on=("2018-10-10",))
    at = unit(
        installed_on="2016-02-29",
        repairs=(repair("sensor", "2016-12-24", repaired_on="2016-12-31", new_part=True),),
        maintained_on=("2016-06-01",),
        removed_on="2019-06-06",
        original_site=True,
    )
    at = replace(at, stays=(Stay(where), Stay(there, day("2018-08-08"))))
    paper = terms(
        pays(months(12), waits_days=14),
        pays(months(60, "first owner"), components=("compressor",)),
        pays(months(60, "owner home"), components=("louver",)),
        pays(months(60, "yearly maintenance"), components=("filter",)),
        pays(months(60, "original site"), components=("panel",)),
        pays(months(60, "registered"), components=("igniter",)),
        transfer={"rule": "notice", "within_days": 90},
        registration={"within_days": 400, "counted_from": "installed_on"},
        replacement={"rule": "longer of", "days": 500},
    )
    seen, named = changes(at, holding(paper), "2016-01-01", "2020-01-01")
    assert {
        "2016-02-29",  # starts
        "2016-03-14",  # waiting days are over
        "2017-01-01",  # the day after the sensor was replaced
        "2017-04-05",  # 400 days to register are over
        "2017-05-05",  # sold
        "2017-07-07",  # sold again, and nobody told of the first sale
        "2017-09-09",  # rented out
        "2018-02-28",  # a second year is complete, without maintenance
        "2018-05-14",  # 500 days of the new sensor are nearly over
        "2018-05-16",  # over
        "2018-05-17",  # and no longer at the edge
        "2018-08-08",  # moved
        "2019-06-06",  # taken out
    } <= set(seen)
    assert set(seen) <= set(named)


# ------------------------------------------------------------------------------------- days and results agree


@given(any_facts.UNITS, any_facts.holdings(), KINDS, COMPONENTS, ANY_DAY)
@settings(max_examples=40)
def test_the_days_agree_with_the_result(at, by, kind, component, on):
    answer = asked(at, by, on, kind, component)
    inside = answer.first is not None and answer.first <= on <= definite(answer)
    hoped = answer.possible_first is not None and answer.possible_first <= on <= possible(answer)
    codes = [reason.code for reason in answer.reasons]
    needs = {reason.code for reason in answer.needs}
    assert codes
    assert (answer.first is not None) == (answer.lifetime or answer.last is not None)
    assert not (answer.lifetime and answer.last)
    if answer.possible_first is not None:
        assert possible(answer) > definite(answer)
    match answer.result:
        case Result.COVERED:
            assert inside
            assert codes[0] in (Code.TIER_USED, Code.PART_REPLACED)
            assert needs <= {Code.START_ASSUMED}
        case Result.COVERED_IF:
            assert hoped
            assert not inside
            assert codes[0] is Code.TIER_USED
            assert needs - {Code.START_ASSUMED}
        case Result.NOT_COVERED:
            assert not inside
            assert not hoped
            assert not needs
        case Result.CANNOT_SAY:
            assert codes == [Code.START_UNKNOWN]
            assert needs == {Code.START_UNKNOWN}
            assert (answer.first, answer.last, answer.possible_first) == (None, None, None)


# --------------------------------------------------------------------------------------------- more is never less


@st.composite
def lengthened(draw: st.DrawFn) -> tuple[Holding, Holding]:
    """A holding without waiting days, and the same with one tier of it longer."""
    by = draw(any_facts.holdings())
    coverages = [Coverage(c.pays_for, c.components, c.tiers) for c in by.terms.coverages]
    which = draw(st.integers(0, len(coverages) - 1))
    tiers = list(coverages[which].tiers)
    place = draw(st.integers(0, len(tiers) - 1))
    tier, more = tiers[place], draw(st.integers(1, 30))
    if tier.length.months is not None:
        tiers[place] = Tier(Length(months=tier.length.months + more), tier.when)
    elif tier.length.days is not None:
        tiers[place] = Tier(Length(days=tier.length.days + more), tier.when)
    longer = list(coverages)
    longer[which] = replace(coverages[which], tiers=tuple(tiers))
    return (
        replace(by, terms=replace(by.terms, coverages=tuple(coverages))),
        replace(by, terms=replace(by.terms, coverages=tuple(longer))),
    )


@given(any_facts.UNITS, lengthened(), KINDS, COMPONENTS, ANY_DAY)
@settings(max_examples=40)
def test_a_longer_promise_never_ends_sooner(at, both, kind, component, on):
    short, long = (asked(at, by, on, kind, component) for by in both)
    assert definite(short) <= definite(long)
    assert possible(short) <= possible(long)
    if short.result in ORDER:
        assert ORDER.index(long.result) <= ORDER.index(short.result)


@given(any_facts.UNITS, any_facts.holdings(), KINDS, COMPONENTS, any_facts.EARLY_DAYS, any_facts.EARLY_DAYS, ANY_DAY)
@settings(max_examples=40)
def test_registering_earlier_never_shortens_anything(at, by, kind, component, one, other, on):
    late, early = (
        asked(at, replace(by, registered_on=registered_on), on, kind, component)
        for registered_on in (max(one, other), min(one, other))
    )
    if not at.repairs:  # a part's own term may take the place of one that ends no later: then there are no waiting days
        assert late.result not in ORDER or ORDER.index(early.result) <= ORDER.index(late.result)
    assert definite(late) <= definite(early)
    assert possible(late) <= possible(early)


@given(any_facts.UNITS, any_facts.holdings(), KINDS, COMPONENTS, ANY_DAY, ANY_DAY, ANY_DAY)
@settings(max_examples=40)
def test_asking_later_never_makes_it_better(at, by, kind, component, on, one, other):
    sooner, later = (asked(at, by, on, kind, component, asked_on) for asked_on in (min(one, other), max(one, other)))
    assert definite(sooner) == definite(later)
    assert possible(later) <= possible(sooner)
    if sooner.result in ORDER:
        assert ORDER.index(sooner.result) <= ORDER.index(later.result)


# ------------------------------------------------------------------------------------------- order does not matter


@given(any_facts.UNITS, any_facts.holdings(), ANY_DAY, st.randoms(use_true_random=False))
@settings(max_examples=40)
def test_the_order_of_repairs_sales_and_notices_does_not_matter(at, by, on, chance):
    def shuffled(entries):
        return tuple(chance.sample(entries, len(entries)))

    stays = tuple(replace(stay, site=replace(stay.site, sold_on=shuffled(stay.site.sold_on))) for stay in at.stays)
    other = replace(at, repairs=shuffled(at.repairs), stays=stays)
    other_by = replace(by, notified_on=shuffled(by.notified_on))
    assert groups(other, other_by, on=on) == groups(at, by, on=on)
    assert next_change(other, other_by, on=on) == next_change(at, by, on=on)


@given(any_facts.UNITS, st.lists(any_facts.holdings(), max_size=4), ANY_DAY, st.randoms(use_true_random=False))
@settings(max_examples=40)
def test_the_order_in_which_terms_are_told_does_not_matter(at, told, on, chance):
    payers = ("maker", "labor plan", "installer", "maker")
    named = [
        replace(by, attached=True, terms=replace(by.terms, code=f"paper-{place}", payer=payers[place]))
        for place, by in enumerate(told)
    ]
    orders = (named, chance.sample(named, len(named)))
    found = [answers(at, held(at, order), "sensor", on=on, asked=on) for order in orders]
    assert found[0] == found[1]
    assert payments(found[0]) == payments(reversed(found[1]))


@given(any_facts.UNITS, any_facts.holdings(), ANY_DAY)
@settings(max_examples=40)
@example(unit(installed_on="2016-01-01"), holding(terms()), dt.date(2016, 1, 1))
def test_a_group_is_what_each_of_its_components_is_answered(at, by, on):
    for group in groups(at, by, on=on):
        for component in group.components:
            named = "any other" if component == "*" else component
            assert asked(at, by, on, group.kind, named) == group.answer


def test_facts_are_values():
    """Two that say the same are the same: what is kept may be compared with what is worked out."""
    assert Unit(stays=(Stay(Site()),)) == Unit()
    paper: Terms = terms()
    assert holding(paper) == holding(terms())
