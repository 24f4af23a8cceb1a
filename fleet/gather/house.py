"""What the company has settled for itself, as its one row says."""

from fleet import models


def house() -> models.House:
    """Give the row of house settings, or one with everything as it is before anybody settled it (not saved)."""
    return models.House.objects.filter(pk=1).first() or models.House(pk=1)
