"""Photos and papers: those of a unit or a site, and one of them as a file to hand out."""

from pathlib import Path

from django.db.models import Q, QuerySet

from fleet import models
from fleet.elements.named import local_moment
from fleet.registry.pages import documents as pages


def of_unit(pk: int) -> pages.Papers:
    """Show the photos and papers of a unit, with those of the write-ups that tell of it."""
    told = models.WriteUp.objects.filter(Q(records__unit=pk) | Q(readings__unit=pk) | Q(failures__unit=pk))
    return _papers("unit", pk, models.Document.objects.filter(Q(unit=pk) | Q(write_up__in=told.values("pk"))))


def of_site(pk: int) -> pages.Papers:
    """Show the photos and papers of a site."""
    return _papers("site", pk, models.Document.objects.filter(site=pk))


def of_failure(pk: int, *, unit: int) -> pages.Papers:
    """Show the photos and papers of a failure, which are its unit's too, with those of the write-up that found it."""
    told = models.WriteUp.objects.filter(failures=pk)
    return _papers("unit", unit, models.Document.objects.filter(Q(failure=pk) | Q(write_up__in=told.values("pk"))))


def kept(pk: int) -> pages.Kept | None:
    """Find a file to hand out; None where there is none, or it was dropped."""
    row = models.Document.objects.filter(pk=pk, dropped_on__isnull=True).first()
    if row is None:
        return None
    suffix = Path(row.stored).suffix
    # A photo was written anew as JPEG, whatever it was called before.
    name = f"{Path(row.name).stem}{suffix}"
    return pages.Kept(row.stored, row.small, row.media_type, name, row.kind == "photo")


def proves(row: models.Document | None) -> pages.Proof | None:
    """Show the paper that proves a registration, unless there is none or it was dropped."""
    if row is None or row.dropped_on is not None:
        return None
    return pages.Proof(row.pk, row.name, row.kind == "photo")


def _papers(of: str, pk: int, found: QuerySet[models.Document]) -> pages.Papers:
    rows = list(found.select_related("by").order_by("-at", "-pk"))
    shown = [_paper(row) for row in rows if row.dropped_on is None]
    return pages.Papers(
        of,
        pk,
        photos=tuple(paper for paper in shown if paper.is_photo),
        papers=tuple(paper for paper in shown if not paper.is_photo),
        dropped=tuple(_paper(row) for row in rows if row.dropped_on is not None),
    )


def _paper(row: models.Document) -> pages.Paper:
    return pages.Paper(
        pk=row.pk,
        is_photo=row.kind == "photo",
        name=row.name,
        caption=row.caption,
        added=local_moment(row.at),
        by=str(row.by or ""),
        size=pages.size_in_words(row.size),
        proves_registration=row.proves_registration,
        serial_read=row.serial_read,
    )
