"""To whom the ticket of a visit may be emailed."""

from fleet import models


def recipients(write_up: int) -> tuple[tuple[str, str], ...]:
    """The email addresses on file of a write-up's customer and of the contacts of its site, each once, with whose it is."""
    site = models.Site.objects.select_related("customer").get(write_ups=write_up)
    known = [(site.customer.email, site.customer.name)]
    known += [(one.email, f"{one.name} ({one.role})") for one in site.contacts.all()]
    first: dict[str, str] = {}
    for email, name in known:
        if email:
            first.setdefault(email, f"{name}, {email}")
    return tuple(first.items())
