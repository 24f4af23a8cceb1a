"""Photos and papers of a unit or a site: taken in, dropped, and brought back.

A photo is never kept as it came. It is read, turned upright, made smaller and written anew as JPEG, so that nothing of
what else the file held is left: no place, no camera, no hidden second file. A paper is a PDF and kept as it came. Anything
that is not what its name says is refused. Files get random names; what somebody called them is only ever shown.

The file is on the disk for good before its row is written, and taken away again if the row is not.
"""

import contextlib
import datetime as dt
import hashlib
import io
import os
import secrets
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import BinaryIO

from django.conf import settings
from django.db import transaction
from PIL import Image, ImageOps

from fleet import models
from fleet.log import Log
from fleet.refusals import Refused

LARGEST = 20_000_000
# The largest photo that phones take is just under this. What unpacks to more is refused before it is unpacked.
MOST_PIXELS = 49_000_000
# A JPEG is unpacked smaller to begin with; the others whole, at up to seventeen bytes a pixel.
MOST_PIXELS_WHOLE = 18_000_000
LONG_EDGE = 2400
SMALL_EDGE = 400
QUALITY = 85

_FORMATS = ("JPEG", "PNG", "WEBP")
_PHOTO_NAMES = {".jpg", ".jpeg", ".jfif", ".png", ".webp"}

# Unpacked, a photo takes some three hundred MB at worst: not several at once in one process.
_one_at_a_time = threading.Lock()

Image.MAX_IMAGE_PIXELS = MOST_PIXELS


@dataclass(frozen=True, slots=True)
class Taken:
    """What will be kept of a file."""

    kind: str
    media_type: str
    suffix: str
    content: bytes
    small: bytes = b""


def add(
    *,
    file: BinaryIO,
    name: str,
    whose: models.Unit | models.Site,
    caption: str = "",
    proves_registration: bool = False,
    failure: models.Failure | None = None,
    claim: models.Claim | None = None,
    given_for: str = "",
    write_up: models.WriteUp | None = None,
    sent_digest: str = "",
    serial_read: str = "",
    load: int | None = None,
    by: models.User,
) -> models.Document:
    """Keep a photo or a paper of a unit or of a site; the same file sent twice is kept once.

    `load` is the save of an install that it came with, and would be undone with. It may show a failure, or be what a claim's payer asked for; one that was kept before is from then on that too.
    """
    name = _base_name(name)
    taken = _read(file, name)
    row = models.Document(
        unit=whose if isinstance(whose, models.Unit) else None,
        site=whose if isinstance(whose, models.Site) else None,
        proves_registration=proves_registration,
        failure=failure,
        claim=claim,
        given_for=given_for,
        write_up=write_up,
        sent_digest=sent_digest,
        serial_read=serial_read,
        kind=taken.kind,
        name=name,
        caption=caption.strip(),
        media_type=taken.media_type,
        stored=_random_name(taken.suffix),
        digest=hashlib.sha256(taken.content).hexdigest(),
        size=len(taken.content),
        load_id=load,
        by=by,
    )
    with contextlib.ExitStack() as unless_kept:
        unless_kept.callback(_remove, row)
        keep(row.stored, taken.content)
        if taken.small:
            keep(row.small, taken.small)
        with transaction.atomic():
            same = _same(row)
            if same is not None:
                return _also(same, row)
            row.full_clean(exclude=["at", "unit", "site", "failure", "claim", "write_up", "dropped_on", "load"])
            row.save()
            _note(row, "", row.name, by=by)
        unless_kept.pop_all()
    return row


def drop(*, document: models.Document, by: models.User, on: dt.date) -> bool:
    """Show a photo or paper no more; the file stays, so that it can be brought back. False if that was done already."""
    with transaction.atomic():
        done = models.Document.objects.filter(pk=document.pk, dropped_on__isnull=True).update(dropped_on=on)
        if done:
            _note(document, document.name, "", by=by, why="dropped")
    return bool(done)


def delete(rows: Iterable[models.Document]) -> None:
    """Delete what came with something that is undone: the rows at once, their files once that is certain."""
    for row in rows:
        row.delete()
        transaction.on_commit(partial(_remove, row))


def bring_back(*, document: models.Document, by: models.User) -> bool:
    """Show again what was dropped; False if it is shown anyway."""
    with transaction.atomic():
        done = models.Document.objects.filter(pk=document.pk, dropped_on__isnull=False).update(dropped_on=None)
        if done:
            _note(document, "", document.name, by=by, why="brought back")
    return bool(done)


def _base_name(name: str) -> str:
    """A file's name without any folder and anything that cannot be printed, at most 200 characters."""
    last = PurePosixPath(PureWindowsPath(name).name).name
    last = "".join(letter for letter in last if letter.isprintable()).strip()
    path = PurePosixPath(last if last.strip(".") else "file")
    return f"{path.stem[: 200 - len(path.suffix[:20])]}{path.suffix[:20]}"


def _read(file: BinaryIO, name: str) -> Taken:
    """Read a file as what its name says it is, and refuse it if it is not."""
    content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise Refused(f"It is larger than {LARGEST // 1_000_000} MB.")
    if not content:
        raise Refused("It is empty.")
    suffix, is_paper = PurePosixPath(name).suffix.lower(), content.startswith(b"%PDF-")
    if suffix in (".heic", ".heif"):
        raise Refused("Photos of this kind cannot be read here. Have the phone take or send them as JPEG.")
    if suffix and suffix not in _PHOTO_NAMES | {".pdf"}:
        raise Refused("Only photos (JPEG, PNG, WebP) and papers (PDF) are taken.")
    if suffix == ".pdf" or (is_paper and not suffix):
        # Written in full: the mark at the end is missing in a file that was cut off.
        if not is_paper or b"%%EOF" not in content[-2048:]:
            raise Refused("It is named as a PDF, but it is none, or not a whole one.")
        return Taken("document", "application/pdf", ".pdf", content)
    return _photo(content)


def _photo(content: bytes) -> Taken:
    """Write a photo anew, and its small copy."""
    upright = picture(content)
    small = upright.copy()
    small.thumbnail((SMALL_EDGE, SMALL_EDGE), Image.Resampling.LANCZOS)
    return Taken("photo", "image/jpeg", ".jpg", _as_jpeg(upright), _as_jpeg(small))


def picture(content: bytes) -> Image.Image:
    """The picture in a file: upright, on white, its longer edge at most LONG_EDGE, and with nothing else in it.

    Raises Refused for what is no picture, and for one of too many pixels before it is unpacked.
    """
    with _one_at_a_time:
        return _picture(content)


def _picture(content: bytes) -> Image.Image:
    too_many = Refused(
        f"It has too many pixels: a JPEG may have {MOST_PIXELS // 1_000_000} million of them,"
        f" a PNG or WebP {MOST_PIXELS_WHOLE // 1_000_000} million."
    )
    try:
        with Image.open(io.BytesIO(content), formats=_FORMATS) as image:
            if image.width * image.height > (MOST_PIXELS if image.format == "JPEG" else MOST_PIXELS_WHOLE):
                raise too_many
            # No smaller than it will be, by its longer edge: a tall one is not to be unpacked whole for its shorter one.
            width, height = (max(1, edge * LONG_EDGE // max(image.size)) for edge in image.size)
            image.draft("RGB", (width, height))
            image.load()
            return _on_white(_upright(image))
    except Refused:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise too_many from bomb
    except Exception as broken:
        # What a damaged or made-up image makes its reader raise is not a closed list.
        raise Refused("It is named as a photo, but no photo could be read in it.") from broken


def _upright(image: Image.Image) -> Image.Image:
    """Make it smaller first, which costs less, then turn it as the camera was held."""
    if image.mode.startswith(("I", "F")):
        # Sixteen bits of gray, which no screen shows: the upper eight.
        image = image.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    elif image.mode in ("P", "PA", "1"):
        image = image.convert("RGBA")
    image.thumbnail((LONG_EDGE, LONG_EDGE), Image.Resampling.LANCZOS, reducing_gap=3)
    try:
        return ImageOps.exif_transpose(image)
    except Exception:
        # How it was held cannot be read: it stays as it lies.
        return image


def _on_white(image: Image.Image) -> Image.Image:
    """The picture alone, without its file's metadata; what shows through is white."""
    clean = Image.new("RGB", image.size, "white")
    seen = image.convert("RGBA") if image.has_transparency_data else None
    clean.paste(seen or image.convert("RGB"), mask=seen)
    return clean


def _as_jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def _random_name(suffix: str) -> str:
    name = secrets.token_hex(16)
    return f"documents/{name[:2]}/{name}{suffix}"


def keep(name: str, content: bytes) -> None:
    """Put a file on the disk for good, whole or not at all."""
    path = settings.MEDIA_ROOT / name
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = _part(path)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _part(path: Path) -> Path:
    return path.with_name(f"{path.name}.part")


def _remove(row: models.Document) -> None:
    for name in filter(None, (row.stored, row.small)):
        path = settings.MEDIA_ROOT / name
        path.unlink(missing_ok=True)
        _part(path).unlink(missing_ok=True)


def _same(row: models.Document) -> models.Document | None:
    # Held, so that of two equal files sent at once the second sees the first.
    type(row.whose).objects.select_for_update().get(pk=row.whose.pk)
    same = models.Document.objects.filter(unit=row.unit, site=row.site, digest=row.digest, dropped_on__isnull=True)
    return same.first()


def _also(same: models.Document, row: models.Document) -> models.Document:
    """Let a file that was kept before be of a failure, a claim or a write-up as well, and of a serial, where it is of none yet."""
    names = ("failure", "claim", "write_up", "given_for", "sent_digest", "serial_read")
    for name in names:
        if not getattr(same, name) and getattr(row, name):
            setattr(same, name, getattr(row, name))
    same.save(update_fields=names)
    return same


def _note(row: models.Document, before: str, after: str, *, by: models.User, why: str = "") -> None:
    log = Log(by=by)
    log.note(None, row.whose, row.kind, before, after, why=why)
    log.write()
