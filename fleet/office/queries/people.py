"""Everybody who has a login, and one of them with what was changed about them."""

import datetime as dt
from collections.abc import Iterable

from django.utils import timezone

from fleet import models
from fleet.elements.lists import Cell, Link, Listing, Row, in_order, sort_of
from fleet.elements.pieces import moment
from fleet.office.pages import people as pages
from fleet.rules import logins

# What the log of changes calls each thing, as people do.
_WHAT = {
    "login": "Login",
    "first_name": "First name",
    "last_name": "Last name",
    "email": "E-mail",
    "role": "Role",
    "is_active": "May log in",
    "wrong_passwords": "Wrong passwords in a row",
    "link": "Link for a new password",
    "password": "Password",
}


def listed(asked: pages.Asked, *, sort: str, number: int, at: dt.datetime) -> pages.PeoplePage:
    """Show one page of the people; a company has a handful, so all are read."""
    everybody = _everybody(at)
    chosen = sort_of(sort, pages.COLUMNS, otherwise="name")
    return pages.PeoplePage(
        asked,
        Listing.cut(pages.COLUMNS, _rows(everybody, asked), chosen, number),
        len(everybody),
        tuple(pages.Named(person.pk, str(person)) for person, standing in everybody if standing == "locked"),
    )


def rows(asked: pages.Asked, *, sort: str, at: dt.datetime) -> Iterable[Row]:
    """Give every row of the list."""
    return in_order(_rows(_everybody(at), asked), pages.COLUMNS, sort_of(sort, pages.COLUMNS, otherwise="name"))


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
        joined=_moment(person.date_joined),
        last_here=_moment(person.last_login),
        has_password=person.has_usable_password(),
        is_me=pk == me.pk,
        wrong=wrong,
        wrong_last=_moment(tries.last_at) if tries and wrong else "",
        locked_until=_moment(wait.until) if wait and wait.locked else "",
        changes=tuple(_changed(row) for row in changes),
    )


def wait_for(name: str, *, at: dt.datetime) -> logins.Wait | None:
    """Tell how long the next password under a name waits, if it does."""
    return _wait(models.LoginTries.objects.filter(name=logins.folded(name)).first(), at)


def _everybody(at: dt.datetime) -> list[tuple[models.User, str]]:
    tries = {row.name: row for row in models.LoginTries.objects.filter(wrong__gte=logins.LOCKS_AT)}
    return [
        (person, _standing(person, _wait(tries.get(logins.folded(person.username)), at)))
        for person in models.User.objects.order_by("pk")
    ]


def _rows(everybody: list[tuple[models.User, str]], asked: pages.Asked) -> list[Row]:
    return [
        (
            Cell(str(person), Link("person", person.pk)),
            Cell(person.username),
            Cell(person.role or "none"),
            Cell(standing),
            Cell(person.email),
            Cell(_here(person.last_login).date() if person.last_login else None),
        )
        for person, standing in everybody
        if (not asked.role or (person.role or "none") == asked.role)
        and (not asked.standing or standing == asked.standing)
    ]


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
        at=_moment(row.at),
        by=str(row.by or ""),
        what=_WHAT.get(row.field) or row.field,
        before=row.before,
        after=row.after,
        how=row.why,
    )


def _here(at: dt.datetime) -> dt.datetime:
    return at.astimezone(timezone.get_default_timezone())


def _moment(at: dt.datetime | None) -> str:
    return moment(at and _here(at))
