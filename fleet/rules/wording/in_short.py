"""Coverage in one line, where there is no room for its reasons."""

import datetime as dt
from collections.abc import Iterable

from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.rules.payers import BY_CODE, PAYERS
from fleet.rules.wording.names import listed

_ORDER = [payer.code for payer in PAYERS]


def covered_today(promises: Iterable[tuple[str, str, dt.date | None]]) -> str:
    """Who pays for which kind of cost until when; of several for one kind the payer that is asked first, and its last day.

    A promise is a kind of cost, a payer and its last day (None: it has none). Blank where there is no promise.

    >>> day = dt.date(2031, 4, 14)
    >>> covered_today([("labor", "installer", None), ("parts", "installer", day), ("parts", "maker", day), ("parts", "maker", day.replace(day=9))])
    'Covered today: parts until April 14, 2031 (manufacturer) and labor for life (our warranty).'
    >>> covered_today([])
    ''
    """
    of: dict[str, dict[str, list[dt.date | None]]] = {}
    for kind, payer, last_on in promises:
        of.setdefault(kind, {}).setdefault(payer, []).append(last_on)
    said = []
    for kind in filter(of.__contains__, words.KINDS):
        payer = min(of[kind], key=_ORDER.index)
        days = [day for day in of[kind][payer] if day is not None]
        until = f"until {in_words(max(days))}" if len(days) == len(of[kind][payer]) else "for life"
        said.append(f"{kind} {until} ({BY_CODE[payer].label})")
    return f"Covered today: {listed(said)}." if said else ""
