"""Photos and papers: what is taken, what is left of it, what is refused, and where it lies."""

import datetime as dt
import errno
import io
import os
import re
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction
from PIL import Image, ImageCms, ImageDraw
from PIL.PngImagePlugin import PngInfo

from fleet import models
from fleet.refusals import Refused
from fleet.registry.actions import documents
from tests import company
from tests.paths import ROOT

pytestmark = pytest.mark.django_db

ON = dt.date(2026, 3, 2)
PDF = b"%PDF-1.7\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"
RED, BLUE = (200, 20, 20), (20, 20, 200)


@pytest.fixture
def media(tmp_path, settings) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    return settings.MEDIA_ROOT


@pytest.fixture
def unit(media) -> models.Unit:
    return company.unit("SB-1002")


@pytest.fixture
def by(media) -> models.User:
    return company.person("technician")


@pytest.fixture
def add(unit, by):
    """Keep a file: `add(content, "name.jpg")`."""

    def add(content: bytes, name: str, **named) -> models.Document:
        return documents.add(file=io.BytesIO(content), name=name, by=by, **{"whose": unit, **named})

    return add


def picture(width: int = 300, height: int = 200, mode: str = "RGB") -> Image.Image:
    """The upper half red, the lower blue."""
    image = Image.new("RGB", (width, height), RED)
    ImageDraw.Draw(image).rectangle((0, height // 2, width, height), fill=BLUE)
    return image.convert(mode)


def written(image: Image.Image, kind: str = "JPEG", **named) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **named)
    return out.getvalue()


def photo() -> bytes:
    return written(picture())


def read(row: models.Document, name: str = "") -> Image.Image:
    image = Image.open(settings.MEDIA_ROOT / (name or row.stored))
    image.load()
    return image


def color(image: Image.Image, x: float, y: float) -> str:
    red, _, blue = image.getpixel((int(image.width * x), int(image.height * y)))
    return "red" if red > blue else "blue"


def files(media: Path) -> list[str]:
    return sorted(str(path.relative_to(media)) for path in media.rglob("*") if path.is_file())


def said(refused: pytest.ExceptionInfo) -> str:
    return str(refused.value)


# -- what is taken


def test_a_photo_is_kept_with_a_small_copy_and_its_row(add, unit, by, media):
    row = add(photo(), "plate.jpg", caption=" Nameplate ", proves_registration=True)
    row = models.Document.objects.get(pk=row.pk)
    assert (row.unit, row.site, row.kind, row.media_type) == (unit, None, "photo", "image/jpeg")
    assert (row.name, row.caption, row.proves_registration, row.by) == ("plate.jpg", "Nameplate", True, by)
    assert files(media) == sorted([row.stored, row.small])
    assert row.size == (media / row.stored).stat().st_size
    change = models.Change.objects.get()
    assert (change.table, change.object_id, change.field, change.after, change.by) == (
        "unit", unit.pk, "photo", "plate.jpg", by,
    )  # fmt: skip


def test_a_site_has_papers_too(add, unit):
    row = add(PDF, "confirmation.pdf", whose=unit.system.site)
    assert (row.site, row.unit, row.kind, row.media_type, row.small) == (
        unit.system.site, None, "document", "application/pdf", "",
    )  # fmt: skip
    assert (settings.MEDIA_ROOT / row.stored).read_bytes() == PDF


def test_only_this_program_may_read_the_files(add, media):
    row = add(photo(), "plate.jpg")
    assert (media / row.stored).stat().st_mode & 0o777 == 0o600
    assert (media / row.stored).parent.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    ("image", "kind", "name"),
    [
        pytest.param(picture(), "JPEG", "a.jpeg", id="jpeg"),
        pytest.param(picture(), "JPEG", "A.JPG", id="in capitals"),
        pytest.param(picture(), "PNG", "a.png", id="png"),
        pytest.param(picture(), "WEBP", "a.webp", id="webp"),
        pytest.param(picture(), "PNG", "a.jpg", id="a PNG named as a JPEG is a photo all the same"),
        pytest.param(picture(), "JPEG", "image", id="no ending"),
        pytest.param(picture(mode="P"), "PNG", "a.png", id="palette"),
        pytest.param(picture(mode="CMYK"), "JPEG", "a.jpg", id="cmyk"),
        pytest.param(picture(mode="RGBA"), "PNG", "a.png", id="transparent"),
    ],
)
def test_whatever_a_photo_was_it_becomes_a_jpeg(image, kind, name, add):
    kept = read(add(written(image, kind), name))
    assert (kept.format, kept.mode, kept.size) == ("JPEG", "RGB", (300, 200))
    assert (color(kept, 0.5, 0.1), color(kept, 0.5, 0.9)) == ("red", "blue")


@pytest.mark.parametrize("mode", ["L", "LA", "1", "I;16"])
def test_gray_stays_gray(mode, add):
    image = Image.new("L", (40, 20), 30)
    image.paste(220, (20, 0, 40, 20))
    image = (
        image.convert("I").point(lambda value: value * 256).convert("I;16") if mode == "I;16" else image.convert(mode)
    )
    kept = read(add(written(image, "PNG"), "gray.png"))
    dark, light = kept.getpixel((5, 10)), kept.getpixel((35, 10))
    assert max(dark) < 90
    assert min(light) > 160


def test_what_shows_through_is_white(add):
    kept = read(add(written(Image.new("RGBA", (20, 20), (0, 0, 0, 0)), "PNG"), "sign.png"))
    assert min(kept.getpixel((10, 10))) > 250


@pytest.mark.parametrize(
    ("size", "kept", "small"),
    [
        ((2400, 1800), (2400, 1800), (400, 300)),
        ((2401, 1801), (2400, 1800), (400, 300)),
        ((1500, 4800), (750, 2400), (125, 400)),
        ((4800, 3600), (2400, 1800), (400, 300)),
        ((40, 30), (40, 30), (40, 30)),
    ],
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_the_long_edge_is_2400_at_most(size, kept, small, kind, add):
    row = add(written(picture(*size), kind), "wide.jpg")
    assert (read(row).size, read(row, row.small).size) == (kept, small)


# -- how it was held, and what it told


def exif(**named: int) -> Image.Exif:
    """What a phone writes: how it was held, who made it, and where it stood."""
    told = Image.Exif()
    told[0x0112] = named.get("turned", 1)
    told[0x010F] = "Fabrikat"
    told.get_ifd(0x8825).update({1: "N", 2: (47.0, 36.0, 12.0), 3: "W", 4: (122.0, 19.0, 48.0)})
    return told


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_place_and_the_camera_are_gone(kind, add, media):
    content = written(picture(), kind, exif=exif())
    assert Image.open(io.BytesIO(content)).getexif().get_ifd(0x8825)[2] == (47.0, 36.0, 12.0)
    row = add(content, "plate.jpg")
    for name in (row.stored, row.small):
        kept = read(row, name)
        assert not kept.getexif()
        assert set(kept.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert b"Fabrikat" not in (media / name).read_bytes()
        assert b"Exif" not in (media / name).read_bytes()


def test_no_other_place_of_a_file_tells_anything(add, media):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    named = {"comment": b"gate code 4711", "xmp": b"<x:xmpmeta>gate code 4711</x:xmpmeta>", "icc_profile": profile}
    texts = PngInfo()
    texts.add_text("Comment", "gate code 4711")
    for content in (written(picture(), **named) + b"gate code 4711", written(picture(), "PNG", pnginfo=texts)):
        row = add(content, "plate.jpg")
        assert not {"comment", "xmp", "icc_profile", "Comment"} & set(read(row).info)
        assert b"4711" not in (media / row.stored).read_bytes()
        documents.drop(document=row, by=row.by, on=ON)


@pytest.mark.parametrize(
    ("turned", "size", "top", "left"),
    [
        (1, (300, 200), "red", "both"),
        (3, (300, 200), "blue", "both"),
        (6, (200, 300), "both", "blue"),
        (8, (200, 300), "both", "red"),
    ],
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_turned_upright(turned, size, top, left, kind, add):
    row = add(written(picture(), kind, exif=exif(turned=turned)), "plate.jpg")
    kept = read(row)
    assert kept.size == size
    tops = {color(kept, 0.1, 0.1), color(kept, 0.9, 0.1)}
    lefts = {color(kept, 0.1, 0.1), color(kept, 0.1, 0.9)}
    assert tops == ({"red", "blue"} if top == "both" else {top})
    assert lefts == ({"red", "blue"} if left == "both" else {left})
    assert read(row, row.small).size == size


def test_a_large_photo_is_turned_upright_too(add):
    kept = read(add(written(picture(4800, 3600), exif=exif(turned=6)), "plate.jpg"))
    assert (kept.size, color(kept, 0.1, 0.5), color(kept, 0.9, 0.5)) == ((1800, 2400), "blue", "red")


@pytest.mark.filterwarnings("ignore:Corrupt EXIF data")
def test_a_photo_that_says_nonsense_of_how_it_was_held_is_kept_as_it_lies(add):
    plain = written(picture())
    nonsense = b"\xff\xe1" + struct.pack(">H", 2 + 6 + 20) + b"Exif\0\0" + b"MM\0*" + b"\xff" * 16
    kept = read(add(plain[:2] + nonsense + plain[2:], "plate.jpg"))
    assert kept.size == (300, 200)


# -- what is refused


@pytest.mark.parametrize(
    ("content", "name", "why"),
    [
        pytest.param(b"<html><script>alert(1)</script>", "plate.jpg", "no photo could be read", id="HTML named JPEG"),
        pytest.param(b"<svg xmlns='http://www.w3.org/2000/svg'/>", "plate.png", "no photo could be read", id="SVG"),
        pytest.param(b"MZ" + b"\0" * 500, "plate.jpg", "no photo could be read", id="a program"),
        pytest.param(PDF, "plate.jpg", "no photo could be read", id="PDF named JPEG"),
        pytest.param(photo(), "letter.pdf", "named as a PDF, but it is none", id="JPEG named PDF"),
        pytest.param(b"<html>%PDF-1.7 %%EOF", "letter.pdf", "but it is none", id="HTML that mentions PDF"),
        pytest.param(PDF[:-8], "letter.pdf", "or not a whole one", id="PDF cut off"),
        pytest.param(photo()[:2000], "plate.jpg", "no photo could be read", id="JPEG cut off"),
        pytest.param(written(picture(), "PNG")[:-40], "plate.png", "no photo could be read", id="PNG cut off"),
        pytest.param(written(picture(), "GIF"), "plate.jpg", "no photo could be read", id="a kind we do not read"),
        pytest.param(written(picture(), "TIFF"), "plate.png", "no photo could be read", id="another"),
        pytest.param(photo(), "plate.html", "Only photos", id="JPEG named HTML"),
        pytest.param(photo(), "plate.jpg.exe", "Only photos", id="two endings"),
        pytest.param(photo(), "IMG_1.HEIC", "as JPEG", id="HEIC"),
        pytest.param(b"hello", "notes", "no photo could be read", id="no ending, no photo"),
        pytest.param(b"", "plate.jpg", "empty", id="empty"),
        pytest.param(b"", "letter.pdf", "empty", id="empty PDF"),
    ],
)
def test_what_is_not_what_its_name_says_is_refused_and_leaves_nothing(content, name, why, add, media):
    with pytest.raises(Refused) as refused:
        add(content, name)
    assert why in said(refused)
    assert files(media) == []
    assert not models.Document.objects.exists()
    assert not models.Change.objects.exists()


def bomb(width: int, height: int) -> bytes:
    """A small PNG that says it has so many pixels, all of them black."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    packer = zlib.compressobj(9)
    row = b"\0" * (1 + (width + 7) // 8)
    packed = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("width", "height"), [(10_000, 5_000), (4_500, 4_001), (20_000, 20_000), (100_000, 100_000)])
def test_what_unpacks_to_too_many_pixels_is_refused_before_it_is_unpacked(width, height, add, monkeypatch):
    content = bomb(width, height if height < 50_000 else 1)
    if height >= 50_000:
        content = content.replace(struct.pack(">II", width, 1), struct.pack(">II", width, height), 1)
        content = content[:29] + struct.pack(">I", zlib.crc32(content[12:29])) + content[33:]
    assert len(content) < 1_000_000
    monkeypatch.setattr(Image.Image, "load", lambda self: pytest.fail("it was unpacked"))
    with pytest.raises(Refused, match="too many pixels: a JPEG may have 49 million of them, a PNG or WebP 18 million"):
        add(content, "plate.png")


def test_the_largest_photo_that_a_phone_takes_is_kept(add):
    """49 million pixels, to the pixel; 18 million of a kind that is unpacked whole."""
    assert read(add(flat("JPEG", "L", 7_000, 7_000), "plate.jpg")).size == (2400, 2400)
    assert read(add(bomb(4_500, 4_000), "plate.png")).size == (2400, 2133)
    with pytest.raises(Refused, match="too many pixels"):
        add(flat("JPEG", "L", 7_000, 7_001), "plate.jpg")


def flat(kind: str, mode: str, width: int, height: int, **how: object) -> bytes:
    kept = io.BytesIO()
    Image.new(mode, (width, height)).save(kept, kind, **how)
    return kept.getvalue()


PEAK = """
import sys, django
django.setup()
from fleet.registry.actions import documents
def peak():
    return next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM")) // 1024
before = peak()
documents._photo(open(sys.argv[1], "rb").read())
print(peak() - before)
"""


@pytest.mark.slow
@pytest.mark.any_database
@pytest.mark.parametrize(
    ("kind", "mode", "width", "height", "how"),
    [
        pytest.param("JPEG", "RGB", 748, 65_500, {}, id="a tall photo"),
        pytest.param("JPEG", "RGB", 7_000, 7_000, {"progressive": True, "subsampling": 0}, id="a progressive photo"),
        pytest.param("PNG", "P", 228, 70_000, {}, id="a tall picture"),
        pytest.param("PNG", "I;16", 4_000, 4_000, {}, id="sixteen bits of gray"),
        pytest.param("WEBP", "RGBA", 4_000, 4_000, {}, id="WebP"),
    ],
)
def test_no_photo_takes_much_memory(kind, mode, width, height, how, tmp_path):
    """In MB; 49 million pixels of WebP would take 840."""
    path = tmp_path / "picture"
    path.write_bytes(flat(kind, mode, width, height, **how))
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "fleet.settings", "DATA_DIR": str(tmp_path / "data")}
    command = [sys.executable, "-c", PEAK, str(path)]
    took = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=True).stdout
    assert int(took) < 400


@pytest.mark.parametrize(("name", "start", "end"), [("a.jpg", photo(), b""), ("a.pdf", PDF, b"%%EOF")])
def test_a_file_of_more_than_20_mb_is_refused(name, start, end, add):
    filler = b"\0" * (20_000_000 - len(start) - len(end))
    add(start + filler + end, name)
    with pytest.raises(Refused, match="larger than 20 MB"):
        add(start + filler + b"\0" + end, name)


def test_no_more_is_read_than_may_be_taken(unit, by):
    class Endless(io.RawIOBase):
        asked = 0

        def read(self, size: int = -1) -> bytes:
            assert 0 < size <= 20_000_001
            return b"\0" * size

    with pytest.raises(Refused, match="larger"):
        documents.add(file=Endless(), name="a.jpg", whose=unit, by=by)


# -- names


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("../../etc/plate.jpg", "plate.jpg"),
        ("C:\\Users\\jo\\plate.jpg", "plate.jpg"),
        ("a\0b\r\nc.jpg", "abc.jpg"),
        ("..", "file"),
        ("", "file"),
        ("名札.jpg", "名札.jpg"),
        ("x" * 300 + ".jpg", "x" * 196 + ".jpg"),
    ],
)
def test_a_name_is_shown_and_never_a_place(sent, kept, add, media):
    row = add(photo(), sent)
    assert row.name == kept
    assert re.fullmatch(r"documents/([0-9a-f]{2})/\1[0-9a-f]{30}\.jpg", row.stored)
    assert len(files(media)) == 2


def test_two_files_never_share_a_name(add):
    assert add(photo(), "a.jpg").stored != add(written(picture(301)), "a.jpg").stored


# -- once, whole or not at all


def test_the_same_file_sent_twice_is_kept_once(add, unit, media):
    first = add(photo(), "a.jpg")
    assert add(photo(), "again.jpg") == first
    assert len(files(media)) == 2
    assert models.Change.objects.count() == 1
    assert add(photo(), "a.jpg", whose=unit.system.site) != first


def test_what_was_dropped_can_be_added_again(add):
    first = add(photo(), "a.jpg")
    documents.drop(document=first, by=first.by, on=ON)
    assert add(photo(), "a.jpg") != first


def test_where_the_row_fails_no_file_is_left(add, media, monkeypatch):
    def fails(*args: object, **named: object) -> None:
        raise DatabaseError("the disk of the database is full")

    monkeypatch.setattr(documents.Log, "write", fails)
    with pytest.raises(DatabaseError):
        add(photo(), "a.jpg")
    assert files(media) == []
    assert not models.Document.objects.exists()


def test_a_caption_that_does_not_fit_leaves_nothing(add, media):
    with pytest.raises(ValidationError, match="300"):
        add(photo(), "a.jpg", caption="x" * 301)
    assert files(media) == []


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_where_the_disk_is_full_no_part_is_left_and_no_row(step, add, media, monkeypatch):
    def full(*args: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(*((os, "fsync") if step == "fsync" else (Path, "replace")), full)
    with pytest.raises(OSError, match="No space"):
        add(photo(), "a.jpg")
    assert files(media) == []
    assert not models.Document.objects.exists()


def test_a_file_is_on_the_disk_before_its_row_is(add, media, monkeypatch):
    steps: list[str] = []
    for module, name in ((os, "fsync"), (Path, "replace")):
        monkeypatch.setattr(module, name, _told(steps, name, getattr(module, name)))
    monkeypatch.setattr(models.Document, "save", _told(steps, "row", models.Document.save))
    add(PDF, "a.pdf")
    assert steps == ["fsync", "replace", "fsync", "row"]


def _told(steps: list[str], name: str, really):
    def step(*args: object, **named: object) -> object:
        steps.append(name)
        return really(*args, **named)

    return step


# -- dropped and brought back


def test_what_is_dropped_keeps_its_file_and_comes_back(add, unit, by, media):
    row = add(photo(), "a.jpg")
    assert documents.drop(document=row, by=by, on=ON)
    assert not documents.drop(document=row, by=by, on=ON)
    row.refresh_from_db()
    assert row.dropped_on == ON
    assert len(files(media)) == 2
    assert documents.bring_back(document=row, by=by)
    assert not documents.bring_back(document=row, by=by)
    row.refresh_from_db()
    assert row.dropped_on is None
    rows = models.Change.objects.filter(table="unit", object_id=unit.pk).order_by("pk")
    assert [(change.field, change.before, change.after, change.why) for change in rows] == [
        ("photo", "", "a.jpg", ""),
        ("photo", "a.jpg", "", "dropped"),
        ("photo", "", "a.jpg", "brought back"),
    ]


def test_the_database_refuses_a_paper_of_nothing_or_of_two_things(unit, by):
    values = {"kind": "photo", "name": "a", "media_type": "image/jpeg", "digest": "", "size": 1, "by": by}
    for number, whose in enumerate(({}, {"unit": unit, "site": unit.system.site})):
        with pytest.raises(IntegrityError), transaction.atomic():
            models.Document.objects.create(stored=f"x{number}", **values, **whose)
