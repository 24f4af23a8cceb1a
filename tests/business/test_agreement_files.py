"""Files of agreements: what each row brings, twice the same brings nothing, a contradiction is refused whole."""

import datetime as dt
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command

from fleet import clock, models
from fleet.derived import recheck
from fleet.loading import agreements
from fleet.registry.actions import merges
from fleet.sheets import BadFile
from tests import rows

TODAY = dt.date(2026, 11, 24)
ROW = {
    "customer": "Ada Quill",
    "site": "Home",
    "reference": "A-1",
    "start_on": "2026-03-31",
    "months": "12",
    "visits_per_year": "2",
    "first_head": "120.00",
    "further_head": "80",
    "discount_percent": "7.5",
    "billing": "monthly",
    "renews": "by asking",
    "rise_percent": "3",
    "notes": "Calls in spring",
}


@pytest.fixture
def home(db):
    return rows.site(rows.customer("Ada Quill"), "Home")


def load(*told, **how):
    return agreements.load_rows([ROW | row for row in told], on=TODAY, **how)


def problems(*told, **how):
    with pytest.raises(BadFile) as refused:
        load(*told, **how)
    return [(one.row, one.column, one.wanted) for one in refused.value.problems]


def test_a_row_is_an_agreement_with_all_that_it_says(home):
    report = load({})
    assert (report.added, report.unchanged) == (1, 0)
    (row,) = models.Agreement.objects.all()
    assert (row.site, row.reference, row.start_on, row.months) == (home, "A-1", dt.date(2026, 3, 31), 12)
    assert (row.first_head, row.further_head) == (Decimal("120.00"), Decimal("80.00"))
    assert (row.visits_per_year, row.discount_percent, row.rise_percent) == (2, Decimal("7.5"), Decimal(3))
    assert (row.billing, row.renews, row.terms_agreed, row.notes) == ("monthly", "by asking", 1, "Calls in spring")
    assert row.load.kind == "agreements"
    assert list(recheck.differences(on=TODAY)) == []


def test_what_is_left_out_is_as_agreed_most_often(home):
    blank = dict.fromkeys(
        ("reference", "further_head", "discount_percent", "billing", "renews", "rise_percent", "notes"), ""
    )
    load(blank)
    (row,) = models.Agreement.objects.all()
    assert (row.further_head, row.discount_percent, row.rise_percent) == (Decimal(120), 0, 0)
    assert (row.billing, row.renews) == ("upfront", "by itself")


def test_the_same_row_twice_changes_nothing(home):
    load({}, {})
    assert models.Agreement.objects.count() == 1
    before = list(models.Agreement.objects.values_list())
    report = load({})
    assert (report.added, report.filled, report.corrected, report.unchanged) == (0, 0, 0, 1)
    assert list(models.Agreement.objects.values_list()) == before
    assert models.Change.objects.count() == 0
    assert models.Load.objects.count() == 1


def test_without_a_reference_it_is_known_by_its_start(home):
    load({"reference": ""})
    report = load({"reference": ""}, {"reference": "", "start_on": "2026-04-30"})
    assert (report.added, report.unchanged) == (1, 1)


def test_a_reference_that_comes_later_fills_the_blank(home):
    load({"reference": ""})
    report = load({})
    assert (report.added, report.filled) == (0, 1)
    assert models.Agreement.objects.get().reference == "A-1"
    (change,) = models.Change.objects.all()
    assert (change.table, change.field, change.before, change.after) == ("agreement", "reference", "", "A-1")
    assert load({"reference": ""}).unchanged == 1


def test_a_blank_never_empties_a_value(home):
    load({})
    assert load({"notes": "", "billing": "", "rise_percent": ""}).unchanged == 1
    row = models.Agreement.objects.get()
    assert (row.notes, row.billing, row.rise_percent) == ("Calls in spring", "monthly", Decimal(3))


def test_a_contradiction_is_refused_with_both_shown_unless_it_is_to_be_corrected(home):
    load({})
    ((row, column, wanted),) = problems({"first_head": "130.00"})
    assert (row, column) == (2, "first_head")
    assert "'120.00' as on file, not '130.00'" in wanted
    assert models.Agreement.objects.get().first_head == Decimal(120)
    assert load({"first_head": "130.00"}, correct=True).corrected == 1
    assert models.Agreement.objects.get().first_head == Decimal(130)
    (change,) = models.Change.objects.all()
    assert (change.field, change.before, change.after) == ("first_head", "120.00", "130.00")


def test_two_rows_of_one_file_that_say_otherwise_are_refused_even_so(home):
    assert [one[:2] for one in problems({}, {"months": "24"}, correct=True)] == [(3, "months")]
    load({})
    assert [one[:2] for one in problems({"months": "24"}, {"months": "36"}, correct=True)] == [(3, "months")]
    assert models.Agreement.objects.get().months == 12


@pytest.mark.parametrize(
    ("told", "column"),
    [
        ({"site": "Cabin"}, "site"),
        ({"customer": "Nobody"}, "site"),
        ({"start_on": "2026-02-30"}, "start_on"),
        ({"months": "0"}, "months"),
        ({"visits_per_year": "0"}, "visits_per_year"),
        ({"visits_per_year": "two"}, "visits_per_year"),
        ({"first_head": "-1"}, "first_head"),
        ({"first_head": "1.999"}, "first_head"),
        ({"discount_percent": "100.01"}, "discount_percent"),
        ({"billing": "weekly"}, "billing"),
        ({"renews": "perhaps"}, "renews"),
        ({"first_head": ""}, "first_head"),
        ({"start_on": ""}, "start_on"),
    ],
)
def test_what_cannot_be_agreed_is_refused_and_nothing_taken(home, told, column):
    assert [one[:2] for one in problems({"reference": "B"}, told)] == [(3, column)]
    assert models.Agreement.objects.count() == models.Load.objects.count() == 0


def test_edges_of_what_can_be_agreed(home):
    told = {"discount_percent": "100", "months": "1", "visits_per_year": "1", "start_on": "2030-01-01"}
    assert load(told).added == 1


def test_a_site_that_was_made_one_with_another_is_found_by_its_former_name(home):
    cabin = rows.site(home.customer, "Cabin")
    merges.merge("site", home.pk, cabin.pk, chosen={"name": "kept"}, by=None, on=TODAY)
    load({"site": "Cabin"})
    assert models.Agreement.objects.get().site == home


def test_the_command_takes_a_file_whole_or_only_checks_it(home, tmp_path, monkeypatch):
    monkeypatch.setattr(clock, "today", lambda: TODAY)
    path = tmp_path / "agreements.csv"
    path.write_text(",".join(ROW) + "\n" + ",".join(ROW.values()) + "\n")
    out = StringIO()
    call_command("load_agreements", path, check=True, stdout=out)
    assert "1 agreements added" in out.getvalue()
    assert "Nothing was changed" in out.getvalue()
    assert models.Agreement.objects.count() == 0
    call_command("load_agreements", path, stdout=out)
    assert models.Agreement.objects.count() == 1
    path.write_text(path.read_text().replace("120.00", "130.00"))
    with pytest.raises(SystemExit) as ended:
        call_command("load_agreements", path, stderr=StringIO())
    assert ended.value.code == 1
    call_command("load_agreements", path, correct=True, stdout=out)
    assert models.Agreement.objects.get().first_head == Decimal(130)
