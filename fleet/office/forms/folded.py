"""Questions of which many are alike: a page shows the first at once and folds the rest, so that it stays short on a phone."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

SEEN = 5
# One or two more are not worth a fold.
_NOT_WORTH_IT = 2


@dataclass(frozen=True, slots=True)
class Folded:
    """Questions of one kind: those seen at once, and the rest."""

    first: list[Any]
    rest: list[Any]

    @classmethod
    def of(cls, questions: Iterable[Any], *, first: Iterable[Any] = ()) -> "Folded":
        """Fold all but a few; whatever is in `first` is seen in any case.

        >>> [len(part) for part in (Folded.of(range(7)).first, Folded.of(range(8)).first, Folded.of(range(8)).rest)]
        [7, 5, 3]
        """
        seen, there = list(first), list(questions)
        most = SEEN if len(there) > SEEN + _NOT_WORTH_IT else len(there)
        return cls([*seen, *there[:most]], there[most:])
