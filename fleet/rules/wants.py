"""What the payer of a claim wants to see: what is there, what is missing, and who could supply it."""

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from fleet.rules.terms import ClaimTerms


class Evidence(StrEnum):
    """What a claim may be proven with, as far as the record can hold it."""

    SERIAL = "serial"
    START = "the day it was installed or started"
    REPAIR = "the day it was repaired"
    CAUSE = "cause"
    NEW_PART_NUMBER = "the new part's number"
    OLD_PART_NUMBER = "the old part's number"
    APPROVAL = "the payer's prior approval"
    REGISTRATION = "registration number"
    CONFIRMATION = "the payer's letter to the customer"
    PURCHASE = "proof of purchase"
    OUR_INVOICE = "our invoice"
    SUPPLIERS_INVOICE = "the supplier's invoice"
    TICKET = "signed ticket"
    NAMEPLATE = "photo of the nameplate"
    OLD_PART_PHOTO = "photo of the old part"
    PHOTO = "photo"
    READINGS = "readings"
    FAULT_CODE = "fault code"
    REFRIGERANT = "weight of refrigerant"
    MAINTENANCE = "maintenance record"


class Who(StrEnum):
    """Who could supply what is missing."""

    TECHNICIAN = "technician"
    OFFICE = "office"
    CUSTOMER = "customer"
    SUPPLIER = "supplier"
    PAYER = "payer"


_SUPPLIED_BY = {
    Evidence.SERIAL: Who.TECHNICIAN,
    Evidence.START: Who.OFFICE,
    Evidence.REPAIR: Who.TECHNICIAN,
    Evidence.CAUSE: Who.TECHNICIAN,
    Evidence.NEW_PART_NUMBER: Who.TECHNICIAN,
    Evidence.OLD_PART_NUMBER: Who.TECHNICIAN,
    Evidence.APPROVAL: Who.PAYER,
    Evidence.REGISTRATION: Who.OFFICE,
    Evidence.CONFIRMATION: Who.CUSTOMER,
    Evidence.PURCHASE: Who.CUSTOMER,
    Evidence.OUR_INVOICE: Who.OFFICE,
    Evidence.SUPPLIERS_INVOICE: Who.SUPPLIER,
    Evidence.TICKET: Who.TECHNICIAN,
    Evidence.NAMEPLATE: Who.TECHNICIAN,
    Evidence.OLD_PART_PHOTO: Who.TECHNICIAN,
    Evidence.PHOTO: Who.TECHNICIAN,
    Evidence.READINGS: Who.TECHNICIAN,
    Evidence.FAULT_CODE: Who.TECHNICIAN,
    Evidence.REFRIGERANT: Who.TECHNICIAN,
    Evidence.MAINTENANCE: Who.OFFICE,
}
# Papers say what they want in words of their own: the first row whose words all stand in them says what is meant.
_MEANT: tuple[tuple[tuple[str, ...], Evidence], ...] = (
    (("nameplate",), Evidence.NAMEPLATE),
    (("rating plate",), Evidence.NAMEPLATE),
    (("photo", "part"), Evidence.OLD_PART_PHOTO),
    (("photo",), Evidence.PHOTO),
    (("reading",), Evidence.READINGS),
    (("fault code",), Evidence.FAULT_CODE),
    (("number", "new part"), Evidence.NEW_PART_NUMBER),
    (("number", "part"), Evidence.OLD_PART_NUMBER),
    (("ticket",), Evidence.TICKET),
    (("maintenance",), Evidence.MAINTENANCE),
    (("prior approval",), Evidence.APPROVAL),
    (("leave",), Evidence.APPROVAL),
    (("confirmation", "letter"), Evidence.CONFIRMATION),
    (("regist",), Evidence.REGISTRATION),
    (("receipt",), Evidence.PURCHASE),
    (("purchase",), Evidence.PURCHASE),
    (("supplier", "invoice"), Evidence.SUPPLIERS_INVOICE),
    (("invoice",), Evidence.OUR_INVOICE),
    (("refrigerant",), Evidence.REFRIGERANT),
    (("serial",), Evidence.SERIAL),
    (("cause",), Evidence.CAUSE),
)
_EVERY_CLAIM = (Evidence.SERIAL, Evidence.START, Evidence.REPAIR, Evidence.CAUSE)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One thing that a claim needs: in the payer's own words where the payer asks, whether it is there, and who could supply it."""

    text: str
    there: bool
    who: Who
    asked_by_payer: bool


def wanted(
    rules: ClaimTerms,
    *,
    component: str,
    kinds: Collection[str],
    on_file: Collection[Evidence],
    given: Collection[str] = (),
    registered_by: str = "either",
) -> tuple[Wanted, ...]:
    """List what a claim needs: first what its payer asks, then what no claim goes without.

    A want of the payer's is there if what it means is on file, or somebody gave a document for it (`given`, in the
    payer's words). One whose words nobody foresaw is there only if it was given; the office finds out who has it.
    """
    held = {text.casefold().strip() for text in given}
    found, said = [], set()
    for text in rules.wants:
        meant = means(text)
        said.add(meant)
        there = meant in on_file or text.casefold().strip() in held
        found.append(Wanted(text, there, _who(meant, registered_by), asked_by_payer=True))
    parts = "parts" in kinds
    basics = (
        *_EVERY_CLAIM,
        *((Evidence.NEW_PART_NUMBER,) if parts else ()),
        *((Evidence.APPROVAL,) if parts and component in rules.leave_first else ()),
    )
    for evidence in basics:
        if evidence not in said:
            there = evidence in on_file or evidence in held
            found.append(Wanted(evidence.value, there, _SUPPLIED_BY[evidence], asked_by_payer=False))
    return tuple(found)


def means(text: str) -> Evidence | None:
    """Read what a payer's want means; None where its words are none that were foreseen.

    >>> means("Readings before the repair").value
    'readings'
    """
    folded = text.casefold()
    return next((evidence for words, evidence in _MEANT if all(word in folded for word in words)), None)


def _who(meant: Evidence | None, registered_by: str) -> Who:
    if meant is None:
        return Who.OFFICE
    # Where only the owner may register, only the owner was told the number.
    owners = meant is Evidence.REGISTRATION and registered_by == "owner"
    return Who.CUSTOMER if owners else _SUPPLIED_BY[meant]
