"""Who we are: our name and where we are, our logo, our time zone, and our account numbers with payers."""

import contextlib
import datetime as dt
import io
import secrets
from collections.abc import Mapping
from typing import Any, BinaryIO

from django.conf import settings
from django.db import transaction
from PIL import Image

from fleet import models
from fleet.facts.company import FIELDS
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.registry.actions import correct, documents
from fleet.sheets.columns import in_plain

# A logo is printed some inch and a half wide: more than these pixels nobody sees.
LOGO_EDGE = 900
LARGEST_LOGO = 5_000_000
_MOST_LINES = 4


def settle(*, was: Mapping[str, Any], told: Mapping[str, Any], by: models.User | None) -> bool:
    """Save what changed; raises Conflict where somebody else changed it since it was seen (`was`). False: nothing changed."""
    was, told = _as_kept(was), _as_kept(told)
    with transaction.atomic():
        row = _locked()
        stored, row.time_zone = row.time_zone, row.time_zone or settings.TIME_ZONE  # which is what the page showed
        moved = correct.changed(row, was=was, told=told)
        row.time_zone = stored
        if not stored and "time_zone" in told:
            moved["time_zone"] = told["time_zone"]  # from now on it is the company's own choice
        if not told.get("name", row.name).strip():
            raise Refused("Enter the name of your company.", "name")
        if len(moved.get("address", "").splitlines()) > _MOST_LINES:
            raise Refused(f"Use at most {_MOST_LINES} lines.", "address")
        if moved:
            _set(row, moved, by=by)
    return bool(moved)


def undo(pk: int, *, by: models.User) -> str:
    """Put one fact of the company back to what it was before a change; raises Refused where it was changed again since."""
    with transaction.atomic():
        row = _locked()
        change = models.Change.objects.filter(pk=pk, table="company", field__in=FIELDS).first()
        if change is None:
            raise Refused("That change is not on file.")
        if in_plain(getattr(row, change.field)) != change.after:
            raise Refused("It was changed again since. Change it on the form instead.")
        if change.field == "name" and not change.before:
            raise Refused("The company needs a name. Change it on the form instead.")
        _set(row, {change.field: change.before}, by=by, why="undone")
    return change.field


def set_logo(*, file: BinaryIO, name: str, by: models.User) -> None:
    """Use a picture as our logo: read within limits, upright, on white, and written anew as PNG."""
    content = file.read(LARGEST_LOGO + 1)
    if len(content) > LARGEST_LOGO:
        raise Refused(f"Choose a picture of at most {LARGEST_LOGO // 1_000_000} MB.", "logo")
    if not content:
        raise Refused("The file is empty. Choose another one.", "logo")
    try:
        picture = documents.picture(content)
    except Refused as refused:
        raise Refused(f"{refused} Choose a JPEG, PNG or WebP picture.", "logo") from refused
    picture.thumbnail((LOGO_EDGE, LOGO_EDGE), Image.Resampling.LANCZOS)
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=True)
    stored = f"company/{secrets.token_hex(16)}.png"
    with contextlib.ExitStack() as unless_kept:
        unless_kept.callback(_remove, stored)
        documents.keep(stored, out.getvalue())
        with transaction.atomic():
            _logo(stored, f"{name[:200]}", by=by)
        unless_kept.pop_all()


def drop_logo(*, by: models.User) -> bool:
    """Print no logo any more; False where there was none."""
    with transaction.atomic():
        return _logo("", "", by=by)


def accounts(*, was: Mapping[str, str], told: Mapping[str, str], by: models.User | None) -> int:
    """Save our account numbers by payer (blank: none); return how many changed.

    Raises Conflict where somebody else changed one since it was seen (`was`).
    """
    with transaction.atomic():
        _locked()
        rows = {row.payer.casefold(): row for row in models.PayerAccount.objects.select_for_update()}
        now = {payer: rows[payer.casefold()].account if payer.casefold() in rows else "" for payer in told}
        wanted = {payer: account.strip() for payer, account in told.items()}
        moved = correct.changed_entries(was=dict.fromkeys(told, "") | dict(was), told=wanted, now=now)
        log = Log(by=by)
        for payer, text in moved.items():
            _account(payer, text, rows.get(payer.casefold()), log)
        log.write()
    return len(moved)


def skip_step(code: str, *, by: models.User) -> None:
    """Leave one of the first steps out: it counts as done."""
    with transaction.atomic():
        row = _locked()
        if code not in row.steps_skipped:
            _set(row, {"steps_skipped": [*row.steps_skipped, code]}, by=by)


def steps_over(*, by: models.User, on: dt.date) -> None:
    """Put the list of first steps away."""
    with transaction.atomic():
        row = _locked()
        if row.steps_over_on is None:
            _set(row, {"steps_over_on": on}, by=by)


def steps_again(*, by: models.User) -> None:
    """Show the list of first steps again, with all of them."""
    with transaction.atomic():
        row = _locked()
        moved: dict[str, Any] = {"steps_over_on": None, "steps_skipped": []}
        changed = {name: value for name, value in moved.items() if getattr(row, name) != value}
        if changed:
            _set(row, changed, by=by)


def _locked() -> models.Company:
    models.Company.objects.get_or_create(pk=1)
    return models.Company.objects.select_for_update().get(pk=1)


def _as_kept(facts: Mapping[str, Any]) -> dict[str, Any]:
    plain = correct.known(facts, FIELDS, of="the company")
    if "address" in plain:
        plain["address"] = "\n".join(line.strip() for line in plain["address"].splitlines() if line.strip())
    return plain


def _set(row: models.Company, moved: Mapping[str, Any], *, by: models.User | None, why: str = "") -> None:
    log = Log(by=by)
    log.set(row, moved, why=why)
    check(row)
    row.save(update_fields=list(moved))
    log.write()


def _logo(stored: str, name: str, *, by: models.User) -> bool:
    row = _locked()
    if row.logo == stored:
        return False
    former = row.logo
    log = Log(by=by)
    log.note(None, row, "logo", "a picture" if former else "", name or ("a picture" if stored else ""))
    row.logo = stored
    row.save(update_fields=["logo"])
    log.write()
    if former:
        transaction.on_commit(lambda: _remove(former))
    return True


def _remove(stored: str) -> None:
    (settings.MEDIA_ROOT / stored).unlink(missing_ok=True)


def _account(payer: str, text: str, row: models.PayerAccount | None, log: Log) -> None:
    before = "" if row is None else row.account
    if row is None:
        row = models.PayerAccount(payer=payer)
    row.account = text
    if not text:
        log.note(None, row, "account", before, "", why=payer[:300])
        row.delete()
        return
    check(row)
    row.save()
    log.note(None, row, "account", before, text, why=payer[:300])
