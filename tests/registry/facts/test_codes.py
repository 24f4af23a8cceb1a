"""Codes on plates, turned and blurred: how many are read, that none is misread, and that the check values are those of the standards.

The plates are made by seeds, so that a rate is the same each time; the table of rates stands in DEVELOPERS.md.
"""

import itertools
import random

import pytest
import zxingcpp
from PIL import Image

from fleet.registry.facts.codes import around, codes_in
from fleet.rules.plates import candidates
from tests import plates

EACH = 12


def rate(kind: str, turned: int, blur: float) -> tuple[int, int]:
    """Of so many plates, how many were read right, and how many wrong."""
    right = wrong = 0
    for seed in range(EACH):
        chance = random.Random(f"{kind} {turned} {blur} {seed}")
        text = plates.serial(chance)
        picture = plates.worn(
            plates.plate((kind, text), module=4), degrees=chance.uniform(-turned, turned), blur=blur, seed=seed
        )
        said = [code.text for code in codes_in(picture)]
        right += text in said
        wrong += any(one != text for one in said)
    return right, wrong


# Turned by up to so many degrees either way, blurred by so many pixels (a bar is 4 wide): at least so many of twelve.
LEAST = [
    ("Code 128", 0, 1.0, 12), ("Code 128", 12, 1.0, 11), ("Code 128", 30, 1.0, 11), ("Code 128", 12, 2.0, 8),
    ("Code 39", 0, 1.0, 12), ("Code 39", 12, 1.0, 11), ("Code 39", 30, 1.0, 11), ("Code 39", 12, 2.0, 8),
    ("Data Matrix", 0, 1.0, 12), ("Data Matrix", 12, 1.0, 11), ("Data Matrix", 30, 1.0, 11), ("Data Matrix", 12, 2.0, 8),
    ("QR code", 0, 1.0, 12), ("QR code", 12, 1.0, 12), ("QR code", 30, 1.0, 12), ("QR code", 12, 2.0, 10),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "turned", "blur", "least"), LEAST)
def test_worn_plates_are_read_and_none_is_misread(kind, turned, blur, least):
    right, wrong = rate(kind, turned, blur)
    assert right >= least
    assert wrong == 0


def test_where_nothing_is_nothing_is_read():
    noise = Image.frombytes("L", (800, 600), random.Random(1).randbytes(800 * 600))
    bars = Image.new("L", (800, 600), 255)
    chance = random.Random(2)
    for x in range(100, 700, 4):
        bars.paste(chance.choice((0, 255)), (x, 200, x + 4, 400))
    for picture in (noise, bars, Image.new("L", (1, 1)), Image.new("RGB", (3, 900), "white")):
        assert codes_in(picture) == ()


def test_a_plate_of_two_codes_gives_both_from_the_top_down():
    picture = plates.plate(("Code 128", "NH-9-0417"), ("Code 128", "SB10020041"), module=3)
    assert [code.text for code in codes_in(picture)] == ["NH-9-0417", "SB10020041"]


@pytest.mark.parametrize("kind", plates.KINDS)
@pytest.mark.parametrize("degrees", [0, 17, -26, 90, 180])
def test_the_part_cut_out_shows_the_code_however_it_was_found(kind, degrees):
    picture = plates.plate((kind, "SB10020041")).rotate(degrees, Image.Resampling.BICUBIC, fillcolor=205)
    (code,) = codes_in(picture)
    part = picture.crop(around(code.box, picture.size))
    level = part.rotate(-degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=205)
    assert [one.text for one in codes_in(level)] == ["SB10020041"]
    assert part.width * part.height < picture.width * picture.height * 0.75


# -- check signs and symbologies, as the reader makes and reads them, against values from outside


def widths(text: str) -> list[int]:
    """The widths of bars and spaces of a Code 128 symbol that the library draws, in modules."""
    made = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.Code128)
    image = memoryview(made.to_image(scale=1, add_quiet_zones=False))
    row = [image[0, column] for column in range(image.shape[1])]
    return [len(list(run)) for _, run in itertools.groupby(row)]


def patterns() -> dict[int, str]:
    """The six widths of each value: 0 to 99 as the library draws pairs of digits, the starts as the standard has them."""
    starts = {103: "211412", 104: "211214", 105: "211232"}
    return starts | {value: "".join(map(str, widths(f"{value:02}" * 2)[6:12])) for value in range(100)}


def drawn(values: list[int]) -> Image.Image:
    """A Code 128 symbol of these values, the check among them, with its stop."""
    known = patterns()
    runs = [int(width) * 3 for width in "".join(known[value] for value in values) + "2331112"]
    picture = Image.new("L", (sum(runs) + 120, 160), 255)
    left = 60
    for number, width in enumerate(runs):
        picture.paste(0 if number % 2 == 0 else 255, (left, 20, left + width, 140))
        left += width
    return picture


# Worked examples of an encyclopedia's article and of barcode tutorials: the values of the symbols, start first, and the check.
CODE_128 = [
    pytest.param([103, 48, 42, 42, 17, 18, 19, 35], 54, "PJJ123C", id="PJJ123C in code A"),
    pytest.param([103, 33, 34, 35, 36, 37, 38], 42, "ABCDEF", id="ABCDEF in code A"),
    pytest.param([104, 65, 66, 67, 68, 69, 70], 97, "abcdef", id="abcdef in code B"),
    pytest.param([105, 34, 56, 78], 73, "345678", id="345678 in code C"),
    pytest.param([103, 40, 41, 99, 34, 56, 78], 67, "HI345678", id="HI345678 from A to C"),
]


@pytest.mark.parametrize(("values", "check", "text"), CODE_128)
def test_a_code_128_with_the_check_of_the_worked_example_is_read_and_none_with_another(values, check, text):
    assert [code.text for code in codes_in(drawn([*values, check]))] == [text]
    for other in range(0, 100, 7):
        if other != check:
            assert codes_in(drawn([*values, other])) == ()


@pytest.mark.parametrize(("text", "check"), [("abcdef", 97), ("345678", 73)])
def test_the_library_draws_the_check_of_the_worked_examples(text, check):
    """Where it takes the same code set as the example, the symbol before the stop is that of the check value."""
    assert "".join(map(str, widths(text)[-13:-7])) == patterns()[check]


@pytest.mark.parametrize(
    ("digits", "check"),
    [
        pytest.param("629104150021", "3", id="GS1's own worked example"),
        pytest.param("890400021003", "7", id="GS1 India's example"),
        pytest.param("730001100001", "7", id="GS1 Sweden's example"),
    ],
)
def test_the_check_digit_of_gs1_is_that_of_its_examples(digits, check):
    made = zxingcpp.create_barcode(digits, zxingcpp.BarcodeFormat.EAN13)
    assert made.text == digits + check
    others = [str(digit) for digit in range(10) if str(digit) != check]
    for other in others:
        with pytest.raises(Exception, match="[Cc]heck"):
            zxingcpp.create_barcode(digits + other, zxingcpp.BarcodeFormat.EAN13)


# -- what a code says of a serial


@pytest.mark.parametrize(
    ("text", "serials"),
    [
        ("SB-1002", ("SB-1002", "B-1002")),
        ("1002", ("1002",)),
        ("(01)09501101530003(21)K77-12", ("K77-12",)),
        ("(01)09501101530003", ("(01)09501101530003",)),
        ("(21)A(10)L-7", ("A",)),
        ("  K77  12 ", ("K77 12",)),
        ("S123", ("S123",)),
        ("", ("",)),
    ],
)
def test_the_serials_that_a_code_may_mean(text, serials):
    assert candidates(text) == serials


# -- QR: error correction of version 1-M

# "HELLO WORLD" is a vector of a widely reused tutorial; 01234567 is the example in an annex of ISO/IEC 18004.
QR = [
    pytest.param(
        "HELLO WORLD",
        bytes([32, 91, 11, 120, 209, 114, 220, 77, 67, 64, 236, 17, 236, 17, 236, 17]),
        bytes([196, 35, 39, 119, 235, 215, 231, 226, 93, 23]),
        id="HELLO WORLD",
    ),
    pytest.param(
        "01234567",
        bytes.fromhex("10200C56 6180EC11 EC11EC11 EC11EC11"),
        bytes.fromhex("A524D4C1 ED36C787 2C55"),
        id="01234567",
    ),
]
# Which squares each of the eight masks turns, by row and column, as ISO/IEC 18004 has them.
MASKS = [
    lambda i, j: (i + j) % 2 == 0,
    lambda i, j: i % 2 == 0,
    lambda i, j: j % 3 == 0,
    lambda i, j: (i + j) % 3 == 0,
    lambda i, j: (i // 2 + j // 3) % 2 == 0,
    lambda i, j: i * j % 2 + i * j % 3 == 0,
    lambda i, j: (i * j % 2 + i * j % 3) % 2 == 0,
    lambda i, j: ((i + j) % 2 + i * j % 3) % 2 == 0,
]


def words_in(rows: list[str]) -> bytes:
    """The 26 words of a version 1 code: its mask is read beside the upper left corner, then two columns at a time from the right."""
    size = len(rows)
    mask = int("".join("1" if rows[8][column] == "#" else "0" for column in (2, 3, 4)), 2) ^ 0b101
    bits, up = [], True
    for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
        for row in range(size - 1, -1, -1) if up else range(size):
            for column in (right, right - 1):
                if row == 6 or (row < 9 and (column < 9 or column > 12)) or (row > 12 and column < 9):
                    continue
                bits.append((rows[row][column] == "#") != MASKS[mask](row, column))
        up = not up
    return bytes(int("".join("01"[bit] for bit in bits[at : at + 8]), 2) for at in range(0, 208, 8))


@pytest.mark.parametrize(("text", "data", "correction"), QR)
def test_the_error_correction_of_a_qr_code_is_that_of_the_published_vectors(text, data, correction):
    image = memoryview(
        zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M", version=1).to_image(
            scale=1, add_quiet_zones=False
        )
    )
    assert image.shape == (21, 21)
    rows = ["".join("#" if image[row, column] == 0 else " " for column in range(21)) for row in range(21)]
    assert words_in(rows) == data + correction
