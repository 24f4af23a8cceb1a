"""Strict reading of terms: a whole paper as written, and one broken table for each kind of mistake, each naming its key."""

import datetime as dt
import tomllib
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fleet.rules import words
from fleet.rules.dates import LIFETIME, Length
from fleet.rules.tables import BadTable, Table
from fleet.rules.terms import (
    Addend,
    Allowance,
    AutomaticIn,
    Basis,
    ClaimTerms,
    Coverage,
    HandlingBand,
    Place,
    RegistrationTerms,
    ReplacementTerms,
    Tier,
    TransferTerms,
)
from fleet.rules.terms_table import read
from tests.facts import day, months, pays, registration, table, terms

WHOLE = """
code = "halvik-ductless-2015"
payer = "maker"
maker = "Halvik"
title = "Ductless limited warranty"
models = ["HW*", "HC*"]
installed_from = 2015-01-01
installed_to = 2021-12-31
replaces = "halvik-ductless-2015-draft"
checked_on = 2026-08-01
source = { title = "Warranty statement, form 12-A", page = "2" }
counts_first_day = true
requires = ["original site"]
excludes_causes = ["installation ours", "power"]
starts = [
  { from = "closed_on", when = "new house" },
  { from = "started_on" },
  { earliest_of = [{ from = "purchased_on" }, { from = "manufactured_on", plus_months = 18 }], assumed = true },
  { from = "manufactured_on", plus_days = 60 },
]
[registration]
by = "owner"
within_days = 60
counted_from = "installed_on"
new_house_counted_from = "closed_on"
not_required_in = [
  { region = "US-FL", use = ["owner home", "rental"] },
  { region = "CA-QC", started_from = 2020-01-01 },
]
[transfer]
rule = "notice"
within_days = 90
automatic_in = [{ region = "US-FL", from = 2024-07-01 }, { region = "US-CA" }]
[[coverage]]
pays_for = ["parts", "freight"]
components = ["*"]
waits_days = 30
tiers = [{ months = 60 }, { months = 120, when = ["registered", "original site", "first owner"] }]
[[coverage]]
pays_for = ["parts"]
components = ["compressor", "outdoor coil"]
tiers = [{ days = 90 }, { lifetime = true, when = ["registered"] }]
[replacement]
rule = "longer of"
days = 90
[claims]
form_before_part = true
file_within_days = 45
file_counted_from = "repaired_on"
part_back_within_days = 21
part_back_counted_from = "part_taken_on"
old_part = "return if asked"
leave_first = ["compressor"]
wants = ["registration proof", "readings"]
fee = "35.00"
[allowance]
call = "72.00"
hourly = "88.50"
hours = { compressor = "4.5", "*" = "1.25" }
refrigerant_per_lb = { "R-410A" = "9.00" }
reclaim = "48.00"
handling = [{ below = "20", pays = "6.00" }, { below = "80", pays = "18.00" }, { pays = "30.00" }]
"""

# ------------------------------------------------------------------------------------------------------ well written


def test_a_whole_paper_is_read_as_written():
    found = read(tomllib.loads(WHOLE))
    assert (found.code, found.payer, found.maker, found.title) == (
        "halvik-ductless-2015", "maker", "Halvik", "Ductless limited warranty",
    )  # fmt: skip
    assert (found.models, found.installed_from, found.installed_to) == (
        ("HW*", "HC*"), day("2015-01-01"), day("2021-12-31"),
    )  # fmt: skip
    assert (found.replaces, found.checked_on, found.counts_first_day) == (
        "halvik-ductless-2015-draft", day("2026-08-01"), True,
    )  # fmt: skip
    assert (found.source_title, found.source_page) == ("Warranty statement, form 12-A", "2")
    assert (found.requires, found.excludes_causes) == (("original site",), ("installation ours", "power"))
    assert found.starts == (
        Basis((Addend("closed_on"),), new_house_only=True),
        Basis((Addend("started_on"),)),
        Basis((Addend("purchased_on"), Addend("manufactured_on", plus_months=18)), assumed=True),
        Basis((Addend("manufactured_on", plus_days=60),)),
    )
    assert found.registration == RegistrationTerms(
        required=True,
        by="owner",
        within_days=60,
        counted_from="installed_on",
        new_house_counted_from="closed_on",
        not_required_in=(
            Place("US-FL", ("owner home", "rental")),
            Place("CA-QC", started_from=day("2020-01-01")),
        ),
    )
    assert found.transfer == TransferTerms(
        "notice", 90, (AutomaticIn("US-FL", day("2024-07-01")), AutomaticIn("US-CA"))
    )
    assert found.replacement == ReplacementTerms("longer of", Length(days=90))
    assert found.kinds == ("parts", "freight")


def test_what_the_whole_paper_requires_stands_once_in_each_tier():
    assert read(tomllib.loads(WHOLE)).coverages == (
        Coverage(
            ("parts", "freight"),
            ("*",),
            (
                Tier(Length(months=60), ("original site",)),
                Tier(Length(months=120), ("original site", "registered", "first owner")),
            ),
            waits_days=30,
        ),
        Coverage(
            ("parts",),
            ("compressor", "outdoor coil"),
            (Tier(Length(days=90), ("original site",)), Tier(LIFETIME, ("original site", "registered"))),
        ),
    )


def test_money_is_exact():
    found = read(tomllib.loads(WHOLE))
    assert found.claims == ClaimTerms(
        form_before_part=True,
        file_within_days=45,
        file_counted_from="repaired_on",
        part_back_within_days=21,
        part_back_counted_from="part_taken_on",
        old_part="return if asked",
        leave_first=("compressor",),
        wants=("registration proof", "readings"),
        fee=Decimal("35.00"),
    )
    assert found.allowance == Allowance(
        call=Decimal("72.00"),
        hourly=Decimal("88.50"),
        hours=(("compressor", Decimal("4.5")), ("*", Decimal("1.25"))),
        refrigerant_per_lb=(("R-410A", Decimal("9.00")),),
        reclaim=Decimal("48.00"),
        handling=(
            HandlingBand(Decimal(20), Decimal(6)),
            HandlingBand(Decimal(80), Decimal(18)),
            HandlingBand(None, Decimal(30)),
        ),
    )


def test_what_is_left_out_has_its_meaning():
    found = terms()
    assert (found.installed_to, found.replaces, found.counts_first_day) == (None, "", False)
    assert (found.requires, found.excludes_causes) == ((), ())
    assert (found.registration, found.transfer, found.replacement, found.allowance) == (None, None, None, None)
    assert found.claims == ClaimTerms(
        file_counted_from="failed_on", part_back_counted_from="failed_on", old_part="return"
    )
    assert found.coverages[0].waits_days == 0
    assert terms(registration=registration()).registration.required is True
    assert terms(registration=registration()).registration.by == "either"


def test_registering_that_is_not_required_needs_no_days():
    assert terms(registration={"required": False}).registration.required is False


@pytest.mark.parametrize(
    ("pattern", "model", "fits"),
    [
        ("HW*", "HW", True),
        ("HW*", "hw-36 a", True),
        ("HW*", "XHW36", False),
        ("HW-3?", "HW36", True),
        ("HW-3?", "HW3", False),
        ("HW-3?", "HW366", False),
        ("*", "", True),
        ("H.*", "HW36", False),  # a dot is a dot
        ("H[W]36", "HW36", False),
        ("HW 36", "hw36", True),
    ],
)
def test_a_pattern_of_models(pattern, model, fits):
    assert terms(models=[pattern]).fits(maker="Halvik", model=model) is fits


def test_any_of_several_patterns_fits():
    paper = terms(models=["A*", "B*"])
    assert [paper.fits(maker="Halvik", model=model) for model in ("A1", "B1", "C1")] == [True, True, False]


@pytest.mark.parametrize(("maker", "fits"), [("Halvik", True), ("Brantholm", True), ("", True)])
def test_our_own_promise_may_be_for_any_maker(maker, fits):
    assert terms(payer="installer", maker="*").fits(maker=maker, model="X") is fits


@pytest.mark.parametrize(
    "named",
    [
        {"code": "a" * 80},
        {"maker": "a" * 120},
        {"title": "a" * 500},
        {"installed_from": day("1900-01-01"), "installed_to": day("2200-12-31")},
        {"installed_from": day("2020-01-01"), "installed_to": day("2020-01-01")},
        {"source": {"title": "Statement", "page": ""}},
        {"requires": [], "excludes_causes": [], "claims": {"wants": []}},
        {"registration": registration(0)},
        {"registration": registration(36500, not_required_in=[])},
        {"transfer": {"rule": "notice", "within_days": 0, "automatic_in": []}},
        {"transfer": {"rule": "none", "automatic_in": [{"region": "CA"}, {"region": "US-FL1"}]}},
        {"replacement": {"rule": "remainder"}},
        {"replacement": {"rule": "fresh", "months": 1200}},
        {"starts": [{"from": "started_on", "plus_months": 1200}]},
        {"requires": ["registered"], "registration": registration()},
        {"claims": {"fee": "0"}},
        {"allowance": {"handling": []}},
    ],
    ids=str,
)
def test_what_is_just_still_possible(named):
    assert terms(**named)


@pytest.mark.parametrize("length", [{"months": 1}, {"months": 1200}, {"days": 1}, {"days": 36500}])
def test_the_shortest_and_the_longest_length(length):
    assert terms(pays(length)).coverages[0].tiers[0].length == Length(**length)


def test_an_allowance_that_says_nothing_pays_nothing():
    assert terms(allowance={}).allowance == Allowance()
    nothing = Allowance()
    assert (nothing.call, nothing.hourly, nothing.reclaim) == (Decimal(0), Decimal(0), Decimal(0))
    assert terms(claims={}).claims == ClaimTerms()
    assert (ClaimTerms().fee, ClaimTerms().form_before_part) == (Decimal(0), False)


@pytest.mark.parametrize(
    ("old_part", "wanted"),
    [("return", True), ("return if asked", True), ("plate only", False), ("keep until credited", False)],
)
def test_when_the_old_part_is_wanted_back(old_part, wanted):
    assert terms(claims={"old_part": old_part}).claims.part_wanted_back is wanted


def test_a_makers_paper_is_for_its_own_maker():
    assert [terms().fits(maker=maker, model="X") for maker in ("Halvik", "hal vik", "Brantholm", "")] == [
        True,
        True,
        False,
        False,
    ]


# ------------------------------------------------------------------------------------------------------- one mistake


def without(*keys: str) -> dict[str, Any]:
    return {key: value for key, value in table().items() if key not in keys}


def tier(**named: Any) -> dict[str, Any]:
    return table(pays(named))


def claims(**named: Any) -> dict[str, Any]:
    return table(claims=named)


def allowance(**named: Any) -> dict[str, Any]:
    return table(allowance=named)


PLACE = {"region": "US-FL"}
BROKEN = {
    # left out
    "no code": (without("code"), "code: is missing"),
    "no payer": (without("payer"), "payer: is missing"),
    "no maker": (without("maker"), "maker: is missing"),
    "no title": (without("title"), "title: is missing"),
    "no models": (without("models"), "models: is missing"),
    "no first day": (without("installed_from"), "installed_from: is missing"),
    "nobody checked": (without("checked_on"), "checked_on: is missing"),
    "no source": (without("source"), "source: is missing"),
    "a source without a title": (table(source={"page": "1"}), "source.title: is missing"),
    "no start": (without("starts"), "starts: is missing"),
    "no coverage": (without("coverage"), "coverage: is missing"),
    "no kinds of cost": (
        table({"components": ["*"], "tiers": [months(1)]}),
        "coverage[1].pays_for: is missing",
    ),
    "no components": (table({"pays_for": ["parts"], "tiers": [months(1)]}), "coverage[1].components: is missing"),
    "no tiers": (table({"pays_for": ["parts"], "components": ["*"]}), "coverage[1].tiers: is missing"),
    "no days to register": (
        table(registration={"counted_from": "installed_on"}),
        "registration.within_days: is missing",
    ),
    "nothing to count the days from": (table(registration={"within_days": 60}), "registration.counted_from: is missing"),
    "no rule for a sale": (table(transfer={}), "transfer.rule: is missing"),
    "no days to tell of a sale": (table(transfer={"rule": "notice"}), "transfer.within_days: is missing"),
    "no rule for a replaced part": (table(replacement={"months": 1}), "replacement.rule: is missing"),
    "a place without a region": (
        table(registration=registration(not_required_in=[{}])),
        "registration.not_required_in[1].region: is missing",
    ),
    "handling that pays nothing": (allowance(handling=[{"below": "20"}]), "allowance.handling[1].pays: is missing"),
    # not known
    "an unknown key": (table(duration=10), "duration: is not known here"),
    "an unknown key in the source": (table(source={"title": "t", "link": "x"}), "source.link: is not known here"),
    "an unknown key of a start": (table(starts=[{"from": "started_on", "plus_years": 1}]), "starts[1].plus_years: is not known here"),
    "an unknown key among the earliest": (
        table(starts=[{"earliest_of": [{"from": "started_on", "plus_years": 1}]}]),
        "starts[1].earliest_of[1].plus_years: is not known here",
    ),
    "an unknown key of a tier": (tier(months=1, years=2), "coverage[1].tiers[1].years: is not known here"),
    "an unknown key of a coverage": (table(pays(months(1)) | {"note": "x"}), "coverage[1].note: is not known here"),
    "an unknown key of registering": (
        table(registration=registration(fee="1")),
        "registration.fee: is not known here",
    ),
    "an unknown key of a place": (
        table(registration=registration(not_required_in=[PLACE | {"city": "x"}])),
        "registration.not_required_in[1].city: is not known here",
    ),
    "an unknown key of a sale": (table(transfer={"rule": "none", "fee": "1"}), "transfer.fee: is not known here"),
    "an unknown key of a region": (
        table(transfer={"rule": "none", "automatic_in": [PLACE | {"until": 1}]}),
        "transfer.automatic_in[1].until: is not known here",
    ),
    "an unknown key of a replaced part": (
        table(replacement={"rule": "fresh", "months": 1, "years": 1}),
        "replacement.years: is not known here",
    ),
    "an unknown key of a claim": (claims(colour="red"), "claims.colour: is not known here"),
    "an unknown key of an allowance": (allowance(diagnosis="5.00"), "allowance.diagnosis: is not known here"),
    "an unknown key of handling": (allowance(handling=[{"pays": "1", "above": "2"}]), "allowance.handling[1].above: is not known here"),
    "an unknown payer": (table(payer="dealer"), f"payer: one of {', '.join(words.PAYERS)} is wanted, not 'dealer'"),
    "an unknown kind of cost": (table(pays(months(1), kind="travel")), "coverage[1].pays_for: 'travel' is not known"),
    "an unknown component": (table(pays(months(1), components=("flux",))), "coverage[1].components: 'flux' is not known"),
    "an unknown condition": (table(pays(months(1, "sunny"))), "coverage[1].tiers[1].when: 'sunny' is not known"),
    "an unknown condition of the whole": (table(requires=["sunny"]), "requires: 'sunny' is not known"),
    "an unknown cause": (table(excludes_causes=["frost"]), "excludes_causes: 'frost' is not known"),
    "an unknown date to start on": (table(starts=[{"from": "sold_on"}]), "starts[1].from: one of"),
    "an unknown date among the earliest": (
        table(starts=[{"earliest_of": [{"from": "started_on"}, {"from": "sold_on"}]}]),
        "starts[1].earliest_of[2].from: one of",
    ),
    "an unknown when": (table(starts=[{"from": "started_on", "when": "old house"}]), "starts[1].when: one of"),
    "an unknown date to register from": (
        table(registration=registration(60, "manufactured_on")),
        "registration.counted_from: one of",
    ),
    "an unknown one to register": (table(registration=registration(by="dealer")), "registration.by: one of"),
    "an unknown use": (
        table(registration=registration(not_required_in=[PLACE | {"use": ["school"]}])),
        "registration.not_required_in[1].use: 'school' is not known",
    ),
    "an unknown rule for a sale": (table(transfer={"rule": "fee"}), "transfer.rule: one of"),
    "an unknown rule for a replaced part": (table(replacement={"rule": "double"}), "replacement.rule: one of"),
    "an unknown clock": (claims(file_counted_from="part_taken_on"), "claims.file_counted_from: one of"),
    "another unknown clock": (claims(part_back_counted_from="repaired_on"), "claims.part_back_counted_from: one of"),
    "an unknown end of the old part": (claims(old_part="burn"), "claims.old_part: one of"),
    "leave for an unknown component": (claims(leave_first=["flux"]), "claims.leave_first: 'flux' is not known"),
    "hours for an unknown component": (allowance(hours={"flux": "1"}), "allowance.hours.flux: is not known"),
    # of another kind
    "a code with capitals": (table(code="Halvik 2015"), "code: lower-case letters, digits, dots and hyphens are wanted"),
    "a code that is a number": (table(code=2015), "code: a text of at most 80 characters is wanted"),
    "a code that is too long": (table(code="a" * 81), "code: a text of at most 80 characters is wanted"),
    "a blank title": (table(title="  "), "title: must not be blank"),
    "a title with a null sign": (table(title="a\x00b"), "title: a text of at most"),
    "models that are one text": (table(models="HW*"), "models: a list of words is wanted"),
    "a model that is a number": (table(models=[36]), "models: a list of words is wanted"),
    "a title that is too long": (table(title="a" * 501), "title: a text of at most 500 characters is wanted"),
    "a maker that is too long": (table(maker="a" * 121), "maker: a text of at most 120 characters is wanted"),
    "too many months of a replaced part": (
        table(replacement={"rule": "fresh", "months": 1201}),
        "replacement.months: a whole number from 1 to 1200 is wanted",
    ),
    "too many months added": (
        table(starts=[{"from": "started_on", "plus_months": 1201}]),
        "starts[1].plus_months: a whole number from 0 to 1200 is wanted",
    ),
    "too many days": (tier(days=36501), "coverage[1].tiers[1].days: a whole number from 1 to 36500 is wanted"),
    "no model at all": (table(models=[]), "models: must not be empty"),
    "a blank model": (table(models=[" "]), "models: a list of words is wanted"),
    "a model twice": (table(models=["A", "A"]), "models: 'A' stands there twice"),
    "a day in quotes": (table(checked_on="2026-08-01"), "checked_on: a day from 1900 to 2200 is wanted"),
    "a day with a time": (table(checked_on=dt.datetime(2026, 8, 1, 12, tzinfo=dt.UTC)), "checked_on: a day from 1900 to 2200 is wanted"),
    "a day long ago": (table(installed_from=dt.date(1899, 12, 31)), "installed_from: a day from 1900 to 2200 is wanted"),
    "a day far away": (table(installed_to=dt.date(2201, 1, 1)), "installed_to: a day from 1900 to 2200 is wanted"),
    "yes instead of true": (table(counts_first_day="yes"), "counts_first_day: true or false is wanted"),
    "a source that is a text": (table(source="form 12-A"), "source: a table is wanted"),
    "starts that are one table": (table(starts={"from": "started_on"}), "starts: a list of tables is wanted"),
    "an empty list of starts": (table(starts=[]), "starts: a list of tables is wanted"),
    "a start that is a word": (table(starts=["started_on"]), "starts[1]: a table is wanted"),
    "an empty list of the earliest": (table(starts=[{"earliest_of": []}]), "starts[1].earliest_of: a list of tables is wanted"),
    "months in quotes": (tier(months="60"), "coverage[1].tiers[1].months: a whole number from 1 to 1200 is wanted"),
    "months with a half": (tier(months=1.5), "coverage[1].tiers[1].months: a whole number from 1 to 1200 is wanted"),
    "months that are true": (tier(months=True), "coverage[1].tiers[1].months: a whole number from 1 to 1200 is wanted"),
    "no months": (tier(months=0), "coverage[1].tiers[1].months: a whole number from 1 to 1200 is wanted"),
    "too many months": (tier(months=1201), "coverage[1].tiers[1].months: a whole number from 1 to 1200 is wanted"),
    "no days": (tier(days=0), "coverage[1].tiers[1].days: a whole number from 1 to 36500 is wanted"),
    "days to wait below nothing": (table(pays(months(1), waits_days=-1)), "coverage[1].waits_days: a whole number"),
    "days to register below nothing": (table(registration=registration(-1)), "registration.within_days: a whole number"),
    "a region that is a name": (
        table(registration=registration(not_required_in=[{"region": "Florida"}])),
        "registration.not_required_in[1].region: an ISO 3166-2 code is wanted, such as US-FL",
    ),
    "a region in small letters": (
        table(transfer={"rule": "none", "automatic_in": [{"region": "us-fl"}]}),
        "transfer.automatic_in[1].region: an ISO 3166-2 code is wanted",
    ),
    "money that is a float": (claims(fee=35.0), "claims.fee: an amount in quotes is wanted"),
    "money below nothing": (claims(fee="-1"), "claims.fee: an amount in quotes is wanted"),
    "money with three places": (allowance(call="1.234"), "allowance.call: an amount in quotes is wanted"),
    "money with a sign": (allowance(hourly="$88"), "allowance.hourly: an amount in quotes is wanted"),
    "hours that are a float": (allowance(hours={"compressor": 4.5}), "allowance.hours.compressor: a number in quotes is wanted"),
    "hours that are a list": (allowance(hours=["4.5"]), "allowance.hours: a table is wanted"),
    "money that is no number": (
        allowance(refrigerant_per_lb={"R-410A": "NaN"}),
        "allowance.refrigerant_per_lb.R-410A: an amount in quotes is wanted",
    ),
    # known, and yet not possible
    "a last day before the first": (
        table(installed_from=day("2020-01-02"), installed_to=day("2020-01-01")),
        "installed_to: must not be before installed_from",
    ),
    "a maker's paper for any maker": (table(maker="*"), "maker: a maker's terms name their maker"),
    "terms that replace themselves": (table(replaces="paper"), "replaces: terms cannot replace themselves"),
    "a tier without a length": (tier(when=["rental"]), "coverage[1].tiers[1]: a length is wanted"),
    "a tier with two lengths": (tier(months=12, days=90), "coverage[1].tiers[1]: a length is wanted"),
    "a tier that is both lifetime and months": (tier(months=12, lifetime=True), "coverage[1].tiers[1]: a length is wanted"),
    "a lifetime that is none": (tier(lifetime=False), "coverage[1].tiers[1]: a length is wanted"),
    "an empty list of tiers": (table(pays()), "coverage[1].tiers: a list of tables is wanted"),
    "months and days added": (
        table(starts=[{"from": "started_on", "plus_months": 1, "plus_days": 1}]),
        "starts[1].plus_days: either months or days can be added, not both",
    ),
    "registered asked where nobody can register": (
        table(pays(months(1, "registered"))),
        "coverage[1].tiers[1].when: asks for registered, but there is no [registration]",
    ),
    "registered asked of the whole where nobody can register": (
        table(requires=["registered"]),
        "requires: asks for registered, but there is no [registration]",
    ),
    "two coverages for all": (
        table(pays(months(1)), pays(months(2))),
        "coverage[2].components: * has a coverage for parts already",
    ),
    "two coverages for one component": (
        table(pays(months(1), components=("sensor",)), pays(months(2), components=("compressor", "sensor"))),
        "coverage[2].components: sensor has a coverage for parts already",
    ),
    "all, and one of them": (table(pays(months(1), components=("*", "sensor"))), "coverage[1].components: either * or names"),
    "days for a sale that needs no notice": (
        table(transfer={"rule": "automatic", "within_days": 90}),
        'transfer.within_days: goes with rule = "notice" only',
    ),
    "a replaced part without a length": (table(replacement={"rule": "fresh"}), "replacement: a length is wanted"),
    "a replaced part with two lengths": (
        table(replacement={"rule": "longer of", "months": 1, "days": 1}),
        "replacement: a length is wanted",
    ),
    "handling from the largest to the smallest": (
        allowance(handling=[{"below": "80", "pays": "1"}, {"below": "20", "pays": "2"}]),
        "allowance.handling[2].below: bands go from the smallest to the largest",
    ),
    "two bands of handling with one limit": (
        allowance(handling=[{"below": "20", "pays": "1"}, {"below": "20", "pays": "2"}]),
        "allowance.handling[2].below: bands go from the smallest to the largest",
    ),
    "a band of handling after the open one": (
        allowance(handling=[{"pays": "1"}, {"below": "20", "pays": "2"}]),
        "allowance.handling[2].below: bands go from the smallest to the largest",
    ),
}  # fmt: skip


def refused(broken: Any) -> list[str]:
    with pytest.raises(BadTable) as told:
        read(broken)
    return [str(fault) for fault in told.value.faults]


@pytest.mark.parametrize(("broken", "expected"), [pytest.param(*case, id=name) for name, case in BROKEN.items()])
def test_one_mistake_is_refused_by_its_key_and_alone(broken, expected):
    faults = refused(broken)
    assert len(faults) == 1, faults
    assert faults[0].startswith(expected)


def test_every_mistake_of_a_table_is_told_at_once():
    broken = table(payer="dealer", checked_on="today", frost=1)
    assert [fault.split(":")[0] for fault in refused(broken)] == ["payer", "checked_on", "frost"]


def test_an_unknown_key_is_told_with_those_that_are_known():
    (fault,) = refused(table(duration=10))
    assert "known are allowance, checked_on, claims, code, counts_first_day, coverage" in fault


@pytest.mark.parametrize("values", [[], "terms", None, 7])
def test_what_is_no_table(values):
    assert refused(values)[0] == "the file: a table is wanted"


def test_a_component_may_have_one_coverage_for_each_kind_of_cost():
    found = terms(pays(months(1)), pays(months(2), kind="labor"), pays(months(3), components=("sensor",)))
    assert [found.coverage(kind, name).tiers[0].length.months for kind, name in (
        ("parts", "compressor"), ("labor", "compressor"), ("parts", "sensor"), ("labor", "sensor"),
    )] == [1, 2, 3, 2]  # fmt: skip
    assert found.coverage("freight", "sensor") is None
    assert found.named("parts") == ("sensor",)


# ----------------------------------------------------------------------------------------------- whatever stands there

ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 2000) | st.floats() | st.text(max_size=5) | st.dates() | st.datetimes(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=8,
)


@given(st.sampled_from(sorted(tomllib.loads(WHOLE))), ANYTHING)
@example("installed_from", dt.date(2022, 1, 1))
def test_whatever_stands_under_a_key_is_read_or_refused(key, value):
    whole = tomllib.loads(WHOLE) | {key: value}
    try:
        read(whole)
        faults = []
    except BadTable as told:
        faults = [str(fault) for fault in told.faults]
    # A first day that is past the last day is told of the last day.
    beside = ("coverage", "requires", *(("installed_to",) if key == "installed_from" else ()))
    assert all(fault.startswith((key, *beside)) for fault in faults)


# ------------------------------------------------------------------------------------------------------ tables, words


def test_a_table_names_where_it_stands():
    inner = Table({"a": {"b": [{"c": "x"}]}}).table("a")
    assert inner is not None
    (entry,) = inner.tables("b")
    assert entry.whole("c") is None
    entry.close()
    assert [str(fault) for fault in entry.faults] == ["a.b[1].c: a whole number from 0 to 36500 is wanted"]


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [("HW-36 a", "hw36A", True), ("HW\u201136", "HW36", True), ("HW36", "HW37", False), ("HW.36", "HW36", False)],
)
def test_case_spaces_and_hyphens_do_not_count(one, other, same):
    assert (words.key(one) == words.key(other)) is same


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [("O0O", "000", True), ("I1l", "111", True), ("S5", "5s", True), ("Z2-B8", "22 88", True), ("A4", "44", False)],
)
def test_signs_that_look_alike_find_each_other(one, other, same):
    assert (words.alike(one) == words.alike(other)) is same
