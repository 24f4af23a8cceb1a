"""Which photos of a write-up are on file."""

from django.db.models import Q, QuerySet

from fleet import models


def photos_arrived(row: models.WriteUp) -> QuerySet[models.Document]:
    """The photos on file that a phone may have sent for a write-up; also one that another write-up of the house had before."""
    here = Q(write_up=row) | Q(site=row.site_id) | Q(unit__places__system__site=row.site_id)
    return models.Document.objects.filter(here).exclude(sent_digest="").order_by()
