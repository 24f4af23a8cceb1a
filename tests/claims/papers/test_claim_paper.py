"""The claim paper and the return tag: all that they say, whatever was typed, the same bytes each time."""

import io
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image, ImageDraw
from pypdf import PdfReader

from fleet.claims.pages.claim_paper import ClaimPaper, Photo, ReturnTag, Section
from fleet.claims.papers import claim_paper, return_tag
from fleet.rules.company import Company
from tests.conftest import lacking


def jpeg(width: int = 1200, height: int = 900) -> bytes:
    image = Image.new("RGB", (width, height), (214, 208, 190))
    ImageDraw.Draw(image).rectangle((80, 80, width - 80, height - 80), outline=(30, 30, 30), width=12)
    out = io.BytesIO()
    image.save(out, "JPEG")
    return out.getvalue()


PAPER = ClaimPaper(
    sender=Company("Birch & Fell Heating", ("12 Quay Street",)),
    payer="Northrill",
    title="Ductless statement",
    number="17",
    reference="NR-5521/é",
    about="indoor coil, Northrill NH-9 SB-1002",
    sections=(
        Section(
            "The unit",
            facts=(
                ("Maker and model", "Northrill NH-9"),
                ("Serial", "SB-1002"),
                ("Owner", "Łucja <b>Žák</b> & sons"),
                ("Place", "7 Tar Lane\nЖуравка ME 04794"),
            ),
        ),
        Section("What failed", lines=("A leak <i>at the header</i>.\nFound on May 4, 2026 by José.",)),
        Section("Readings", columns=("What", "Value"), rows=(("superheat", "21 °F"), ("pressure", "88 psi"))),
        Section(
            "Money asked",
            columns=("For", "Amount"),
            rows=(("Parts: $412.50.", "$412.50"), ("Asked for", "$412.50")),
            sums=True,
        ),
    ),
    photos=(Photo("nameplate <script>", jpeg()),),
    filename="claim-17.pdf",
)
TAG = ReturnTag(
    sender=Company("Birch & Fell Heating"),
    to="Northrill",
    number="17",
    reference="NR-5521",
    part="indoor coil",
    facts=(
        ("Old part number", "CL-88"),
        ("From unit", "Northrill NH-9, serial SB-1002"),
        ("Back by", "May 25, 2026"),
    ),
    address="https://office.birch-and-fell.example/claims/17",
    filename="tag-17.pdf",
)


def said(pdf: bytes) -> list[str]:
    """The text of each page, its spaces and line ends folded."""
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages]


def test_every_word_of_the_claim_is_on_the_paper_as_it_was_typed():
    text = " ".join(said(claim_paper.pdf(PAPER)))
    told = [
        PAPER.sender.name,
        *PAPER.sender.below,
        f"Claim 17 to {PAPER.payer}",
        PAPER.title,
        f"Your reference {PAPER.reference}",
    ]
    for section in PAPER.sections:
        told += [section.heading, *section.columns]
        told += [part for fact in section.facts for part in fact]
        told += [cell for row in section.rows for cell in row]
        told += section.lines
    for words in [*told, *(photo.caption for photo in PAPER.photos)]:
        assert " ".join(words.split()) in text, words


@pytest.mark.parametrize("letters", ["Łódź", "Žižka", "José", "Журавль", "Ğüler", "Ångström"])
def test_the_letters_of_a_name_print(letters):
    changed = replace(PAPER, sections=(Section("The unit", facts=(("Owner", letters),)),))
    assert letters in said(claim_paper.pdf(changed))[0]


@pytest.mark.parametrize(
    "typed", ["<b>bold", "a < b & c > d", '<img src="file.png"/>', "&amp; &lt;", "<para>x</para>", "</font>"]
)
def test_what_looks_like_markup_prints_as_typed(typed):
    changed = replace(
        PAPER, sender=Company(typed), sections=(Section(typed, facts=((typed, typed),), lines=(typed,)),), photos=()
    )
    assert " ".join(said(claim_paper.pdf(changed))).count(typed) == 5


def test_the_same_claim_gives_the_same_bytes():
    assert claim_paper.pdf(PAPER) == claim_paper.pdf(PAPER)
    assert return_tag.pdf(TAG) == return_tag.pdf(TAG)


def test_each_page_says_which_it_is_of_how_many():
    many = Section(
        "Maintenance record", columns=("Day", "What"), rows=tuple((f"{n} May 2024", "coil") for n in range(1, 120))
    )
    pages = said(claim_paper.pdf(replace(PAPER, sections=(*PAPER.sections, many))))
    assert len(pages) >= 3
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "Claim 17 · indoor coil" in page


def test_a_very_long_note_runs_on_over_pages():
    note = "word " * 3_000
    pages = said(claim_paper.pdf(replace(PAPER, sections=(Section("Notes", facts=(("Notes", note),), lines=(note,)),))))
    assert sum(page.count("word") for page in pages) == 6_000


def test_the_photos_stand_in_it_as_they_are_kept():
    reader = PdfReader(io.BytesIO(claim_paper.pdf(PAPER)))
    images = [image for page in reader.pages for image in page.images]
    assert [(image.image.width, image.image.height) for image in images] == [(1200, 900)]


@pytest.mark.parametrize("rows", range(20, 40, 3))
def test_the_heading_of_the_photos_never_stands_alone_at_the_foot_of_a_page(rows):
    many = Section("Readings", columns=("What", "Value"), rows=tuple((f"reading {n}", "1") for n in range(rows)))
    changed = replace(PAPER, sections=(many,), photos=PAPER.photos * 3)
    (page,) = [page for page in said(claim_paper.pdf(changed)) if "Photos" in page]
    assert "nameplate <script>" in page


def test_the_tag_says_what_goes_back_to_whom():
    (text,) = said(return_tag.pdf(TAG))
    for words in ("Old part to return", "indoor coil", "To Northrill", "CL-88", "May 25, 2026", "Claim 17", "NR-5521"):
        assert words in text


@pytest.mark.parametrize("dpi", [100, 200])
def test_the_code_on_the_tag_opens_the_claim(dpi, tmp_path: Path):
    if shutil.which("pdftoppm") is None:
        lacking("pdftoppm is not installed (Debian: apt-get install poppler-utils)")
    (tmp_path / "tag.pdf").write_bytes(return_tag.pdf(TAG))
    subprocess.run(["pdftoppm", "-r", str(dpi), "-png", "tag.pdf", "tag"], cwd=tmp_path, check=True)
    (picture,) = tmp_path.glob("tag*.png")
    (found,) = zxingcpp.read_barcodes(Image.open(picture), formats=(zxingcpp.BarcodeFormat.QRCode,))
    assert found.text == TAG.address
