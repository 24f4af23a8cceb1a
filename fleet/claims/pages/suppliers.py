"""Suppliers, as their list shows them."""

from dataclasses import dataclass

from fleet.elements.lists import Column, Listing

FROM = {"failed_on": "the failure", "repaired_on": "the repair", "part_taken_on": "taking the part"}

COLUMNS = (
    Column("name", "Supplier", sorts=True),
    Column("phone", "Phone"),
    Column("email", "E-mail", shown=False),
    Column("file_within", "File within"),
    Column("part_back_within", "Old part back within"),
    Column("form_before_part", "Form before the part"),
    Column("fee", "Fee", "money", sorts=True),
    Column("open_claims", "Claims not over", "number", sorts=True),
)


@dataclass(frozen=True, slots=True)
class SuppliersPage:
    """Everybody that parts were bought from."""

    listing: Listing
