"""The fewest visits that meet every window of the sites' dues, planned forward, day by day, within the hours on hand.

1. A site's technician dues are windows, and so are the visits that its agreements promise.
2. Sites with something late come first: each gets the first working day that still has the hours.
3. Then, over all sites, the visit whose last possible day comes first. It meets every window that is open on that day, which
   is how the fewest visits meet them all; its own day is the best of those that these windows share.
4. What was done counts on from there: each task's next window joins in.
"""

import datetime as dt
import heapq
from bisect import bisect_right
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from fleet.rules import visits
from fleet.rules.care import Due
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span, add_months
from fleet.rules.hours import Calendar, House
from fleet.rules.visits import Met, SiteWork, Visit, price

# ----------------------------------------------------------------------------------------------------------- the windows


@dataclass(slots=True, eq=False)
class _Window:
    """A window with its days as ordinals: `first` and `last` of its working days, `target` the day it would best be met on.

    `late` is for how many days it has been late on the first day asked for; `more` gives the windows that follow, where an
    agreement promises visits.
    """

    due: Due | None
    begin: int
    end: int
    target: int
    first: int
    last: int
    late: int = 0
    more: Iterator[Span] | None = None

    @property
    def barred_months(self) -> tuple[int, ...]:
        """The months in which it is not planned."""
        return () if self.due is None else self.due.task.not_months

    def barred(self, month: int) -> bool:
        """Whether it is not planned in a month."""
        return month in self.barred_months

    def following(self, plan: "_Plan") -> "_Window | None":
        """The next window of the agreement that promised this one."""
        return None if self.more is None else plan.promised(self.more)

    def met(self) -> Met:
        """A due with the days on which a visit meets it: from begin to end, or to its last working day if later."""
        begin, end = dt.date.fromordinal(self.begin), dt.date.fromordinal(max(self.end, self.last))
        return Met(self.due, Span(begin, end))


def _must(windows: Iterable[_Window], calendar: Calendar) -> list[_Window]:
    """List the windows that are open on the earliest last day among all: those that the next visit must meet."""
    windows = tuple(windows)
    day = min(window.last for window in windows)
    must = [window for window in windows if window.first <= day]
    if len(must) > 1 and not calendar.working(day):
        # A day that is not worked is one of a window's days only where the window has no other.
        return [window for window in must if window.first == window.last == day]
    return must


def _runs(begin: int, end: int, not_months: Collection[int]) -> list[tuple[int, int]]:
    """The runs of days outside certain months, in order: the whole where they touch none of it."""
    if not not_months:
        return [(begin, end)]
    runs: list[tuple[int, int]] = []
    day = begin
    while day <= end:
        on = dt.date.fromordinal(day)
        until = min(end, (add_months(on.replace(day=1), 1) - DAY).toordinal())
        if on.month not in not_months:
            joins = runs and runs[-1][1] == day - 1
            runs.append((runs.pop()[0] if joins else day, until))
        day = until + 1
    return runs


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
        return max((window.late for window in self.windows), default=0)

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
                following = self._plan.window(window.due.after(on, self._plan.sheet.working), planned=on)
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
            self.work.key,
        )


@dataclass(slots=True)
class _Plan:
    """What all sites share: the first day asked for, the care sheet, and the calendar with its hours."""

    sheet: CareSheet
    house: House
    first: dt.date
    calendar: Calendar

    def window(self, due: Due, *, planned: dt.date | None = None) -> _Window:
        """Make a due a window: not before the first day, what it waits for, or the day after it was last planned."""
        begin, end = max(due.opens_on, self.first), due.late_after
        if due.not_before is not None:
            begin = max(begin, due.not_before)
            end = max(end, due.not_before + dt.timedelta(days=due.task.late_days))
        if planned is not None:
            begin = max(begin, planned + DAY)
        window = _Window(due, begin.toordinal(), end.toordinal(), due.due_on.toordinal(), 0, 0)
        self._set_days(window, due.task.not_months)
        return window

    def _set_days(self, window: _Window, not_months: Collection[int]) -> None:
        """Find the days of a due's window, outside the months in which its task is not planned, and how late it is.

        One that is past, and that those months put off, is not late before they are over.
        """
        window.first, window.last = plain = self.calendar.days_of(window.begin, window.end)
        if window.begin <= window.end:
            runs = _runs(window.begin, window.end, not_months)
            if runs != [(window.begin, window.end)]:
                self._cut(window, runs, not_months)
            return
        if not_months:
            window.begin = window.first = window.last = self._first_outside(window.begin, not_months)
        if window.first == plain[0]:
            window.late = max(0, self.first.toordinal() - window.end)

    def _cut(self, window: _Window, runs: Sequence[tuple[int, int]], not_months: Collection[int]) -> None:
        """Leave of a window one run of its days outside those months: that with the due day, else the last before it, else the first.

        If that has no working day, the next that has one; if none has, the first working day after the window.
        """
        chosen = max(0, bisect_right([begin for begin, _ in runs], window.target) - 1)
        for begin, end in runs[chosen:]:
            first, last = self.calendar.days_of(begin, end)
            if self.calendar.working(last):
                window.begin, window.end, window.first, window.last = begin, end, first, last
                return
        window.begin = window.end = window.first = window.last = self._first_outside(window.end, not_months)

    def put_off(self, window: _Window, day: dt.date) -> None:
        """Let a late window wait from a day on until the months in which its task is not planned are over."""
        window.begin = window.first = window.last = self._first_outside(day.toordinal(), window.barred_months)
        window.late = 0

    def _first_outside(self, begin: int, not_months: Collection[int]) -> int:
        return self.house.first_from(dt.date.fromordinal(begin), not_months=not_months).toordinal()

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
        return visits.minutes(dues, self.sheet, drive_minutes=site.work.drive_minutes)


# -------------------------------------------------------------------------------------------------------------- the plan


def plan(
    sites: Iterable[SiteWork], sheet: CareSheet, house: House, *, first: dt.date, until: dt.date
) -> tuple[Visit, ...]:
    """Plan the visits of all sites, and list those on or before the last day asked for, by day, customer and site."""
    all_planned = planned(sites, sheet, house, first=first, until=until)
    return tuple(sorted(all_planned, key=lambda visit: (visit.on, visit.customer, visit.site, visit.key)))


def planned(
    sites: Iterable[SiteWork],
    sheet: CareSheet,
    house: House,
    *,
    first: dt.date,
    until: dt.date,
    booked: Mapping[dt.date, int] | None = None,
) -> Iterator[Visit]:
    """Plan the visits of all sites in the order in which they take hours; return those up to the last day asked for.

    `booked` has the minutes of days that visits already have.
    """
    shared = _Plan(sheet, house, first, Calendar(house, first))
    for day, taken in (booked or {}).items():
        if day >= first:
            shared.calendar.take(day.toordinal(), taken)
    waiting = sorted(
        (_Site(work, shared) for work in sites), key=lambda site: (site.work.customer, site.work.site, site.work.key)
    )
    waiting = [site for site in waiting if site.windows]
    late = [site for site in waiting if site.late_days > 0]
    for site in sorted(late, key=lambda site: -site.late_days):
        visit = _soonest(site, shared)
        if visit is not None and visit.on <= until:
            yield visit
    yield from _in_turn(waiting, shared, until=until)


def _soonest(site: _Site, shared: _Plan) -> Visit | None:
    """Visit a site with something late on the first working day that still has the hours; what closed meanwhile is taken along.

    A visit longer than a whole day's hours takes a day of which nothing is taken. Where the hours come only in months in which
    the late task is not planned, it waits until they are over, and takes its turn there.
    """
    calendar = shared.calendar
    place = calendar.place(shared.first.toordinal())
    while True:
        day = dt.date.fromordinal(calendar.days[place])
        for window in site.windows:
            if window.late and window.barred(day.month):
                shared.put_off(window, day)
        if not site.late_days:
            return None
        windows = sorted(site.windows, key=lambda window: window.first)
        met = [window for window in windows if window.first <= day.toordinal() and not window.barred(day.month)]
        length = shared.minutes(site, met)
        end = _changes(windows, day, calendar)
        free = calendar.first_that_holds(length, place, end)
        if free is not None:
            calendar.take(calendar.days[free], length)
            return site.visit(calendar.days[free], met, length)
        assert end is not None
        place = end


def _changes(windows: Iterable[_Window], day: dt.date, calendar: Calendar) -> int | None:
    """The place at which a visit that waits for hours may change: another window begins, or a month with other tasks does."""
    days = [window.first for window in windows if window.first > day.toordinal()]
    if any(window.barred_months for window in windows):
        days.append(add_months(day.replace(day=1), 1).toordinal())
    return calendar.place(min(days)) if days else None


def _in_turn(sites: Sequence[_Site], shared: _Plan, *, until: dt.date) -> Iterator[Visit]:
    """Plan, over all sites, the visit whose last possible day comes first, until no site can be visited by the last day asked for.

    A visit past that day still uses hours that others might have had.
    """
    last, limited = until.toordinal(), shared.calendar.limited
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


def _day(site: _Site, calendar: Calendar, length: int) -> int:
    """Choose the day of a visit among those that its windows share, and take its minutes."""
    day = site.last
    if calendar.working(day):
        places = range(calendar.place(site.first), calendar.place(day) + 1)
        holding = [place for place in places if calendar.holds(place, length)] if calendar.limited else places
        day = calendar.days[
            _best(site.must, calendar, holding) if holding else min(places, key=calendar.taken.__getitem__)
        ]
    calendar.take(day, length)
    return day


def _best(windows: Sequence[_Window], calendar: Calendar, places: Sequence[int]) -> int:
    """Choose the day whose month most dues prefer, then that with the least total distance to the due days, then the earliest."""
    preferring = Counter(month for window in windows if window.due is not None for month in window.due.task.months)
    if preferring:
        most = max(preferring[calendar.month(place)] for place in places)
        places = [place for place in places if preferring[calendar.month(place)] == most]
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
    """Each due's window by itself, as planning from a day on sees it; one that is late already ends no more.

    What is late breaks nothing further by waiting another day, though each day is one too many.
    """
    shared = _Plan(sheet, house, first, Calendar(house, first))
    windows_of = (shared.window(due) for due in dues)
    return tuple(
        Met(window.due, Span(dt.date.fromordinal(window.begin), None)) if window.begin > window.end else window.met()
        for window in windows_of
    )
