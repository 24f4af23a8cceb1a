"""The look-up's own index: every text that somebody may know a customer, site or unit by, with look-alikes folded."""

from django.db import models

# The part of a site's entry that has all that it may be known by, its customer's name and phone too.
LINE = "line"


class LookupEntry(models.Model):
    """One text by which one thing can be found; `folded` has look-alike characters folded and nothing but letters and digits.

    The column has a substring index of the database's own (trigrams), made by the first migration.
    """

    kind = models.CharField(max_length=10)
    object_id = models.BigIntegerField()
    part = models.CharField(max_length=10)
    text = models.CharField(max_length=200)
    folded = models.CharField(max_length=200)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "object_id", "part"], name="lookupentry_once")]
        indexes = [
            # How the texts begin, for short ones. PostgreSQL compares character by character, as LIKE does, whatever its order of letters.
            models.Index(fields=["folded"], opclasses=["varchar_pattern_ops"], name="fleet_lookup_beginnings")
        ]

    def __str__(self) -> str:
        return self.text
