"""Whose place a head may have taken: those that were taken out of its system before it was put in."""

from collections.abc import Iterable

from fleet import models


def gone(system: int) -> list[models.Unit]:
    """The heads that were taken out of a system and that no other took over from, the latest to go first."""
    heads = models.Unit.objects.filter(system=system, role="head", removed_on__isnull=False, taken_over_by=None)
    return list(heads.select_related("place_taken_by").order_by("-removed_on", "-pk"))


def offered(unit: models.Unit, heads: Iterable[models.Unit]) -> list[models.Unit]:
    """Those of them in whose place a unit may stand: they went before it was put in, and no other stands there."""
    if unit.role != "head" or unit.removed_on is not None or unit.took_over_from_id is not None:
        return []
    put_in = unit.installed_on or unit.started_on
    return [
        one
        for one in heads
        if (put_in is None or one.removed_on is None or one.removed_on <= put_in)
        and getattr(one, "place_taken_by", unit) == unit
    ]
