"""Terms written on screen: filled in, read back, compared, tried on a unit and put in force. Asked on March 2, 2026."""

import io
import json
import tomllib
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.coverage.actions import terms as actions
from fleet.coverage.pages.terms_written import NODES
from fleet.derived import recheck
from fleet.elements import written
from fleet.facts.terms import to_document
from tests import company
from tests.pages import words
from tests.paths import FIXTURES

pytestmark = pytest.mark.django_db

WRITE = "/terms/write"
NEW = {**company.MAKER, "code": "northrill-2", "replaces": "northrill-1", "title": "Ductless statement, put right"}
SHORTER = {
    **NEW,
    "coverage": [
        {"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60}]},
        {"pays_for": ["labor"], "components": ["*"], "tiers": [{"months": 12}]},
    ],
}
PLAN = {
    **company.OURS,
    "code": "plan-9",
    "payer": "labor plan",
    "title": "Labor plan",
    "starts": [{"from": "attached_on"}],
    "coverage": [{"pays_for": ["labor"], "components": ["*"], "tiers": [{"months": 120}]}],
}


@pytest.fixture
def owner():
    company.on_file()
    company.unit("SB-1002", started_on="2021-03-20", installed_on="2021-03-19")
    company.worked_out()
    return company.as_role("owner")


def filled(table, **changed):
    """What a browser sends of a form that somebody filled in so."""
    return written.typed(NODES, table) | {
        key: value if isinstance(value, list) else [value] for key, value in changed.items()
    }


def send(client, do, sent, **more):
    return client.post(WRITE, {**sent, "do": do, **more})


def codes() -> set[str]:
    return set(models.Terms.objects.values_list("code", flat=True))


# -- filling it in


def test_a_blank_form_has_a_row_for_what_no_terms_are_without(owner):
    page = owner.get(WRITE)
    assert page.status_code == 200
    html = page.content.decode()
    for name in ("starts[1].from", "coverage[1].pays_for", "coverage[1].tiers[1].months"):
        assert f'name="{name}"' in html
    assert 'name="checked_on" value="2026-03-02"' in html


def test_it_begins_with_the_terms_that_it_is_to_replace(owner):
    former = models.Terms.objects.get(code="northrill-1")
    html = owner.get(f"{WRITE}?replace={former.pk}").content.decode()
    assert 'name="code" value="northrill-1-2"' in html
    assert 'name="replaces" value="northrill-1"' in html
    assert 'name="coverage[1].tiers[2].months" value="120"' in html


@pytest.mark.parametrize("asked", ["404", "x", "-1", "9" * 30, ""])
def test_what_is_not_there_begins_blank(asked, owner):
    page = owner.get(f"{WRITE}?replace={asked}")
    assert page.status_code == 200
    assert 'name="coverage[2].pays_for"' not in page.content.decode()


def test_a_button_adds_a_line_or_a_term_and_another_removes_it_and_nothing_typed_is_lost(owner):
    sent = filled(NEW, title="Half <written>")
    page = send(owner, "add:coverage", sent)
    html = page.content.decode()
    assert page.status_code == 200
    assert 'name="coverage[3].pays_for"' in html
    assert 'value="Half &lt;written&gt;"' in html
    page = send(owner, "add:coverage[1].tiers", sent)
    assert 'name="coverage[1].tiers[3].months"' in page.content.decode()
    html = send(owner, "remove:coverage[1]", sent).content.decode()
    assert 'name="coverage[2].pays_for"' not in html
    assert 'name="coverage[1].tiers[1].months" value="84"' in html
    assert codes() == {"northrill-1", "ours-1"}


def test_one_button_and_the_next_ask_as_few_queries_whatever_was_typed(owner):
    def queries(table):
        with CaptureQueriesContext(connection) as asked:
            assert send(owner, "read", filled(table), serial="SB-1002").status_code == 200
        return len(asked)

    many = NEW | {
        "coverage": [
            {"pays_for": ["parts"], "components": [one], "tiers": [{"months": 1}]}
            for one in ("sensor", "louver", "panel", "filter", "*")
        ]
    }
    one = NEW | {"coverage": many["coverage"][:1]}
    assert queries(one) == queries(many) <= 60


@pytest.mark.parametrize("said", ["Florida", "fl", "US-FL"])
def test_a_state_is_typed_as_people_write_it_and_kept_as_its_code(said, owner):
    place = "registration.not_required_in[1].region"
    sent = filled(NEW, **{"registration.not_required_in#": "1", place: said})
    assert "Florida" in words(send(owner, "read", sent))
    assert b"US-FL" in send(owner, "file", sent).content
    wrong = send(owner, "read", sent | {place: ["Floridia"]})
    assert wrong.status_code == 422
    assert "enter a state or province by its name or its letters, such as Florida or FL" in words(wrong)
    assert 'value="Floridia"' in wrong.content.decode()


# -- read back


def test_it_is_read_back_in_sentences_and_compared_with_what_it_replaces(owner):
    page = words(send(owner, "read", filled(SHORTER)))
    assert "<li>Labor for all components not named elsewhere: 1 year.</li>" in page
    assert "<ins>Labor for all components not named elsewhere: 1 year.</ins>" in page
    assert "<del>Parts for compressor: 7 years.</del>" in page
    assert "1 unit has the former terms and will no longer have them." in page
    assert codes() == {"northrill-1", "ours-1"}


def test_what_says_the_same_says_so(owner):
    assert "Both say the same." in words(send(owner, "read", filled(NEW)))


@pytest.mark.parametrize(
    ("changed", "label", "text"),
    [
        ({"code": "Not One"}, "Code", "lower-case letters, digits, dots and hyphens are wanted"),
        ({"title": ""}, "Title", "is missing"),
        (
            {"replaces": "nothing-0"},
            "Replaces the terms with this code (optional)",
            "no terms with the code nothing-0 are on file",
        ),
        ({"checked_on": "2026-03-03"}, "Checked against the paper on", "2026-03-03 is later than today, 2026-03-02"),
        (
            {"installed_from": "soon"},
            "For coverage that starts from",
            "a day from 1900 to 2200 is wanted, written 2026-08-01",
        ),
        (
            {"coverage[2].tiers[1].months": "x"},
            "Coverage line 2, Term 1, Months",
            "a whole number from 1 to 1200 is wanted",
        ),
        ({"code": "northrill-1", "replaces": ""}, "Code", "northrill-1 is on file with other words and units hold it"),
    ],
)
@pytest.mark.parametrize("do", ["read", "hold"])
def test_what_is_wrong_is_said_at_its_field_and_nothing_is_taken(do, changed, label, text, owner):
    page = send(owner, do, filled(NEW, **changed))
    html = words(page)
    assert page.status_code == 422
    (place,) = [name for name in changed if f'id="{name}-fault"' in html] if len(changed) == 1 else ["code"]
    assert f'<a href="#{place}">{label}</a>: {text}' in html
    assert f'id="{place}-fault"' in html
    assert codes() == {"northrill-1", "ours-1"}
    assert models.Terms.objects.get(code="northrill-1").title == "Ductless statement"


# -- tried on a unit


def test_tried_on_a_unit_it_says_what_would_be_said_and_what_is_said_today(owner):
    page = words(send(owner, "read", filled(SHORTER), serial="sb-1002"))
    assert "If the indoor coil failed today, for this unit it would say:" in page
    before, _, after = page.partition("Today it says:")
    assert "<li>Parts: the manufacturer pays.</li>" in before
    assert "<strong>Parts:</strong> The manufacturer pays until March 20, 2026." in after
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_plan_is_tried_as_if_it_were_bought_today(owner):
    page = words(send(owner, "read", filled(PLAN), serial="SB-1002"))
    assert "with this plan bought today, for this unit it would say:" in page
    assert "<strong>Labor:</strong> The labor plan pays until March 2, 2036." in page


@pytest.mark.parametrize(
    ("table", "serial", "said"),
    [
        (NEW, "NONE-1", "No unit in service has this serial."),
        (NEW | {"maker": "Farholt"}, "SB-1002", "This unit would not get these terms"),
    ],
)
def test_what_cannot_be_tried_says_why(table, serial, said, owner):
    page = send(owner, "read", filled(table), serial=serial)
    assert page.status_code == 200
    assert said in words(page)


# -- in force


def test_put_in_force_it_replaces_the_former_terms_and_every_unit_is_worked_out_again(owner):
    page = owner.post(WRITE, {**filled(SHORTER), "do": "hold"})
    row = models.Terms.objects.get(code="northrill-2")
    assert page["Location"] == f"/terms/{row.pk}"
    assert "In force: Ductless statement, put right." in words(owner.get(page["Location"]))
    assert row.document == to_document(SHORTER)
    assert set(models.HoldingRow.objects.values_list("terms__code", flat=True)) == {"northrill-2", "ours-1"}
    assert list(recheck.differences(on=company.TODAY)) == []
    load = models.Load.objects.latest("pk")
    assert (load.kind, load.name, load.by.role) == ("terms", "northrill-2", "owner")
    assert row.checks.get().by.role == "owner"


@pytest.mark.parametrize("title", ["@2026-08-01", "@2026-02-30", "@@home"])
def test_a_title_that_looks_as_a_day_is_kept_comes_back_as_it_was(title, owner):
    page = owner.post(WRITE, {**filled({**NEW, "title": title}), "do": "hold"})
    assert f"In force: {title}." in words(owner.get(page["Location"]))


def test_sent_twice_it_is_in_force_once(owner):
    for _ in range(2):
        assert send(owner, "hold", filled(NEW)).status_code == 302
    assert models.Terms.objects.filter(code="northrill-2").count() == 1
    assert models.Load.objects.filter(kind="terms", name="northrill-2").count() == 1


def test_the_form_and_the_file_make_the_same(owner, tmp_path):
    sent = filled(SHORTER)
    file = send(owner, "file", sent)
    assert file["Content-Disposition"] == 'attachment; filename="northrill-2.toml"'
    assert tomllib.loads(file.content.decode()) == SHORTER
    send(owner, "hold", sent)
    by_form = models.Terms.objects.get(code="northrill-2").digest
    (tmp_path / "northrill-2.toml").write_bytes(file.content)
    taken = actions.load_files([tmp_path / "northrill-2.toml"], by=None, on=company.TODAY)
    assert (taken.added, taken.unchanged) == ((), ("northrill-2",))
    assert models.Terms.objects.get(code="northrill-2").digest == by_form


# -- files


@pytest.mark.parametrize("path", sorted((FIXTURES / "terms").glob("*.toml")), ids=lambda path: path.stem)
def test_a_file_fills_the_form_and_comes_back_as_it_was(path, owner):
    page = owner.post(WRITE, {"do": "upload", "file": SimpleUploadedFile(path.name, path.read_bytes())})
    html = page.content.decode()
    table = tomllib.loads(path.read_text())
    assert f'name="code" value="{table["code"]}"' in html
    file = send(owner, "file", written.typed(NODES, table))
    assert tomllib.loads(file.content.decode()) == table
    assert codes() == {"northrill-1", "ours-1"}


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"code = ", "this file cannot be read"),
        (b"\xff\xfe\x00", "a TOML file in UTF-8 is wanted"),
        (b'code = "a-1"\ncoverage = 3', "a list of tables is wanted"),
        (b'code = "a-1"\nfrob = 3', "is not known here"),
        (b"starts = [3]", "a table is wanted"),
    ],
)
def test_a_file_that_is_no_terms_says_why_and_what_was_typed_stays(content, said, owner):
    sent = filled(NEW) if b"=" not in content or b"coverage" in content or b"starts" in content else {}
    page = owner.post(WRITE, {**sent, "do": "upload", "file": SimpleUploadedFile("x.toml", content)})
    assert page.status_code == 422
    assert said in words(page)
    if sent:
        assert 'name="title" value="Ductless statement, put right"' in page.content.decode()
    assert owner.post(WRITE, {"do": "upload"}).status_code == 422


def test_terms_on_file_are_handed_out_as_the_file_that_is_taken(owner):
    row = models.Terms.objects.get(code="northrill-1")
    for role in ("office", "owner"):
        file = company.as_role(role).get(f"/terms/{row.pk}/file")
        assert to_document(tomllib.loads(file.content.decode())) == row.document
    assert owner.get("/terms/404/file").status_code == 404


# -- who, and what becomes of it


@pytest.mark.parametrize(("role", "status"), [("owner", 200), ("office", 403), ("technician", 403)])
def test_only_the_owner_writes_terms(role, status, owner):
    client = company.as_role(role)
    assert client.get(WRITE).status_code == status
    if role != "owner":
        assert send(client, "hold", filled(NEW)).status_code == 403
        assert codes() == {"northrill-1", "ours-1"}
    shown = words(client.get("/terms"))
    assert ("Write terms" in shown) is (role == "owner")
    row = models.Terms.objects.get(code="northrill-1")
    assert ("Write terms that replace these" in words(client.get(f"/terms/{row.pk}"))) is (role == "owner")
    assert client.get(f"/terms/{row.pk}/file").status_code == (403 if role == "technician" else 200)


def test_terms_written_on_screen_are_in_a_backup_with_every_word(owner, tmp_path):
    send(owner, "hold", filled(SHORTER))
    call_command("backup", str(tmp_path / "all.zip"), stdout=io.StringIO())
    with zipfile.ZipFile(tmp_path / "all.zip") as archive:
        lines = [line for name in archive.namelist() for line in archive.read(name).splitlines()]
    assert any(json.dumps(models.Terms.objects.get(code="northrill-2").document).encode() in line for line in lines)
