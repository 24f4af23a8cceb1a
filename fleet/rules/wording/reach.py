"""How far a promise reaches, in words: what is certain, what is possible, and the one thing that this hangs on."""

import datetime as dt
from collections.abc import Iterable, Sequence

from fleet.rules.dates import in_table, in_words
from fleet.rules.findings import Code, Reason, Result
from fleet.rules.reach import FOREVER, Reach
from fleet.rules.wording.answers import does_not_pay, provided, why_over
from fleet.rules.wording.names import PAYERS, is_we, listed, pays, subject, upper


def reaches(reach: Reach, *, asked: dt.date) -> str:
    """How far a promise reaches, as a part of a sentence; `asked` is the day of asking.

    >>> reaches(Reach(Result.COVERED, dt.date(2027, 3, 8)), asked=dt.date(2026, 3, 2))
    'until March 8, 2027'
    """
    match reach.result:
        case Result.COVERED:
            return f"{_until(reach.certain)}{_more(reach, asked)}"
        case Result.COVERED_IF:
            return f"{_until(reach.possible)} {_provided(reach, asked)}{_otherwise(reach.certain, asked)}"
        case Result.CANNOT_SAY:
            return "not clear, since the start is not known"
        case _ if reach.begins is not None:
            if reach.certain is None:
                return f"from {in_words(reach.begins)} {_until(reach.possible)} {_provided(reach, asked)}"
            return f"from {in_words(reach.begins)} {_until(reach.certain)}{_more(reach, asked)}"
        case _ if reach.certain is not None:
            late = f", possibly {in_words(reach.possible)}" if reach.possible else ""
            return f"ended {in_words(reach.certain)}{late}"
        case _ if reach.possible is not None:
            return f"may have run {_until(reach.possible)}"
        case _:
            return "nothing"


def in_short(reach: Reach) -> str:
    """The same in a few words, beside a band or in a table, without what it hangs on.

    >>> in_short(Reach(Result.COVERED, dt.date(2027, 3, 8), dt.date(2029, 3, 8)))
    'until Mar 8, 2027, possibly Mar 8, 2029'
    """
    certain, possible = _short(reach.certain), _short(reach.possible)
    match reach.result:
        case Result.COVERED:
            return f"{certain}, possibly {_bare(possible)}" if possible else certain
        case Result.COVERED_IF:
            return f"possibly {possible}" if not certain else f"possibly {possible} (certain {certain})"
        case Result.CANNOT_SAY:
            return "start not known"
        case _ if reach.begins is not None:
            days = certain or f"possibly {possible}"
            more = f", possibly {_bare(possible)}" if certain and possible else ""
            return f"from {in_table(reach.begins)} {days}{more}"
        case _ if reach.certain is not None:
            return f"ended {_bare(certain)}{f', possibly {_bare(possible)}' if possible else ''}"
        case _:
            return f"possibly ended {_bare(possible)}" if possible else "nothing"


def who_pays(payer: str, reach: Reach, *, asked: dt.date) -> str:
    """Who pays and how far, without a period.

    >>> who_pays("installer", Reach(Result.COVERED, dt.date(2027, 3, 8)), asked=dt.date(2026, 3, 2))
    'we pay until March 8, 2027'
    """
    days = reaches(reach, asked=asked)
    certain = reach.result is Result.COVERED or (reach.begins is not None and reach.certain is not None)
    if certain:
        return f"{pays(payer)} {days}"
    if reach.is_running:
        return f"{subject(payer)} may pay {days}"
    if reach.result is Result.CANNOT_SAY:
        return f"it is not clear whether {pays(payer)}, since the start is not known"
    if reach.furthest == dt.date.min:
        return "the customer pays"
    return f"the customer pays ({'our' if is_we(payer) else _whose(payer)} coverage {days})"


def headline(payer: str, reach: Reach, reasons: Sequence[Reason], *, asked: dt.date) -> str:
    """The headline of an answer whose promise reaches so far; `reasons` are those of the answer.

    >>> headline("installer", Reach(Result.COVERED, dt.date(2027, 3, 8)), (), asked=dt.date(2026, 3, 2))
    'We pay until March 8, 2027.'
    """
    if reach.result in (Result.COVERED, Result.COVERED_IF):
        return f"{upper(who_pays(payer, reach, asked=asked))}."
    assert reach.certain is not None
    return f"{does_not_pay(payer)}: {why_over(reasons, reach.certain)}."


def _whose(payer: str) -> str:
    return f"{PAYERS[payer]}'s"


def conditions(reasons: Iterable[Reason], *, asked: dt.date) -> str:
    """What must hold, as what follows "if"; years of maintenance still to come are one condition, however many.

    >>> gap = Reason(Code.MAINTENANCE_GAP, day=dt.date(2027, 3, 8), until=dt.date(2028, 3, 7))
    >>> conditions([gap], asked=dt.date(2026, 3, 2))
    'yearly maintenance is kept up'
    """
    reasons = tuple(reasons)
    gaps = [reason for reason in reasons if reason.code is Code.MAINTENANCE_GAP]
    missed = [reason for reason in gaps if reason.until is not None and reason.until < asked]
    found = [provided(reason) for reason in reasons if reason not in gaps]
    if len(missed) == 1:
        found.append(provided(missed[0]))
    elif missed:
        found.append(f"the records of {len(missed)} missing years of maintenance turn up")
    if len(gaps) > len(missed):
        found.append("yearly maintenance is kept up")
    return listed(dict.fromkeys(found))


def _provided(reach: Reach, asked: dt.date) -> str:
    return f"if {conditions(reach.hangs_on, asked=asked)}"


def _more(reach: Reach, asked: dt.date) -> str:
    return f"; {_until(reach.possible)} {_provided(reach, asked)}" if reach.possible else ""


def _until(last: dt.date | None) -> str:
    assert last is not None
    return "for the life of the unit" if last == FOREVER else f"until {in_words(last)}"


def _otherwise(certain: dt.date | None, asked: dt.date) -> str:
    """How far it reaches for certain, should what it hangs on turn out not to be so."""
    if certain is None:
        return ""
    return f"; otherwise {'it ended' if certain < asked else 'only until'} {in_words(certain)}"


def _short(last: dt.date | None) -> str:
    return "" if last is None else "for life" if last == FOREVER else f"until {in_table(last)}"


def _bare(text: str) -> str:
    return text.removeprefix("until ")
