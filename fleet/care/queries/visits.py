"""One site's visits: booked, planned and to book; what booking one for a day would do; and one booked visit."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from django.db.models import F, Q

from fleet import models
from fleet.care.facts import bookings as gathered
from fleet.care.facts import visits as gather_visits
from fleet.care.pages import visits as pages
from fleet.care.queries.visit_plan import Board, on_hand
from fleet.elements.named import address, local_day, what
from fleet.facts import house as gather_house
from fleet.facts.agreements import agreement_of
from fleet.models.people import Role
from fleet.rules import care, planner, visits
from fleet.rules.calls import CALL_MINUTES, State, may_go
from fleet.rules.caresheet import CareSheet, title_of
from fleet.rules.dates import DAY, in_words
from fleet.rules.hours import Calendar
from fleet.rules.wording import care as wording
from fleet.rules.wording.money import dollars
from fleet.rules.wording.names import listed


def technicians() -> tuple[tuple[int, str], ...]:
    """List who may be sent."""
    rows = models.User.objects.filter(is_active=True, role__in=(Role.TECHNICIAN, Role.OWNER))
    return tuple((row.pk, str(row)) for row in sorted(rows, key=lambda row: (row.role != Role.TECHNICIAN, str(row))))


def at_site(pk: int, board: Board) -> pages.SiteVisits | None:
    """A site's visits and what there is to book, the next planned visit preselected; None if there is no such site."""
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    sheet, on = board.sheet, board.on
    planned = [one.visit for one in board.planned if one.site == pk]
    chosen = {(due.unit, due.task.code) for due in planned[0].dues} if planned else set()
    all_booked = _booked(models.Booking.objects.filter(site=pk), sheet)
    return pages.SiteVisits(
        site=pk,
        name=site.name,
        customer=site.customer.name,
        phone=site.customer.phone,
        address=address(site),
        on=on,
        planned=tuple(visit.on for visit in planned),
        day=planned[0].on if planned else on,
        tasks=_tasks(pk, board, chosen),
        technicians=technicians(),
        booked=tuple(one for one in all_booked if one.state == "booked"),
        past=tuple(one for one in reversed(all_booked) if one.state != "booked")[:10],
        sold=tuple(_sold(pk, on=on)),
        promised=bool(planned) and any(met.due is None for met in planned[0].met),
        drive_minutes=site.drive_minutes,
        calls=tuple((row.pk, _call(row)) for row in _calls(pk)),
        room=_days_with_room(board),
        without_sheet=sheet is None,
    )


def _calls(site: int) -> list[models.Call]:
    """The calls that a visit to a site may be booked for: those about it, then those that were noted without a site."""
    bookable = [state for state in State if may_go(state, State.BOOKED) or state is State.BOOKED]
    rows = models.Call.objects.filter(Q(site=site) | Q(site=None), state__in=bookable)
    return list(rows.order_by(F("site").asc(nulls_last=True), "came_on", "pk"))


def _call(row: models.Call) -> str:
    """A call in one line; of one that names no site, who called, by which the office knows whether it is about this one."""
    if row.site_id is None:
        return f"{row.trouble}: {row.caller}, no site noted yet. {row.said}"[:120].strip()
    return f"{row.trouble}: {row.said or row.caller}"[:120]


def _days_with_room(board: Board, *, most: int = 3, within: int = 60) -> tuple[dt.date, ...]:
    """The first working days that hold a repair beside what is booked, as the plan of visits counts room."""
    calendar = Calendar(board.house, board.on)
    for day, minutes in gathered.minutes_by_day(since=board.on).items():
        calendar.take(day.toordinal(), minutes)
    end = calendar.place((board.on + within * DAY).toordinal())
    free: list[dt.date] = []
    place = calendar.first_that_holds(CALL_MINUTES, 0, end)
    while place is not None and len(free) < most:
        free.append(dt.date.fromordinal(calendar.days[place]))
        place = calendar.first_that_holds(CALL_MINUTES, place + 1, end)
    return tuple(free)


def _tasks(site: int, board: Board, chosen: Collection[tuple[str, str]] = ()) -> tuple[pages.Task, ...]:
    if board.sheet is None:
        return ()
    dues = gathered.dues(site, board.sheet)
    windows = planner.windows(dues, board.sheet, board.house, first=board.on)
    named = {row.pk: row for row in models.Unit.objects.in_service().filter(system__site=site)}
    booked = gathered.days_of_tasks(models.BookedTask.objects.filter(booking__site=site), on=board.on)
    tasks = []
    for due, met in zip(dues, windows, strict=True):
        day = booked.get((int(due.unit), due.task.code))
        ticked = day is None and (due.unit, due.task.code) in chosen
        tasks.append(_task(due, met, named, ticked=ticked, booked_on=day))
    return tuple(sorted(tasks, key=lambda task: not task.ticked))


def _task(
    due: care.Due, met: visits.Met, named: Mapping[int, models.Unit], *, ticked: bool, booked_on: dt.date | None = None
) -> pages.Task:
    return pages.Task(
        unit=int(due.unit),
        code=due.task.code,
        title=due.task.title,
        of=_thing(due, named),
        first=met.span.first,
        last=met.span.last,
        stands=wording.stands(care.State.DUE, due.window, due.not_before),
        ticked=ticked,
        booked_on=booked_on,
    )


def _thing(due: care.Due, named: Mapping[int, models.Unit]) -> str:
    if due.task.per == "system":
        return "the whole system"
    units = [named[int(key)] for key in due.units if int(key) in named]
    rooms = listed(unit.room or f"{what(unit)} {unit.serial}".strip() for unit in units)
    return f"line of {rooms}" if due.task.per == "drain line" and len(units) > 1 else rooms or due.serial


def _booked(rows: Any, sheet: CareSheet | None) -> tuple[pages.Booked, ...]:
    bookings = list(rows.select_related("technician").prefetch_related("tasks").order_by("on", "pk"))
    written = _written(row.pk for row in bookings)
    return tuple(_one_booked(row, sheet, written) for row in bookings)


def _written(bookings: Iterable[int]) -> Mapping[int, int]:
    """The write-up of each booked visit that has one, by booking; one that was taken back made no visit."""
    return dict(models.WriteUp.objects.standing().filter(booking__in=list(bookings)).values_list("booking", "pk"))


def _one_booked(row: models.Booking, sheet: CareSheet | None, written: Mapping[int, int]) -> pages.Booked:
    return pages.Booked(
        pk=row.pk,
        on=row.on,
        state=row.state,
        technician="" if row.technician is None else str(row.technician),
        minutes=row.minutes,
        price=row.price,
        note=row.note,
        why=row.why,
        work=work((task.task for task in row.tasks.all()), sheet),
        write_up=written.get(row.pk),
        arrives=arrives(row),
    )


def arrives(row: models.Booking) -> str:
    """When somebody will arrive, in words; blank where nobody said."""
    begin, end = (f"{at:%I:%M %p}".lstrip("0") if at else "" for at in (row.arrive_from, row.arrive_to))
    return f"between {begin} and {end}" if begin and end else f"from {begin}" if begin else ""


def work(tasks: Iterable[str], sheet: CareSheet | None) -> tuple[str, ...]:
    """What a visit is for: each task, in the care sheet's order, with the number of things it is for."""
    counts = Counter(tasks)
    places = {} if sheet is None else {task.code: place for place, task in enumerate(sheet.tasks)}
    lines = []
    for code, count in sorted(counts.items(), key=lambda one: (places.get(one[0], len(places)), one[0])):
        title = title_of(code, sheet)
        lines.append(title if count == 1 else f"{title} ({count})")
    return tuple(lines)


def _sold(site: int, *, on: dt.date) -> Iterator[pages.Sold]:
    """Hold what agreements sold in their year against the visits made and booked in it."""
    agreements = [(row, agreement_of(row)) for row in models.Agreement.objects.filter(site=site)]
    agreements = [(row, agreement) for row, agreement in agreements if agreement.in_force(on, today=on)]
    if not agreements:
        return
    since = min(agreement.year_at(on).first for _, agreement in agreements)
    made = set(gather_visits.made([site], since=since, before=on + DAY).get(site, ()))
    booked = set(models.Booking.objects.filter(site=site, state="booked").values_list("on", flat=True))
    for row, agreement in agreements:
        year = agreement.year_at(on)
        yield pages.Sold(
            name=f"Agreement {row.reference}".strip(),
            first=year.first,
            last=year.last,
            sold=year.visits,
            made=sum(day in year.days for day in made),
            booked=sum(day in year.days for day in booked - made),
        )


# ------------------------------------------------------------------------------------------------- what a day does


def does(
    site: int,
    tasks: Collection[tuple[int, str]],
    day: dt.date,
    board: Board,
    *,
    booking: int | None = None,
) -> pages.Does | None:
    """What booking these tasks for a day (or moving a booking there) does to their windows and to the load."""
    sheet, house, on = board.sheet, board.house, board.on
    place = models.Site.objects.filter(pk=site).first()
    if sheet is None or place is None:
        return None
    row = None if booking is None else models.Booking.objects.filter(pk=booking).first()
    dues = [due for due in gathered.dues(site, sheet) if (int(due.unit), due.task.code) in set(tasks)]
    drive = place.drive_minutes or 0
    mine = next((one.visit for one in board.planned if one.site == site), None) if row is None else None
    visit = visits.Visit(
        "",
        "",
        on=row.on if row is not None else mine.on if mine is not None else day,
        minutes=visits.minutes(dues, sheet, drive_minutes=drive) if row is None else row.minutes,
        price=visits.price(dues) if row is None else row.price,
        agreement=_in_force(site, day, on=on),
        met=planner.windows(dues, sheet, house, first=on),
    )
    by_day = gathered.minutes_by_day(since=on, without=booking)
    others = [one.visit for one in board.planned if one.visit is not mine]
    moved = visits.move(visit, day, house, by_month=_by_month(others, by_day, visit, counted=row or mine))
    named = {unit.pk: unit for unit in models.Unit.objects.filter(system__site=site)}
    month = day.replace(day=1)
    stays = visit.on.replace(day=1) == month
    before, after = moved.comes_into
    if row is None and mine is None:
        after = before + visit.minutes
    return pages.Does(
        day=day,
        minutes=visit.minutes,
        price=visit.price,
        breaks=tuple(_breaks(met, named) for met in moved.breaks if met.due is not None),
        worked=moved.worked,
        day_before=by_day.get(day, 0),
        day_limit=house.minutes_a_day,
        month=f"{month:%B %Y}",
        month_before=before,
        month_after=after,
        month_on_hand=on_hand(month, gather_house.hours_on_hand(day, day).get(month), house, on=on),
        leaves="" if stays else f"{visit.on:%B %Y}",
        leaves_before=moved.leaves[0],
        leaves_after=moved.leaves[1],
        unpaid=unpaid(visit, drive, board.rates),
    )


def _by_month(
    others: Iterable[visits.Visit], by_day: Mapping[dt.date, int], visit: visits.Visit, *, counted: Any
) -> Mapping[dt.date, int]:
    by_month: dict[dt.date, int] = defaultdict(int)
    for one in others:
        by_month[one.on.replace(day=1)] += one.minutes
    for day, number in by_day.items():
        by_month[day.replace(day=1)] += number
    if counted is not None:
        # It is in the load already, on the day planned or booked.
        by_month[visit.on.replace(day=1)] += visit.minutes
    return by_month


def _breaks(met: visits.Met, named: Mapping[int, models.Unit]) -> str:
    assert met.due is not None
    last = "" if met.span.last is None else f" to {in_words(met.span.last)}"
    return f"{met.due.task.title}, {_thing(met.due, named)}: recommended from {in_words(met.span.first)}{last}"


def _in_force(site: int, day: dt.date, *, on: dt.date) -> bool:
    rows = models.Agreement.objects.filter(site=site)
    return any(agreement_of(row).in_force(day, today=on) for row in rows)


def unpaid(visit: visits.Visit, drive_minutes: int, rates: models.House) -> str:
    """A sentence where a visit's price does not pay for its drive; blank where it does, or an agreement pays."""
    paid = visits.pays_for_drive(visit.price, drive_minutes=drive_minutes, an_hour=rates.drive_price)
    if paid or visit.agreement:
        return ""
    cost = gathered.drive_cost(rates, drive_minutes)
    return f"{dollars(visit.price)} {pages.UNPAID} of {dollars(cost)} ({wording.duration(drive_minutes)})"


# ------------------------------------------------------------------------------------------------- one booking


def page(pk: int, board: Board) -> pages.BookingPage | None:
    """The page of a booked visit, None if there is none."""
    bookings = models.Booking.objects.select_related("site__customer", "technician").prefetch_related("tasks")
    row = bookings.filter(pk=pk).first()
    if row is None:
        return None
    keys = {(one.unit_id, one.task) for one in row.tasks.all()}
    changes = models.Change.objects.filter(table="booking", object_id=pk).select_related("by").order_by("pk")
    return pages.BookingPage(
        booking=_one_booked(row, board.sheet, _written([pk])),
        site=row.site_id,
        name=row.site.name,
        customer=row.site.customer.name,
        phone=row.site.customer.phone,
        address=address(row.site),
        tasks=tuple(task for task in _tasks(row.site_id, board) if (task.unit, task.code) in keys),
        technicians=technicians(),
        changes=tuple(_change(one) for one in changes),
    )


_CHANGED = {"on": "day", "technician": "technician", "note": "note", "state": "state", "why": "reason"}


def _change(row: models.Change) -> str:
    what_was = f"{_CHANGED.get(row.field, row.field)}: {row.before or 'nothing'} to {row.after or 'nothing'}"
    if row.field == "technician":
        what_was = (
            "given to someone else"
            if row.before and row.after
            else "given to a technician"
            if row.after
            else "taken off the technician"
        )
    if row.field == "on" and not row.before:
        what_was = "booked"
    who = str(row.by) if row.by is not None else "someone"
    return f"{in_words(local_day(row.at))}, {who}: {what_was}{f' ({row.why})' if row.why else ''}"
