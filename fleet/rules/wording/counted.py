"""How many there are, counted as far as anybody reads a number."""

from typing import NamedTuple


class Counted(NamedTuple):
    """How many there are; where there are `more`, how many were counted.

    >>> print(Counted(2_000), "and", Counted(2_000, more=True))
    2,000 and more than 2,000
    """

    number: int
    more: bool = False

    @property
    def is_one(self) -> bool:
        """Whether it is one alone."""
        return self.number == 1 and not self.more

    def __str__(self) -> str:
        return f"{'more than ' if self.more else ''}{self.number:,}"
