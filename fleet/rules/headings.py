"""Headings of other people's sheets: what they most likely mean, and when two header rows are the same."""

import hashlib
import re
import unicodedata
from collections.abc import Collection, Iterable, Sequence

# The column in which a file that comes back says what is wrong; it is never read.
WRONG = "What is wrong"

_NOT_ALPHANUMERIC = re.compile(r"[\W_]+")
# What people write for a column of ours. Only ever a suggestion, which somebody confirms.
_ALSO = {
    "customer": ("customer name", "client", "client name", "homeowner", "owner", "account", "account name", "name", "bill to"),
    "phone": ("phone number", "telephone", "tel", "cell", "cell phone", "mobile"),
    "email": ("e-mail", "email address", "mail"),
    "site": ("site name", "property", "place", "location name", "job site", "job name", "service location"),
    "street": ("address", "street address", "address 1", "address line 1", "site address", "service address"),
    "city": ("town", "site city"),
    "region": ("state", "province", "state code"),
    "postcode": ("zip", "zip code", "postal code", "post code"),
    "use": ("occupancy", "use of the house", "use of house", "property type"),
    "new_construction": ("new house", "new build", "new construction?"),
    "closed_on": ("closing date", "closing day", "closed", "date closed", "closing"),
    "system": ("system name", "system number", "system no", "system #"),
    "role": ("unit type", "equipment type", "equipment", "kind of unit", "kind", "type", "type of unit"),
    "style": ("head style", "head type", "mounting"),
    "room": ("location", "room name", "area", "zone", "where"),
    "maker": ("make", "brand", "manufacturer", "mfr", "mfg"),
    "model": ("model number", "model no", "model #", "mod no"),
    "serial": ("serial number", "serial no", "serial #", "s/n", "sn", "ser no"),
    "purchased_on": ("purchase date", "date purchased", "bought", "invoice date", "date of purchase"),
    "installed_on": ("install date", "installation date", "date installed", "installed", "date of installation", "date of install"),
    "started_on": ("start-up date", "startup date", "startup", "date started", "commissioned", "commissioning date", "started", "start date"),
    "manufactured_on": ("manufacture date", "manufactured", "date of manufacture", "mfg date", "built"),
    "installed_by": ("installing company", "installing contractor", "contractor"),
    "installer": ("technician", "installed by technician", "lead installer"),
    "registered_on": ("registration date", "date registered", "registered"),
    "registration_number": ("registration no", "registration #", "registration", "confirmation number", "confirmation"),
    "notes": ("note", "comment", "comments", "remarks", "memo"),
    "day": ("date", "service date", "date of service"),
    "kind": ("what happened", "event", "type of work"),
    "component": ("failed part", "part that failed"),
    "part_number": ("part no", "part #", "old part number"),
    "new_part_number": ("new part no", "new part #"),
    "technician": ("tech", "serviced by"),
    "reference": ("invoice", "invoice number", "ticket", "ticket number", "work order", "job number", "ref"),
    "labor_minutes": ("minutes", "labor min"),
    "parts_cost": ("cost of parts", "parts price"),
}  # fmt: skip


def fold(heading: str) -> str:
    """Fold a heading to its letters and digits.

    >>> fold("  Date_Installed "), fold("Serial #"), fold("N°")
    ('dateinstalled', 'serial', 'n')
    """
    return _NOT_ALPHANUMERIC.sub("", unicodedata.normalize("NFC", heading).casefold())


def digest(headings: Iterable[str]) -> str:
    """Fold a header row, whatever the order of its columns, to what it is remembered by."""
    folded = sorted(fold(heading) for heading in headings if heading != WRONG)
    return hashlib.sha256("\n".join(folded).encode()).hexdigest()


def suggest(headings: Sequence[str], ours: Collection[str], known: dict[str, str]) -> dict[str, str]:
    """Suggest our column for each heading that most likely means one; each of ours at most once.

    What was said of a heading before (`known`, by folded heading) comes first, then our own names, then what people write.
    """
    meant = {fold(also): name for name, others in _ALSO.items() if name in ours for also in others}
    by_name = {fold(name): name for name in ours}
    found: dict[str, str] = {}
    for tried in (known, by_name, meant):
        for heading in headings:
            name = tried.get(fold(heading), "")
            if heading not in found and name in ours and name not in found.values():
                found[heading] = name
    return found


def label(name: str) -> str:
    """One of our columns in words.

    >>> label("installed_on"), label("parts_cost")
    ('Installed on', 'Parts cost')
    """
    return name.replace("_", " ").capitalize()
