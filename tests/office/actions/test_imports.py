"""Importing a person's own sheet: matched, read by one style of days, taken whole in the background or given back."""

import csv
import datetime as dt
import io
import os
import threading
import time
from contextlib import suppress

import pytest
import time_machine
from django.db import connection
from openpyxl import load_workbook

from fleet import models, tasks
from fleet.derived import recheck
from fleet.models.office import IMPORT_KINDS
from fleet.office.actions import import_files, import_take, imports, jobs
from fleet.office.actions.import_kinds import KINDS
from fleet.refusals import Refused
from fleet.rules.headings import WRONG
from fleet.sheets.matched import parted
from tests import company, sheets

pytestmark = pytest.mark.django_db(transaction=True)

NOON = dt.datetime(2026, 3, 2, 17, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def media(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "media"
    company.on_file()
    with time_machine.travel(company.NOON, tick=True):
        yield settings.MEDIA_ROOT


@pytest.fixture
def office() -> models.User:
    return company.person("office")


def brought(office, file, *, name: str = "units.csv", kind: str = "installs") -> models.Import:
    return imports.bring(file=file, name=name, kind=kind, by=office)


def matched(office, file, **named: str) -> models.Import:
    found = brought(office, file, **named)
    tasks.drain()  # a longer one is read in the background
    imports.match(imported=found, columns=sheets.MATCHING, by=office)
    found.refresh_from_db()
    return found


def asked(found: models.Import, *, styles=None, correcting: bool = False, checking: bool = False) -> models.Import:
    imports.ask(imported=found, styles=styles or {}, correcting=correcting, checking=checking, by=found.by)
    tasks.drain()
    found.refresh_from_db()
    return found


def files(media) -> list[str]:
    return [path.name for path in media.rglob("*") if path.is_file()]


def problems_file(found: models.Import) -> bytes:
    return import_files.path_of(found.problems_stored).read_bytes()


def test_each_kind_has_its_word_and_its_columns():
    assert set(KINDS) == set(IMPORT_KINDS)
    for kind in KINDS.values():
        assert set(kind.required) <= set(kind.names)
        assert kind.days < set(kind.names)
    assert "installed_on" in KINDS["installs"].days
    assert KINDS["history"].days >= {"day", "not_before", "repaired_on"}


# -- columns


def test_a_sheet_is_read_with_its_samples_and_kept_where_nobody_else_can_read_it(office, media):
    found = brought(office, sheets.as_csv(sheets.row(1), sheets.row(2), sheets.row(3), sheets.row(4)))
    assert (found.state, found.row_count, found.columns) == ("to match", 4, {})
    (serial,) = [column for column in found.sheet if column["heading"] == "Serial #"]
    assert (serial["samples"], serial["filled"]) == (["SB-1", "SB-2", "SB-3"], 4)
    path = import_files.path_of(found.stored)
    assert path.stat().st_mode & 0o077 == 0
    assert path.parent.stat().st_mode & 0o077 == 0
    assert "units" not in found.stored


def test_a_file_of_the_promised_columns_needs_no_matching(office):
    headings = [sheets.MATCHING.get(heading, "notes") for heading in sheets.HEADINGS]
    found = brought(office, sheets.as_csv(sheets.row(1, "2021-03-14"), headings=headings))
    assert found.columns == {name: name for name in headings}
    assert asked(found).state == "taken"


def test_a_matching_is_remembered_for_the_same_headings_in_any_order(office):
    assert asked(matched(office, sheets.as_csv(sheets.row(1)))).state == "taken"
    turned = [list(reversed(line)) for line in (sheets.HEADINGS, sheets.row(2))]
    again = brought(office, sheets.as_csv(turned[1], headings=[heading.upper() for heading in turned[0]]))
    assert again.columns == {heading.upper(): name for heading, name in sheets.MATCHING.items()}
    assert asked(again).state == "taken"
    assert models.Unit.objects.get(serial="SB-2").installed_on == dt.date(2021, 3, 14)


def test_another_header_row_or_kind_is_not_taken_for_the_same(office):
    matched(office, sheets.as_csv(sheets.row(1)))
    assert brought(office, sheets.as_csv([*sheets.row(1), ""], headings=[*sheets.HEADINGS, "Fax"])).columns == {}
    assert brought(office, sheets.as_csv(sheets.row(1)), kind="history").columns == {}


def test_what_each_row_needs_must_be_matched(office):
    found = brought(office, sheets.as_csv(sheets.row(1)))
    less = {heading: name for heading, name in sheets.MATCHING.items() if name not in ("maker", "system")}
    with pytest.raises(Refused, match="Each row needs System, Maker"):
        imports.match(imported=found, columns=less, by=office)
    with pytest.raises(Refused, match="Match its columns first"):
        imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)


def test_headings_that_are_blank_or_twice_there_are_told_apart(office):
    headings = [*sheets.HEADINGS, "", "Client", ""]
    found = brought(office, sheets.as_csv([*sheets.row(1), "a", "b", "c"], headings=headings))
    theirs = [column["heading"] for column in found.sheet]
    assert theirs == [*sheets.HEADINGS, "column 11", "Client (2)", "column 13"][: len(theirs)]
    assert "Client (2)" in theirs


def test_a_column_that_is_left_out_may_hold_anything(office):
    line = sheets.row(1)
    line[-1] = "=HYPERLINK(A1)"
    assert asked(matched(office, sheets.as_csv(line))).state == "taken"


# -- days


def test_a_column_with_one_clear_style_is_read_in_it(office):
    found = matched(office, sheets.as_csv(sheets.row(1, "3/8/2021"), sheets.row(2, "3/14/2021")))
    assert found.date_styles == {"installed_on": "month/day/year"}
    assert asked(found).state == "taken"
    assert models.Unit.objects.get(serial="SB-1").installed_on == dt.date(2021, 3, 8)


@pytest.mark.parametrize(
    ("style", "day"), [("month/day/year", dt.date(2021, 3, 8)), ("day/month/year", dt.date(2021, 8, 3))]
)
def test_days_and_months_that_cannot_be_told_apart_are_asked_about(style, day, office):
    found = matched(office, sheets.as_csv(sheets.row(1, "3/8/2021"), sheets.row(2, "12/12/2021")))
    assert found.date_styles == {}
    with pytest.raises(Refused, match="which comes first"):
        imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    with pytest.raises(Refused, match="which comes first"):
        imports.ask(imported=found, styles={"installed_on": "2024-03-08"}, correcting=False, checking=False, by=office)
    assert asked(found, styles={"installed_on": style}).state == "taken"
    assert models.Unit.objects.get(serial="SB-1").installed_on == day
    again = brought(office, sheets.as_csv(sheets.row(3, "4/5/2021")))
    assert again.date_styles == {"installed_on": style}
    clear = brought(office, sheets.as_csv(sheets.row(4, "4/25/2021"), sheets.row(5, "12/25/2021")))
    assert clear.date_styles == {"installed_on": "month/day/year"}


def test_a_column_in_mixed_styles_is_refused_naming_the_row(office):
    found = matched(
        office, sheets.as_csv(sheets.row(1, "3/8/2021"), sheets.row(2, "3/14/2021"), sheets.row(3, "14/3/2021"))
    )
    with pytest.raises(Refused, match="row 4 has '14/3/2021', row 3 has '3/14/2021'"):
        imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    assert not models.Job.objects.exists()


def test_a_year_of_two_digits_is_refused_in_its_row(office):
    found = asked(matched(office, sheets.as_csv(sheets.row(1), sheets.row(2, "3/15/21"))))
    assert found.state == "refused"
    wanted = "a day written as 3/14/2024, with all four digits of its year, not '3/15/21'"
    assert found.report == {"problems": [[3, "Install date", wanted]], "count": 1}


def test_days_of_a_workbook_are_days(office):
    rows = [sheets.row(1), sheets.row(2)]
    rows[0][8], rows[1][8] = dt.date(2021, 3, 8), dt.date(2021, 3, 9)  # type: ignore[call-overload]
    found = asked(matched(office, sheets.as_xlsx(*rows), name="units.xlsx"))
    assert found.state == "taken"
    assert models.Unit.objects.get(serial="SB-1").installed_on == dt.date(2021, 3, 8)


# -- taken


def test_a_file_that_is_taken_says_what_came_of_it_and_is_not_kept(office, media):
    found = asked(matched(office, sheets.as_csv(sheets.row(1), sheets.row(2))))
    assert found.state == "taken"
    assert {name: found.report[name] for name in ("rows", "added", "filled", "corrected", "unchanged")} == {
        "rows": 2, "added": 2, "filled": 0, "corrected": 0, "unchanged": 0,
    }  # fmt: skip
    assert models.Load.objects.get(kind="installs").by == office
    assert files(media) == []
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_check_says_what_would_change_and_changes_nothing(office, media):
    asked(matched(office, sheets.as_csv(sheets.row(1))))
    again = asked(
        brought(office, sheets.as_csv(sheets.row(1, "3/15/2021", room="Attic"))), correcting=True, checking=True
    )
    assert again.state == "checked"
    assert again.report["corrected"] == 2
    assert {(change["field"], change["before"], change["after"]) for change in again.report["changes"]} == {
        ("installed_on", "2021-03-14", "2021-03-15"),
        ("room", "Den", "Attic"),
    }
    assert models.Unit.objects.get().room == "Den"
    assert models.Load.objects.filter(kind="installs").count() == 1
    assert import_files.path_of(again.stored).exists()
    assert asked(again, correcting=True).state == "taken"
    assert models.Unit.objects.get().room == "Attic"
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_contradiction_is_refused_unless_correcting_was_asked(office):
    asked(matched(office, sheets.as_csv(sheets.row(1))))
    found = asked(brought(office, sheets.as_csv(sheets.row(1, room="Attic"))))
    assert found.state == "refused"
    (problem,) = found.report["problems"]
    assert problem == [2, "Room", "'Den' as on file, not 'Attic' (“Correct what is on file” takes the file's word)"]
    assert asked(found, correcting=True).state == "taken"


def test_history_comes_in_the_same_way(office):
    asked(matched(office, sheets.as_csv(sheets.row(1))))
    headings = ("Serial", "Date", "What happened", "Failed part")
    found = brought(
        office, sheets.as_csv(["SB-1", "15 June 2022", "failure", "compressor"], headings=headings), kind="history"
    )
    columns = dict(zip(headings, ("serial", "day", "kind", "component"), strict=True))
    imports.match(imported=found, columns=columns, by=office)
    found.refresh_from_db()
    assert asked(found).state == "taken"
    assert models.Failure.objects.get().failed_on == dt.date(2022, 6, 15)
    assert list(recheck.differences(on=company.TODAY)) == []


def test_of_two_who_press_at_once_one_has_it_begun(office):
    found = matched(office, sheets.as_csv(sheets.row(1)))
    imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    with pytest.raises(Refused):
        imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    assert models.Job.objects.count() == 1


# -- given back


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_file_comes_back_with_what_is_wrong_and_is_taken_once_it_is_put_right(suffix, office):
    make = sheets.as_csv if suffix == "csv" else sheets.as_xlsx
    wrong = make(
        sheets.row(1),
        sheets.row(2, role="fridge"),
        sheets.row(3, model="+NW", role="lamp"),
        sheets.row(4, serial="", room=""),
    )
    found = asked(matched(office, wrong, name=f"units.{suffix}"))
    assert (found.state, found.report["count"]) == ("refused", 3)
    assert not models.Unit.objects.exists()
    lines = as_lines(problems_file(found), suffix)
    assert lines[0] == [WRONG, *sheets.HEADINGS]
    assert lines[1][0] == ""
    assert lines[2][0].startswith("Kind of unit: one of outdoor, head,")
    assert lines[3][0].startswith("Kind of unit: one of outdoor, head,")
    assert lines[4][0] == "Serial #: a serial, or a room while the label cannot be read"
    assert lines[3][7] == ("'+NW" if suffix == "csv" else "+NW")

    lines[2][4] = lines[3][4] = "head"
    lines[4][8] = "SB-4"
    again = brought(office, make(*lines[1:], headings=lines[0]), name=f"units.{suffix}")
    assert again.columns == sheets.MATCHING
    assert asked(again).state == "taken"
    assert models.Unit.objects.get(serial="SB-3").model == "+NW"
    assert models.Unit.objects.count() == 4


TITLE = (["Installs of the house"], [], ["printed", "3 March 2026"])


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_title_above_the_columns_is_no_header_and_comes_back_as_it_was(suffix, office):
    make = sheets.as_csv if suffix == "csv" else sheets.as_xlsx

    def titled(*rows):
        return make(*TITLE[1:], sheets.HEADINGS, *rows, headings=TITLE[0])

    found = asked(matched(office, titled(sheets.row(1), sheets.row(2, role="fridge")), name=f"units.{suffix}"))
    assert [column["heading"] for column in found.sheet] == list(sheets.HEADINGS)
    assert (found.row_count, found.report["count"]) == (2, 1)
    assert found.report["problems"][0][0] == 6, "rows are numbered as they stand in the file"
    lines = as_lines(problems_file(found), suffix)
    assert [line[0] for line in lines[:5]] == ["", "", "", WRONG, ""]
    assert lines[3][1:] == list(sheets.HEADINGS)
    assert lines[5][0].startswith("Kind of unit: one of outdoor")
    lines[5][4] = "head"
    again = asked(brought(office, make(*lines[1:], headings=lines[0]), name=f"units.{suffix}"))
    assert again.state == "taken", "its columns are known from the first time"
    assert models.Unit.objects.count() == 2


def test_semicolons_are_found_below_a_title(office):
    text = sheets.as_csv(sheets.row(1)).getvalue().decode().replace(",", ";")
    found = brought(office, io.BytesIO(f"Installs of the house\r\n\r\n{text}".encode()))
    assert [column["heading"] for column in found.sheet] == list(sheets.HEADINGS)


@pytest.mark.parametrize(
    ("filled", "header"),
    [
        pytest.param(3, "cell", id="less than a third of the fullest line is a title"),
        pytest.param(4, "title", id="a third is a header whose other columns have no name"),
    ],
)
def test_where_a_title_ends(filled, header):
    lines = [(1, ["title"] * filled + [""] * (12 - filled)), (2, ["cell"] * 12), (3, ["cell"] * 12)]
    title, found, below = parted(iter(lines))
    assert found[1][0] == header
    assert len(title) + 1 + len(list(below)) == 3


def test_a_file_given_back_twice_has_one_column_of_what_is_wrong(office):
    found = asked(matched(office, sheets.as_csv(sheets.row(1, role="fridge"))))
    again = asked(brought(office, io.BytesIO(problems_file(found))))
    assert again.state == "refused"
    assert as_lines(problems_file(again), "csv")[0].count(WRONG) == 1


@pytest.mark.parametrize("sign", ["+", "-", "@"])
def test_nothing_in_a_file_given_back_runs_as_a_formula(sign, office):
    text = f"{sign}1+1"
    wrong = [sheets.row(1, role="fridge", customer=text)]
    (line,) = as_lines(problems_file(asked(matched(office, sheets.as_csv(*wrong)))), "csv")[1:]
    assert line[1] == f"'{text}"
    book = load_workbook(io.BytesIO(problems_file(asked(matched(office, sheets.as_xlsx(*wrong))))))
    (_, cell) = book.active["B"]
    assert (cell.data_type, cell.value) == ("s", text)


def test_a_formula_is_refused_also_behind_the_sign_that_keeps_it_from_running(office):
    for text in ("=1+1", "'=1+1"):
        found = asked(matched(office, sheets.as_csv(sheets.row(1, customer=text))))
        assert found.state == "refused"
        assert [2, "Client", "a value, not a formula"] in found.report["problems"]


def test_every_problem_of_a_long_file_is_in_the_file_given_back(office):
    found = asked(matched(office, sheets.as_csv(*(sheets.row(number, role="fridge") for number in range(1, 251)))))
    assert (found.report["count"], len(found.report["problems"])) == (250, 100)
    lines = as_lines(problems_file(found), "csv")
    assert len(lines) == 251
    assert all(line[0] for line in lines)


def test_a_file_that_breaks_off_is_refused_without_one_to_give_back(office):
    found = brought(office, io.BytesIO(b'Client,Site\nOdile,"Home\n'))
    assert (found.state, found.problems_stored, found.sheet) == ("refused", "", [])
    assert "quotes that close" in found.report["problems"][0][2]


def test_a_file_above_the_limit_is_refused_and_not_kept(office, media, settings):
    settings.IMPORT_LARGEST = 2_000_000
    with pytest.raises(Refused, match="larger than 2 MB"):
        brought(office, io.BytesIO(b"x" * 2_000_001))
    assert files(media) == []
    assert not models.Import.objects.exists()


# -- in the background


def test_a_long_file_is_read_in_the_background(office, monkeypatch):
    monkeypatch.setattr(imports, "READ_AT_ONCE", 10)
    found = brought(office, sheets.as_csv(sheets.row(1)))
    assert (found.state, found.job.name) == ("reading", "read_import")
    tasks.drain()
    found.refresh_from_db()
    assert (found.state, found.row_count) == ("to match", 1)


def test_progress_is_told_while_rows_are_checked(office, monkeypatch):
    told = []
    monkeypatch.setattr(tasks.Run, "progress", lambda self, done, parts=None: told.append((done, parts)))
    many = sheets.as_csv(*(sheets.row(number) for number in range(4_100)))
    found = asked(matched(office, many))
    assert found.state == "taken"
    assert told[-3:] == [(2_000, 4_100), (4_000, 4_100), (4_100, 4_100)]


def stop_at(monkeypatch, name: str, found: models.Import, office: models.User) -> None:
    """Have somebody press Stop when the load comes to a step."""
    real = getattr(import_take._ImportHooks, name)

    def pressed(self, *given):
        if name == "applying":
            # From another process this row could not be written now; the file beside the stored one says it.
            import_files.ask_to_stop(found.stored)
        else:
            imports.stop(imported=models.Import.objects.get(pk=found.pk), by=office, at=NOON)
        return real(self, *given)

    monkeypatch.setattr(import_take._ImportHooks, name, pressed)


@pytest.mark.parametrize("step", ["checked", "applying"])
def test_what_is_stopped_in_the_middle_leaves_everything_as_it_was(step, office, monkeypatch):
    found = matched(office, sheets.as_csv(*(sheets.row(number) for number in range(2_100))))
    with monkeypatch.context() as patch:
        stop_at(patch, step, found, office)
        asked(found)
    assert models.Job.objects.latest("pk").state == "stopped"
    assert found.state == "waiting"
    assert not models.Unit.objects.exists()
    assert not models.Load.objects.filter(kind="installs").exists()
    assert asked(found).state == "taken"
    assert models.Unit.objects.count() == 2_100


@pytest.mark.parametrize(
    "stop",
    [
        pytest.param(lambda found: imports.stop(imported=found, by=found.by, at=NOON), id="on its own page"),
        pytest.param(lambda found: imports.stop_work(job=found.job, by=found.by, at=NOON), id="as background work"),
    ],
)
def test_a_load_that_holds_the_database_hears_from_another_connection_that_it_should_stop(stop, office, monkeypatch):
    found = matched(office, sheets.as_csv(sheets.row(1), sheets.row(2)))
    imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    found.refresh_from_db()
    is_applying, real = threading.Event(), import_take._ImportHooks.applying

    def applying(self, done=0, of=0):
        is_applying.set()
        for _ in range(1_000):
            if import_files.is_stopped(found.stored):
                break
            time.sleep(0.01)
        real(self, done, of)

    monkeypatch.setattr(import_take._ImportHooks, "applying", applying)

    def work():
        tasks.drain()
        connection.close()

    worker = threading.Thread(target=work)
    worker.start()
    assert is_applying.wait(20)
    assert stop(found) in ("running", "stopped")
    worker.join(20)
    assert models.Job.objects.get().state == "stopped"
    assert not models.Unit.objects.exists()


def test_stopping_what_waits_begins_nothing(office):
    found = matched(office, sheets.as_csv(sheets.row(1)))
    imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    found.refresh_from_db()
    assert imports.stop(imported=found, by=office, at=NOON) == "stopped"
    tasks.drain()
    assert not models.Unit.objects.exists()


@pytest.mark.parametrize("when", ["parse", "applied", "ended"])
def test_a_worker_that_dies_leaves_a_file_that_is_taken_once(when, office, monkeypatch):
    found = matched(office, sheets.as_csv(sheets.row(1), sheets.row(2)))
    imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)

    class Killed(BaseException):
        pass

    def die(*given):
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(import_take._ImportHooks, when, die)
        patch.setattr(jobs, "hand_back", lambda *given, **named: None)  # a dead worker hands nothing back
        with suppress(Killed):
            tasks.drain()
    assert models.Job.objects.get().state == "running"
    assert not models.Unit.objects.exists()
    with time_machine.travel(company.NOON) as clock:
        clock.shift(jobs.LEASE + dt.timedelta(minutes=1))
        tasks.drain()
        tasks.drain()
    found.refresh_from_db()
    assert (found.state, models.Job.objects.get().state) == ("taken", "done")
    assert (models.Unit.objects.count(), models.Load.objects.filter(kind="installs").count()) == (2, 1)


# -- dropped


def test_a_dropped_file_is_gone(office, media):
    found = asked(matched(office, sheets.as_csv(sheets.row(1, role="fridge"))))
    assert len(files(media)) == 2
    imports.drop(imported=found)
    assert files(media) == []
    assert not models.Import.objects.exists()


def test_what_was_taken_or_is_under_way_cannot_be_dropped(office):
    found = matched(office, sheets.as_csv(sheets.row(1)))
    imports.ask(imported=found, styles={}, correcting=False, checking=False, by=office)
    with pytest.raises(Refused):
        imports.drop(imported=found)
    tasks.drain()
    with pytest.raises(Refused):
        imports.drop(imported=found)


@pytest.mark.parametrize(("days", "is_kept"), [(30, True), (31, False)])
def test_a_file_that_nobody_comes_back_for_is_kept_for_thirty_days(days, is_kept, office, media):
    found = brought(office, sheets.as_csv(sheets.row(1)))
    models.Import.objects.update(at=NOON)
    imports.drop_old(at=NOON + dt.timedelta(days=days))
    found.refresh_from_db()
    assert (len(files(media)), bool(found.stored)) == (is_kept, is_kept)


@pytest.mark.parametrize(("hours", "is_kept"), [(23, True), (25, False)])
def test_what_an_upload_left_that_broke_off_is_removed_after_a_day(hours, is_kept, office, media):
    at = NOON
    left = import_files.path_of(import_files.keep(io.BytesIO(b"a,b\n")))
    written = (at - dt.timedelta(hours=hours)).timestamp()
    os.utime(left, (written, written))
    imports.drop_old(at=at)
    assert left.exists() == is_kept


def as_lines(content: bytes, suffix: str) -> list[list[str]]:
    if suffix == "csv":
        return list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))
    rows = load_workbook(io.BytesIO(content)).active.iter_rows(values_only=True)
    return [["" if value is None else str(value) for value in line] for line in rows]
