"""What of a unit is odd though it may be so: days in an unusual order, a name one letter from a known one, two heads in a room.

None of it is refused: whoever enters it sees the sentence and says that it is so. The usual order of days, of a purchase, the
installing, the start-up and the registration, is common practice, no source.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from fleet.rules.dates import in_words
from fleet.rules.words import key

# Each day with those that come before it, as far as they are known, and what is said of the two.
_ORDER = {
    "installed_on": ("purchased_on",),
    "started_on": ("installed_on", "purchased_on"),
    "registered_on": ("purchased_on",),
}
_DONE = {
    "purchased_on": "purchased", "installed_on": "installed", "started_on": "started", "registered_on": "registered",
}  # fmt: skip


class Oddity(NamedTuple):
    """One thing that is odd: the fact where it shows, a sentence, what somebody says who means it, and what they mean by it.

    `value` changes with what was entered, so that nobody confirms one thing and has another taken.
    """

    field: str
    text: str
    tick: str
    value: str


def days(known: Mapping[str, dt.date | None]) -> Iterator[Oddity]:
    """The days that come before another which usually comes first; the same day is not odd, nor is one that is not known.

    >>> [one.text for one in days({"installed_on": dt.date(2026, 3, 1), "started_on": dt.date(2026, 2, 28)})]
    ['Started on February 28, 2026, before it was installed on March 1, 2026.']
    """
    for later, earlier in _ORDER.items():
        for before in earlier:
            first, second = known.get(before), known.get(later)
            if first is not None and second is not None and second < first:
                text = f"{_DONE[later].capitalize()} on {in_words(second)}, before it was {_DONE[before]} on {in_words(first)}."
                yield Oddity(later, text, "These days are right", f"{later}:{second}:{before}:{first}")
                break


def near(name: str, known: Iterable[str]) -> str | None:
    """The known name from which one differs in a single letter; None where it is known itself, or where only digits differ.

    A letter is another one, missing, one too many, or has changed places with its neighbor. A model of other digits is another
    size, and names of fewer than three characters tell too little.

    >>> near("Northril", ["Northrill"]), near("Norhtrill", ["Northrill"]), near("NH-12", ["NH-9"]), near("NH-O9", ["NH-09"])
    ('Northrill', 'Northrill', None, 'NH-09')
    """
    folded = key(name)
    keys = {key(one): one for one in known}
    if len(folded) < 3 or folded in keys:
        return None
    return next(
        (one for other, one in sorted(keys.items()) if len(other) >= 3 and _one_letter_apart(folded, other)), None
    )


def _one_letter_apart(one: str, other: str) -> bool:
    if abs(len(one) - len(other)) > 1:
        return False
    start = next(
        (at for at, pair in enumerate(zip(one, other, strict=False)) if pair[0] != pair[1]), min(len(one), len(other))
    )
    left, right = one[start:], other[start:]
    if len(left) == len(right):
        swapped = left[:2] == right[1::-1] and left[2:] == right[2:]
        changed = left[:2] if swapped else left[:1] + right[:1]
        return (swapped or left[1:] == right[1:]) and not changed.isdigit()
    longer, shorter = (left, right) if len(left) > len(right) else (right, left)
    return longer[1:] == shorter and not longer[:1].isdigit()


def names(maker: str, model: str, known: Collection[tuple[str, str]]) -> Iterator[Oddity]:
    """A manufacturer or a model one letter from a known one; `known` are pairs of both."""
    if (other := near(maker, (one for one, _ in known))) is not None:
        yield Oddity("maker", f"{other} is on file, which is one letter from {maker}.", f"{maker} is right", key(maker))
    models = (one for of, one in known if key(of) == key(maker))
    if (other := near(model, models)) is not None:
        yield Oddity(
            "model", f"{maker} {other} is on file, which is one letter from {model}.", f"{model} is right", key(model)
        )


def same_room(role: str, room: str, heads: Iterable[str]) -> Iterator[Oddity]:
    """A head in a room where its system has another; `heads` are the rooms of the other heads in service there."""
    if role == "head" and room.strip() and room.strip().casefold() in {one.strip().casefold() for one in heads}:
        text = f"This system already has a head in {room.strip()}."
        yield Oddity("room", text, f"Both heads are in {room.strip()}", f"room:{room.strip().casefold()}")
