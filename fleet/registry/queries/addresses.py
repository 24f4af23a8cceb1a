"""A whole address written in one line, as street, town, state and ZIP code; what it leaves out is taken from what is on file."""

from dataclasses import dataclass

from fleet import models
from fleet.facts.company import row as company_row
from fleet.rules.spreadsheets.places import Address, region_name, take_apart

LONGEST = 300


@dataclass(frozen=True, slots=True)
class Parts:
    """An address in its parts, each as a form shows it: the state by its name. Blank: not known."""

    street: str
    city: str
    region: str
    postcode: str

    @property
    def words(self) -> str:
        """What was made of it, to be read over before it is saved."""
        place = " ".join(filter(None, (self.region, self.postcode)))
        return (
            f"Street: {self.street}. City: {self.city}.{f' {place}.' if place else ''} Correct it below if it is wrong."
        )


def read(text: str) -> Parts | None:
    """The parts of an address that says more than a street; None of any other text.

    A town that is on file is spelled as it is there. Where all sites on file there, or our own address, have one state and one ZIP
    code, those are taken for what the text leaves out; the state alone from our own address in any case.
    """
    one = take_apart(text[:LONGEST])
    if not one.street or not one.city:
        return None
    own = own_address()
    known = list(
        models.Site.objects.filter(city__iexact=one.city, region__in=(one.region,) if one.region else own_regions(own))
        .exclude(postcode="")
        .order_by()
        .values_list("city", "region", "postcode")
        .distinct()[:2]
    )
    if own.city.casefold() == one.city.casefold() and one.region in ("", own.region):
        known.append((own.city, own.region, own.postcode))
    city = known[0][0] if known else one.city
    postcodes = {postcode for _, _, postcode in known if postcode}
    postcode = one.postcode or (postcodes.pop() if len(postcodes) == 1 else "")
    return Parts(one.street, city, region_name(one.region or own.region), postcode)


def own_address() -> Address:
    """Our own address, as far as the company's page has it."""
    return take_apart(", ".join(company_row().address.splitlines()))


def own_state() -> str:
    """The name of the state that our own address is in; blank where it is not on file."""
    return region_name(own_address().region)


def own_regions(own: Address) -> tuple[str, ...]:
    """The regions in which a town without a state is looked for: our own and none, for a site without one."""
    return (own.region, "")
