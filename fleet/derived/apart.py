"""What tells a customer from others of the same name: a street of theirs, kept beside the name for every list."""

from collections import defaultdict
from collections.abc import Collection, Iterator

from django.db.models import Count

from fleet import models


def keep(names: Collection[str]) -> None:
    """Keep anew what tells the customers of these names apart; call it in the transaction that changes a name or a street."""
    changed = []
    for row, street in _worked_out(names):
        if row.apart != street:
            row.apart = street
            changed.append(row)
    models.Customer.objects.bulk_update(changed, ["apart"], batch_size=100)


def told_apart() -> list[str]:
    """The names of which a street is kept."""
    return list(models.Customer.objects.exclude(apart="").order_by().values_list("name", flat=True).distinct())


def differences() -> Iterator[tuple[str, str, str]]:
    """Each customer of whom something else is kept than is so: the name, what is kept, and what is so."""
    shared = models.Customer.objects.order_by().values("name").annotate(n=Count("pk")).filter(n__gt=1)
    names = {*told_apart(), *shared.values_list("name", flat=True)}
    for row, street in _worked_out(names):
        if row.apart != street:
            yield row.name, row.apart, street


def _worked_out(names: Collection[str]) -> Iterator[tuple[models.Customer, str]]:
    """The customers of names that several have, or had, each with the street that is to be kept."""
    if not names:
        return
    of_them = models.Customer.objects.filter(name__in=names).order_by()
    several = set(of_them.values("name").annotate(n=Count("pk")).filter(n__gt=1).values_list("name", flat=True))
    had = set(of_them.exclude(apart="").values_list("name", flat=True))
    by_name: defaultdict[str, list[models.Customer]] = defaultdict(list)
    if several | had:
        for row in models.Customer.objects.filter(name__in=several | had).order_by("pk").prefetch_related("sites"):
            by_name[row.name].append(row)
    for rows in by_name.values():
        for row in rows:
            streets = (site.street for site in sorted(row.sites.all(), key=lambda site: site.pk) if site.street)
            yield row, next(streets, "") if len(rows) > 1 else ""
