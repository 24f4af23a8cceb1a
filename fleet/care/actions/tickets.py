"""Emailing a visit's ticket to the customer: wanted now, sent in the background, and noted once it was sent."""

import datetime as dt
from hashlib import sha256

from django.core.mail import EmailMessage
from django.db import transaction

from fleet import models
from fleet.care.facts.tickets import recipients
from fleet.care.pages.tickets import Ticket
from fleet.elements import mail
from fleet.later import later
from fleet.log import Log
from fleet.refusals import Refused
from fleet.rules.company import Company
from fleet.rules.dates import in_words

_SECONDS_BETWEEN = 600
_GONE = "This write-up was taken back, so it has no ticket."
_UNKNOWN = "Choose one of the email addresses on file."


def mail_soon(pk: int, *, to: str, by: models.User, at: dt.datetime) -> None:
    """Have the ticket emailed, to one of the addresses on file; twice within ten minutes it goes out once."""
    with transaction.atomic():
        row = models.WriteUp.objects.select_for_update().select_related("site__customer").get(pk=pk)
        _check(row, to)
        spell = int(at.timestamp()) // _SECONDS_BETWEEN
        later(
            "mail_ticket",
            key=f"mail_ticket {pk} {_folded(to)} {spell}",
            about=f"{row.site.customer.name}, {in_words(row.on)}",
            by=by,
            write_up=pk,
            to=to,
            whose=by.pk,
        )


def send(ticket: Ticket, paper: bytes, *, to: str, company: Company) -> None:
    """Send it, unless the address is on file no more. Sent again after a break it is the same mail, by its Message-ID."""
    _check(models.WriteUp.objects.get(pk=ticket.pk), to)
    name = company.name or "Your contractor"
    day = in_words(ticket.on)
    words = (
        f"{ticket.customer},\n\nAttached is the ticket of our visit on {day}: what was done on each unit, and what was measured."
        f"\n\n{company or name}\n"
    )
    domain = mail.sender(name).rpartition("@")[2].strip("> ") or "localhost"
    message = EmailMessage(
        f"Our visit on {day}",
        words,
        from_email=mail.sender(name),
        to=[to],
        headers={"Message-ID": f"<ticket-{ticket.pk}-{_folded(to)}@{domain}>"},
    )
    message.attach(ticket.filename, paper, "application/pdf")
    message.send()


def note_sent(pk: int, *, to: str, whose: int) -> None:
    """Note that a ticket was emailed, and who had it emailed."""
    log = Log(by=models.User.objects.filter(pk=whose).first())
    log.note(None, models.WriteUp.objects.get(pk=pk), "ticket", "", f"Emailed to {to}")
    log.write()


def _check(row: models.WriteUp, to: str) -> None:
    if row.taken_back_on is not None:
        raise Refused(_GONE)
    if to not in dict(recipients(row.pk)):
        raise Refused({"to": _UNKNOWN})


def _folded(to: str) -> str:
    return sha256(to.encode()).hexdigest()[:16]
