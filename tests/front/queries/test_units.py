"""The unit page: what it says of a unit on a day, with literal days, and how few queries it asks."""

import datetime as dt
from dataclasses import replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.care.actions import care_sheets
from fleet.coverage.queries import answers
from fleet.elements.named import address
from fleet.facts.care import care_sheet
from fleet.front.pages.units import Ends, kind_in_words
from fleet.front.queries import units
from fleet.rules.findings import Code, Reason, Result
from fleet.rules.reach import Reach
from tests import company, stops
from tests.caring import entry
from tests.company import day
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = dt.date(2026, 3, 2)
PLAN = {
    "code": "plan-5",
    "payer": "labor plan",
    "maker": "*",
    "title": "Five years of labor",
    "models": ["*"],
    "installed_from": day("2000-01-01"),
    "checked_on": day("2025-06-01"),
    "source": {"title": "Plan booklet", "page": "3"},
    "starts": [{"from": "attached_on"}],
    "coverage": [{"pays_for": ["labor"], "components": ["*"], "waits_days": 30, "tiers": [{"months": 60}]}],
}


@pytest.fixture(autouse=True)
def terms_on_file():
    company.on_file(company.MAKER, company.OURS, PLAN)


def page(unit, **asked):
    found = units.page(unit.pk, on=TODAY, **asked)
    assert found is not None
    return found


def started(serial="SB-1001", **named):
    return company.unit(serial, **{"started_on": "2021-03-10", "installed_on": "2021-03-09", **named})


def test_no_unit_has_no_page():
    assert units.page(404, on=TODAY) is None


# -- the last visit

VISITS = [
    pytest.param([], [], None, id="nothing on file"),
    pytest.param([("2026-01-05", "coil", "Ilse", {})], [], ("2026-01-05", "Clean the coil", ("Ilse",)), id="by name"),
    pytest.param([("2026-01-05", "coil", "", {})], [], ("2026-01-05", "Clean the coil", ()), id="a technician's task"),
    pytest.param([("2026-01-05", "wash", "", {})], [], None, id="the customer's task"),
    pytest.param(
        [("2026-01-05", "wash", "Ilse", {})], [], ("2026-01-05", "Wash the filter", ("Ilse",)), id="done for them"
    ),
    pytest.param([("2026-01-05", "coil", "Ilse", {"skipped": True})], [], None, id="skipped"),
    pytest.param([("2026-01-05", "old", "", {})], [], None, id="a task that no sheet has and nobody's name"),
    pytest.param(
        [("2026-01-05", "coil", "Ilse", {}), ("2026-01-05", "drain", "Ilse", {}), ("2026-01-04", "check", "Ola", {})],
        [],
        ("2026-01-05", "Clean the coil, Clear the drain line", ("Ilse",)),
        id="all of the last day and nothing before",
    ),
    pytest.param(
        [("2026-01-05", "coil", "Ilse", {})],
        [("2026-01-06", {})],
        ("2026-01-06", "Repair", ("Ola",)),
        id="a repair the day after",
    ),
    pytest.param(
        [("2026-01-05", "coil", "Ilse", {})],
        [("2026-01-06", {"voided_on": "2026-01-07", "void_reason": "twice"})],
        ("2026-01-05", "Clean the coil", ("Ilse",)),
        id="a voided failure",
    ),
    pytest.param([], [(None, {})], None, id="a failure not repaired yet"),
]


@pytest.mark.parametrize(("records", "repairs", "visit"), VISITS)
def test_the_last_visit_is_the_last_day_on_which_somebody_worked_on_it(records, repairs, visit):
    unit = started()
    for on, task, technician, named in records:
        models.MaintenanceRecord.objects.create(unit=unit, done_on=on, task=task, technician=technician, **named)
    for on, named in repairs:
        failure = {"component": "sensor", "failed_on": "2026-01-03", "technician": "Ola"}
        models.Failure.objects.create(unit=unit, repaired_on=on, **failure, **named)
    care_sheets.load_table(stops.SHEET, on=TODAY)
    last = page(unit, sheet=care_sheet()).last_visit
    assert (last and (last.day.isoformat(), last.words, last.details)) == visit


# -- who and where


def test_it_says_what_it_is_and_where_it_stands():
    unit = started(room="Kitchen")
    started("SB-1010", room="Room 10")
    started("SB-1009", room="Room 9")
    started("SB-2000", role="outdoor", style="", model="NO-30")
    found = page(unit).identity
    assert (found.maker, found.model, found.serial, found.what, found.room) == (
        "Northrill", "NH-9", "SB-1001", "wall head", "Kitchen",
    )  # fmt: skip
    assert (found.system, found.site, found.customer, found.phone, found.address) == (
        "Whole house", "Home", "Odile Marsh", "555-0100", "7 Tar Lane",
    )  # fmt: skip
    assert [(one.serial, one.here) for one in found.neighbors] == [
        ("SB-2000", False), ("SB-1001", True), ("SB-1009", False), ("SB-1010", False),
    ]  # fmt: skip


def test_a_date_that_nobody_recorded_is_blank():
    found = page(started(licensed_installer=True, purchased_on=None)).identity
    assert [(fact.name, fact.value) for fact in found.dates] == [
        ("Manufactured", ""), ("Purchased", ""), ("Installed", "March 9, 2021"), ("Started", "March 10, 2021"),
    ]  # fmt: skip
    assert ("Licensed installer", "yes") in [(fact.name, fact.value) for fact in found.facts]
    assert ("Matched system", "") in [(fact.name, fact.value) for fact in found.facts]


@pytest.mark.parametrize(
    ("region", "postcode", "written"), [("US-ME", "04791", "ME 04791"), ("CA-QC", "", "QC"), ("", "", "")]
)
def test_an_address_is_written_as_on_an_envelope(region, postcode, written):
    assert address(models.Site(region=region, postcode=postcode)) == written


def test_two_serials_of_an_exchange_lead_to_each_other():
    old, new = exchanged()
    assert page(old).identity.gone == "exchanged on June 1, 2023"
    assert page(old).identity.taken_over_by.serial == "SB-1002"
    assert page(new).identity.took_over_from.serial == "SB-1001"
    assert page(new).identity.came == "Came in exchange on June 1, 2023"
    assert ("Started", "March 10, 2021") in [(fact.name, fact.value) for fact in page(new).identity.dates]


def exchanged():
    old = started(removed_on="2023-06-01", removal_reason="exchanged")
    new = company.unit("SB-1002", took_over_from=old, replaced_on="2023-06-01")
    return old, new


# -- what matters, in sentences


def test_what_matters_stands_in_sentences():
    unit = started(
        licensed_installer=True, registered_on="2021-04-01", registration_number="N-7", role="outdoor", style=""
    )
    assert page(unit).sentences == (
        "Parts: the manufacturer pays until March 10, 2031. For the compressor, the manufacturer pays until March 10, 2028.",
        "Labor: the customer pays (our coverage ended March 10, 2023).",
        "Refrigerant: the customer pays.",
    )


def test_a_registration_that_is_to_do_is_a_sentence():
    unit = started(started_on="2026-02-20", installed_on="2026-02-20", licensed_installer=True)
    assert page(unit).sentences[-1] == "Northrill: register by April 21, 2026, 50 days from today."


def test_a_promise_that_is_still_to_come_says_from_when():
    unit = started()
    models.Attachment.objects.create(
        unit=unit, terms=models.Terms.objects.get(code="plan-5"), attached_on=day("2026-02-20")
    )
    assert page(unit).sentences[1] == "Labor: the labor plan pays from March 22, 2026 until February 20, 2031."


def test_without_terms_the_customer_pays():
    unit = company.unit("ZZ-1", maker="Farholt", installed_by="Another and Sons")
    found = page(unit)
    assert found.sentences == ("No terms on file cover this unit, so the customer pays.",)
    assert found.holdings == ()
    assert found.answer.notes == ("No terms on file cover this unit.",)
    assert [pays.pays for pays in found.answer.pays] == ["customer"] * 4


# -- the life line


def bands(unit):
    told = units.fleet_facts(rows(unit))[unit.pk]
    return [
        (promise.payer, promise.kind, promise.components, [(str(one.first), one.result) for one in promise.stretches])
        for promise in units.promises(told, units.read(told, on=TODAY))
    ]


def rows(unit):
    return models.Unit.objects.filter(pk=unit.pk)


def test_a_band_for_each_payer_and_kind_of_cost():
    unit = started(role="outdoor", style="", licensed_installer=True, registered_on="2021-04-01")
    assert bands(unit) == [
        ("maker", "parts", "compressor", [("2021-03-10", "covered"), ("2028-03-11", "not_covered")]),
        ("maker", "parts", "everything else", [("2021-03-10", "covered"), ("2031-03-11", "not_covered")]),
        ("installer", "labor", "", [("2021-03-10", "covered"), ("2023-03-11", "not_covered")]),
    ]


def test_a_head_has_no_band_for_the_compressor_it_has_not():
    assert [(payer, kind, components) for payer, kind, components, _ in bands(started())] == [
        ("maker", "parts", ""),
        ("installer", "labor", ""),
    ]


def test_the_line_marks_what_happened():
    unit = started(role="outdoor", style="")
    models.Failure.objects.create(unit=unit, component="capacitor", failed_on=day("2023-07-01"))
    models.MaintenanceRecord.objects.create(
        unit=unit, done_on=day("2022-05-01"), task="yearly check", technician="Ilse"
    )
    models.MaintenanceRecord.objects.create(unit=unit, done_on=day("2023-05-01"), task="yearly check", skipped=True)
    models.Sale.objects.create(site=unit.system.site, sold_on=day("2024-01-05"))
    assert [(event.sort, str(event.day), event.words) for event in page(unit).lifeline.events] == [
        ("change", "2024-01-05", "House sold"),
        ("failure", "2023-07-01", "capacitor"),
        ("maintenance", "2022-05-01", "yearly check"),
    ]


# -- if it failed


@pytest.mark.parametrize(
    ("role", "component"),
    [
        ("outdoor", "compressor"),
        ("head", "indoor coil"),
        ("branch box", "branch box"),
        ("air handler", "indoor coil"),
        ("furnace", "heat exchanger"),
        ("dehumidifier", "dehumidifier sealed system"),
        ("pump", "drain pump"),
        ("other", "other"),
    ],
)
def test_what_fails_first_in_a_role_is_asked_about_first(role, component):
    found = page(started(role=role, style=""))
    assert found.answer.question.component == component
    assert component in found.choices.usual
    assert len(found.choices.usual) + len(found.choices.others) == 31


def test_the_answer_is_the_commands():
    unit = started(role="outdoor", style="", licensed_installer=True)
    models.Failure.objects.create(
        unit=unit, component="compressor", failed_on=day("2027-01-05"), repaired_on=day("2027-01-09")
    )
    asked = {"component": "compressor", "cause": "manufacturing defect"}
    shown = page(unit, day=day("2027-01-05"), **asked).answer
    told = answers.ask(serial="SB-1001", on=day("2027-01-05"), asked=TODAY, **asked)
    assert [
        {
            "terms": one.terms,
            "payer": one.payer,
            "pays_for": one.kind,
            "result": str(one.result),
            "first_day": one.first and str(one.first),
            "last_day": one.last and str(one.last),
            "possible_last_day": one.possible_last and str(one.possible_last),
            "days_left": one.days_left,
            "reasons": list(one.reasons),
            "needs": [(need.words, need.until and str(need.until)) for need in one.needs],
            "file_by": one.file_by and str(one.file_by),
            "part_back_by": one.part_back_by and str(one.part_back_by),
        }
        for one in shown.answers
    ] == [
        answer
        | {
            "reasons": [reason["text"] for reason in answer["reasons"]],
            "needs": [(need["text"], need["until"]) for need in answer["needs"]],
        }
        for answer in told["answers"]
    ]
    assert {pays.kind: pays.pays for pays in shown.pays} == told["pays"]
    assert shown.heading == "If the compressor failed on January 5, 2027 (manufacturing defect)"


def test_a_part_put_in_later_does_not_end_in_the_future_what_had_ended_before_the_failure():
    company.on_file(
        company.MAKER | {"code": "osmarik-1", "maker": "Osmarik", "replacement": {"rule": "fresh", "months": 12}}
    )
    unit = started(maker="Osmarik", started_on="2018-03-10", installed_on="2018-03-09", licensed_installer=True)
    models.Failure.objects.create(
        unit=unit, component="sensor", failed_on=day("2025-05-23"), repaired_on=day("2025-06-03"), new_part_number="S-2"
    )
    shown = page(unit, component="sensor", day=day("2025-05-23")).answer
    (parts,) = [one.words for one in shown.answers if one.kind == "parts"]
    assert parts == (
        "The manufacturer does not pay: the 5-year term ended on March 10, 2023, 2 years 2 months before the failure. "
        "If it had been registered in time, coverage would have run until March 10, 2028."
    )
    now = page(unit, component="sensor").answer
    assert [one.words for one in now.answers if one.kind == "parts"] == ["The manufacturer pays until June 3, 2026."]


@pytest.mark.parametrize(
    ("pays", "state"),
    [("maker", "covered"), ("labor plan if", "covered_if"), ("cannot say", "cannot_say"), ("customer", "not_covered")],
)
def test_who_pays_rests_on_a_result(pays, state):
    from fleet.coverage.queries import failing
    from fleet.rules.findings import Payment

    assert failing._pays(Payment("parts", pays, ()), ()).state == state


# -- history and terms held


def test_history_is_in_words_newest_first():
    unit = started(registered_on="2021-04-01", registration_number="N-7")
    models.Failure.objects.create(
        unit=unit,
        component="indoor coil",
        failed_on=day("2023-07-01"),
        cause="manufacturing defect",
        repaired_on=day("2023-07-04"),
        new_part_number="C-88",
        parts_cost="1204.50",
        labor_minutes=150,
        technician="Ilse Quarry",
    )
    models.MaintenanceRecord.objects.create(unit=unit, done_on=day("2024-05-01"), task="coil cleaning", dirt_coil=2)
    models.MaintenanceRecord.objects.create(
        unit=unit, done_on=day("2025-05-01"), task="coil cleaning", skipped=True, not_before=day("2025-09-01")
    )
    models.Idle.objects.create(unit=unit, idle_on=day("2025-10-01"), back_on=day("2025-12-01"))
    assert [(str(one.day), one.words, one.details) for one in page(unit).history] == [
        ("2025-12-01", "Back in use", ()),
        ("2025-10-01", "Out of use", ()),
        ("2025-05-01", "Skipped: coil cleaning", ("Not before September 1, 2025",)),
        ("2024-05-01", "Done: coil cleaning", ("Dirt on the coil 2 of 3",)),
        (
            "2023-07-01",
            "Indoor coil failed: manufacturing defect",
            ("Repaired on July 4, 2023", "New part C-88", "Parts cost $1,204.50", "Labor 2 h 30 min", "Ilse Quarry"),
        ),
        ("2021-04-01", "Registered: all manufacturers", ("Number N-7",)),
        ("2021-03-10", "Started", ()),
        ("2021-03-09", "Installed", ()),
    ]


def test_history_tells_of_moves_exchanges_and_corrections():
    old, new = exchanged()
    site = models.Site.objects.create(customer=old.system.site.customer, name="Shop")
    shop = models.System.objects.create(site=site, name="Shop floor")
    models.Place.objects.filter(unit=new).update(left_on=day("2025-02-01"))
    models.Place.objects.create(unit=new, system=shop, joined_on=day("2025-02-01"))
    models.Change.objects.create(
        table="unit", object_id=new.pk, field="started_on", before="2021-03-11", after="2021-03-10", why="invoice",
        at=dt.datetime(2025, 8, 1, 3, 0, tzinfo=dt.UTC),
    )  # fmt: skip
    models.Change.objects.create(
        table="unit", object_id=new.pk, field="room", after="Den", at=dt.datetime(2025, 9, 1, 12, 0, tzinfo=dt.UTC)
    )
    assert [(str(one.day), one.words, one.details) for one in page(new).history] == [
        ("2025-09-01", "Filled in room: Den", ("By the command line",)),
        ("2025-07-31", "Corrected started: March 11, 2021 to March 10, 2021", ("By the command line", "invoice")),
        ("2025-02-01", "Moved from Home, Whole house to Shop, Shop floor", ()),
        ("2023-06-01", "Replaced Northrill NH-9 SB-1001 under warranty", ()),
    ]
    assert page(old).history[0].words == "Exchanged for Northrill NH-9 SB-1002"


@pytest.mark.parametrize("typed", ["2026-02-30", "20260301", "@2026-03-01"])
def test_what_only_looks_like_a_day_stands_in_the_history_as_it_was_typed(typed):
    unit = started()
    models.Change.objects.create(
        table="unit", object_id=unit.pk, field="room", before="Den", after=typed, at=company.NOON
    )
    assert page(unit).history[0].words == f"Corrected room: Den to {typed}"


def test_terms_held_have_their_start_their_registration_and_their_source():
    unit = started(registered_on="2021-04-01", registration_number="N-7")
    maker, ours = page(unit).holdings
    assert (maker.code, maker.start, maker.start_words) == (
        "northrill-1", dt.date(2021, 3, 10), "Starts March 10, 2021, the startup day.",
    )  # fmt: skip
    assert (maker.registration, maker.state, maker.number) == (
        "Confirmed; registered on April 1, 2021.",
        "confirmed",
        "N-7",
    )
    assert maker.source == "Statement 4-B, page 2"
    assert ours.registration == "These terms require no registration."


def test_a_start_that_nobody_knows_says_what_would_give_it():
    found = page(company.unit("SB-1003"))
    assert found.holdings[0].start is None
    assert found.holdings[0].start_words == "The start is not known: the startup day is not on file."
    assert found.sentences[0] == "Parts: it is not clear whether the manufacturer pays, since the start is not known."
    assert [bar.state for bar in found.lifeline.drawings[0].bands[0].bars] == ["cannot_say"]


# -- how few queries


def test_a_page_asks_as_many_queries_with_five_units_as_with_one():
    def busy(serial):
        unit = started(serial, registered_on="2021-04-01")
        for year in range(2021, 2026):
            models.MaintenanceRecord.objects.create(unit=unit, done_on=dt.date(year, 6, 1), technician="Ilse")
            models.Failure.objects.create(unit=unit, component="sensor", failed_on=dt.date(year, 7, 1))
        models.Sale.objects.get_or_create(site=unit.system.site, sold_on=day("2024-01-05"))
        return unit

    unit = busy("SB-1001")
    page(unit)
    with CaptureQueriesContext(connection) as alone:
        page(unit)
    for number in range(2, 6):
        busy(f"SB-100{number}")
    with CaptureQueriesContext(connection) as among_five:
        page(unit)
    assert len(among_five) == len(alone) <= 22


def test_of_a_payer_whose_certain_days_are_over_by_its_turn_only_what_is_possible_is_said():
    ours = Reach(Result.COVERED, day("2028-11-19"))
    by_then = (Reason(Code.REGISTER_BY, what="either", until=day("2026-12-19")),)
    plan = Reach(Result.COVERED, day("2028-11-18"), day("2036-11-18"), hangs_on=by_then)
    says = kind_in_words("labor", [Ends(("*",), (("installer", ours), ("labor plan", plan)))], on=day("2026-11-29"))
    assert says == (
        "Labor: we pay until November 19, 2028. "
        "Then the labor plan may pay until November 18, 2036 if it is registered by December 19, 2026."
    )
    later = replace(plan, certain=day("2028-11-20"))
    says = kind_in_words("labor", [Ends(("*",), (("installer", ours), ("labor plan", later)))], on=day("2026-11-29"))
    assert "Then the labor plan pays until November 20, 2028; until November 18, 2036 if" in says


def test_a_promise_that_begins_before_another_ends_goes_on_from_there():
    unit = started("SB-1009", started_on="2025-06-10", installed_on="2025-06-09")
    models.Attachment.objects.create(
        unit=unit, terms=models.Terms.objects.get(code="plan-5"), attached_on=day("2026-02-20")
    )
    assert (
        page(unit).sentences[1]
        == "Labor: we pay until June 10, 2027. Then the labor plan pays until February 20, 2031."
    )


def test_the_whole_page_asks_thirty_queries_at_most():
    unit = started(room="Den", registered_on="2021-04-01")
    care_sheets.load_table({"code": "ours-1", "task": [entry("coil", checked_on=TODAY, not_months=[12, 1])]}, on=TODAY)
    models.Failure.objects.create(unit=unit, component="sensor", failed_on=day("2025-07-01"))
    client, address = company.as_role("office"), f"/units/{unit.pk}"
    assert "Coil" in words(client.get(address))
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    assert len(asked) <= 30
    tables = [query["sql"].split('FROM "', 1)[-1].split('"')[0] for query in asked]
    assert "fleet_closedday" not in tables, "nothing is counted on"
    assert tables.count("fleet_caresheet") == 1
