"""Agreements as values: their terms, their years and the visits that were sold for them, by days."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from fleet.rules.dates import DAY, Span, add_months

BILLING = ("upfront", "monthly", "per visit")
RENEWS = ("by itself", "by asking", "no")


@dataclass(frozen=True, slots=True)
class AgreementYear:
    """Twelve months of an agreement, or the months that are left of its term: `begun` months after the start.

    `visits` are those sold for it: those whose windows begin in it.
    """

    start_on: dt.date
    term: int
    begun: int
    months: int
    visits: int

    @property
    def first(self) -> dt.date:
        """Its first day."""
        return self.month(0)

    @property
    def last(self) -> dt.date:
        """Its last day."""
        return self.month(self.months) - DAY

    @property
    def days(self) -> Span:
        """Its days."""
        return Span(self.first, self.last)

    @property
    def index(self) -> int:
        """How many whole years lie before it: as often did the price rise."""
        return self.begun // 12

    def month(self, number: int) -> dt.date:
        """The first day of one of its months; the first is 0."""
        return add_months(self.start_on, self.begun + number)


@dataclass(frozen=True, slots=True)
class Agreement:
    """A customer's paid maintenance arrangement for one site.

    Its terms of so many months follow each other from `start_on`; `terms_agreed` of them are agreed, and where it renews by
    itself so is each that has begun. From `ended_on` nothing of it holds. `key` tells one on file from others. Days are all counted from the first start, so that
    one made on February 29 comes back to that day.
    """

    start_on: dt.date
    months: int
    visits_per_year: int
    first_head: Decimal
    further_head: Decimal
    discount_percent: Decimal = Decimal(0)
    billing: str = "upfront"
    renews: str = "by itself"
    rise_percent: Decimal = Decimal(0)
    terms_agreed: int = 1
    ended_on: dt.date | None = None
    reference: str = ""
    key: int = 0

    def year_at(self, day: dt.date) -> "AgreementYear":
        """The agreement year that a day lies in; a day before the start lies in the first."""
        term = max(0, reached(self.start_on, day, self.months))
        begun = term * self.months
        years = max(0, reached(self.start_on, day, 1) - begun) // 12
        return self._year(term, years)

    def _year(self, term: int, number: int) -> "AgreementYear":
        begun = term * self.months + 12 * number
        months = min(12, self.months - 12 * number)
        return AgreementYear(
            self.start_on,
            term=term,
            begun=begun,
            months=months,
            visits=sum(12 * visit // self.visits_per_year < months for visit in range(self.visits_per_year)),
        )

    def years_from(self, day: dt.date) -> "Iterator[AgreementYear]":
        """The agreement years from the one that a day lies in, one after the other, endless: a term ends a year."""
        year = self.year_at(day)
        while True:
            yield year
            year = self.year_at(year.last + DAY)

    def agreed_terms(self, today: dt.date) -> int:
        """Count the terms that are agreed by today."""
        begun = reached(self.start_on, today, self.months) + 1 if self.renews == "by itself" else 0
        return max(self.terms_agreed, begun)

    def renewal_on(self, today: dt.date) -> dt.date:
        """The day on which the terms agreed by today have ended, and the next would begin."""
        return self.began_on(self.agreed_terms(today))

    def began_on(self, term: int) -> dt.date:
        """The first day of a term; the first is 0."""
        return add_months(self.start_on, self.months * term)

    def may_unrenew(self, today: dt.date) -> bool:
        """Whether the term that was agreed last is a renewal that has not begun."""
        return self.terms_agreed > 1 and self.began_on(self.terms_agreed - 1) > today

    def in_force(self, day: dt.date, *, today: dt.date) -> bool:
        """Whether it covers its site on a day: in a term agreed, or one that begins by itself."""
        if not self.may_hold(day):
            return False
        return self.renews == "by itself" or day < self.renewal_on(today)

    def state(self, today: dt.date) -> str:
        """Its state on a day: to begin, in force, undecided (its term is over, nobody said more), over, or ended."""
        if self.ended_on is not None and self.ended_on <= today:
            return "ended"
        if today < self.start_on:
            return "to begin"
        if self.in_force(today, today=today):
            return "in force"
        return "over" if self.renews == "no" else "undecided"

    def may_hold(self, day: dt.date) -> bool:
        """Whether it covers its site on a day if it is renewed whenever that can be."""
        if day < self.start_on or (self.ended_on is not None and day >= self.ended_on):
            return False
        return self.renews != "no" or day < add_months(self.start_on, self.months * self.terms_agreed)

    def visit_windows(self, *, first: dt.date, today: dt.date) -> Iterator[Span]:
        """The windows of the visits sold, in order, from the one that ends on the first day or later; endless if it renews so."""
        share = self.visits_per_year
        for year in self.years_from(add_months(first, -12)):
            for visit in range(year.visits):
                begin = add_months(self.start_on, year.begun + 12 * visit // share)
                last = add_months(self.start_on, year.begun + 12 * (visit + 1) // share) - DAY
                if not self.in_force(begin, today=today):
                    return
                last = min(last, self._last_in_force(today))
                if last >= first:
                    yield Span(begin, last)

    def _last_in_force(self, today: dt.date) -> dt.date:
        ends = [] if self.ended_on is None else [self.ended_on - DAY]
        return min(ends if self.renews == "by itself" else [*ends, self.renewal_on(today) - DAY], default=dt.date.max)


def reached(start: dt.date, day: dt.date, step: int) -> int:
    """Count the whole steps of so many months from start to day: the largest k with add_months(start, step * k) <= day."""
    number = ((day.year - start.year) * 12 + day.month - start.month) // step
    return number if add_months(start, step * number) <= day else number - 1
