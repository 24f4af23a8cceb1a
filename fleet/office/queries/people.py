"""Everybody who has a login, and one of them with what was changed about them."""

import datetime as dt
from typing import Any

from fleet import models
from fleet.care.queries.visits import technicians
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List
from fleet.elements.named import local_day, local_moment
from fleet.models.people import Role
from fleet.office.pages import people as pages
from fleet.rules import logins

# What the log of changes calls each thing, as people do.
_WHAT = {
    "login": "Login",
    "first_name": "First name",
    "last_name": "Last name",
    "email": "Email",
    "role": "Role",
    "is_active": "May log in",
    "wrong_passwords": "Wrong passwords in a row",
    "link": "Link for a new password",
    "password": "Password",
    "backup": "Backup",
}


def people(at: dt.datetime) -> List:
    """The list of everybody as they stand at a moment; a company has a handful, so all are read."""

    everybody = _everybody(at)

    def rows(filters: Any, on: dt.date) -> list[Any]:
        return [
            person
            for person in everybody
            if filters.role in ("", person.role or "none") and filters.standing in ("", person.standing)
        ]

    locked = [person for person in everybody if person.standing == "locked"]
    return List(
        file="people",
        caption="People who have a login",
        rows=rows,
        lead=lambda listing: {"count": len(everybody), "locked": locked},
        usual="name",
        columns=_COLUMNS,
        filters=_FILTERS,
    )


_COLUMNS = (
    Column("name", "Name", value=lambda row: Cell(row.name, Link("person", row.pk)), order=("name",)),
    Column("username", "Username", order=("username",)),
    Column("role", "Role", value=lambda row: row.role or "none", order=("role",)),
    Column("standing", "Status", order=("standing",)),
    Column("email", "Email"),
    Column("last_here", "Last logged in", "day", order=("last_here",)),
)
_FILTERS = (
    Filter("role", choices=(*Role.values, "none")),
    Filter("standing", choices=("active", "no password yet", "locked", "switched off")),
)


def page(pk: int, *, me: models.User, at: dt.datetime) -> pages.PersonPage | None:
    """Show one person; None where there is nobody."""
    person = models.User.objects.filter(pk=pk).first()
    if person is None:
        return None
    tries = models.LoginTries.objects.filter(name=logins.folded(person.username)).first()
    wrong = logins.in_a_row(wrong=tries.wrong, last_at=tries.last_at, at=at) if tries else 0
    wait = _wait(tries, at)
    changes = models.Change.objects.filter(table="user", object_id=pk).select_related("by").order_by("-pk")
    return pages.PersonPage(
        pk=pk,
        name=str(person),
        username=person.username,
        first_name=person.first_name,
        last_name=person.last_name,
        email=person.email,
        role=person.role,
        standing=_standing(person, wait),
        joined=local_moment(person.date_joined),
        last_here=local_moment(person.last_login),
        has_password=person.has_usable_password(),
        is_me=pk == me.pk,
        visits=models.Booking.objects.filter(technician=pk, state="booked").count(),
        wrong=wrong,
        wrong_last=local_moment(tries.last_at) if tries and wrong else "",
        locked_until=local_moment(wait.until) if wait and wait.locked else "",
        changes=tuple(_changed(row) for row in changes),
    )


def heirs(pk: int) -> tuple[tuple[str, str], ...]:
    """Who may take the booked visits of somebody, each by key and name, and the plan; nobody where they have none."""
    if not models.Booking.objects.filter(technician=pk, state="booked").exists():
        return ()
    others = [(str(key), name) for key, name in technicians() if key != pk]
    return (*others, (pages.TO_THE_PLAN, "nobody: cancel the visits and plan them again"))


def wait_for(name: str, *, at: dt.datetime) -> logins.Wait | None:
    """How long the next password under a name must wait, if it must."""
    return _wait(models.LoginTries.objects.filter(name=logins.folded(name)).first(), at)


def _everybody(at: dt.datetime) -> list[Any]:
    """Everybody with their name, where they stand, and the day they last logged in."""
    tries = {row.name: row for row in models.LoginTries.objects.filter(wrong__gte=logins.LOCKS_AT)}
    everybody: list[Any] = list(models.User.objects.order_by("pk"))
    for person in everybody:
        person.name = str(person)
        person.standing = _standing(person, _wait(tries.get(logins.folded(person.username)), at))
        person.last_here = person.last_login and local_day(person.last_login)
    return everybody


def _wait(tries: models.LoginTries | None, at: dt.datetime) -> logins.Wait | None:
    return logins.wait(wrong=tries.wrong, last_at=tries.last_at, at=at) if tries else None


def _standing(person: models.User, wait: logins.Wait | None) -> str:
    if not person.is_active:
        return "switched off"
    if wait is not None and wait.locked:
        return "locked"
    return "active" if person.has_usable_password() else "no password yet"


def _changed(row: models.Change) -> pages.Changed:
    return pages.Changed(
        at=local_moment(row.at),
        by=str(row.by or ""),
        what=_WHAT.get(row.field) or row.field,
        before=row.before,
        after=row.after,
        how=row.why,
    )
