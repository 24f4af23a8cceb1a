"""Names that stand in a technician's place, and are those of another company."""

from collections.abc import Collection

from django.db.models import Exists, OuterRef, Q

from fleet import models


def others(names: Collection[str]) -> set[str]:
    """Those of some names that are another company's: it put in a unit, or somebody said at an import that it did the work."""
    if not names:
        return set()
    put_in = models.Unit.objects.filter(installed_by__in=names).order_by().values_list("installed_by")
    did = models.Load.objects.filter(done_by__in=names).order_by().values_list("done_by")
    return {name for (name,) in put_in.union(did)}


def is_other(name: str) -> Q:
    """Whether the name in a field of a row is another company's, in the question that reads the row."""
    put_in = models.Unit.objects.filter(installed_by=OuterRef(name))
    did = models.Load.objects.exclude(done_by="").values("done_by")
    return ~Q(**{name: ""}) & (Q(Exists(put_in)) | Q(**{f"{name}__in": did}))
