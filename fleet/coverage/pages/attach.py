"""Terms to give to a unit that stands already, as the page about it shows them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AttachPage:
    """A unit, the units of its system, and the terms that it may be given, by payer; `code` and title of each."""

    pk: int
    name: str
    where: str
    units: tuple[tuple[int, str], ...]
    terms: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
