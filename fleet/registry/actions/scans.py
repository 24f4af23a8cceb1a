"""Photos of nameplates and labels that are read: kept for a day beside the record, until somebody compared what was read.

Nothing of it is on file before that. The photo is turned upright and written anew, as every photo is; beside it stands what was
read. Both are for whoever sent them, by a name that nobody can guess. Once somebody confirmed a code by eye, the photo may be kept with
the unit: `Document.serial_read` then says which serial was read from it. A serial without such a photo was typed.
"""

import contextlib
import io
import json
import re
import secrets
import time
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import BinaryIO

from django.conf import settings
from PIL import Image

from fleet import models
from fleet.refusals import Refused
from fleet.registry.actions import documents
from fleet.registry.facts import codes
from fleet.registry.facts.codes import Code
from fleet.rules import words

FOLDER = "scans"
KEPT_FOR = 24 * 3600  # seconds
CROP_EDGE = 900
_TOKEN = re.compile(r"[0-9a-f]{32}")
_QUALITY = 88


@dataclass(frozen=True, slots=True)
class Scan:
    """A photo that was read: where it lies, and the codes in it."""

    token: str
    path: Path
    codes: tuple[Code, ...]


def keep(file: BinaryIO, *, by: models.User, seen: Sequence[Code] = ()) -> Scan:
    """Read the codes in a photo and keep both for a day; `seen` is what the phone itself read in it.

    Raises Refused for what is no photo.
    """
    content = file.read(documents.LARGEST + 1)
    if len(content) > documents.LARGEST:
        raise Refused(f"It is larger than {documents.LARGEST // 1_000_000} MB.")
    if not content:
        raise Refused("It is empty.")
    picture = documents.picture(content)
    read = codes.codes_in(picture)
    here = {code.text for code in read}
    read += tuple(code for code in seen if code.text not in here)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=_QUALITY)
    token = secrets.token_hex(16)
    path = _folder() / f"{by.pk}-{token}.jpg"
    path.write_bytes(out.getvalue())
    path.with_suffix(".json").write_text(json.dumps([asdict(code) for code in read]))
    return Scan(token, path, read)


def _folder() -> Path:
    folder = Path(settings.DATA_DIR) / FOLDER
    folder.mkdir(mode=0o700, exist_ok=True)
    for old in folder.iterdir():
        with contextlib.suppress(OSError):
            if old.stat().st_mtime < time.time() - KEPT_FOR:
                old.unlink()
    return folder


def find(token: str, *, by: models.User) -> Scan | None:
    """A photo that this person sent, with its codes; None where there is none any more."""
    path = Path(settings.DATA_DIR) / FOLDER / f"{by.pk}-{token}.jpg"
    if not _TOKEN.fullmatch(token) or not path.is_file():
        return None
    try:
        told = json.loads(path.with_suffix(".json").read_text())
    except (OSError, ValueError):
        return None
    return Scan(token, path, tuple(Code(one["kind"], one["text"], tuple(one["box"])) for one in told))


def crop(scan: Scan, number: int) -> bytes:
    """The part of a photo where a code stands, with what is written around it, as JPEG; the whole photo where it has no such code."""
    with Image.open(scan.path) as picture:
        box = scan.codes[number].box if number < len(scan.codes) else (0, 0, *picture.size)
        part = picture.crop(codes.around(box, picture.size)).convert("RGB")
    part.thumbnail((CROP_EDGE, CROP_EDGE), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    part.save(out, "JPEG", quality=_QUALITY)
    return out.getvalue()


def keep_photo(
    scan: Scan, *, whose: models.Unit | models.Site, serial: str, was_read: bool, by: models.User
) -> models.Document:
    """Keep the photo with a unit, or a site, as that of a nameplate; with the serial that was read from it and confirmed.

    Where the serial was typed because the photo did not show it, `was_read` is false, and the photo says nothing of a serial.
    """
    with scan.path.open("rb") as file:
        return documents.add(
            file=file,
            name="nameplate.jpg",
            whose=whose,
            caption="Nameplate",
            serial_read=serial[:120] if was_read else "",
            by=by,
        )


def drop(scan: Scan) -> None:
    """Forget a photo."""
    for path in (scan.path, scan.path.with_suffix(".json")):
        path.unlink(missing_ok=True)


def says(scan: Scan, number: int, serial: str) -> bool:
    """Whether a code of a photo says a serial, spaces and hyphens aside."""
    return (
        number < len(scan.codes) and words.key(serial) in words.key(scan.codes[number].text) and bool(words.key(serial))
    )
