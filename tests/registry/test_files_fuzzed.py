"""Whatever a file is: it is taken, or refused with a clear word, and then nothing has changed."""

import csv
import io
import random
import re
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.xml.constants import SHEET_MAIN_NS

from fleet import models, sheets
from fleet.coverage.actions import terms
from fleet.loading import history, installs
from fleet.rules import tables
from tests import rows
from tests.examples import examples
from tests.paths import FIXTURES
from tests.rows import TODAY, undone

# What a broken file is refused for is its reader's to say; that a refused load changes nothing, test_installs asks of PostgreSQL.
pytestmark = [pytest.mark.django_db, pytest.mark.any_database]

SHEET = "xl/worksheets/sheet1.xml"
LOADS = {"installs": installs.load, "history": history.load}
ROWS = {
    "installs": [
        rows.INSTALL | {"serial": "A1", "customer": "Renée Oakes", "installed_on": "2019-05-03", "use": "rental", "plate_amps": "7.10"},
        rows.INSTALL | {"serial": "A2", "room": "Attic", "notes": "two\nlines, \"quoted\""},
        rows.INSTALL | {"serial": "", "room": "Porch", "registered_on": "2019-06-01"},
    ],
    "history": [
        {"serial": "K1", "day": "2021-02-03", "kind": "failure", "component": "sensor", "notes": "líne"},
        {"serial": "K1", "day": "2021-03-03", "kind": "maintenance", "task": "wash", "technician": "Robin Vale"},
        {"serial": "K1", "day": "2022-03-03", "kind": "exchanged", "under_warranty": "yes", "new_serial": "K2"},
    ],
}  # fmt: skip


def in_csv(told: list[dict[str, str]], encoding: str = "utf-8") -> bytes:
    columns = list(dict.fromkeys(name for row in told for name in row))
    text = io.StringIO()
    sheet = csv.DictWriter(text, columns, restval="")
    sheet.writeheader()
    sheet.writerows(told)
    return text.getvalue().encode(encoding)


def in_xlsx(told: list[dict[str, str]]) -> bytes:
    columns = list(dict.fromkeys(name for row in told for name in row))
    book = openpyxl.Workbook()
    book.active.append(columns)
    for row in told:
        book.active.append([row.get(name) for name in columns])
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def sharing(content: bytes) -> bytes:
    """The same workbook as most programs write it: the texts of its cells in a part of their own."""
    texts: list[str] = []

    def share(found: re.Match[str]) -> str:
        texts.append(found[2])
        return f'<c{found[1]} t="s"><v>{len(texts) - 1}</v></c>'

    def change(name: str, part: bytes) -> bytes:
        text = part.decode()
        if name == SHEET:
            text = re.sub(r'<c( r="\w+") t="inlineStr"><is>(.*?)</is></c>', share, text, flags=re.DOTALL)
        if name == "[Content_Types].xml":
            kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
            text = text.replace(
                "</Types>", f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kind}"/></Types>'
            )
        return text.encode()

    kept = io.BytesIO(repacked(content, change))
    with zipfile.ZipFile(kept, "a", zipfile.ZIP_DEFLATED) as book:
        strings = "".join(f"<si>{text}</si>" for text in texts)
        book.writestr("xl/sharedStrings.xml", f'<sst xmlns="{SHEET_MAIN_NS}">{strings}</sst>')
    return kept.getvalue()


@pytest.fixture
def known():
    rows.installed({"serial": "K1", "installed_on": "2019-05-03"})


def tried(kind: str, path: Path, content: bytes) -> list[str]:
    """Load a file; give the lines it was refused with, none if it was taken. A refusal changes nothing."""
    path.write_bytes(content)
    before = rows.everything()
    refused = None
    try:
        LOADS[kind](path, by=None, on=TODAY)
    except sheets.BadFile as why:
        refused = why
    if refused is None:
        return []
    assert rows.everything() == before
    assert refused.problems
    assert refused.count >= len(refused.problems)
    for line in refused.lines()[: len(refused.problems)]:
        assert re.match(rf"{path.name}: (row [1-9]\d*(, column .+?)?: )?wanted \S", line, re.DOTALL), line
        assert len(line) < 1_500
    return refused.lines()


# -- broken at random


def mended(content: bytes, changes: list[tuple[float, int, bytes]]) -> bytes:
    """Cut pieces out of a file and put others in their place."""
    for where, length, piece in changes:
        start = int(where * len(content))
        content = content[:start] + piece + content[start + length :]
    return content


pieces = st.one_of(
    st.binary(max_size=8),
    st.sampled_from([b'"', b",", b";", b"\n", b"\r", b"\x00", b"\xff", b"\xc3", b"=1+1", b"\xef\xbb\xbf", b"2019-02-30", b"'", b"\t", b"-"]),
    st.text(max_size=6).map(lambda text: text.encode("utf-8", "replace")),
)  # fmt: skip
changes = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 40), pieces), max_size=6)
many = settings(max_examples=examples(30), suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.mark.parametrize("kind", LOADS)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@many
@given(how=changes)
def test_a_csv_file_broken_anywhere(kind, encoding, how, tmp_path, known):
    with undone():
        tried(kind, tmp_path / "broken.csv", mended(in_csv(ROWS[kind], encoding), how))


@pytest.mark.parametrize("kind", LOADS)
@many
@given(how=changes)
def test_a_workbook_broken_anywhere(kind, how, tmp_path, known):
    with undone():
        tried(kind, tmp_path / "broken.xlsx", mended(in_xlsx(ROWS[kind]), how))


def repacked(content: bytes, change: Callable[[str, bytes], bytes]) -> bytes:
    """Change the parts of a workbook and pack it again."""
    kept = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
    return kept.getvalue()


@pytest.mark.parametrize("kind", LOADS)
@many
@given(
    how=changes,
    part=st.sampled_from(["sheet1.xml", "sharedStrings.xml", "workbook.xml", "styles.xml", "Types].xml", ".rels"]),
)
def test_a_workbook_with_a_part_broken_anywhere(kind, how, part, tmp_path, known):
    with undone():
        content = repacked(
            sharing(in_xlsx(ROWS[kind])), lambda name, text: mended(text, how) if name.endswith(part) else text
        )
        tried(kind, tmp_path / "broken.xlsx", content)


@many
@given(
    content=st.one_of(st.binary(max_size=400), st.text(max_size=400).map(lambda text: text.encode("utf-8", "replace")))
)
def test_anything_at_all(content, tmp_path, known):
    with undone():
        # Nothing so short is a fleet: it is refused, or no more than the headings of one.
        assert tried("installs", tmp_path / "any.csv", content) or models.Unit.objects.count() == 1


cells = st.text(st.characters(codec="utf-8"), max_size=30)


@many
@given(
    told=st.lists(
        st.dictionaries(st.sampled_from(sorted(installs.columns_on(TODAY))), cells, max_size=12), min_size=1, max_size=3
    )
)
def test_any_text_in_any_cell(told, tmp_path, known):
    with undone():
        tried("installs", tmp_path / "any.csv", in_csv([rows.INSTALL | {"serial": "A1"} | row for row in told]))


@many
@given(how=changes)
def test_a_terms_file_broken_anywhere(how, tmp_path):
    whole = FIXTURES / "terms" / "tarvane-ductless-2022.toml"
    path = tmp_path / "broken.toml"
    path.write_bytes(mended(whole.read_bytes(), how))
    with undone():
        before = rows.everything()
        faults = []
        try:
            terms.load_files([path], by=None, on=TODAY)
        except tables.BadTable as refused:
            faults = [str(fault) for fault in refused.faults]
        if faults:
            assert rows.everything() == before
            assert all(fault.startswith("broken.toml") for fault in faults)


@pytest.mark.parametrize(
    "content",
    [b"\xff\xfe", b"code = ", b"code = 1\ncode = 2", b"[" * 5_000, b"a = " + b"[" * 5_000, b'code = "' + b"x" * 10_000_000 + b'"', b"\x00", b""],
    ids=["other encoding", "cut off", "twice", "deep", "deep list", "10 MB", "NUL", "empty"],
)  # fmt: skip
def test_a_terms_file_that_is_none(content, tmp_path):
    path = tmp_path / "broken.toml"
    path.write_bytes(content)
    before = rows.everything()
    with pytest.raises(tables.BadTable) as caught:
        terms.load_files([path], by=None, on=TODAY)
    assert all(str(fault).startswith("broken.toml") for fault in caught.value.faults)
    assert rows.everything() == before


# -- each way of being no such file, with its word

HEADER = b"customer,site,system,role,room,maker,model,serial"
LINE = b"Ada Quill,Home,Main,head,Den,Osmarik,OC-9,A1"
GOOD = HEADER + b"\n" + LINE + b"\n"


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        pytest.param(b"", "row 1: wanted a header row that names the columns", id="empty"),
        pytest.param(b"\n\n,,\n", "row 1: wanted a header row that names the columns", id="blank"),
        pytest.param(HEADER + b",colour\n" + LINE, "row 1, column colour: wanted only known columns", id="unknown column"),
        pytest.param(HEADER + b",Serial\n" + LINE, "row 1, column serial: wanted each column once", id="column twice"),
        pytest.param(HEADER + b",,notes\n" + LINE, "row 1, column number 9: wanted a name for the column", id="column without a name"),
        pytest.param(b",".join([b"serial"] * 201) + b"\n", "row 1: wanted at most 200 columns", id="too many columns"),
        pytest.param(HEADER + b"\n" + LINE + b",more\n", "row 2, column number 9: wanted no cell beyond the columns", id="too many cells"),
        pytest.param(HEADER + b'\n"Ada Quill,Home\n', "row 2: wanted quotes that close", id="open quotes"),
        pytest.param(HEADER + b"\n" + LINE.replace(b"A1", b"=1+1"), "row 2, column serial: wanted a value, not a formula", id="formula"),
        pytest.param(HEADER + b"\n" + LINE.replace(b"A1", b"A\x011"), "row 2, column serial: wanted plain text", id="control character"),
        pytest.param(HEADER + b"\n" + LINE.replace(b"A1", b"A\x001"), "row 2: wanted a CSV or XLSX file; this has NUL bytes", id="NUL"),
        pytest.param(GOOD.replace(b"A1", b"\xc3\xa9") + b"\xff", "row 3: wanted UTF-8 throughout; the file is damaged here", id="damaged UTF-8"),
        pytest.param(GOOD.replace(b"A1", b"\x81"), "row 2: wanted text in UTF-8 or Windows-1252", id="no known encoding"),
        pytest.param(GOOD.decode().encode("utf-16"), "broken: wanted a CSV file saved as UTF-8, not as UTF-16", id="UTF-16"),
        pytest.param(GOOD.replace(b"A1", b"x" * 10_000_000), "row 2: wanted cells of at most 5,000 characters", id="10 MB cell"),
        pytest.param(GOOD.replace(b"A1", b'"' + b"x\n" * 5_000_000 + b'"'), "row 2: wanted quotes that close and cells of at most 5,000", id="10 MB of lines in a cell"),
        pytest.param(GOOD.replace(b"A1", b"x" * 5_001), "row 2, column serial: wanted at most 5,000 characters in a cell, not 5,001", id="5,001 characters"),
        pytest.param(b"%PDF-1.7 ...", "broken: wanted a CSV or XLSX file, not a PDF", id="PDF"),
        pytest.param(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "broken: wanted a CSV or XLSX file; save an older or a protected", id="old or protected workbook"),
        pytest.param(b"PK\x03\x04 no zip", "broken: wanted an XLSX workbook that can be read; this one is damaged", id="no zip"),
        pytest.param(b"\x89PNG\r\n\x1a\n\x00\x00", "wanted a CSV or XLSX file; this has NUL bytes", id="picture"),
    ],
)  # fmt: skip
def test_each_way_of_being_no_such_file_has_its_word(content, problem, tmp_path):
    (found,) = tried("installs", tmp_path / "broken", content)
    assert problem in found


def test_a_header_with_several_faults_names_each(tmp_path):
    found = tried("installs", tmp_path / "broken.csv", HEADER + b",colour,size,site\n")
    assert len(found) == 3


def test_a_folder_and_a_file_that_is_not_there(tmp_path):
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(sheets.BadFile) as caught:
            installs.load(path, by=None, on=TODAY)
        assert str(caught.value).startswith(f"{path.name}: wanted a file that can be read (")


# -- workbooks


def sheet_of(data: str, columns: str = "customer") -> bytes:
    """A workbook whose sheet has this XML in place of its rows."""

    def change(name: str, text: bytes) -> bytes:
        return (
            re.sub(rb"<sheetData>.*</sheetData>", f"<sheetData>{data}</sheetData>".encode(), text, flags=re.DOTALL)
            if name == SHEET
            else text
        )

    return repacked(in_xlsx([{columns: "x"}]), change)


def cell(address: str, text: str) -> str:
    return f'<c r="{address}" t="inlineStr"><is><t>{text}</t></is></c>'


HEAD = f'<row r="1">{cell("A1", "customer")}{cell("B1", "serial")}</row>'


def part_added(name: str, content: bytes, *, at: int = zipfile.ZIP_DEFLATED) -> bytes:
    kept = io.BytesIO(in_xlsx(ROWS["installs"]))
    with zipfile.ZipFile(kept, "a", at) as book:
        book.writestr(name, content)
    return kept.getvalue()


def parts_added(count: int) -> bytes:
    """A workbook with parts of 8 MB each, which shrink as much as is let through."""
    kept = io.BytesIO(in_xlsx(ROWS["installs"]))
    content = random.Random(1).randbytes(1 << 16) + bytes((1 << 23) - (1 << 16))
    with zipfile.ZipFile(kept, "a", zipfile.ZIP_DEFLATED) as book:
        for number in range(count):
            book.writestr(f"xl/{number}.bin", content)
    return kept.getvalue()


def declaring(name: str) -> bytes:
    laughs = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    return repacked(
        sharing(in_xlsx(ROWS["installs"])), lambda part, text: laughs + text if part.endswith(name) else text
    )


def of_kind(other: bytes) -> bytes:
    ours = b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
    return repacked(
        in_xlsx(ROWS["installs"]), lambda part, text: text.replace(ours, other) if part.startswith("[Content") else text
    )


def bomb() -> bytes:
    """A sheet of half a gigabyte of spaces in half a megabyte of file."""
    kept = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(in_xlsx(ROWS["installs"]))) as old,
        zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            with new.open(name, "w") as part:
                part.write(old.read(name))
                for _ in range(60 if name == SHEET else 0):
                    part.write(b" " * (1 << 20))
    return kept.getvalue()


def lying() -> bytes:
    """A workbook whose directory says that its sheet is small."""
    content = bytearray(bomb())
    entry = content.rindex(b"PK\x01\x02", 0, content.rindex(SHEET.encode()))
    content[entry + 24 : entry + 28] = (500).to_bytes(4, "little")
    return bytes(content)


def noise() -> str:
    """Ten million letters that do not shrink much."""
    return random.Random(1).randbytes(5_000_000).hex()


FORMULA = '<c r="B2"><f>1+1</f><v>2</v></c>'
WORKBOOKS = {
    "a formula": (lambda: sheet_of(f'{HEAD}<row r="2">{cell("A2", "x")}{FORMULA}</row>'), "row 2, column serial: wanted a value, not a formula"),
    "a shared formula": (lambda: sheet_of(f'{HEAD}<row r="2"><c r="B2"><f t="shared" si="0"/><v>2</v></c></row>'), "row 2, column serial: wanted a value, not a formula"),
    "text that is a formula": (lambda: sheet_of(f'{HEAD}<row r="2">{cell("B2", "=1+1")}</row>'), "row 2, column serial: wanted a value, not a formula"),
    "an error": (lambda: sheet_of(f'{HEAD}<row r="2"><c r="B2" t="e"><v>#N/A</v></c></row>'), "row 2, column serial: wanted a value, not the error #N/A"),
    "a number too long": (lambda: sheet_of(f'{HEAD}<row r="2"><c r="B2"><v>1234567890123456</v></c></row>'), "row 2, column serial: wanted a text cell"),
    "no number": (lambda: sheet_of(f'{HEAD}<row r="2"><c r="B2"><v>NaN</v></c></row>'), "row 2, column serial: wanted a number"),
    "a text that is not there": (lambda: sheet_of(f'{HEAD}<row r="2"><c r="B2" t="s"><v>99</v></c></row>'), "this one is damaged (IndexError)"),
    "a style that is not there": (lambda: sheet_of(f'{HEAD}<row r="2"><c r="B2" s="99"><v>1</v></c></row>'), "this one is damaged (IndexError)"),
    "a far row": (lambda: sheet_of(f'{HEAD}<row r="999999999999">{cell("B999999999999", "x")}</row>'), "row 999999999999, column customer: wanted a value"),
    "a far column": (lambda: sheet_of(f'{HEAD}<row r="2">{cell("XFD2", "x")}</row>'), "row 2: wanted at most 200 columns"),
    "a column beyond any": (lambda: sheet_of(f'{HEAD}<row r="2">{cell("ZZZZZZ2", "x")}</row>'), "this one is damaged (ValueError)"),
    "no header": (lambda: sheet_of(""), "row 1: wanted a header row"),
    "a cell of 10 MB": (lambda: sheet_of(f'{HEAD}<row r="2">{cell("B2", "x" * 5_000_000 + "y" * 5_000_000)}</row>'), "wanted a workbook that stays within bounds"),
    "a cell of 10 MB that does not shrink": (lambda: sheet_of(f'{HEAD}<row r="2">{cell("B2", noise())}</row>'), "wanted cells of ordinary length; one of this workbook is far too long"),
    "macros": (lambda: of_kind(b"application/vnd.ms-excel.sheet.macroEnabled.main+xml"), "wanted a workbook without macros, saved as .xlsx"),
    "a document": (lambda: of_kind(b"application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"), "wanted a CSV or XLSX file; save other spreadsheets as .xlsx"),
    "declarations": (lambda: declaring("workbook.xml"), "wanted a workbook whose XML declares nothing of its own"),
    "declarations in the sheet": (lambda: declaring("sheet1.xml"), "wanted a workbook whose XML declares nothing of its own"),
    "declarations in the texts": (lambda: declaring("sharedStrings.xml"), "wanted a workbook whose XML declares nothing of its own"),
    "a bomb": (lambda: bomb(), f"wanted a workbook that stays within bounds when it is unpacked; '{SHEET}' would not"),
    "a bomb that lies": (lambda: lying(), "this one is damaged"),
    "a bomb by another name": (lambda: part_added("xl/workbook.bin", bytes(60 << 20)), "wanted a workbook that stays within bounds when it is unpacked; 'xl/workbook.bin' would not"),
    "small parts that add up": (lambda: parts_added(9), "wanted a workbook that stays within bounds when it is unpacked; 'xl/7.bin' would not"),
    "a part twice": (lambda: part_added("xl/workbook.xml", b"<a/>"), "too many parts, or one part twice"),
    "an empty zip": (lambda: b"PK\x05\x06" + bytes(18), "this one is damaged"),
}  # fmt: skip


@pytest.mark.filterwarnings("ignore:Duplicate name")  # zipfile's, of the workbook with one part twice
@pytest.mark.parametrize("name", WORKBOOKS)
def test_each_way_of_being_no_plain_workbook_has_its_word(name, tmp_path):
    content, problem = WORKBOOKS[name]
    found = tried("installs", tmp_path / "fleet.xlsx", content())
    assert found
    assert any(problem in line for line in found), found


def test_texts_that_cells_share_are_read_as_those_in_the_cells(tmp_path):
    (tmp_path / "own.xlsx").write_bytes(in_xlsx(ROWS["installs"]))
    (tmp_path / "shared.xlsx").write_bytes(sharing(in_xlsx(ROWS["installs"])))
    own = list(sheets.rows(tmp_path / "own.xlsx"))
    assert [row["customer"] for _, row in own] == ["Renée Oakes", "Ada Quill", "Ada Quill"]
    assert list(sheets.rows(tmp_path / "shared.xlsx")) == own


def test_a_text_in_several_type_faces_is_one_text(tmp_path):
    runs = (
        '<c r="A2" t="inlineStr"><is><r><t>Ada </t></r><r><rPr><b/></rPr><t>Quill</t></r><rPh><t>ay</t></rPh></is></c>'
    )
    (tmp_path / "fleet.xlsx").write_bytes(sheet_of(f'{HEAD}<row r="2">{runs}</row>'))
    assert list(sheets.rows(tmp_path / "fleet.xlsx")) == [(2, {"customer": "Ada Quill", "serial": ""})]


def test_a_workbook_of_a_million_blank_rows_is_read_as_what_it_holds(tmp_path):
    (tmp_path / "fleet.xlsx").write_bytes(sheet_of(f'{HEAD}<row r="1048576">{cell("A1048576", "last")}</row>'))
    assert list(sheets.rows(tmp_path / "fleet.xlsx")) == [(1_048_576, {"customer": "last", "serial": ""})]


def test_nothing_of_a_refused_load_stays_on_disk(tmp_path, settings):
    tried("installs", tmp_path / "broken.csv", GOOD.replace(b"head", b"boiler"))
    tried("installs", tmp_path / "good.csv", GOOD)
    assert models.Unit.objects.count() == 1
    assert list(_left(settings.DATA_DIR)) == []


def _left(folder: Path) -> Iterator[Path]:
    return folder.glob("load-*")
