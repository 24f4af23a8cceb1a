"""Codes in a picture of a nameplate or a label: read as often as it takes, and where in the picture each stands.

A reader of linear codes looks along level and upright lines only, so a picture without any is turned a little both ways,
halved, and sharpened. What is read may be wrong (Code 39 has no check sign of its own): a person compares it with the plate.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import zxingcpp
from PIL import Image, ImageFilter

Box = tuple[int, int, int, int]

_FORMATS = zxingcpp.BarcodeFormats(
    (
        zxingcpp.BarcodeFormat.Code128,
        zxingcpp.BarcodeFormat.Code39,
        zxingcpp.BarcodeFormat.DataMatrix,
        zxingcpp.BarcodeFormat.QRCode,
    )
)
# In pixels, between the first and the last line along which a linear code was read.
_LEAST_ALONG = 5
# In degrees, counterclockwise.
_TURNS = (-15, 15, -30, 30)


@dataclass(frozen=True, slots=True)
class Code:
    """One code: its kind as people call it, what it says, and where it stands in pixels (left, top, right, bottom)."""

    kind: str
    text: str
    box: Box


def codes_in(picture: Image.Image) -> tuple[Code, ...]:
    """The codes in a picture, from the top down: those of the first way of looking at it that shows any."""
    gray = picture.convert("L")
    for seen, back in _ways(gray):
        found = _read(seen)
        if found:
            codes = [Code(_kind(one), one.text, _box(one, back, gray.size)) for one in found]
            return tuple(sorted(codes, key=lambda code: (code.box[1], code.box[0])))
    return ()


def _read(gray: Image.Image) -> list[zxingcpp.Barcode]:
    once: dict[str, zxingcpp.Barcode] = {}
    for one in zxingcpp.read_barcodes(gray, formats=_FORMATS):
        if one.text.strip() and one.text.isprintable() and not _is_chance(one):
            once.setdefault(one.text, one)
    return list(once.values())


def _is_chance(code: zxingcpp.Barcode) -> bool:
    """Whether a linear code was read along hardly more than one line of the picture, as a misreading is."""
    at = code.position
    along = max(abs(at.bottom_left.x - at.top_left.x), abs(at.bottom_left.y - at.top_left.y))
    return code.format.name.startswith(("Code128", "Code39")) and along < _LEAST_ALONG


def _kind(code: zxingcpp.Barcode) -> str:
    """What people call a kind of code."""
    names = {"Code128": "Code 128", "Code39": "Code 39", "DataMatrix": "Data Matrix", "QRCode": "QR code"}
    name = code.format.name
    return next((said for start, said in names.items() if name.startswith(start)), name)


class _Back:
    """The way back from a turned or smaller picture to the one it came from."""

    def __init__(self, seen: Image.Image, whole: Image.Image, *, degrees: float = 0, scale: float = 1) -> None:
        self._from, self._to = (seen.width / 2, seen.height / 2), (whole.width / 2, whole.height / 2)
        self._turn, self._scale = math.radians(degrees), scale

    def __call__(self, x: float, y: float) -> tuple[float, float]:
        """Where a point was."""
        right, down = (x - self._from[0]) / self._scale, (y - self._from[1]) / self._scale
        cos, sin = math.cos(self._turn), math.sin(self._turn)
        return self._to[0] + cos * right - sin * down, self._to[1] + sin * right + cos * down


def _ways(gray: Image.Image) -> Iterator[tuple[Image.Image, _Back]]:
    """The picture as it is, then turned, halved, and sharpened."""
    yield gray, _Back(gray, gray)
    for degrees in _TURNS:
        turned = gray.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=255)
        yield turned, _Back(turned, gray, degrees=degrees)
    half = gray.resize((max(1, gray.width // 2), max(1, gray.height // 2)), Image.Resampling.BOX)
    yield half, _Back(half, gray, scale=half.width / gray.width)
    sharp = gray.filter(ImageFilter.UnsharpMask(radius=3, percent=180, threshold=2))
    yield sharp, _Back(sharp, gray)


def _box(code: zxingcpp.Barcode, back: _Back, size: tuple[int, int]) -> Box:
    at = code.position
    corners = [back(one.x, one.y) for one in (at.top_left, at.top_right, at.bottom_right, at.bottom_left)]
    across, down = [x for x, _ in corners], [y for _, y in corners]
    return (
        max(0, math.floor(min(across))),
        max(0, math.floor(min(down))),
        min(size[0], math.ceil(max(across))),
        min(size[1], math.ceil(max(down))),
    )


def around(box: Box, size: tuple[int, int]) -> Box:
    """A box with what stands around it, which often is the same in letters; a code that was found turned reaches beyond its box."""
    wide, high = box[2] - box[0], box[3] - box[1]
    aside, above = max(20, wide // 6), max(30, wide // 4, high // 2)
    return (
        max(0, box[0] - aside),
        max(0, box[1] - above),
        min(size[0], box[2] + aside),
        min(size[1], box[3] + above),
    )
