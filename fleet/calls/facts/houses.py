"""Whether a house came on file with a call, by what the log of changes says."""

from fleet import models

# The log's word for a row that came with a call.
PUT_ON_FILE = "put_on_file"


def came_with_a_call(row: models.Site | models.Customer) -> bool:
    """Whether a site or its customer was put on file with a call."""
    changes = models.Change.objects.filter(table=row._meta.model_name, object_id=row.pk)
    return changes.filter(field=PUT_ON_FILE).exists()


def may_take_off(site: models.Site) -> bool:
    """Whether a site that came with a call has nothing yet that everybody would miss: no system and no visit."""
    if not came_with_a_call(site):
        return False
    return not (site.systems.exists() or models.Booking.objects.filter(site=site).exists())
