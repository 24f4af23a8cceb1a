"""Customers of one name, as values."""

from dataclasses import dataclass

# The key of another customer of a name that is on file, who is still to be made.
NEW = 0


@dataclass(frozen=True, slots=True)
class Namesake:
    """A customer on file whose name somebody wrote: the words that tell them from others of the name, and their streets."""

    pk: int
    words: str
    streets: tuple[str, ...]
