"""Templates of agreements: all of them, and one as its form shows it."""

from fleet import models
from fleet.rules.wording import agreements as wording

TERMS = (
    "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing", "renews", "rise_percent",
)  # fmt: skip


def every() -> list[tuple[int, str, str]]:
    """Each template by key and name, with its terms in words."""
    rows = models.AgreementTemplate.objects.all()
    return [(row.pk, row.name, wording.terms(row.months, row.visits_per_year, row.billing, 1)) for row in rows]


def shown(pk: int) -> dict[str, object] | None:
    """A template as its form shows it; None if there is none."""
    return models.AgreementTemplate.objects.filter(pk=pk).values("name", *TERMS).first()


def terms(text: str) -> dict[str, object]:
    """The terms that a new agreement starts from, by a template's key as an address has it; empty where there is none."""
    if not (text.isascii() and text.isdecimal() and len(text) < 19):
        return {}
    return dict(models.AgreementTemplate.objects.filter(pk=int(text)).values(*TERMS).first() or {})
