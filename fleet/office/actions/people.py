"""People's logins: giving one, changing what it says, switching it off and on, unlocking it, and its password.

Nobody is ever deleted, since what they did stays under their name. A new login has no password; whoever it is for sets one
through a link, so that nobody else ever knows it.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from fleet import models
from fleet.care.actions import bookings
from fleet.claims.actions import calendars
from fleet.elements import mail
from fleet.facts import company
from fleet.later import later
from fleet.log import Log
from fleet.models.people import Role
from fleet.office.actions import logins
from fleet.office.pages.people import TO_THE_PLAN
from fleet.refusals import Refused, check

FIELDS = ("first_name", "last_name", "email", "role")
# A mailbox is not flooded by somebody who asks again and again.
MINUTES_BETWEEN_MAILS = 10


class _LinkTokens(PasswordResetTokenGenerator):
    """What makes a link for a new password: one that was made before its person was switched off stays dead for good."""

    def _make_hash_value(self, user: Any, timestamp: int) -> str:
        return f"{super()._make_hash_value(user, timestamp)}{user.times_off}"


link_tokens = _LinkTokens()


def add(
    *, username: str, first_name: str, last_name: str, email: str, role: str, by: models.User | None
) -> models.User:
    """Add a person with a login but no password yet; `by` is None only from the command line."""
    with transaction.atomic():
        person = models.User(username=models.User.normalize_username(username.strip()))
        _set_facts(person, first_name=first_name, last_name=last_name, email=email, role=role)
        person.set_unusable_password()
        check(person, exclude=["password"])
        person.save()
        log = Log(by=by)
        log.note(None, person, "login", "", person.username)
        log.note(None, person, "role", "", person.role)
        log.write()
    return person


def change(*, person: models.User, first_name: str, last_name: str, email: str, role: str, by: models.User) -> bool:
    """Change what is on file about somebody; False if nothing did."""
    with transaction.atomic():
        user = _locked(person)
        before = {field: getattr(user, field) for field in FIELDS}
        _set_facts(user, first_name=first_name, last_name=last_name, email=email, role=role)
        if user.role != Role.OWNER:
            _keep_an_owner(but=user, field="role")
        check(user, exclude=["password"])
        return _save(user, before, by=by)


def switch_off(*, person: models.User, visits: str = "", by: models.User, at: dt.datetime, on: dt.date) -> bool:
    """Let somebody in no more, from their very next request on; False if they were not let in anyway.

    Their sessions, links for a new password and calendar links are over for good: switched on again, they log in and make new
    ones. `visits` says who takes their booked visits (a key), or that those are canceled and planned again (TO_THE_PLAN).
    """
    with transaction.atomic():
        user = _locked(person)
        _keep_an_owner(but=user, field="is_active")
        if user.is_active:
            _hand_over(user, visits, by=by, on=on)
        before = {"is_active": user.is_active}
        if user.is_active:
            user.is_active, user.times_off = False, user.times_off + 1
            user.save(update_fields=["times_off"])
        for link in user.calendar_links.filter(revoked_at=None):
            calendars.revoke(link=link, by=by, at=at)
        return _save(user, before, by=by)


def _hand_over(user: models.User, visits: str, *, by: models.User, on: dt.date) -> None:
    """Give the booked visits of somebody to another, or back to the plan."""
    booked = models.Booking.objects.filter(technician=user, state="booked").order_by("on", "pk")
    if not booked:
        return
    if visits in ("", str(user.pk)):
        number = len(booked)
        raise Refused(f"{user} has {number} booked visit{'' if number == 1 else 's'}. Say who takes them.", "visits")
    for booking in booked:
        was = bookings.seen(booking)
        if visits == TO_THE_PLAN:
            bookings.cancel(booking.pk, was=was, why=f"{user} no longer works here", by=by, on=on)
        else:
            bookings.change(
                booking.pk, was=was, day=booking.on, technician=int(visits), note=booking.note, by=by, on=on
            )


def switch_on(*, person: models.User, by: models.User) -> bool:
    """Let somebody in again; False if they were let in anyway."""
    with transaction.atomic():
        user = _locked(person)
        before = {"is_active": user.is_active}
        user.is_active = True
        return _save(user, before, by=by)


def unlock(*, person: models.User, by: models.User | None) -> int:
    """Forget the wrong passwords under somebody's name; return how many there were."""
    with transaction.atomic():
        wrong = logins.forget(name=person.username)
        if wrong:
            _note(person, "wrong_passwords", wrong, 0, by=by)
    return wrong


def link(*, person: models.User, by: models.User | None) -> str:
    """The address at which somebody sets a new password, once and for a few days."""
    if not person.is_active:
        raise Refused("This login is switched off. Switch it on first, then make a link.")
    _note(person, "link", "", "given", by=by)
    return _address(person)


def set_password(*, person: models.User, password: str, by: models.User, how: str = "") -> None:
    """Set a password that was found good enough; whoever proves to be that person is locked out no more."""
    with transaction.atomic():
        person.set_password(password)
        person.save(update_fields=["password"])
        logins.forget(name=person.username)
        _note(person, "password", "", "set anew", by=by, why=how)


def ask_for_link(*, email: str, root: str, at: dt.datetime) -> None:
    """Have a link mailed to whoever has this address: in the background, so that the time it takes tells nothing."""
    with transaction.atomic():
        for person in models.User.objects.filter(email__iexact=email.strip(), is_active=True).exclude(email=""):
            mail_soon(person=person, root=root, at=at, by=None)


def mail_soon(*, person: models.User, root: str, at: dt.datetime, by: models.User | None) -> None:
    """Have a link mailed to somebody, at most once in ten minutes."""
    spell = int(at.timestamp()) // (60 * MINUTES_BETWEEN_MAILS)
    later("mail_link", key=f"mail_link {person.pk} {spell}", about=str(person), by=by, person=person.pk, root=root)


def note_backup(*, person: models.User) -> None:
    """Note that somebody took all that is on file along."""
    _note(person, "backup", "", "downloaded", by=person)


def mail_link(*, person: int, root: str) -> None:
    """Mail somebody the link, unless they were switched off meanwhile."""
    user = models.User.objects.filter(pk=person, is_active=True).exclude(email="").first()
    if user is None:
        return
    ours = company.company()
    context = {
        "person": user,
        "company": str(ours),
        "address": root.rstrip("/") + _address(user),
        "days": settings.PASSWORD_RESET_TIMEOUT // (24 * 60 * 60),
    }
    subject = render_to_string("password/subject.txt", context).strip()
    text = render_to_string("password/mail.txt", context)
    EmailMessage(subject, text, from_email=mail.sender(ours.name), to=[user.email]).send()


def _set_facts(person: models.User, *, first_name: str, last_name: str, email: str, role: str) -> None:
    person.first_name, person.last_name, person.role = first_name.strip(), last_name.strip(), role
    person.email = models.User.objects.normalize_email(email.strip())


def _address(person: models.User) -> str:
    uid = urlsafe_base64_encode(force_bytes(person.pk))
    return reverse("password_new", args=[uid, link_tokens.make_token(person)])


def _locked(person: models.User) -> models.User:
    """Read somebody as they are now, with every owner held, so that two owners cannot switch each other off."""
    owners = {
        owner.pk: owner for owner in models.User.objects.select_for_update().filter(role=Role.OWNER).order_by("pk")
    }
    return owners.get(person.pk) or models.User.objects.select_for_update().get(pk=person.pk)


def _keep_an_owner(*, but: models.User, field: str) -> None:
    others = models.User.objects.filter(role=Role.OWNER, is_active=True).exclude(pk=but.pk)
    was_owner = models.User.objects.filter(role=Role.OWNER, is_active=True, pk=but.pk).exists()
    if was_owner and not others.exists():
        said = "This is the only owner. Make somebody else an owner first."
        raise Refused(said, field if field in FIELDS else "")


def _save(person: models.User, before: Mapping[str, object], *, by: models.User) -> bool:
    changed = [field for field, was in before.items() if getattr(person, field) != was]
    log = Log(by=by)
    for field in changed:
        log.note(None, person, field, before[field], getattr(person, field))
    if changed:
        person.save(update_fields=changed)
        log.write()
    return bool(changed)


def _note(
    person: models.User, field: str, before: object, after: object, *, by: models.User | None, why: str = ""
) -> None:
    log = Log(by=by)
    log.note(None, person, field, before, after, why=why)
    log.write()
