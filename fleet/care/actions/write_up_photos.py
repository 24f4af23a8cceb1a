"""Photos of a write-up that come by themselves, one sending each, known by what their files fold to."""

import hashlib
import io
from uuid import UUID, uuid5

from fleet import models
from fleet.care.facts.write_ups import photos_arrived
from fleet.refusals import Conflict
from fleet.registry.actions import documents
from fleet.rules.dates import in_words


def add(write_up: models.WriteUp, digest: str, content: bytes, *, by: models.User) -> tuple[models.Document, bool]:
    """Keep one photo with what it shows: its failure, its unit or the site; and whether it is new. Sent again, it is kept once.

    Refused for what is no photo; a Conflict for a file that did not arrive whole, which is to be sent again.
    """
    known = photos_arrived(write_up).filter(sent_digest=digest).first()
    if known is not None:
        return known, False
    if hashlib.sha256(content).hexdigest() != digest:
        raise Conflict("The photo did not arrive whole. It will be sent again.")
    said: dict[str, object] = next(
        (one for one in write_up.content.get("photos") or () if one.get("digest") == digest), {}
    )
    failure = _failure(write_up, said)
    unit = _unit(write_up, said) if failure is None else failure.unit
    made = documents.add(
        file=io.BytesIO(content),
        name=_jpeg(str(said.get("name") or "photo")),
        whose=unit or write_up.site,
        caption=f"Write-up of {in_words(write_up.on)}",
        failure=failure,
        write_up=write_up,
        sent_digest=digest,
        by=by,
    )
    return made, True


def of_key(key: str) -> models.WriteUp | None:
    """The write-up that was sent under a key; None if there is none."""
    try:
        return models.WriteUp.objects.select_related("site").filter(key=UUID(key)).first()
    except ValueError:
        return None


def _failure(write_up: models.WriteUp, said: dict[str, object]) -> models.Failure | None:
    row = str(said.get("failure", ""))
    rows = write_up.content.get("failures") or ()
    if not row.isdecimal() or int(row) >= len(rows):
        return None
    # A photo knows the row of the form; failures are numbered without the rows that were left blank.
    number = sum(any(value for name, value in one.items() if name != "unit") for one in rows[: int(row)])
    key = uuid5(write_up.key, f"failure {number}")
    return models.Failure.objects.select_related("unit").filter(key=key, write_up=write_up).first()


def _unit(write_up: models.WriteUp, said: dict[str, object]) -> models.Unit | None:
    number = str(said.get("unit") or "")
    here = models.Unit.objects.filter(places__system__site=write_up.site_id)
    return here.filter(pk=int(number)).first() if number.isdecimal() and len(number) < 18 else None


def _jpeg(name: str) -> str:
    """A phone sends every photo as JPEG, whatever it was called before."""
    return f"{name.rpartition('.')[0] or name}.jpg"
