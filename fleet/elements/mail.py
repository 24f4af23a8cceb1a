"""Whom our mail comes from, and whether a server sends it at all."""

from email.utils import formataddr, parseaddr

from django.conf import settings


def works() -> bool:
    """Whether a mail server is named; without one, mail is printed where the server runs."""
    return bool(settings.EMAIL_HOST)


def sender(name: str) -> str:
    """Whom mail comes from: our own name, unless the server was set up with another one before its address."""
    known, address = parseaddr(settings.DEFAULT_FROM_EMAIL)
    return formataddr((known or name, address)) if address else settings.DEFAULT_FROM_EMAIL
