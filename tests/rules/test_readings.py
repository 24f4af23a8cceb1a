"""What readings warn of, and how fast a system leaks.

Beside each check stands where its figures come from. READ: read in the named text. READ BESIDE: read in a page that restates
it. COMPUTED: arithmetic on the rule that was read. COMMON PRACTICE: no published source. MEMORY: not looked up.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from fleet.rules.federal import (
    FEDERAL_RULES,
    TRIGGERS,
    LeftOut,
    Subsector,
    Substance,
    disposal_recorded,
    over,
    report_by,
    standing,
    substance_of,
    trigger,
)
from fleet.rules.readings import (
    BANDS,
    READINGS,
    Doubt,
    Measured,
    Move,
    Warn,
    Weighing,
    air_change,
    annualized,
    balance,
    charges_by_it,
    doubts,
    leak_rates,
    out_of_range,
    rolling,
    warnings,
)
from tests.facts import day


def warned(reading, value, **told):
    return [(found.code, str(found.edge)) for found in warnings(reading, Decimal(value), Measured(**told))]


# ------------------------------------------------------------------------------------------------------------ bands


@pytest.mark.parametrize(
    ("humidity", "expected"),
    [
        ("0", [(Warn.TOO_DRY, "40")]),
        ("39.9", [(Warn.TOO_DRY, "40")]),
        ("40", []),
        ("50", []),
        ("60", []),
        ("60.1", [(Warn.MOLD, "60")]),
        ("100", [(Warn.MOLD, "60")]),
    ],
)
def test_humidity(humidity, expected):
    """CP-04, COMMON PRACTICE: 40 to 60 %. ENV-01, READ BESIDE: US EPA, below 60 %; the warning begins over 60."""
    assert warned("indoor relative humidity", humidity) == expected


@pytest.mark.parametrize(
    ("on", "humidity", "expected"),
    [
        ("2026-10-31", "39.9", [(Warn.TOO_DRY, "40")]),
        ("2026-11-01", "39.9", []),
        ("2026-11-01", "30", []),
        ("2026-11-01", "29.9", [(Warn.TOO_DRY, "30")]),
        ("2027-03-31", "30", []),
        ("2027-04-01", "30", [(Warn.TOO_DRY, "40")]),
        ("2027-01-15", "61", [(Warn.MOLD, "60")]),
    ],
)
def test_low_humidity_is_judged_with_the_season(on, humidity, expected):
    """ENV-01, READ BESIDE: US EPA, ideally 30 to 50 %, which is what winter air is held to; which months, COMMON PRACTICE."""
    assert warned("indoor relative humidity", humidity, on=day(on)) == expected


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        ("24", []),
        ("79.9", []),
        ("80", [(Warn.LOW_VOLTAGE, "103.5")]),
        ("103.4", [(Warn.LOW_VOLTAGE, "103.5")]),
        ("103.5", []),
        ("126.5", []),
        ("126.6", [(Warn.HIGH_VOLTAGE, "126.5")]),
        ("160", [(Warn.LOW_VOLTAGE, "187.2")]),
        ("187.2", []),
        ("253", []),
        ("253.1", [(Warn.HIGH_VOLTAGE, "253")]),
        ("480", []),
    ],
)
def test_line_volts(volts, expected):
    """READ on public pages: within 10 % of the plate; COMPUTED for 115 V (103.5 to 126.5) and 208/230 V (187.2 to 253)."""
    assert warned("volts", volts) == expected


@pytest.mark.parametrize(
    ("role", "measure", "value", "expected"),
    [
        ("head", "in wc", "0.2", []),
        ("head", "in wc", "0.201", [(Warn.STATIC, "0.2")]),
        ("air handler", "in wc", "0.5", []),
        ("furnace", "in wc", "0.501", [(Warn.STATIC, "0.5")]),
        ("furnace", "Pa", "124.55", []),
        ("furnace", "Pa", "124.56", [(Warn.STATIC, "124.55")]),
        ("outdoor", "in wc", "3", []),
    ],
)
def test_static_pressure_by_role(role, measure, value, expected):
    """READ on public pages: a low-static head 0.2 inches of water at most, an ordinary air handler 0.5. 1 in wc is 249.1 Pa."""
    assert warned("external static pressure", value, role=role, measure=measure) == expected


@pytest.mark.parametrize(
    ("mode", "role", "change", "expected"),
    [
        ("cooling", "head", "13.9", Warn.SMALL_CHANGE),
        ("cooling", "head", "14", None),
        ("cooling", "head", "25", None),
        ("cooling", "head", "25.1", Warn.LARGE_CHANGE),
        ("cooling", "head", "-3", Warn.SMALL_CHANGE),
        ("cooling", "air handler", "15.9", Warn.SMALL_CHANGE),
        ("cooling", "furnace", "21", None),
        ("cooling", "furnace", "21.1", Warn.LARGE_CHANGE),
        ("heating", "head", "19.9", Warn.SMALL_CHANGE),
        ("heating", "air handler", "45", None),
        ("heating", "air handler", "45.1", Warn.LARGE_CHANGE),
        ("heating", "furnace", "70", None),
        ("fan only", "head", "0", None),
        ("", "head", "0", None),
        ("cooling", "outdoor", "0", None),
    ],
)
def test_how_much_the_air_changes(mode, role, change, expected):
    """READ on public pages: cooling 16 to 21 F (ducted), 8 to 14 C at a head (14.4 to 25.2 F, COMPUTED and rounded); heating 20
    to 45 F. A furnace's rise is on its plate, so nothing is said of it."""
    warm, cold = Decimal(70) + Decimal(change), Decimal(70)
    pair = (warm, cold) if mode == "cooling" else (cold, warm)
    found = air_change(*pair, measure="F", mode=mode, role=role)
    assert (found and found.code) == expected


def test_the_change_of_the_air_in_celsius():
    """10 C are 18 F, 7.7 C are 13.86 F."""
    assert air_change(Decimal(25), Decimal(15), measure="C", mode="cooling", role="head") is None
    assert air_change(Decimal(25), Decimal("17.3"), measure="C", mode="cooling", role="head").value == Decimal("13.86")


@pytest.mark.parametrize(("ppm", "expected"), [("400", []), ("401", [(Warn.CARBON_MONOXIDE, "400")])])
def test_carbon_monoxide_in_the_flue(ppm, expected):
    """ANSI Z21.47, MEMORY: 400 ppm, air-free."""
    assert warned("flue carbon monoxide", ppm) == expected


@pytest.mark.parametrize(
    ("reading", "value", "measure", "is_slip"),
    [
        ("indoor relative humidity", "100", "", False),
        ("indoor relative humidity", "100.1", "", True),
        ("indoor relative humidity", "140", "%", True),
        ("superheat", "-20", "F", False),
        ("superheat", "-30", "F", True),
        ("superheat", "-30", "", True),
        ("superheat", "-10", "C", False),
        ("superheat", "-10.1", "C", True),
        ("no such reading", "1", "", False),
    ],
)
def test_what_saving_would_refuse(reading, value, measure, is_slip):
    assert (out_of_range(reading, Decimal(value), measure) is not None) is is_slip


def test_mold_is_said_by_the_epa_and_dryness_by_nobody_but_practice():
    """Only a page that quotes the EPA was read, and the source says so."""
    (mold,) = warnings("indoor relative humidity", Decimal(72))
    (dry,) = warnings("indoor relative humidity", Decimal(22))
    assert [(source.title, source.quoted) for source in mold.sources] == [
        ("US EPA, mold course, chapter 2", True),
        ("common practice", False),
    ]
    assert [source.title for source in dry.sources] == ["common practice"]


@pytest.mark.parametrize("reading", ["vacuum reached", "vacuum held"])
@pytest.mark.parametrize(
    ("micron", "expected"),
    [("350", []), ("500", []), ("501", [(Warn.VACUUM_SHORT, "500")]), ("20000", [(Warn.VACUUM_SHORT, "500")])],
)
def test_vacuum(reading, micron, expected):
    """READ in makers' manuals: 500 micron or lower."""
    assert warned(reading, micron) == expected


@pytest.mark.parametrize(
    ("amps", "plate", "expected"),
    [
        ("11.9", "12.0", []),
        ("12.0", "12.0", []),
        ("12.1", "12.0", [(Warn.OVER_PLATE, "12.0")]),
        ("99", None, []),
    ],
)
def test_amps_against_the_plate(amps, plate, expected):
    assert warned("amps", amps, plate_amps=plate and Decimal(plate)) == expected


@pytest.mark.parametrize("reading", sorted(set(READINGS) - {name for band in BANDS for name in band.readings}))
def test_a_reading_without_a_band_warns_of_nothing(reading):
    """The plate's amps bear on amps alone."""
    told = {} if reading == "amps" else {"plate_amps": Decimal(1)}
    assert warned(reading, "100000", **told) == []


@pytest.mark.parametrize(
    ("reading", "inverter_ductless", "may"),
    [
        ("superheat", True, False),
        ("subcooling", True, False),
        ("superheat", False, True),
        ("subcooling", False, True),
        ("charge added", True, True),
    ],
)
def test_superheat_is_no_way_to_charge_inverter_ductless(reading, inverter_ductless, may):
    """READ in makers' manuals: only by weight, unless the maker gives a test mode."""
    assert charges_by_it(reading, inverter_ductless=inverter_ductless) is may


def test_every_measure_has_a_unit_and_room():
    for reading, measures in READINGS.items():
        assert measures, reading
        assert all(measure.unit and measure.least < measure.most for measure in measures), reading


def test_every_band_is_of_a_reading_and_has_a_source():
    for band in BANDS:
        assert set(band.readings) <= set(READINGS)
        assert band.sources
        assert (band.low is None) != (band.high is None)


# ------------------------------------------------------------------------------------------------------- leak rates


@pytest.mark.parametrize(
    ("added", "full_charge", "days", "percent"),
    [
        pytest.param("5", "50", 120, Fraction(365, 12), id="REF-A1: 30.4167 %"),
        pytest.param("3", "60", 400, Fraction(5), id="REF-A2: no more than 365 days, 5 % and not 4.5625 %"),
        pytest.param("4", "20", 73, Fraction(100), id="REF-A3: 100 %"),
        pytest.param("1.5", "15", 365, Fraction(10), id="REF-A4: exactly 10 %"),
        pytest.param("1.5", "15", 364, Fraction(3650, 364), id="a day less is more"),
        pytest.param("1.5", "15", 366, Fraction(10), id="a day more is not less"),
    ],
)
def test_the_annualizing_method(added, full_charge, days, percent):
    """REF-01 and REF-02, READ BESIDE (a study guide that quotes 40 CFR 82.152 and 84.102); REF-A rows COMPUTED."""
    assert annualized(Decimal(added), Decimal(full_charge), days=days) == percent


def test_the_annualizing_method_to_four_digits():
    """REF-A1. COMPUTED."""
    assert round(float(annualized(Decimal(5), Decimal(50), days=120)), 4) == 30.4167


def test_the_rolling_average():
    """REF-03, READ BESIDE; REF-A6, COMPUTED: 0.5 + 0.75 + 0.5 lb in a year, of 18."""
    found = rolling(map(Decimal, ("0.5", "0.75", "0.5")), Decimal(18))
    assert found == Fraction(350, 36)
    assert round(float(found), 4) == 9.7222


def test_at_the_trigger_is_not_over_it():
    """REF-A4. COMPUTED: exactly 10 % is not greater than 10 %."""
    assert not over(annualized(Decimal("1.5"), Decimal(15), days=365), Decimal(10))
    assert over(annualized(Decimal("1.5"), Decimal(15), days=364), Decimal(10))
    assert not over(Fraction(500), None)


def ledger(*rows):
    return [Weighing(day(on), move, Decimal(pounds)) for on, move, pounds in rows]


def reckoned(rows, full_charge="4", asked="2026-12-31", verified_on=None):
    found = leak_rates(rows, Decimal(full_charge), as_of=day(asked), verified_on=verified_on and day(verified_on))
    return [(str(rate.on), str(rate.added), rate.days, rate.annualized, rate.rolling) for rate in found]


def test_a_ledger_is_reckoned_at_every_addition():
    """Filled on May 1, 2024; 0.5 lb after 92 days, 1 lb after 212 more; of 4 lb."""
    rows = ledger(("2024-05-01", Move.CHARGED, "4"), ("2024-08-01", Move.ADDED, "0.5"), ("2025-03-01", Move.ADDED, "1"))
    assert reckoned(rows) == [
        ("2024-08-01", "0.5", 92, Fraction(365, 92) * Fraction(25, 2), Fraction(25, 2)),
        ("2025-03-01", "1", 212, Fraction(365, 212) * 25, Fraction(75, 2)),
    ]


def test_the_first_filling_is_no_leak():
    """REF-05. READ: a new installation asks for no leak rate."""
    assert reckoned(ledger(("2024-05-01", Move.CHARGED, "4"))) == []


def test_with_nothing_before_it_a_first_addition_counts_over_a_year():
    assert reckoned(ledger(("2024-08-01", Move.ADDED, "1"))) == [("2024-08-01", "1", 365, Fraction(25), Fraction(25))]


def test_two_additions_on_one_day_are_one():
    rows = ledger(
        ("2024-05-01", Move.ADDED, "1"), ("2024-05-11", Move.ADDED, "0.25"), ("2024-05-11", Move.ADDED, "0.75")
    )
    assert reckoned(rows)[1] == ("2024-05-11", "1.00", 10, Fraction(365, 10) * 25, Fraction(50))


@pytest.mark.parametrize(
    ("first", "percent"),
    [
        pytest.param("2024-03-02", 50, id="364 days before"),
        pytest.param("2024-03-01", 25, id="365 days before"),
    ],
)
def test_the_rolling_year(first, percent):
    rows = ledger((first, Move.ADDED, "1"), ("2025-03-01", Move.ADDED, "1"))
    assert reckoned(rows)[1][4] == percent


@pytest.mark.parametrize(
    ("verified_on", "percent"),
    [("2024-11-30", 50), ("2024-12-01", 25), ("2025-03-01", 50), (None, 50)],
)
def test_the_rolling_year_begins_anew_after_a_repair_that_was_proven_tight(verified_on, percent):
    """REF-03, this half MEMORY. A proof on the day of the later addition says nothing about that addition."""
    rows = ledger(("2024-12-01", Move.ADDED, "1"), ("2025-03-01", Move.ADDED, "1"))
    assert reckoned(rows, verified_on=verified_on)[1][4] == percent


def test_what_was_recovered_is_no_addition_and_does_not_count_as_one():
    rows = ledger(("2024-05-01", Move.ADDED, "1"), ("2024-05-20", Move.RECOVERED, "3"), ("2024-05-31", Move.ADDED, "1"))
    assert [(on, days) for on, _, days, _, _ in reckoned(rows)] == [("2024-05-01", 365), ("2024-05-31", 30)]


def test_what_came_after_the_day_of_asking_is_not_known_yet():
    rows = ledger(("2024-05-01", Move.ADDED, "1"), ("2024-06-01", Move.ADDED, "1"))
    assert len(reckoned(rows, asked="2024-05-31")) == 1
    assert len(reckoned(rows, asked="2024-06-01")) == 2


def test_the_balance_of_a_ledger():
    rows = ledger(
        ("2024-05-01", Move.CHARGED, "4"), ("2024-08-01", Move.ADDED, "0.5"), ("2025-03-01", Move.RECOVERED, "3.75")
    )
    assert balance(rows) == Decimal("0.75")
    assert balance([]) == 0


# ---------------------------------------------------------------------------------------------------- the federal rules


@pytest.mark.parametrize(
    ("subsector", "percent"),
    [
        (Subsector.COMFORT_COOLING, 10),
        (Subsector.COMMERCIAL_REFRIGERATION, 20),
        (Subsector.INDUSTRIAL_PROCESS, 30),
    ],
)
def test_the_trigger_rates(subsector, percent):
    """REF-04. READ: 40 CFR 82.157(c)(2)."""
    assert TRIGGERS[subsector] == percent


@pytest.mark.parametrize(
    ("pounds", "substance", "on", "percent"),
    [
        pytest.param("50", Substance.OZONE_DEPLETING, "2020-04-10", 10, id="REF-05: 50 lb or more"),
        pytest.param("49.9", Substance.OZONE_DEPLETING, "2020-04-10", None, id="REF-05: less than 50 lb"),
        pytest.param("50", Substance.OZONE_DEPLETING, "2020-04-09", None, id="REF-05: the day before"),
        pytest.param("60", Substance.HFC, "2025-12-31", None, id="REF-05: not for substitutes alone"),
        pytest.param("15", Substance.HFC, "2026-01-01", 10, id="REF-06: 15 lb or more"),
        pytest.param("14.9", Substance.HFC, "2026-01-01", None, id="REF-06: less than 15 lb"),
        pytest.param("200", Substance.OTHER, "2026-01-01", None, id="REF-06: a GWP of 53 or less"),
    ],
)
def test_which_systems_the_federal_rules_hold(pounds, substance, on, percent):
    """REF-05 READ (40 CFR 82.157(a)); REF-06 READ in its title and day, READ BESIDE in its pounds."""
    assert trigger(Decimal(pounds), substance, Subsector.COMFORT_COOLING, on=day(on)) == percent


@pytest.mark.parametrize("pounds", ["2.5", "14.9", "15", "49"])
def test_small_residential_systems_are_outside_the_federal_trigger(pounds):
    """REF-06. READ BESIDE only: the residential and light commercial subsector is left out, whatever its charge."""
    assert trigger(Decimal(pounds), Substance.HFC, Subsector.RESIDENTIAL, on=day("2026-06-01")) is None


def test_the_rule_of_2024_says_that_only_a_quotation_was_read():
    assert [rule.source.quoted for rule in FEDERAL_RULES] == [False, True]


@pytest.mark.parametrize(
    ("pounds", "recorded"), [("5", False), ("5.1", True), ("12", True), ("49.9", True), ("50", False)]
)
def test_when_taking_out_asks_for_a_record(pounds, recorded):
    """REF-07. READ: more than 5 and less than 50 lb."""
    assert disposal_recorded(Decimal(pounds), Substance.HFC) is recorded


@pytest.mark.parametrize(("pounds", "expected"), [("24.9", None), ("25", "2026-03-01"), ("40", "2026-03-01")])
def test_a_chronic_leak_is_reported_by_the_first_of_march(pounds, expected):
    """REF-08. READ BESIDE: 125 % of the full charge within a calendar year; of 20 lb that is 25."""
    rows = ledger(
        ("2024-12-31", Move.ADDED, "20"), ("2025-01-01", Move.ADDED, pounds), ("2025-06-01", Move.RECOVERED, "20"),
        ("2026-01-01", Move.ADDED, "20"),
    )  # fmt: skip
    assert report_by(rows, Decimal(20), year=2025) == (expected and day(expected))


# ------------------------------------------------------------------------------------------------- where a rule leaves a system out


@pytest.mark.parametrize(
    ("name", "substance"),
    [
        ("R-410A", Substance.HFC),
        ("r410a", Substance.HFC),
        ("R-22", Substance.OZONE_DEPLETING),
        ("R-290", Substance.OTHER),
        ("", None),
        ("brine", None),
    ],
)
def test_what_a_refrigerant_is(name, substance):
    """40 CFR 82, subpart A, and 84, appendix A. MEMORY."""
    assert substance_of(name) is substance


@pytest.mark.parametrize(
    ("substance", "use", "pounds", "on", "why"),
    [
        (Substance.HFC, Subsector.RESIDENTIAL, "100", "2026-01-01", LeftOut.SUBSECTOR),
        (Substance.HFC, Subsector.COMFORT_COOLING, "15", "2025-12-31", LeftOut.NOT_YET),
        (Substance.HFC, Subsector.COMFORT_COOLING, "15", "2026-01-01", LeftOut.APPLIES),
        (Substance.HFC, Subsector.COMFORT_COOLING, "14.99", "2026-01-01", LeftOut.TOO_SMALL),
        (Substance.OZONE_DEPLETING, Subsector.RESIDENTIAL, "49.99", "2026-01-01", LeftOut.TOO_SMALL),
        (Substance.OZONE_DEPLETING, Subsector.RESIDENTIAL, "50", "2026-01-01", LeftOut.APPLIES),
        (Substance.OZONE_DEPLETING, Subsector.RESIDENTIAL, None, "2026-01-01", LeftOut.CHARGE_UNKNOWN),
        (Substance.OTHER, Subsector.COMFORT_COOLING, "500", "2026-01-01", LeftOut.NO_RULE),
    ],
)
def test_why_a_rule_asks_nothing(substance, use, pounds, on, why):
    """REF-05, READ: 50 lb of class I or II; REF-06, READ BESIDE: 15 lb of an HFC from 2026 on, not residential."""
    charge = pounds and Decimal(pounds)
    found = standing(charge, substance, use, on=day(on))
    assert found.why is why
    assert (trigger(charge, substance, use, on=day(on)) is not None) is (why is LeftOut.APPLIES)


@pytest.mark.parametrize(
    ("refrigerant", "pounds", "system", "full", "expected"),
    [
        ("R-410A", "5", "R-410A", "6", []),
        ("r410a", "5", "R-410A", "6", []),
        ("R-32", "5", "R-410A", "6", [Doubt.OTHER_KIND]),
        ("R-32", "5", "", "6", []),
        ("R-410A", "9", "R-410A", "6", []),
        ("R-410A", "9.01", "R-410A", "6", [Doubt.TOO_HEAVY]),
        ("R-410A", "30", "R-410A", "0", []),
        ("R-410A", "30.01", "R-410A", "0", [Doubt.TOO_HEAVY]),
        ("R-32", "500", "R-410A", "6", [Doubt.OTHER_KIND, Doubt.TOO_HEAVY]),
    ],
)
def test_what_is_improbable_about_an_entry(refrigerant, pounds, system, full, expected):
    """Half as much again as the full charge; 30 lb where no plate is known. COMMON PRACTICE."""
    assert list(doubts(refrigerant, Decimal(pounds), system=system, full_charge=Decimal(full))) == expected
