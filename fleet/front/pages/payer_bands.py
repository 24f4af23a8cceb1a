"""The life line at a glance: one band for each payer, as far as any of its promises reaches."""

from collections.abc import Sequence

from fleet.front.pages.lifeline_drawing import Promise
from fleet.rules import words
from fleet.rules.stretches import best_of

LONGEST = "whichever lasts longest"


def by_payer(promises: Sequence[Promise]) -> list[Promise]:
    """The promises of each payer as one, in the order in which they pay; one whose start is not known stands alone."""
    found: list[Promise] = []
    for payer in dict.fromkeys(one.payer for one in promises):
        mine = [one for one in promises if one.payer == payer]
        known, unknown = [one for one in mine if one.stretches], [one for one in mine if not one.stretches]
        found += [_together(some) for some in (known, unknown) if some]
    return found


def _together(some: Sequence[Promise]) -> Promise:
    first = some[0]
    if len(some) == 1:
        return first
    kinds = [kind for kind in words.KINDS if any(one.kind == kind for one in some)]
    stretches = best_of([one.stretches for one in some])
    names = tuple(dict.fromkeys(name for one in some for name in one.names))
    return Promise(first.payer, ", ".join(kinds), LONGEST if stretches else "", first.title, stretches, names)
