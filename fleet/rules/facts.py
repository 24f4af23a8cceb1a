"""What the rules are told: frozen facts about a site, a unit and what was promised for it. None means that nobody recorded it."""

import datetime as dt
from dataclasses import dataclass, field

from fleet.rules.terms import Terms


@dataclass(frozen=True, slots=True)
class Use:
    """What a site is used for from a day on (None: ever since)."""

    use: str
    first: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Site:
    """One place of a customer's: where it lies, what it is used for and when, and on which days the house was sold."""

    region: str = ""
    uses: tuple[Use, ...] = ()
    new_construction: bool | None = None
    closed_on: dt.date | None = None
    sold_on: tuple[dt.date, ...] = ()

    def use_on(self, day: dt.date) -> str:
        """The use on a day, blank where nobody recorded it; `uses` is in order of days."""
        found = ""
        for use in self.uses:
            if use.first is None or use.first <= day:
                found = use.use
        return found


@dataclass(frozen=True, slots=True)
class Stay:
    """A unit at a site from a day on (None: since it was put in)."""

    site: Site
    first: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """That the outdoor unit of a system was exchanged on a day, and whether the system is a matched one since then."""

    first: dt.date
    matched: bool | None = None


@dataclass(frozen=True, slots=True)
class Repair:
    """A failure of a component with what is on file of its repair."""

    component: str
    failed_on: dt.date
    repaired_on: dt.date | None = None
    part_taken_on: dt.date | None = None
    new_part: bool = False


@dataclass(frozen=True, slots=True)
class Unit:
    """One thing with a serial, as the rules see it.

    A unit that came in exchange under warranty has the facts of the unit it took over from, its own repairs and `replaced_on`.
    `maintained_on` holds the days of technicians' maintenance records that count for this unit, in order. `matched_system` is
    as it was installed; `matches`, in order, what was answered at each exchange of an outdoor unit since then.
    """

    maker: str = ""
    model: str = ""
    stays: tuple[Stay, ...] = (Stay(Site()),)
    purchased_on: dt.date | None = None
    installed_on: dt.date | None = None
    started_on: dt.date | None = None
    manufactured_on: dt.date | None = None
    installed_by_us: bool = True
    recognized_installer: bool | None = None
    licensed_installer: bool | None = None
    matched_system: bool | None = None
    matches: tuple[Match, ...] = ()
    original_site: bool | None = None
    surroundings: frozenset[str] = frozenset()
    repairs: tuple[Repair, ...] = ()
    maintained_on: tuple[dt.date, ...] = ()
    replaced_on: dt.date | None = None
    exchanged_on: dt.date | None = None
    removed_on: dt.date | None = None

    @property
    def first_site(self) -> Site:
        """The site where the unit was put in."""
        return self.stays[0].site

    @property
    def moved_on(self) -> dt.date | None:
        """The first day on which the unit went to another site."""
        return self.stays[1].first if len(self.stays) > 1 else None

    def match_on(self, day: dt.date) -> Match | None:
        """The last exchange of an outdoor unit up to a day after which somebody said whether the system still matches."""
        return max((match for match in self.matches if match.first <= day), key=lambda one: one.first, default=None)

    def site_on(self, day: dt.date) -> Site:
        """The site where the unit stood on a day; a day of moving belongs to the new site."""
        found = self.stays[0].site
        for stay in self.stays[1:]:
            if stay.first is not None and stay.first <= day:
                found = stay.site
        return found


@dataclass(frozen=True, slots=True)
class Holding:
    """That one unit has these terms: with its own registration, reference number, notices of a sale and days.

    `attached` says that they were bought or promised for this very unit; `attached_on` when, if that is known.
    """

    terms: Terms
    attached: bool = False
    attached_on: dt.date | None = None
    registered_on: dt.date | None = None
    registration_number: str = ""
    accepted_late: bool = False
    notified_on: tuple[dt.date, ...] = field(default=())
