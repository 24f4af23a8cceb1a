"""The calendar as RFC 5545 has it: whole days, each with the day after it as its end, which is not part of it."""

import datetime as dt

from icalendar import Calendar as Drawn
from icalendar import Event

from fleet.claims.pages.calendars import Calendar, Day
from fleet.rules.dates import DAY

_MIDNIGHT = dt.time(tzinfo=dt.UTC)
# How often whoever subscribes may ask again: a day that was moved shows the same morning.
_AGAIN = dt.timedelta(hours=3)


def ics(page: Calendar) -> bytes:
    """Write the calendar; the same page gives the same bytes."""
    found = Drawn()
    found.add("prodid", "-//Tenth Year//Clocks//EN")
    found.add("version", "2.0")
    found.add("calscale", "GREGORIAN")
    found.add("name", page.name)
    found.add("x-wr-calname", page.name)  # what older programs read in place of NAME
    found.add("refresh-interval", _AGAIN, parameters={"VALUE": "DURATION"})
    for day in page.days:
        found.add_component(_event(day, page.as_of))
    return bytes(found.to_ical())


def _event(day: Day, as_of: dt.date) -> Event:
    event = Event()
    event.add("uid", day.mark)
    event.add("dtstamp", dt.datetime.combine(as_of, _MIDNIGHT))
    event.add("dtstart", day.on)
    event.add("dtend", day.on + DAY)
    event.add("summary", day.title)
    event.add("description", "\n".join(day.lines))
    event.add("url", day.address)
    event.add("transp", "TRANSPARENT")  # a last day does not make anybody busy
    return event
