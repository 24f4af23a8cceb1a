"""The first owner of a new company: let in once, by a code that stands where the server runs and nowhere else."""

import fcntl
import hmac
import os
import secrets
from pathlib import Path

from django.conf import settings
from django.db import transaction

from fleet import models
from fleet.log import Log
from fleet.models.people import Role
from fleet.refusals import Refused, check

# No letter or digit that is taken for another; sixteen of them are 75 bits.
_LETTERS = "ACDEFGHJKMNPQRTUVWXY346789"
_GROUPS, _EACH = 4, 4


def is_wanted() -> bool:
    """Whether nobody has a login yet, so that somebody must be let in first."""
    return not models.User.objects.exists()


def code() -> str:
    """The code that lets the first owner in: made on first use, by whichever process comes first, for the server's own user alone."""
    path = _path()
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX)
        if not path.exists():
            made = "-".join("".join(secrets.choice(_LETTERS) for _ in range(_EACH)) for _ in range(_GROUPS))
            part = path.with_name(f"{path.name}.part")
            with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
                file.write(made)
            part.replace(path)
    finally:
        os.close(folder)
    return path.read_text()


def let_in(*, given: str, username: str, first_name: str, last_name: str, email: str, password: str) -> models.User:
    """Make the first owner; raises Refused for a wrong code, and once anybody has a login, whoever was first."""
    if not hmac.compare_digest(_folded(given).encode(), _folded(code()).encode()):
        raise Refused("That is not the code. Type it as the server printed it when it started.", "code")
    with transaction.atomic():
        # Of two who come at once, the second waits here and then finds the first.
        models.Company.objects.get_or_create(pk=1)
        models.Company.objects.select_for_update().get(pk=1)
        if not is_wanted():
            raise Refused("Somebody has a login already. Ask the owner to give you one.")
        person = models.User(
            username=models.User.normalize_username(username.strip()),
            first_name=first_name.strip(),
            last_name=last_name.strip(),
            email=models.User.objects.normalize_email(email.strip()),
            role=Role.OWNER,
        )
        person.set_password(password)
        check(person)
        person.save()
        log = Log(by=person)
        log.note(None, person, "login", "", person.username, why="first owner")
        log.note(None, person, "role", "", person.role)
        log.write()
        transaction.on_commit(lambda: _path().unlink(missing_ok=True))
    return person


def _folded(text: str) -> str:
    return "".join(text.split()).replace("-", "").upper()


def _path() -> Path:
    return Path(settings.DATA_DIR) / "first_owner_code"
