"""Is it English, exact, and said for everything that can be found?"""

import re
import tomllib

import pytest
from hypothesis import given, settings

from fleet.rules import wording, words
from fleet.rules.coverage import Reading, groups
from fleet.rules.findings import Answer, Code, Payment, Reason, Result
from fleet.rules.registration import Standing, State, standing
from fleet.rules.terms_table import read
from tests import any_facts
from tests.facts import day, holding, months, pays, registration, repair, site, table, terms, unit
from tests.paths import FIXTURES

PAPERS = sorted((FIXTURES / "terms").glob("*.toml"))
# The failure asked about, where a row says nothing else.
ON = "2020-05-07"


def reason(code, what="", on=None, until=None, would_reach=None):
    return Reason(code, what, *(text and day(text) for text in (on, until, would_reach)))


def is_english(text):
    """One line with a capital and a full stop, no gap, and nothing that a program left in it."""
    assert re.fullmatch(r"[A-Z$][^\n]*[^\s.]\.", text), text
    assert not re.search(r"None|  | [,.;:]|\b\w+_\w+\b|datetime|[{}\[\]<>]|\.;|,,|\b(?i:(\w+) \1)\b", text), text
    assert not re.search(r"\b1 (days|months|years|hours)\b|[^1,.\d]\d*[02-9] (day|month|year)\b", text), text


@pytest.mark.parametrize(
    "text",
    [
        "Until None.",
        "until then.",
        "No stop",
        "Two..",
        "Two  gaps.",
        "1 days left.",
        "12 day left.",
        "The the end.",
        "A closed_on.",
    ],
)
def test_what_is_no_english_would_be_found(text):
    with pytest.raises(AssertionError):
        is_english(text)


# ---------------------------------------------------------------------------------------------------------- reasons

C = Code
SENTENCES = [
    (reason(C.TIER_USED, "120 months", until="2025-04-14"), "The 10-year term runs until April 14, 2025."),
    (reason(C.TIER_USED, "18 months", until="2021-10-14"), "The 18-month term runs until October 14, 2021."),
    (reason(C.TIER_USED, "90 days", until="2020-07-13"), "The 90-day term runs until July 13, 2020."),
    (reason(C.TIER_USED, "lifetime"), "The lifetime term has no last day."),
    (reason(C.CONDITION_MET, "matched system"), "It is part of a matched system."),
    (
        reason(C.CONDITION_MET, "matched system", on="2022-06-01"),
        "It is part of a matched system since the outdoor unit was exchanged on June 1, 2022.",
    ),
    (
        reason(C.CONDITION_FAILED, "matched system", on="2022-06-01"),
        "It is not part of a matched system since the outdoor unit was exchanged on June 1, 2022.",
    ),
    (reason(C.CONDITION_MET, "first owner"), "House not sold since startup, by our records."),
    (
        reason(C.REGISTERED_IN_TIME, on="2015-04-27", until="2015-06-13"),
        "Registered on April 27, 2015, 47 days before the deadline.",
    ),
    (
        reason(C.REGISTERED_IN_TIME, on="2015-06-12", until="2015-06-13"),
        "Registered on June 12, 2015, 1 day before the deadline.",
    ),
    (
        reason(C.REGISTERED_IN_TIME, on="2015-06-13", until="2015-06-13"),
        "Registered on June 13, 2015, the last day for it.",
    ),
    (
        reason(C.REGISTERED_WITH_NUMBER, "R-77", on="2015-04-27"),
        "Registered on April 27, 2015 under number R-77; the day that the deadline counts from is not on file.",
    ),
    (
        reason(C.REGISTERED_WITH_NUMBER, "R-77"),
        "Registered under number R-77; the day that the deadline counts from is not on file.",
    ),
    (
        reason(C.REGISTERED_LATE, on="2015-06-25", until="2015-06-13", would_reach="2025-04-14"),
        "Registered on June 25, 2015, 12 days late: the deadline was June 13, 2015. If it had been registered in time, coverage would have run until April 14, 2025.",
    ),
    (
        reason(C.REGISTERED_LATE, on="2015-06-14", until="2015-06-13"),
        "Registered on June 14, 2015, 1 day late: the deadline was June 13, 2015.",
    ),
    (reason(C.NOT_REGISTERED, until="2015-06-13"), "Not registered; the deadline was June 13, 2015."),
    (
        reason(C.NOT_REGISTERED, until="2015-06-13", would_reach="2025-04-14"),
        "Not registered; the deadline was June 13, 2015. If it had been registered in time, coverage would have run until April 14, 2025.",
    ),
    (reason(C.REGISTRATION_NOT_REQUIRED), "These terms require no registration."),
    (reason(C.REGISTRATION_NOT_REQUIRED, "US-FL"), "Registration is not required in Florida."),
    (
        reason(C.REGISTRATION_ACCEPTED_LATE, on="2016-01-02"),
        "The payer accepted the late registration in writing; it was registered on January 2, 2016.",
    ),
    (reason(C.REGISTRATION_ACCEPTED_LATE), "The payer accepted the late registration in writing."),
    (reason(C.REGISTER_BY, "owner", until="2021-04-30"), "Not registered yet; the deadline is April 30, 2021."),
    (
        reason(C.ANCHOR_UNKNOWN, "closed_on"),
        "Not registered yet; the deadline counts from the closing day of the new house, which is not on file.",
    ),
    (
        reason(C.ANCHOR_UNKNOWN, "installed_on", on="2015-04-20"),
        "Registered on April 20, 2015; the deadline counts from the day it was installed, which is not on file.",
    ),
    (
        reason(C.PLACE_UNKNOWN, "region"),
        "Not registered in time; whether that matters depends on the state, which is not on file.",
    ),
    (
        reason(C.PLACE_UNKNOWN, "use"),
        "Not registered in time; whether that matters depends on what the building is used for, which is not on file.",
    ),
    (
        reason(C.PLACE_UNKNOWN, "region", on="2024-07-01"),
        "The house was sold on July 1, 2024; whether the new owner kept the coverage depends on the state, which is not on file.",
    ),
    (
        reason(C.START_UNKNOWN, "started_on"),
        "Coverage counts from the startup day, which is not on file.",
    ),
    (
        reason(C.START_ASSUMED, "manufactured_on", on="2019-05-03"),
        "We assume that coverage started on May 3, 2019, going by the day it was manufactured.",
    ),
    (
        reason(C.BEFORE_START, on="2020-05-08", until="2020-05-08"),
        "Coverage starts on May 8, 2020, 1 day after the failure.",
    ),
    (
        reason(C.WAITING_DAYS, on="2020-05-01", until="2020-05-31"),
        "Coverage started on May 1, 2020; after its waiting period it pays from May 31, 2020 on.",
    ),
    (
        reason(C.ENDED, "60 months", until="2020-04-14"),
        "The 5-year term ended on April 14, 2020, 23 days before the failure.",
    ),
    (
        reason(C.ENDED, "12 months", until="2020-05-06"),
        "The 1-year term ended on May 6, 2020, 1 day before the failure.",
    ),
    (reason(C.ENDED, until="2015-05-07"), "The term ended on May 7, 2015, 5 years before the failure."),
    (reason(C.EDGE_DAY, until="2020-05-07"), "The failure is on the last day, May 7, 2020."),
    (reason(C.EDGE_DAY, until="2020-05-06"), "The last day, May 6, 2020, is the day before the failure."),
    (reason(C.EDGE_DAY, until="2020-05-08"), "The last day, May 8, 2020, is the day after the failure."),
    (reason(C.COMPONENT_NOT_LISTED, "line set"), "These terms do not cover the line set."),
    (reason(C.COMPONENT_NOT_LISTED, "other"), "These terms do not cover any other component."),
    (reason(C.CAUSE_EXCLUDED, "power"), "These terms do not cover this cause: power surge."),
    (reason(C.CAUSE_EXCLUDED, "installation ours"), "These terms do not cover this cause: our installation."),
    (
        reason(C.CONDITION_OPEN, "recognized installer"),
        "Nobody recorded whether it was installed by a recognized installer.",
    ),
    (
        reason(C.CONDITION_FAILED, "licensed installer", would_reach="2025-04-14"),
        "It was not installed by a licensed installer. If a licensed installer had installed it, coverage would have run until April 14, 2025.",
    ),
    (reason(C.CONDITION_FAILED, "away from coast"), "It is near the coast."),
    (
        reason(C.CONDITION_FAILED, "original site", on="2019-06-01"),
        "It was moved to another site on June 1, 2019.",
    ),
    (reason(C.CONDITION_FAILED, "original site"), "It is not where it was first installed."),
    (
        reason(C.SOLD, on="2019-09-09", would_reach="2025-04-14"),
        "The house was sold on September 9, 2019, and the new owner did not keep the coverage. If the house had not been sold, coverage would have run until April 14, 2025.",
    ),
    (
        reason(C.TRANSFER_IN_TIME, on="2018-07-29", until="2018-07-30"),
        "The payer was notified of the sale on July 29, 2018, 1 day before the deadline.",
    ),
    (
        reason(C.TRANSFER_MISSED, on="2018-05-01", until="2018-07-30", would_reach="2025-04-14"),
        "The house was sold on May 1, 2018, and the payer was not notified by July 30, 2018. If they had been notified in time, coverage would have run until April 14, 2025.",
    ),
    (
        reason(C.TRANSFER_AUTOMATIC, on="2018-05-01"),
        "The house was sold on May 1, 2018, and the new owner kept the coverage automatically.",
    ),
    (
        reason(C.NOTIFY_BY, on="2018-05-01", until="2018-07-30"),
        "The house was sold on May 1, 2018; the payer must be notified by July 30, 2018.",
    ),
    (
        reason(C.MAINTENANCE_GAP, on="2016-03-15", until="2017-03-14"),
        "No technician's maintenance is on file from March 15, 2016 to March 14, 2017.",
    ),
    (
        reason(C.PART_REPLACED, "compressor", on="2020-02-01", until="2021-02-01"),
        "The compressor was replaced on February 1, 2020; the new part's own coverage runs until February 1, 2021.",
    ),
    (
        reason(C.PART_REPLACED, "compressor", on="2019-05-07", until="2020-05-07"),
        "The compressor was replaced on May 7, 2019; the new part's own coverage runs until May 7, 2020.",
    ),
    (
        reason(C.PART_REPLACED, "compressor", on="2018-02-01", until="2019-02-01"),
        "The compressor was replaced on February 1, 2018; the new part's own coverage ran until February 1, 2019.",
    ),
    (
        reason(C.UNIT_EXCHANGED, "came", on="2021-01-01"),
        "This unit took another one's place on January 1, 2021; an earlier failure is that unit's.",
    ),
    (
        reason(C.UNIT_EXCHANGED, "went", on="2019-01-01"),
        "This unit was exchanged on January 1, 2019; a failure since then is the new unit's.",
    ),
    (reason(C.UNIT_REMOVED, on="2019-01-01"), "This unit was removed on January 1, 2019."),
    (reason(C.NO_TERMS), "No terms on file cover this unit."),
]


@pytest.mark.parametrize(
    ("found", "expected"), SENTENCES, ids=[f"{row[0].code}-{n}" for n, row in enumerate(SENTENCES)]
)
def test_a_reason_as_a_sentence(found, expected):
    assert wording.sentence(found, on=day(ON)) == expected
    is_english(expected)


@pytest.mark.parametrize("code", Code)
def test_every_code_has_a_sentence_and_a_need(code):
    rows = [found for found, _ in SENTENCES if found.code is code]
    assert rows
    for found in rows:
        is_english(wording.need(found, on=day(ON)))


@pytest.mark.parametrize("condition", words.CONDITIONS)
def test_every_condition_has_its_words(condition):
    told = [
        wording.sentence(reason(code, condition), on=day(ON))
        for code in (Code.CONDITION_MET, Code.CONDITION_FAILED, Code.CONDITION_OPEN)
    ]
    asked = wording.need(reason(Code.CONDITION_OPEN, condition), on=day(ON))
    for text in (*told, asked):
        is_english(text)
    assert len(set(told)) == 3


@pytest.mark.parametrize("name", words.START_DATES)
def test_every_date_has_its_words(name):
    for code in (Code.START_UNKNOWN, Code.ANCHOR_UNKNOWN):
        is_english(wording.sentence(reason(code, name), on=day(ON)))
        is_english(wording.need(reason(code, name), on=day(ON)))
    is_english(wording.sentence(reason(Code.START_ASSUMED, name, on="2020-01-01"), on=day(ON)))


@pytest.mark.parametrize("name", [*words.COMPONENTS, *words.CAUSES])
def test_every_component_and_cause_reads_well(name):
    code = Code.CAUSE_EXCLUDED if name in words.CAUSES else Code.COMPONENT_NOT_LISTED
    is_english(wording.sentence(reason(code, name), on=day(ON)))


# ------------------------------------------------------------------------------------------------------------ needs

NEEDS = [
    (reason(C.REGISTER_BY, "owner", until="2021-04-30"), "Register by April 30, 2021; the homeowner must do it."),
    (
        reason(C.REGISTER_BY, "installer", until="2021-04-30"),
        "Register by April 30, 2021; the installing contractor must do it.",
    ),
    (reason(C.REGISTER_BY, "either", until="2021-04-30"), "Register by April 30, 2021."),
    (
        reason(C.ANCHOR_UNKNOWN, "closed_on"),
        "Find the closing day of the new house: the registration deadline counts from it.",
    ),
    (reason(C.START_UNKNOWN, "started_on"), "Find the startup day."),
    (
        reason(C.START_ASSUMED, "manufactured_on", on="2019-05-03"),
        "Find proof of when it started: we assume May 3, 2019, going by the day it was manufactured.",
    ),
    (reason(C.PLACE_UNKNOWN, "region"), "Find out which state the site is in."),
    (reason(C.PLACE_UNKNOWN, "use"), "Find out what the site is used for."),
    (reason(C.CONDITION_OPEN, "matched system"), "Find out whether it is part of a matched system."),
    (
        reason(C.NOTIFY_BY, on="2018-05-01", until="2018-07-30"),
        "Notify the payer by July 30, 2018 that the house was sold on May 1, 2018.",
    ),
    (
        reason(C.MAINTENANCE_GAP, on="2016-03-15", until="2017-03-14"),
        "Find a record of a technician's maintenance from March 15, 2016 to March 14, 2017.",
    ),
    (reason(C.ENDED, "60 months", until="2020-04-14"), "Nothing needs to be done."),
]


@pytest.mark.parametrize(("found", "expected"), NEEDS)
def test_a_need_as_something_to_do(found, expected):
    assert wording.need(found, on=day(ON)) == expected


# ---------------------------------------------------------------------------------------------------------- answers

PAPER = terms(pays(months(60), months(120, "registered")), registration=registration(60))
AT = unit(installed_on="2015-04-14")


def headline(at, by, on, component="sensor", asked=None):
    answer = Reading(at, by, on=day(on), asked=day(asked or on)).answer("parts", component)
    return wording.answer_line(answer, on=day(on))


@pytest.mark.parametrize(
    ("held", "on", "asked", "expected"),
    [
        ({"registered_on": "2015-04-27"}, "2024-03-08", None, "The manufacturer pays until April 14, 2025."),
        ({}, "2015-05-01", None, "The manufacturer pays until April 14, 2020, possibly until April 14, 2025."),
        (
            {},
            "2022-01-01",
            "2015-05-01",
            "The manufacturer may pay until April 14, 2025 if it is registered by June 13, 2015.",
        ),
        (
            {"registered_on": "2015-06-25"},
            "2023-05-01",
            None,
            "The manufacturer does not pay: the 5-year term ended on April 14, 2020, 3 years 1 month before the failure. If it had been registered in time, coverage would have run until April 14, 2025.",
        ),
        (
            {},
            "2015-04-13",
            None,
            "The manufacturer does not pay: coverage starts on April 14, 2015, 1 day after the failure.",
        ),
    ],
)
def test_the_headline_of_an_answer(held, on, asked, expected):
    assert headline(AT, holding(PAPER, **held), on, asked=asked) == expected


def test_the_headline_where_the_start_is_unknown():
    assert headline(unit(), holding(PAPER), "2020-01-01") == (
        "We cannot say whether the manufacturer pays: coverage counts from the day it was installed, which is not on file."
    )


def test_the_headline_where_it_lasts_for_life():
    life = terms(pays({"lifetime": True}))
    perhaps = terms(pays(months(12), {"lifetime": True, "when": ["matched system"]}))
    assert headline(AT, holding(life), "2030-01-01") == "The manufacturer pays for the life of the unit."
    assert headline(AT, holding(perhaps), "2016-01-01") == (
        "The manufacturer pays until April 14, 2016, possibly for the life of the unit."
    )
    assert headline(AT, holding(perhaps), "2030-01-01") == (
        "The manufacturer may pay for the life of the unit if it is part of a matched system."
    )


def test_the_headline_names_the_last_day_of_the_tier_that_its_needs_are_about():
    ladder = terms(pays(months(60, "matched system"), months(120, "matched system", "licensed installer")))
    assert headline(AT, holding(ladder), "2016-01-01") == (
        "The manufacturer may pay until April 14, 2020 if it is part of a matched system."
    )
    assert headline(AT, holding(ladder), "2022-01-01") == (
        "The manufacturer may pay until April 14, 2025 if it is part of a matched system and it was installed by a licensed installer."
    )


def test_the_headline_lists_several_needs():
    paper = terms(
        pays(months(120, "yearly maintenance", "owner home", "first owner")),
        transfer={"rule": "notice", "within_days": 90},
    )
    at = unit(site(sold_on=("2018-05-01",)), installed_on="2015-04-14", maintained_on=("2015-05-01", "2017-05-01"))
    assert headline(at, holding(paper), "2018-05-02") == (
        "The manufacturer may pay until April 14, 2025 if a technician maintained it between April 14, 2016 and April 13, 2017, "
        "it is in an owner-occupied home and the payer is notified of the sale by July 30, 2018."
    )


def test_the_headline_of_a_no_is_what_decided_it():
    mended = repair("sensor", "2020-02-01", repaired_on="2020-02-01", new_part=True)
    paper = terms(pays(months(12)), replacement={"rule": "longer of", "months": 12})
    assert headline(unit(installed_on="2015-04-14", repairs=(mended,)), holding(paper), "2021-02-02") == (
        "The manufacturer does not pay: the term ended on February 1, 2021, 1 day before the failure."
    )


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (reason(C.PLACE_UNKNOWN, "region"), "registration is not required there (the state is not on file)"),
        (
            reason(C.PLACE_UNKNOWN, "region", on="2018-05-01"),
            "the new owner kept the coverage after the sale of May 1, 2018",
        ),
        (
            reason(C.ANCHOR_UNKNOWN, "installed_on"),
            "it was registered in time (the day it was installed is not on file)",
        ),
        (reason(C.START_ASSUMED, "installed_on", on="2015-04-14"), "it did start on April 14, 2015"),
    ],
)
def test_the_headline_says_what_must_hold(found, expected):
    used = reason(Code.TIER_USED, "120 months", until="2025-04-14")
    answer = Answer("paper", "maker", "parts", Result.COVERED_IF, (used,), (found,))
    assert wording.answer_line(answer, on=day(ON)) == f"The manufacturer may pay until April 14, 2025 if {expected}."


@pytest.mark.parametrize("payer", words.PAYERS)
@pytest.mark.parametrize("result", Result)
def test_every_payer_and_result_has_its_headline(payer, result):
    told = (reason(Code.TIER_USED, "12 months", until="2021-01-01"),)
    if result in (Result.NOT_COVERED, Result.CANNOT_SAY):
        told = (reason(Code.START_UNKNOWN, "started_on"),)
    asked = (reason(Code.CONDITION_OPEN, "rental"),)
    answer = Answer("paper", payer, "parts", result, told, asked, last=day("2021-01-01"))
    text = wording.answer_line(answer, on=day(ON))
    is_english(text)
    assert {"maker": "manufacturer", "installer": "we "}.get(payer, payer) in text.replace("We ", "we ")


# ---------------------------------------------------------------------------------------- registration, and who pays


@pytest.mark.parametrize(
    ("asked", "held", "expected"),
    [
        ("2015-06-12", {}, "Register by June 13, 2015, 1 day from today."),
        ("2015-04-14", {}, "Register by June 13, 2015, 60 days from today."),
        ("2015-06-13", {}, "Register today, the last day for it: June 13, 2015."),
        ("2015-06-14", {}, "Missed: not registered; the deadline was June 13, 2015."),
        (
            "2015-06-14",
            {"registered_on": "2015-06-14"},
            "Missed: registered on June 14, 2015, 1 day late: the deadline was June 13, 2015.",
        ),
        ("2015-06-14", {"registered_on": "2015-05-01"}, "Sent on May 1, 2015; its number is not on file yet."),
        ("2015-06-14", {"accepted_late": True}, "Sent; its number is not on file yet."),
        (
            "2015-06-14",
            {"registered_on": "2015-05-01", "registration_number": "R-7"},
            "Confirmed; registered on May 1, 2015.",
        ),
    ],
)
def test_the_state_of_a_registration(asked, held, expected):
    found = standing(AT, holding(PAPER, **held), start=day("2015-04-14"), asked=day(asked))
    assert wording.standing(found, asked=day(asked)) == expected


@pytest.mark.parametrize(
    ("paper", "at", "held", "expected"),
    [
        (PAPER, unit(), {}, "Waiting for a date: the deadline counts from the day it was installed."),
        (PAPER, unit(), {"registration_number": "R-7"}, "Confirmed."),
        (terms(), AT, {}, "These terms require no registration."),
        (
            terms(registration=registration(not_required_in=[{"region": "US-FL"}])),
            AT,
            {},
            "Missed: not registered in time; whether that matters depends on the state, which is not on file.",
        ),
        (
            terms(registration=registration(not_required_in=[{"region": "US-FL"}])),
            unit(site(region="US-FL"), installed_on="2015-04-14"),
            {},
            "Registration is not required in Florida.",
        ),
    ],
)
def test_the_state_of_a_registration_that_hangs_on_something(paper, at, held, expected):
    found = standing(at, holding(paper, **held), start=day("2015-04-14"), asked=day("2020-01-01"))
    assert wording.standing(found, asked=day("2020-01-01")) == expected


@pytest.mark.parametrize(
    ("pays_it", "worth_asking", "expected"),
    [
        ("maker", (), "Parts: the manufacturer pays."),
        ("customer", (), "Parts: the customer pays."),
        ("labor plan if", (), "Parts: the labor plan may pay."),
        ("labor plan", ("maker",), "Parts: the labor plan pays; ask the manufacturer first."),
        (
            "installer",
            ("maker", "labor plan"),
            "Parts: we pay; ask the manufacturer and the labor plan first.",
        ),
        ("cannot say", ("maker",), "Parts: not clear who pays; ask the manufacturer."),
    ],
)
def test_who_pays(pays_it, worth_asking, expected):
    assert wording.payment(Payment("parts", pays_it, worth_asking)) == expected


@pytest.mark.parametrize(
    ("what", "expected"),
    [
        ("1 months", "1 month"),
        ("12 months", "1 year"),
        ("18 months", "18 months"),
        ("120 months", "10 years"),
        ("1 days", "1 day"),
        ("90 days", "90 days"),
        ("1000 days", "1,000 days"),
        ("lifetime", "the life of the unit"),
    ],
)
def test_a_length_as_people_say_it(what, expected):
    assert wording.length(what) == expected


# ------------------------------------------------------------------------------------------------------------ papers


def test_a_whole_paper_in_words():
    paper = terms(
        pays(months(60), months(120, "registered", "owner home"), waits_days=30),
        pays({"days": 90}, {"lifetime": True, "when": ["registered"]}, components=("compressor", "outdoor coil")),
        models=["HW*", "HC*"],
        installed_from=day("2015-01-01"),
        installed_to=day("2021-12-31"),
        counts_first_day=True,
        requires=["first owner"],
        excludes_causes=["installation ours", "power", "misuse"],
        starts=[
            {"from": "closed_on", "when": "new house"},
            {"from": "started_on"},
            {
                "earliest_of": [{"from": "purchased_on"}, {"from": "manufactured_on", "plus_months": 18}],
                "assumed": True,
            },
        ],
        registration=registration(
            by="owner",
            new_house_counted_from="closed_on",
            not_required_in=[
                {"region": "US-FL", "use": ["owner home", "rental"]},
                {"region": "CA-QC", "started_from": day("2020-01-01")},
            ],
        ),
        transfer={
            "rule": "notice",
            "within_days": 90,
            "automatic_in": [{"region": "US-FL", "from": day("2024-07-01")}],
        },
        replacement={"rule": "longer of", "months": 12},
        claims={
            "form_before_part": True,
            "file_within_days": 45,
            "file_counted_from": "repaired_on",
            "part_back_within_days": 21,
            "old_part": "return",
            "leave_first": ["compressor"],
            "wants": ["registration proof", "readings"],
            "fee": "35.00",
        },
        allowance={
            "call": "72.00",
            "hourly": "88.00",
            "hours": {"compressor": "4.50", "*": "10"},
            "refrigerant_per_lb": {"R-410A": "9.00"},
            "reclaim": "48.00",
            "handling": [{"below": "20", "pays": "6.00"}, {"pays": "30.00"}],
        },
    )
    assert wording.terms_in_words(paper) == (
        "Halvik, the manufacturer, covers models HW* and HC*.",
        "It applies to units whose coverage starts from January 1, 2015 to December 31, 2021.",
        "Coverage starts on the closing day of the new house (new houses only), else on the startup day, else on the earliest of the day it was purchased and the day it was manufactured plus 18 months (assumed); a one-year term ends the day before the same date a year later.",
        "The homeowner must register it within 60 days of the day it was installed.",
        "For a new house the 60 days count from the closing day of the new house.",
        "Registration is not required in Florida if it is in an owner-occupied home or in a rental.",
        "Registration is not required in Quebec, for coverage that starts on January 1, 2020 or later.",
        "Parts for all components not named elsewhere: 5 years, if it is still with its first owner.",
        "Parts for all components not named elsewhere: 10 years, if it is still with its first owner, registered and in an owner-occupied home.",
        "Parts for compressor and outdoor coil: 90 days, if it is still with its first owner.",
        "Parts for compressor and outdoor coil: the life of the unit, if it is still with its first owner and registered.",
        "For all components not named elsewhere, nothing is paid in the first 30 days.",
        "Not covered if the cause is our installation, power surge or misuse.",
        "When the house is sold, the new owner keeps the coverage if the payer is notified within 90 days.",
        "In Florida the new owner keeps the coverage by law, for sales on July 1, 2024 or later.",
        "A replaced part is covered for 1 year of its own or for what is left of the unit's term, whichever is longer.",
        "Send the claim form before picking up the new part.",
        "File a claim within 45 days of the day it was repaired.",
        "Return the old part within 21 days of the day it failed.",
        "Get prior approval before replacing: compressor.",
        "A claim needs: registration proof and readings.",
        "Each claim costs a fee of $35.00.",
        "They pay $72.00 for the call.",
        "They pay $88.00 an hour for labor, by these hours: compressor 4.5 h and any other 10 h.",
        "They pay $9.00 a pound for refrigerant R-410A.",
        "They pay $48.00 for reclaiming refrigerant.",
        "They pay for handling a part: $6.00 where the part costs less than $20.00, else $30.00.",
    )


def test_a_short_paper_in_words():
    ours = terms(pays(months(1), kind="labor"), payer="installer", maker="*")
    assert wording.terms_in_words(ours) == (
        "We cover all models of any manufacturer.",
        "It applies to units whose coverage starts on January 1, 1990 or later.",
        "Coverage starts on the day it was installed; a one-year term ends on the same date a year later.",
        "Registration is not required.",
        "Labor for all components not named elsewhere: 1 month.",
        "A sale of the house changes nothing.",
        "The terms say nothing about replaced parts.",
    )


FIRST_OWNER = pays(months(12), months(24, "first owner"))


@pytest.mark.parametrize(
    ("named", "expected"),
    [
        ({}, "The terms say nothing about a sale of the house, so coverage for the first owner ends with the sale."),
        ({"transfer": {"rule": "none"}}, "When the house is sold, coverage for the first owner ends."),
        (
            {"transfer": {"rule": "automatic"}},
            "When the house is sold, the new owner keeps the coverage automatically.",
        ),
        ({"replacement": {"rule": "remainder"}}, "A replaced part is covered for what is left of the unit's term."),
        (
            {"replacement": {"rule": "fresh", "days": 90}},
            "A replaced part is covered for 90 days of its own, whatever is left of the unit's term.",
        ),
        (
            {"claims": {"old_part": "plate only", "part_back_within_days": 9}},
            "Send only the old part's nameplate.",
        ),
        ({"registration": {"required": False}}, "Registration is not required."),
    ],
)
def test_what_a_paper_says_of_one_thing(named, expected):
    assert expected in wording.terms_in_words(terms(FIRST_OWNER, **named))


@pytest.mark.parametrize("path", PAPERS, ids=lambda path: path.stem)
def test_the_papers_on_file_read_well(path):
    for text in wording.terms_in_words(read(tomllib.loads(path.read_text()))):
        is_english(text)


# ------------------------------------------------------------------------------------------------------ whatever comes


@given(any_facts.UNITS, any_facts.holdings(), any_facts.DAYS)
@settings(max_examples=60)
def test_whatever_is_found_reads_well(at, by, on):
    for group in groups(at, by, on=on):
        is_english(wording.answer_line(group.answer, on=on))
        for found in group.answer.reasons:
            is_english(wording.sentence(found, on=on))
        for found in group.answer.needs:
            text = wording.need(found, on=on)
            is_english(text)
            assert text != "Nothing needs to be done."
    is_english(wording.standing(standing(at, by, start=None, asked=on), asked=on))
    for text in wording.terms_in_words(by.terms):
        is_english(text)


def test_every_state_of_a_registration_has_its_words():
    found = reason(Code.ANCHOR_UNKNOWN, "installed_on")
    for state in State:
        is_english(wording.standing(Standing(state, day(ON), day(ON), found), asked=day(ON)))


def test_the_tables_of_the_tests_are_read_as_files_are():
    assert read(table()) == terms()
