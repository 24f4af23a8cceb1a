"""The letter to an owner: what it says, whatever a name holds, and the same bytes each time."""

import io

from pypdf import PdfReader

from fleet.coverage.pages.registrations import OwnerLetter
from fleet.coverage.papers import owner_letter
from fleet.rules.company import Company

LETTER = OwnerLetter(
    written_on="March 2, 2026",
    sender=Company("Birch & Fell Heating"),
    owner="Łucja <b>Žák",
    address=("7 Tar Lane", "North Averley ME 04794"),
    payer="Northrill",
    title="Ductless statement",
    last_day="April 11, 2026",
    installed="February 10, 2026",
    units=(("wall head", "Northrill NH-9", "SB-0"), ("outdoor unit", "Northrill NX-36", "")),
    filename="letter.pdf",
)


def test_it_says_who_what_and_by_when_with_every_letter_of_a_name():
    text = " ".join(PdfReader(io.BytesIO(owner_letter.pdf(LETTER))).pages[0].extract_text().split())
    for said in (
        "Łucja <b>Žák",
        "Birch & Fell Heating",
        "Please do it by April 11, 2026.",
        "SB-0",
        "not on file",
    ):
        assert said in text


def test_the_same_letter_gives_the_same_bytes():
    assert owner_letter.pdf(LETTER) == owner_letter.pdf(LETTER)
