"""What somebody said of rows that name a customer on file at a street that is none of theirs: whom they mean."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from fleet.rules.spreadsheets import places

# The key of another customer of the name, who is still to be made.
NEW = 0
# Stands for every street of a name.
EVERYWHERE = ""


@dataclass(frozen=True, slots=True)
class Whose:
    """By a customer's name and a street (`places.same_street`): the key of who is meant there, or `NEW`.

    With `apart`, whoever is named at a street that is none of theirs is another customer.
    """

    by_street: Mapping[tuple[str, str], int] = field(default_factory=dict)
    apart: bool = False

    def __bool__(self) -> bool:
        return self.apart or bool(self.by_street)

    def of(self, name: str, street: str) -> int | None:
        """Who is meant by a name at a street; None where nobody said.

        >>> said = Whose({("Ada Quill", places.same_street("9 Birch Street")): 7})
        >>> said.of("Ada Quill", "9 birch st"), said.of("Ada Quill", "4 Alder Road"), Whose(apart=True).of("Ada Quill", "")
        (7, None, 0)
        """
        folded = places.same_street(street)
        said = self.by_street.get((name, folded), self.by_street.get((name, EVERYWHERE)))
        return NEW if said is None and self.apart else said
