"""Sheets of labels: their measures fit the paper, and every code that is printed is read back."""

import io
import shutil
import subprocess
from decimal import Decimal

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from fleet.registry.pages.unit_labels import Sticker, from_ranges, in_ranges
from fleet.registry.papers import unit_labels as papers
from fleet.rules.label_codes import ALPHABET, LENGTH, address, grouped
from fleet.rules.label_sheets import PAPERS, SHEETS
from tests.conftest import lacking

HOST = "https://service.example.com"
OURS = ("Alder & Vale Heating", "555-0100")


def code(number: int) -> str:
    """A code of its own for each number."""
    return "".join(ALPHABET[(number * 7 + place * (number + 3)) % 30] for place in range(LENGTH - 2)) + (
        ALPHABET[number // 30] + ALPHABET[number % 30]
    )


def stickers(count: int, *words: str) -> list[Sticker]:
    words = words or ("Guest bedroom 12", "SB-1002-00417-K")
    return [Sticker(address(HOST, code(one)), grouped(code(one)), words, OURS) for one in range(count)]


def pages(content: bytes, dpi: int) -> list[Image.Image]:
    """Each page as a printer would lay it down."""
    if shutil.which("pdftoppm") is None:
        lacking("pdftoppm is not installed (Debian: apt-get install poppler-utils)")
    done = subprocess.run(["pdftoppm", "-r", str(dpi), "-gray"], input=content, capture_output=True, check=True)
    found, rest = [], done.stdout
    while rest:
        width, height = map(int, rest.split(b"\n", 2)[1].split())
        head = len(b"\n".join(rest.split(b"\n", 3)[:3])) + 1
        found.append(Image.frombytes("L", (width, height), rest[head : head + width * height]))
        rest = rest[head + width * height :]
    return found


def read(image: Image.Image) -> list[str]:
    return [one.text for one in zxingcpp.read_barcodes(image, formats=(zxingcpp.BarcodeFormat.QRCode,))]


def words_on(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


# -- measures


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_a_sheet_is_the_same_on_both_sides_and_its_labels_do_not_overlap(sheet):
    _, width, height = PAPERS[sheet.paper]
    across = 2 * sheet.left + (sheet.columns - 1) * sheet.step_across + sheet.width
    down = 2 * sheet.top + (sheet.rows - 1) * sheet.step_down + sheet.height
    assert abs(across - width) <= Decimal("0.03")
    assert abs(down - height) <= Decimal("0.03")
    assert sheet.step_across >= sheet.width
    assert sheet.step_down >= sheet.height


def test_sheets_are_named_by_their_measures():
    titles = [sheet.title for sheet in SHEETS.values()]
    assert titles[0] == "Letter: 30 labels, 2.625 × 1 in, 3 across and 10 down"
    assert len(set(titles)) == len(SHEETS) == 8


def test_the_corner_of_a_place_is_where_a_ruler_finds_it():
    sheet = SHEETS["letter-3x10-2.625x1"]
    # The fifth label: second row, second column; 0.1875 + 2.75 in from the left, 0.5 + 1 in from the top.
    assert sheet.corner(4) == (Decimal("2.9375") * 72, Decimal("1.5") * 72)
    a4 = SHEETS["a4-3x8-63.5x33.9"]
    assert round(a4.corner(0)[0], 3) == Decimal("20.438")  # 7.21 mm


def test_keys_in_an_address_come_back():
    for keys in ((1,), (4, 5, 6, 9), tuple(range(1, 301)), (9, 3, 4)):
        assert from_ranges(in_ranges(keys), most=300) == keys
    for text in ("", "x", "1-", "-3", "1,,2", "²", "1-2-3"):
        assert from_ranges(text, most=300) == (), text
    assert len(from_ranges("1-99999999999", most=300)) == 300


# -- read back


@pytest.mark.parametrize("dpi", [150, 200, 300])
@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_label_of_a_sheet_is_read_back(sheet, dpi):
    """Printed to PDF, rasterised by poppler, read by a reader that knows nothing of where they stand."""
    told = stickers(sheet.count)
    (page,) = pages(papers.pdf(told, sheet, start=1), dpi)
    assert sorted(read(page)) == sorted(one.address for one in told)


def test_a_partly_used_sheet_is_begun_where_it_is_free():
    sheet = SHEETS["letter-3x10-2.625x1"]
    content = papers.pdf(stickers(3), sheet, start=29)
    first, second = pages(content, 150)
    assert read(first) == [one.address for one in stickers(2)] or set(read(first)) == {
        one.address for one in stickers(2)
    }
    assert read(second) == [stickers(3)[2].address]
    # The first two stand in the last row, the third at the top left of the next sheet.
    (_, top), (width, height) = sheet.corner(28), first.size
    above = first.crop((0, 0, width, int(float(top) / 72 * 150)))
    assert above.getextrema() == (255, 255)
    assert read(second.crop((0, 0, width // 3, height // 5))) == [stickers(3)[2].address]


def test_the_same_labels_make_the_same_file():
    sheet = next(iter(SHEETS.values()))
    assert papers.pdf(stickers(4), sheet, start=2) == papers.pdf(stickers(4), sheet, start=2)


def test_a_code_in_capitals_is_a_size_smaller():
    said = address("https://ductless-service.example.com", code(1))
    assert len(papers.squares(said)) == 29
    assert len(papers.squares(said.lower())) == 33


# -- beside it


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_room_serial_and_code_stand_beside_it_whole(sheet):
    told = stickers(1, "Łazienka, ground floor, behind the stairs", "SB-1002-00417-K-2024-EXTRA")
    said = "".join(words_on(papers.pdf(told, sheet, start=1)).split())
    for words in (*told[0].words, told[0].code):
        assert "".join(words.split()) in said


def test_who_we_are_stands_on_a_large_label_and_not_on_a_small_one():
    large, small = SHEETS["letter-2x5-4x2"], SHEETS["letter-4x20-1.75x0.5"]
    assert "555-0100" in words_on(papers.pdf(stickers(1), large, start=1))
    assert "555-0100" not in words_on(papers.pdf(stickers(1), small, start=1))


def test_a_blank_label_has_its_code_and_a_line_to_write_on():
    sheet = next(iter(SHEETS.values()))
    blank = Sticker(address(HOST, code(1)), grouped(code(1)), (), OURS)
    content = papers.pdf([blank], sheet, start=1)
    assert grouped(code(1)) in words_on(content)
    (page,) = pages(content, 150)
    assert read(page) == [blank.address]
