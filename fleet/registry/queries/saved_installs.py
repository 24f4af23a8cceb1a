"""What follows from an install that was saved: what its units hold, what is to be registered, and what may still be undone."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.db.models import Count, Min, OuterRef, QuerySet, Subquery

from fleet import facts, models
from fleet.elements.named import as_it_stands, link, local_moment, start_words, what
from fleet.elements.pieces import counted
from fleet.registry.pages.new_install import InstallPage, Promise, SavedInstall
from fleet.registry.queries import editing
from fleet.rules import registration, wording, words
from fleet.rules.dates import DAY, in_words
from fleet.rules.registration import Standing, State
from fleet.rules.starts import Start, start_of

# How long a site offers to take an install back: later, one thing at a time is put right.
LATELY = 30 * DAY


def page(pk: int, *, on: dt.date) -> InstallPage | None:
    """A system with what its units hold; None if there is none."""
    system = models.System.objects.select_related("site__customer").filter(pk=pk).first()
    if system is None:
        return None
    rows = list(models.Unit.objects.in_service().filter(system=system).order_by("pk"))
    rows.sort(key=as_it_stands)
    book = facts.terms_on_file()
    told = list(facts.fleet_facts(rows, book).values())
    promises = _promises(told, book, on=on)
    site = system.site
    return InstallPage(
        pk=pk,
        system=system.name,
        site_pk=site.pk,
        site=site.name,
        customer_pk=site.customer_id,
        customer=site.customer.name,
        sentences=tuple(_sentences(told, promises, on=on)),
        promises=promises,
        units=tuple(link(row) for row in rows),
        saved=_saved(models.Unit.objects.filter(system=system), models.Load.objects.all()),
        places=editing.places_to_say(system.pk),
    )


def photos(units: Iterable[int]) -> frozenset[int]:
    """Those of the units that have a photo on file."""
    found = models.Document.objects.filter(unit__in=list(units), kind="photo", dropped_on=None)
    return frozenset(found.values_list("unit_id", flat=True).distinct())


def _saved(units: QuerySet[models.Unit], loads: QuerySet[models.Load]) -> tuple[SavedInstall, ...]:
    """List those of some installs that were typed on a screen, the latest first, with how many of some units each put in."""
    # Those of files have a digest.
    typed = loads.filter(pk__in=units.order_by().values("load"), kind="installs", digest="", by__isnull=False)
    mine = units.filter(load=OuterRef("pk")).order_by().values("load")
    # A unit that moved since stands in another system than the rest.
    rows: Any = typed.annotate(
        number=Subquery(mine.annotate(n=Count("pk")).values("n")),
        system=Subquery(mine.annotate(name=Min("system__name")).values("name")),
    )
    return tuple(
        SavedInstall(load.pk, load.system, load.number, f"{local_moment(load.at)} by {load.by}")
        for load in rows.select_related("by").order_by("-pk")
    )


def system_of(load: int) -> int | None:
    """A system that an install put units in; None where none of them is on file."""
    found: int | None = models.Unit.objects.filter(load=load).values_list("system_id", flat=True).first()
    return found


def saved_lately(site: int, *, on: dt.date) -> tuple[SavedInstall, ...]:
    """List those of a site that were saved so lately that somebody may still want them undone."""
    lately = models.Load.objects.filter(at__date__gte=on - LATELY)
    return _saved(models.Unit.objects.filter(system__site=site), lately)


def _promises(told: Sequence[facts.Told], book: facts.TermsBook, *, on: dt.date) -> tuple[Promise, ...]:
    """Put the units together that hold the same terms alike; what is to be registered soonest comes first."""
    alike: dict[tuple[str, Start, Standing], list[facts.Told]] = {}
    for one in told:
        for holding in one.holdings:
            start = start_of(one.unit, holding)
            standing = registration.standing(one.unit, holding, start=start.day, asked=on)
            alike.setdefault((holding.terms.code, start, standing), []).append(one)
    found = [
        Promise(
            pk=book.pks[code],
            title=book.by_code[code].title,
            payer=book.by_code[code].payer,
            count=len(units),
            units=_named(units, len(told)),
            start=start.day,
            start_words=start_words(start),
            assumed=start.assumed,
            registration=wording.standing(standing, asked=on),
            state=standing.state.value,
            deadline=standing.deadline,
        )
        for (code, start, standing), units in alike.items()
    ]
    return tuple(sorted(found, key=lambda one: _urgency(one, on=on)))


def _urgency(one: Promise, *, on: dt.date) -> tuple[int, dt.date, int, str]:
    states = (State.TO_DO.value, State.WAITING.value, State.MISSED.value)
    place = states.index(one.state) if one.state in states else len(states)
    return place, one.deadline or on, words.PAYERS.index(one.payer), one.title


def _named(units: Sequence[facts.Told], number: int) -> str:
    if len(units) == number:
        return counted(number, "unit") if number == 1 else f"all {counted(number, 'unit')}"
    return ", ".join(one.row.room or what(one.row) for one in units)


def _sentences(told: Sequence[facts.Told], promises: Sequence[Promise], *, on: dt.date) -> Iterator[str]:
    """What is to be registered by when, what waits for a date, and what holds no terms at all, in sentences."""
    number = {state: sum(one.count for one in promises if one.state == state) for state in map(str, State)}
    days = sorted({one.deadline for one in promises if one.state == State.TO_DO and one.deadline})
    if days:
        left = (days[0] - on).days
        when = f"{counted(left, 'day')} left" if left else "today"
        first = f"{'the first by' if len(days) > 1 else 'by'} {in_words(days[0])}"
        yield f"{_registrations(number[State.TO_DO])} to do, {first} ({when})."
    if number[State.WAITING]:
        yield f"{_registrations(number[State.WAITING])} waiting for a date."
    if number[State.MISSED]:
        yield f"{_registrations(number[State.MISSED])} missed already."
    if promises and not (days or number[State.WAITING] or number[State.MISSED]):
        yield "Nothing here has to be registered now."
    bare = [one for one in told if not one.holdings]
    if bare:
        names = ", ".join(sorted({f"{one.row.maker} {one.row.model}" for one in bare}))
        holds, them = ("holds", "it") if len(bare) == 1 else ("hold", "them")
        yield f"{counted(len(bare), 'unit').capitalize()} {holds} no terms on file, so no coverage is known for {them}: {names}."


def _registrations(number: int) -> str:
    return f"{counted(number, 'registration')} {'is' if number == 1 else 'are'}"
