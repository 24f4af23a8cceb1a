"""The fewest visits that meet every window of the sites' dues, planned forward, day by day, within the hours on hand.

1. A site's technician dues are windows, and so are the visits that its agreements promise.
2. Sites with something late come first: each gets the first working day that still has the hours.
3. Then, over all sites, the visit whose last possible day comes first. It meets every window that is open on that day, which
   is how the fewest visits meet them all; its own day is the best of those that these windows share.
4. What was done counts on from there: each task's next window joins in.
"""

import datetime as dt
import heapq
from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fleet.rules.care import Due
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span
from fleet.rules.revenue import Agreement


@dataclass(frozen=True, slots=True)
class House:
    """The house's own settings: which weekdays are worked (0 is Monday), which days are closed, minutes on hand a day (0: no limit)."""

    weekdays: frozenset[int] = frozenset(range(5))
    closed: frozenset[dt.date] = frozenset()
    minutes_a_day: int = 360

    def __post_init__(self) -> None:
        if not self.weekdays & set(range(7)):
            raise ValueError("At least one weekday must be worked.")


@dataclass(frozen=True, slots=True)
class SiteWork:
    """One site to plan visits for: its dues as worked out on the first day asked for, its agreements, the drive there and back.

    `visited` are the days of visits that were made, or are booked: what an agreement promises around one of them is met.
    """

    customer: str
    site: str
    dues: tuple[Due, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    drive_minutes: int = 0
    visited: tuple[dt.date, ...] = ()


@dataclass(frozen=True, slots=True)
class Met:
    """A window that a visit meets: of a due, or (without one) of a visit that an agreement promises."""

    due: Due | None
    span: Span


@dataclass(frozen=True, slots=True)
class Visit:
    """One trip to one site: the day, what is done in which order of serials, how long it takes and its list price."""

    customer: str
    site: str
    on: dt.date
    minutes: int
    price: Decimal
    agreement: bool
    met: tuple[Met, ...]

    @property
    def dues(self) -> tuple[Due, ...]:
        """The dues it meets, by serial and task."""
        found = [one.due for one in self.met if one.due is not None]
        return tuple(sorted(found, key=lambda due: (due.serial, due.task.code, due.unit)))


# ------------------------------------------------------------------------------------------------- minutes and prices


def minutes(dues: Iterable[Due], sheet: CareSheet, *, drive_minutes: int = 0) -> int:
    """Say how long a visit takes: setting up, each due, once the access of each unit that one stands under, and the drive."""
    dues = tuple(dues)
    access = {due.unit: due.access for due in dues}
    extra = sum(sheet.extra_minutes(word) for word in access.values() if word)
    return sheet.setup_minutes + drive_minutes + extra + sum(due.task.minutes for due in dues)


def price(dues: Iterable[Due]) -> Decimal:
    """Give a visit's list price: of one task's dues in one system the first at its price, the others at the further price."""
    counted = Counter((due.system, due.task) for due in dues)
    return sum((task.price_of(count) for (_, task), count in counted.items()), Decimal(0))


def pays_for_drive(price: Decimal, *, drive_minutes: int, an_hour: Decimal) -> bool:
    """Tell whether what a visit brings pays at least for the time on the road, at what an hour there costs.

    >>> pays_for_drive(Decimal("55.00"), drive_minutes=60, an_hour=Decimal("55.00"))
    True
    >>> pays_for_drive(Decimal("55.00"), drive_minutes=61, an_hour=Decimal("55.00"))
    False
    """
    return price * 60 >= an_hour * drive_minutes


# ----------------------------------------------------------------------------------------------------------- the hours


class _Calendar:
    """The working days from the first day on, and how many minutes of each are taken; it grows as days are asked for."""

    _BLOCK = 32
    _GROWS = 32 * 12

    def __init__(self, house: House, first: dt.date) -> None:
        self._house = house
        self._next = first
        self.limit = house.minutes_a_day
        self.days: list[int] = []
        self.months: list[int] = []
        self.taken: list[int] = []
        self._least: list[int] = []

    def _grow(self) -> None:
        wanted = len(self.days) + self._GROWS
        day = self._next
        while len(self.days) < wanted:
            if day.weekday() in self._house.weekdays and day not in self._house.closed:
                self.days.append(day.toordinal())
                self.months.append(day.month)
            day += DAY
        self._next = day
        self.taken.extend([0] * self._GROWS)
        self._least.extend([0] * (self._GROWS // self._BLOCK))

    def place(self, day: int) -> int:
        """Give the place of the first working day from a day on."""
        while not self.days or self.days[-1] < day:
            self._grow()
        return bisect_left(self.days, day)

    def working(self, day: int) -> bool:
        """Whether a day is worked."""
        return self.days[self.place(day)] == day

    def days_of(self, begin: int, end: int) -> tuple[int, int]:
        """Give the first and last of a window's days: its working days, or its last day if it has none.

        A window whose begin is past its end has one day, the first working day from its begin.
        """
        first = self.days[self.place(begin)]
        if begin > end:
            return first, first
        if first > end:
            return end, end
        self.place(end)
        return first, self.days[bisect_right(self.days, end) - 1]

    def take(self, place: int, number: int) -> None:
        """Take so many minutes of a day."""
        self.taken[place] += number
        block = place // self._BLOCK
        self._least[block] = min(self.taken[block * self._BLOCK : (block + 1) * self._BLOCK])

    def first_with(self, most: int, begin: int, end: int | None) -> int | None:
        """Find the first place from begin on, and before end, of which at most so many minutes are taken."""
        place = begin
        while end is None or place < end:
            while place >= len(self.taken):
                self._grow()
            block = place // self._BLOCK
            if self._least[block] > most:
                place = (block + 1) * self._BLOCK
            elif self.taken[place] <= most:
                return place
            else:
                place += 1
        return None


# ----------------------------------------------------------------------------------------------------------- the windows


@dataclass(slots=True, eq=False)
class _Window:
    """A window with its days as ordinals: `first` and `last` of its working days, `target` the day it would best be met on.

    `more` gives the windows that follow, where an agreement promises visits.
    """

    due: Due | None
    begin: int
    end: int
    target: int
    first: int
    last: int
    more: Iterator[Span] | None = None

    def following(self, plan: "_Plan") -> "_Window | None":
        """Give the next window of the agreement that promised this one."""
        return None if self.more is None else plan.promised(self.more)

    def met(self) -> Met:
        """Say what a visit meets: the days from its begin to its end, or to its one day where that is later."""
        begin, end = dt.date.fromordinal(self.begin), dt.date.fromordinal(max(self.end, self.last))
        return Met(self.due, Span(begin, end))


def _must(windows: Iterable[_Window], calendar: _Calendar) -> list[_Window]:
    """List the windows that are open on the earliest last day among all: those that the next visit must meet."""
    windows = tuple(windows)
    day = min(window.last for window in windows)
    must = [window for window in windows if window.first <= day]
    if len(must) > 1 and not calendar.working(day):
        # A day that is not worked is one of a window's days only where the window has no other.
        return [window for window in must if window.first == window.last == day]
    return must


def _unmet(promised: Iterator[Span], visited: Collection[dt.date]) -> Iterator[Span]:
    """Leave out the visits sold that were made, or are booked: one visit on any of its days meets each."""
    return (span for span in promised if not any(day in span for day in visited))


class _Site:
    """One site while its visits are planned: the windows that no visit meets yet."""

    def __init__(self, work: SiteWork, plan: "_Plan") -> None:
        self.work = work
        self._plan = plan
        self.windows = [plan.window(due) for due in work.dues if due.task.by == "technician"]
        for agreement in work.agreements:
            promised = agreement.visit_windows(first=plan.first, today=plan.first)
            if work.visited:
                promised = _unmet(promised, work.visited)
            window = plan.promised(promised)
            if window is not None:
                self.windows.append(window)

    @property
    def late_days(self) -> int:
        """How many days the latest of its windows is late on the first day asked for."""
        first = self._plan.first.toordinal()
        return max((first - window.end for window in self.windows if window.due is not None), default=0)

    def next_stop(self) -> None:
        """Find the windows that the next visit must meet, and the first and last of the days that they share."""
        self.must = _must(self.windows, self._plan.calendar)
        self.first = max(window.first for window in self.must)
        self.last = min(window.last for window in self.must)

    def visit(self, day: int, met: Sequence[_Window], length: int) -> Visit:
        """Meet windows on a day: each task counts on from there, and each agreement goes on to its next window."""
        taken = set(map(id, met))
        on = dt.date.fromordinal(day)
        self.windows = [window for window in self.windows if id(window) not in taken]
        all_met = list(met)
        for window in met:
            following: _Window | None
            if window.due is not None:
                following = self._plan.window(window.due.after(on), planned=on)
            else:
                following = window.following(self._plan)
                while (
                    following is not None and following.first <= day
                ):  # it opened, or even closed, while hours were short
                    all_met.append(following)
                    following = following.following(self._plan)
            if following is not None:
                self.windows.append(following)
        return Visit(
            self.work.customer,
            self.work.site,
            on,
            length,
            price(window.due for window in met if window.due is not None),
            any(agreement.in_force(on, today=self._plan.first) for agreement in self.work.agreements),
            tuple(window.met() for window in all_met),
        )


@dataclass(slots=True)
class _Plan:
    """What all sites share: the first day asked for, the care sheet, and the calendar with its hours."""

    sheet: CareSheet
    first: dt.date
    calendar: _Calendar

    def window(self, due: Due, *, planned: dt.date | None = None) -> _Window:
        """Make a due a window: not before the first day, what it waits for, or the day after it was last planned."""
        begin, end = max(due.opens_on, self.first), due.late_after
        if due.not_before is not None:
            begin = max(begin, due.not_before)
            end = max(end, due.not_before + dt.timedelta(days=due.task.late_days))
        if planned is not None:
            begin = max(begin, planned + DAY)
        first, last = self.calendar.days_of(begin.toordinal(), end.toordinal())
        return _Window(due, begin.toordinal(), end.toordinal(), due.due_on.toordinal(), first, last)

    def promised(self, spans: Iterator[Span]) -> _Window | None:
        """Make the next visit that an agreement promises a window; its target is the middle of the days that were sold."""
        span = next(spans, None)
        if span is None or span.last is None:
            return None
        begin, end = max(span.first, self.first).toordinal(), span.last.toordinal()
        target = span.first.toordinal() + (end - span.first.toordinal()) // 2
        return _Window(None, begin, end, target, *self.calendar.days_of(begin, end), more=spans)

    def minutes(self, site: _Site, windows: Iterable[_Window]) -> int:
        dues = [window.due for window in windows if window.due is not None]
        return minutes(dues, self.sheet, drive_minutes=site.work.drive_minutes)


# -------------------------------------------------------------------------------------------------------------- the plan


def plan(
    sites: Iterable[SiteWork], sheet: CareSheet, house: House, *, first: dt.date, until: dt.date
) -> tuple[Visit, ...]:
    """Plan the visits of all sites, and list those on or before the last day asked for, by day, customer and site."""
    found = planned(sites, sheet, house, first=first, until=until)
    return tuple(sorted(found, key=lambda visit: (visit.on, visit.customer, visit.site)))


def planned(
    sites: Iterable[SiteWork],
    sheet: CareSheet,
    house: House,
    *,
    first: dt.date,
    until: dt.date,
    booked: Mapping[dt.date, int] | None = None,
) -> Iterator[Visit]:
    """Plan the visits of all sites in the order in which they take up hours; give those on or before the last day asked for.

    `booked` has the minutes of days that visits already have; a visit booked on a day that is not worked takes no one's hours.
    """
    shared = _Plan(sheet, first, _Calendar(house, first))
    for day, taken in (booked or {}).items():
        if day >= first and shared.calendar.working(day.toordinal()):
            shared.calendar.take(shared.calendar.place(day.toordinal()), taken)
    waiting = sorted((_Site(work, shared) for work in sites), key=lambda site: (site.work.customer, site.work.site))
    waiting = [site for site in waiting if site.windows]
    late = [site for site in waiting if site.late_days > 0]
    for site in sorted(late, key=lambda site: -site.late_days):
        visit = _soonest(site, shared)
        if visit.on <= until:
            yield visit
    yield from _in_turn(waiting, shared, until=until)


def _soonest(site: _Site, shared: _Plan) -> Visit:
    """Visit a site with something late on the first working day that still has the hours; what closed meanwhile is taken along.

    A visit longer than a whole day's hours takes a day of which nothing is taken.
    """
    calendar = shared.calendar
    windows = sorted(site.windows, key=lambda window: window.first)
    place = calendar.place(shared.first.toordinal())
    count = 0
    while True:
        while count < len(windows) and windows[count].first <= calendar.days[place]:
            count += 1
        met = windows[:count]
        length = shared.minutes(site, met)
        end = calendar.place(windows[count].first) if count < len(windows) else None
        if not calendar.limit:
            break
        room = calendar.limit - length
        found = calendar.first_with(max(room, 0), place, end)
        if found is not None:
            place = found
            break
        assert end is not None
        place = end
    calendar.take(place, length)
    return site.visit(calendar.days[place], met, length)


def _in_turn(sites: Sequence[_Site], shared: _Plan, *, until: dt.date) -> Iterator[Visit]:
    """Plan, over all sites, the visit whose last possible day comes first, until no site can be visited by the last day asked for.

    A visit past that day still uses hours that others might have had.
    """
    last, limited = until.toordinal(), shared.calendar.limit > 0
    queue: list[tuple[int, int]] = []
    open_sites = 0

    def put(number: int) -> int:
        site = sites[number]
        if not site.windows:
            return 0
        site.next_stop()
        open_ = site.first <= last
        if open_ or limited:
            heapq.heappush(queue, (site.last, number))
        return int(open_)

    for number in range(len(sites)):
        open_sites += put(number)
    while open_sites:
        _, number = heapq.heappop(queue)
        site = sites[number]
        open_sites -= int(site.first <= last)
        length = shared.minutes(site, site.must)
        visit = site.visit(_day(site, shared.calendar, length), site.must, length)
        if visit.on <= until:
            yield visit
        open_sites += put(number)


def _day(site: _Site, calendar: _Calendar, length: int) -> int:
    """Choose the day of a visit among those that its windows share, and take its minutes."""
    if not calendar.working(site.last):
        return site.last
    begin, end = calendar.place(site.first), calendar.place(site.last) + 1
    places: Sequence[int] = range(begin, end)
    if calendar.limit:
        room = calendar.limit - length
        places = [place for place in places if calendar.taken[place] <= room]
    place = _best(site.must, calendar, places) if places else min(range(begin, end), key=calendar.taken.__getitem__)
    calendar.take(place, length)
    return calendar.days[place]


def _best(windows: Sequence[_Window], calendar: _Calendar, places: Sequence[int]) -> int:
    """Choose the day whose month most dues prefer, then that with the least total distance to the due days, then the earliest."""
    preferring = Counter(month for window in windows if window.due is not None for month in window.due.task.months)
    if preferring:
        most = max(preferring[calendar.months[place]] for place in places)
        places = [place for place in places if preferring[calendar.months[place]] == most]
    targets = [window.target for window in windows]

    def distance(place: int) -> int:
        day = calendar.days[place]
        return sum(abs(day - target) for target in targets)

    # The total distance falls, then rises: the first day after which it no longer falls is the earliest of the best.
    low, high = 0, len(places) - 1
    while low < high:
        middle = (low + high) // 2
        if distance(places[middle + 1]) >= distance(places[middle]):
            high = middle
        else:
            low = middle + 1
    return places[low]


def windows(dues: Iterable[Due], sheet: CareSheet, house: House, *, first: dt.date) -> tuple[Met, ...]:
    """Give each due's window by itself, as planning from a day on sees it; one that is late already ends no more.

    What is late breaks nothing further by waiting another day, though each day is one too many.
    """
    shared = _Plan(sheet, first, _Calendar(house, first))
    found = (shared.window(due) for due in dues)
    return tuple(
        Met(window.due, Span(dt.date.fromordinal(window.begin), None)) if window.begin > window.end else window.met()
        for window in found
    )


# -------------------------------------------------------------------------------------------------- the load, and moving


def load(visits: Iterable[Visit]) -> dict[dt.date, int]:
    """Sum the minutes of visits by month; each month goes by its first day."""
    found: dict[dt.date, int] = defaultdict(int)
    for visit in visits:
        found[visit.on.replace(day=1)] += visit.minutes
    return dict(found)


@dataclass(frozen=True, slots=True)
class Move:
    """What moving a visit by hand does: the windows it breaks, and the minutes of the months it leaves and comes into."""

    on: dt.date
    to: dt.date
    breaks: tuple[Met, ...]
    worked: bool
    leaves: tuple[int, int]
    comes_into: tuple[int, int]


def move(visit: Visit, to: dt.date, house: House, *, by_month: Mapping[dt.date, int]) -> Move:
    """Say what moving a visit to another day does to its windows and to the months' load (minutes before and after)."""
    old, new = by_month.get(visit.on.replace(day=1), 0), by_month.get(to.replace(day=1), 0)
    stays = visit.on.replace(day=1) == to.replace(day=1)
    return Move(
        visit.on,
        to,
        breaks=tuple(one for one in visit.met if to not in one.span),
        worked=to.weekday() in house.weekdays and to not in house.closed,
        leaves=(old, old if stays else old - visit.minutes),
        comes_into=(new, new if stays else new + visit.minutes),
    )
