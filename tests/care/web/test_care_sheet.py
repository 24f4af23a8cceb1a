"""The care sheet on the screen: written task by task, read back, compared, tried on a site, put in force; in and out as a file."""

import dataclasses
import datetime as dt
import tomllib
from io import StringIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.care.actions import care_draft as actions
from fleet.care.actions import care_sheets as care
from fleet.care.forms.care_sheet import GeneralForm, TaskForm
from fleet.care.queries import care_sheet as queries
from fleet.derived import recheck
from fleet.facts.care import care_sheet
from fleet.facts.terms import to_document
from fleet.rules import caresheet
from fleet.rules.wording import caresheet as wording
from fleet.sheets import toml
from tests import company
from tests.pages import words
from tests.paths import ROOT

pytestmark = pytest.mark.django_db

HOUSE = tomllib.loads((ROOT / "fixtures" / "care" / "house.toml").read_text())
TODAY = company.TODAY
# Checked no later than the day on which these tests are asked.
SHEET = HOUSE | {"task": [task | {"checked_on": dt.date(2026, 2, 1)} for task in HOUSE["task"]]}
ONE: dict[str, Any] = {
    "code": "drain", "title": "Clear the drain line", "by": "technician", "per": "drain line", "every_months": 12,
    "early_days": 60, "late_days": 45, "minutes": 15, "price": "55.00", "source": {"title": "Common practice"},
    "checked_on": dt.date(2026, 2, 1),
}  # fmt: skip


def sent(form: Any) -> dict[str, Any]:
    """What a browser sends of a form as it is shown."""
    return {
        field.html_name: field.value()
        if isinstance(field.value(), list)
        else str("" if field.value() is None else field.value())
        for field in form
    }


def plain(sheet: caresheet.CareSheet) -> caresheet.CareSheet:
    """A sheet whose surroundings stand in the order of the alphabet, which decides nothing."""
    tasks = [
        dataclasses.replace(task, shorten=tuple(sorted(task.shorten, key=lambda one: one.when))) for task in sheet.tasks
    ]
    return dataclasses.replace(sheet, tasks=tuple(tasks))


@pytest.fixture
def owner():
    return company.as_role("owner")


@pytest.fixture
def units():
    """Two systems with a wall head each, started in May and in July."""
    for number, (customer, started) in enumerate([("Odile Marsh", "2024-05-06"), ("Bruno Pell", "2024-07-09")]):
        company.unit(f"SB-{number}", customer=customer, started_on=started, installed_on=started, style="wall")
    company.worked_out()


def written(owner: Any, *tasks: dict[str, Any], code: str = "ours-1") -> None:
    """Write a sheet on the screen."""
    owner.post("/care-sheet/begin", {"from": ""})
    general = owner.get("/care-sheet/draft").context["form"]
    assert owner.post("/care-sheet/draft", sent(general) | {"code": code, "setup_minutes": "20"}).status_code == 302
    for task in tasks:
        version = models.CareDraft.objects.get().version
        form = TaskForm(task=task, version=version, today=TODAY)
        assert owner.post("/care-sheet/draft/task", sent(form)).status_code == 302


def put_in_force(owner: Any) -> Any:
    page = owner.get("/care-sheet/look-over").context["page"]
    told = {"version": page.version, "seen": page.seen}
    return owner.post("/care-sheet/look-over", told, follow=True)


# ------------------------------------------------------------------------------------------------- form and file are the same


@pytest.mark.parametrize("task", SHEET["task"], ids=lambda task: task["code"])
def test_a_task_of_a_file_comes_through_the_form_as_it_was(task):
    form = TaskForm(task=task, version=0, today=TODAY)
    again = TaskForm(sent(form), task=task, version=0, today=TODAY)
    assert again.is_valid(), again.errors
    assert to_document(again.table()) == to_document(task)


@pytest.mark.parametrize("task", SHEET["task"], ids=lambda task: task["code"])
def test_a_task_typed_anew_is_read_as_the_one_of_the_file(task):
    form = TaskForm(sent(TaskForm(task=task, version=0, today=TODAY)), version=0, today=TODAY)
    assert form.is_valid(), form.errors
    (typed,) = caresheet.read({"code": "x", "task": [form.table()]}).tasks
    (read,) = caresheet.read({"code": "x", "task": [task]}).tasks
    assert set(typed.shorten) == set(read.shorten)
    assert dataclasses.replace(typed, shorten=read.shorten) == read


@pytest.mark.parametrize("per", caresheet.PER)
def test_what_a_task_is_done_to_reads_back_as_it_was_chosen(per):
    (task,) = caresheet.read({"code": "x", "task": [ONE | {"per": per}]}).tasks
    chosen = dict(TaskForm(version=0, today=TODAY).fields["per"].choices)[per]
    assert wording.task(task)[0] == f"We do it for {chosen}, every year."


def test_what_holds_for_every_visit_comes_through_the_form_as_it_was():
    form = GeneralForm(sent(GeneralForm(table=SHEET, version=0)), table=SHEET, version=0)
    assert form.is_valid(), form.errors
    told = {key: value for key, value in form.facts().items() if value is not None}
    assert to_document(told) == to_document({key: value for key, value in SHEET.items() if key != "task"})


def test_the_file_that_goes_out_reads_back_as_the_sheet():
    assert to_document(tomllib.loads(queries.as_file(SHEET))) == to_document(SHEET)


@pytest.mark.parametrize("text", ['say "no"', "back\\slash", "tab\tand\nline", "Žižka ·  \x7f", "'''", "# no comment"])
def test_any_text_is_written_so_that_it_reads_back(text):
    table = {"code": text, "list": [text, "b"], "in": {text: 1}, "task": [{"title": text, "day": dt.date(2026, 1, 2)}]}
    assert tomllib.loads(toml.write(table, apart=("task",))) == table


def test_a_sheet_written_on_the_screen_is_the_one_that_the_file_gives(owner):
    written(owner, *SHEET["task"], code=SHEET["code"])
    general = GeneralForm(table=SHEET, version=models.CareDraft.objects.get().version)
    owner.post("/care-sheet/draft", sent(general))
    put_in_force(owner)
    by_screen = plain(care_sheet())
    care.load_table(SHEET, by=None, on=TODAY)
    assert plain(care_sheet()) == by_screen


def test_down_and_up_again_changes_nothing(owner):
    care.load_table(SHEET, by=None, on=TODAY)
    file = owner.get("/care-sheet/file")
    assert file["Content-Disposition"] == 'attachment; filename="house-2026.toml"'
    owner.post("/care-sheet/upload", {"file": SimpleUploadedFile("mine.toml", file.content)})
    page = owner.get("/care-sheet/look-over").context["page"]
    assert (page.faults, page.comparison.tasks, page.comparison.general) == ((), (), ())
    assert page.comparison.same == len(SHEET["task"])
    assert owner.get("/care-sheet/draft/file").content == file.content


# ------------------------------------------------------------------------------------------------- refusals, each at its field


@pytest.mark.parametrize(
    ("changed", "field", "says"),
    [
        ({"title": ""}, "title", "Say what is done."),
        ({"code": ""}, "code", "Enter a short name."),
        ({"every_months": "0"}, "every_months", "greater than or equal to 1"),
        ({"every_months": "1201"}, "every_months", "less than or equal to 1200"),
        ({"every_months": "a year"}, "every_months", "Enter a whole number, such as 12."),
        ({"minutes": "1441"}, "minutes", "less than or equal to 1440"),
        ({"price": ""}, "price", "Enter an amount; 0 is one."),
        ({"price": "1.234"}, "price", "Enter an amount, such as 35.00."),
        ({"price": "-1"}, "price", "Enter an amount, such as 35.00."),
        ({"shorten_pets": "half"}, "shorten_pets", "Enter a number, such as 0.5."),
        ({"per": "system", "styles": ["wall"]}, "styles", "Styles go with heads and drain lines only."),
        ({"per": "outdoor", "style_wall": "5"}, "per", "Minutes more by style go with heads and drain lines only."),
        ({"by": "owner", "not_months": ["1"]}, "not_months", "We plan none of the customer’s work."),
        ({"not_months": [str(n) for n in range(1, 13)]}, "not_months", "Leave a month in which it is planned."),
        ({"months": ["3"], "not_months": ["3"]}, "not_months", "A month cannot be best and never planned."),
        ({"checked_on": "2026-03-03"}, "checked_on", "Enter a day no later than today."),
        ({"checked_on": "1899-12-31"}, "checked_on", "Enter a day from 1900 to 2200."),
        ({"source_title": " "}, "source_title", "Say where this comes from"),
        ({"title": "two\nlines"}, "title", "This must be one line."),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_nothing_typed_is_lost(owner, changed, field, says):
    written(owner)
    form = TaskForm(task=ONE, version=models.CareDraft.objects.get().version, today=TODAY)
    page = owner.post("/care-sheet/draft/task", sent(form) | {"cautions": "Mind the stair."} | changed)
    assert page.status_code == 422
    assert any(says in text for text in page.context["form"].errors[field]), page.context["form"].errors
    assert "Mind the stair." in words(page)
    assert actions.read(models.CareDraft.objects.get()).get("task", []) == []


def test_days_and_intervals_on_their_last_good_value_are_taken(owner):
    written(owner, ONE | {"every_months": 1200, "minutes": 1440, "price": "999999999.99", "checked_on": TODAY})
    assert len(actions.read(models.CareDraft.objects.get())["task"]) == 1


def test_dollars_and_commas_are_an_amount(owner):
    written(owner)
    form = TaskForm(task=ONE, version=models.CareDraft.objects.get().version, today=TODAY)
    owner.post("/care-sheet/draft/task", sent(form) | {"price": "$1,412.50"})
    assert actions.read(models.CareDraft.objects.get())["task"][0]["price"] == "1412.50"


def test_two_tasks_of_one_short_name_are_refused_at_it(owner):
    written(owner, ONE)
    form = TaskForm(task=ONE, version=models.CareDraft.objects.get().version, today=TODAY)
    page = owner.post("/care-sheet/draft/task", sent(form))
    assert page.status_code == 422
    assert page.context["form"].errors["code"] == ["Another task has that short name. Choose another one."]
    # The task itself keeps its name.
    assert owner.post("/care-sheet/draft/tasks/0", sent(form) | {"minutes": "20"}).status_code == 302
    assert actions.read(models.CareDraft.objects.get())["task"][0]["minutes"] == 20


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"code = ", "mine.toml"),
        (b"\xff\xfe", "a TOML file in UTF-8 is wanted"),
        (b'code = "a"\n', "task: is missing"),
        (b'code = "a"\nwhat = 1\n[[task]]\n', "what: is not known here"),
        (queries.as_file(SHEET | {"task": [ONE | {"price": "x"}]}).encode(), "task[1].price"),
        (queries.as_file(SHEET | {"task": [ONE | {"checked_on": dt.date(2026, 3, 3)}]}).encode(), "later than today"),
        (queries.as_file(SHEET | {"task": [ONE | {"cautions": ["a\x00"]}]}).encode(), "a list of words is wanted"),
        (b"# " + b"x" * 1_000_000, "at most 1,000,000 bytes"),
    ],
)
def test_a_file_with_faults_begins_nothing_and_names_each(owner, content, says):
    page = owner.post("/care-sheet/upload", {"file": SimpleUploadedFile("mine.toml", content)})
    assert page.status_code == 422
    assert says in words(page).replace("&#x27;", "'")
    assert not models.CareDraft.objects.exists()


def test_a_sheet_without_a_name_or_a_task_says_so_before_it_takes_hold(owner):
    owner.post("/care-sheet/begin", {"from": ""})
    page = owner.get("/care-sheet/look-over")
    assert "It cannot take hold yet" in words(page)
    assert {fault.text for fault in page.context["page"].faults} == {
        "The sheet has no task yet. Add one.",
        "code: is missing.",
    }
    refused = owner.post("/care-sheet/look-over", {"version": "0", "seen": ""}, follow=True)
    assert "task: " in words(refused)
    assert not models.CareSheet.objects.exists()


def test_maintenance_on_file_from_tomorrow_does_not_take_hold(owner):
    written(owner, ONE)
    form = GeneralForm(
        table={"code": "a", "upkeep_on_file_from": dt.date(2026, 3, 3)}, version=models.CareDraft.objects.get().version
    )
    owner.post("/care-sheet/draft", sent(form))
    assert "must not be later than today" in words(owner.get("/care-sheet/look-over"))
    form = GeneralForm(
        table={"code": "a", "upkeep_on_file_from": TODAY}, version=models.CareDraft.objects.get().version
    )
    owner.post("/care-sheet/draft", sent(form))
    assert owner.get("/care-sheet/look-over").context["page"].faults == ()


# ------------------------------------------------------------------------------------------------- before and after


def test_it_is_compared_by_how_many_things_each_task_touches(owner, units):
    yearly = ONE | {"code": "coil", "title": "Clean the coil", "per": "head"}
    care.load_table(
        {"code": "old", "task": [yearly, ONE | {"code": "system check", "per": "system"}]}, by=None, on=TODAY
    )
    owner.post("/care-sheet/begin", {"from": models.CareSheet.objects.get().pk})
    version = models.CareDraft.objects.get().version
    form = TaskForm(task=yearly | {"every_months": 6}, version=version, today=TODAY)
    owner.post("/care-sheet/draft/tasks/0", sent(form))
    owner.post("/care-sheet/draft/tasks/1/remove", {"version": version + 1})
    form = TaskForm(task=ONE | {"code": "new", "title": "New", "per": "head"}, version=version + 2, today=TODAY)
    owner.post("/care-sheet/draft/task", sent(form))
    page = owner.get("/care-sheet/look-over").context["page"]
    told = {one.kind: (one.title, one.things, one.new, one.gone, one.other_months) for one in page.comparison.tasks}
    assert told == {
        "changed": ("Clean the coil", 2, 0, 0, 2),
        "new": ("New", 0, 2, 0, 0),
        "gone": ("Clear the drain line", 2, 0, 2, 0),
    }
    (changed,) = (one for one in page.comparison.tasks if one.kind == "changed")
    assert "We do it for each head, every 6 months." in changed.sentences
    # Nothing is changed until it takes hold; then the kept dues are what was said.
    before = models.DueRow.objects.filter(task="coil").values_list("due_on", flat=True)
    assert [day.year for day in before] == [2025, 2025]
    assert "is in force" in words(put_in_force(owner))
    assert set(models.DueRow.objects.values_list("task", flat=True)) == {"coil", "new"}
    assert not list(recheck.differences(on=TODAY))


def test_it_is_tried_on_a_site_before_it_holds(owner, units):
    care.load_table({"code": "old", "task": [ONE | {"per": "head"}]}, by=None, on=TODAY)
    owner.post("/care-sheet/begin", {"from": models.CareSheet.objects.get().pk})
    form = TaskForm(
        task=ONE | {"per": "head", "every_months": 3, "early_days": 0, "late_days": 14}, version=0, today=TODAY
    )
    owner.post("/care-sheet/draft/tasks/0", sent(form))
    listed = owner.get("/care-sheet/look-over", {"find": "odile"}).context["page"].sites
    assert [name for _, name in listed] == ["Odile Marsh, Home, 7 Tar Lane"]
    page = owner.get("/care-sheet/look-over", {"site": listed[0][0]})
    tried = page.context["page"].tried
    assert (len(tried.new), len(tried.old)) == (5, 2)
    assert tried.new[0].on >= TODAY
    assert "Clear the drain line" in words(page)
    assert owner.get("/care-sheet/look-over", {"site": "9" * 30, "find": "no\x00body"}).context["page"].tried is None
    assert owner.get("/care-sheet/look-over", {"find": "odi\0le"}).context["page"].sites == listed


def test_the_comparison_asks_the_same_queries_for_one_system_and_five(owner):
    care.load_table({"code": "old", "task": [ONE | {"per": "head"}]}, by=None, on=TODAY)
    owner.post("/care-sheet/begin", {"from": models.CareSheet.objects.get().pk})

    def asked() -> int:
        with CaptureQueriesContext(connection) as caught:
            owner.get("/care-sheet/look-over", {"find": "a", "site": models.Site.objects.first().pk})
        return len(caught)

    company.unit("SB-1", customer="Ada", started_on="2024-05-06")
    company.worked_out()
    asked()
    one = asked()
    for number in range(2, 6):
        company.unit(f"SB-{number}", customer=f"Ada {number}", started_on="2024-05-06")
    company.worked_out()
    assert asked() == one
    assert one <= 30


# ------------------------------------------------------------------------------------------------- two people, and left halfway


def test_it_is_kept_while_nobody_writes_and_begun_once(owner):
    written(owner, ONE)
    assert "is writing another one" in words(owner.get("/care-sheet"))
    refused = owner.post("/care-sheet/begin", {"from": "product"}, follow=True)
    assert "being written already" in words(refused)
    upload = owner.post("/care-sheet/upload", {"file": SimpleUploadedFile("m.toml", queries.as_file(SHEET).encode())})
    assert upload.status_code == 422
    assert len(owner.get("/care-sheet/draft").context["tasks"]) == 1
    first = owner.get("/care-sheet/look-over")
    assert "This is your first care sheet: all of it is new." in words(first)
    assert [(one.kind, one.sentences) for one in first.context["page"].comparison.tasks] == [("new", ())]


def test_what_somebody_else_saved_meanwhile_is_told(owner):
    written(owner, ONE)
    late = sent(TaskForm(task=ONE | {"code": "other"}, version=0, today=TODAY))
    page = owner.post("/care-sheet/draft/task", late)
    assert page.status_code == 409
    assert "Wynn Owner changed this care sheet meanwhile." in words(page)
    assert len(actions.read(models.CareDraft.objects.get())["task"]) == 1


def test_one_that_was_compared_with_another_sheet_does_not_take_hold_unseen(owner):
    written(owner, ONE)
    page = owner.get("/care-sheet/look-over").context["page"]
    care.load_table({"code": "meanwhile", "task": [ONE]}, by=None, on=TODAY)
    answer = owner.post("/care-sheet/look-over", {"version": page.version, "seen": page.seen}, follow=True)
    assert "Another care sheet was put in force meanwhile." in words(answer)
    assert models.CareSheet.objects.get(in_force=True).code == "meanwhile"
    assert answer.context["page"].was_changed


def test_thrown_away_it_is_gone_and_the_log_says_who(owner):
    written(owner, ONE)
    assert "Thrown away." in words(owner.post("/care-sheet/draft/throw-away", follow=True))
    assert not models.CareDraft.objects.exists()
    told = models.Change.objects.filter(table="caredraft").order_by("pk").values_list("after", "by__role")
    assert list(told) == [("begun", "owner"), ("thrown away", "owner")]
    for address in (
        "/care-sheet/draft",
        "/care-sheet/draft/task",
        "/care-sheet/draft/tasks/0",
        "/care-sheet/look-over",
    ):
        assert owner.get(address)["Location"] == "/care-sheet"
    assert "Nobody is writing a care sheet any more." in words(
        owner.post("/care-sheet/draft/tasks/0/remove", {"version": "0"}, follow=True)
    )


def test_a_former_sheet_can_be_put_back(owner):
    care.load_table({"code": "first", "task": [ONE]}, by=None, on=TODAY)
    care.load_table({"code": "second", "task": [ONE | {"every_months": 6}]}, by=None, on=TODAY)
    first = models.CareSheet.objects.get(code="first")
    assert "Begin with the former first" in words(owner.get("/care-sheet"))
    owner.post("/care-sheet/begin", {"from": first.pk})
    put_in_force(owner)
    assert models.CareSheet.objects.get(in_force=True).code == "first"


def test_what_a_change_replaced_can_be_put_back(owner):
    care.load_table({"code": "ours", "task": [ONE]}, by=None, on=TODAY)
    for minutes in ("20", "25"):
        owner.post("/care-sheet/begin", {"from": models.CareSheet.objects.get(in_force=True).pk})
        form = TaskForm(task=ONE, version=0, today=TODAY)
        owner.post("/care-sheet/draft/tasks/0", sent(form) | {"minutes": minutes})
        put_in_force(owner)
    former = models.CareSheet.objects.filter(in_force=False).order_by("pk")
    assert [row.code for row in former] == ["ours, until 2026-03-02", "ours, until 2026-03-02 (2)"]
    owner.post("/care-sheet/begin", {"from": former[0].pk})
    put_in_force(owner)
    row = models.CareSheet.objects.get(in_force=True)
    assert (row.code, care_sheet().tasks[0].minutes) == ("ours", 15)


def test_a_sheet_that_is_put_in_force_unchanged_keeps_no_second_one(owner):
    care.load_table({"code": "ours", "task": [ONE]}, by=None, on=TODAY)
    owner.post("/care-sheet/begin", {"from": models.CareSheet.objects.get().pk})
    put_in_force(owner)
    assert models.CareSheet.objects.count() == 1


def test_everybody_reads_it_and_only_the_owner_writes():
    care.load_table(SHEET, by=None, on=TODAY)
    for role in ("technician", "office"):
        page = company.as_role(role).get("/care-sheet")
        assert "We do it for each drain line, every year." in words(page)
        assert "Change this care sheet" not in words(page)
        assert company.as_role(role).get("/care-sheet/draft").status_code == 403
        assert company.as_role(role).post("/care-sheet/begin").status_code == 403


def test_it_comes_back_with_a_backup(owner, tmp_path):
    written(owner, ONE)
    before = actions.read(models.CareDraft.objects.get())
    path = tmp_path / "ours.backup"
    call_command("backup", path, stdout=StringIO(), stderr=StringIO())
    models.CareDraft.objects.all().delete()
    call_command("restore", path, stdout=StringIO())
    assert actions.read(models.CareDraft.objects.get()) == before
