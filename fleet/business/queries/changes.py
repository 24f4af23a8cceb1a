"""What was changed of an agreement or a promise of our own, for its page."""

from collections.abc import Iterator, Mapping

from django.db.models import Model

from fleet import models
from fleet.elements.named import local_moment
from fleet.rules.wording.changes import change

MOST = 50


def changes(row: Model, names: Mapping[str, str]) -> Iterator[str]:
    """The latest changes of a row in words, the newest first; `names` has what people call a field."""
    noted = models.Change.objects.filter(table=row._meta.model_name, object_id=row.pk).select_related("by")
    for one in noted.order_by("-at", "-pk")[:MOST]:
        who = one.by.get_full_name() or one.by.username if one.by else "a file"
        yield change(names, local_moment(one.at), who, one.field, one.before, one.after)
