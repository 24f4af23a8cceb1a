"""Terms as values: what one payer promises for some models, in writing, with dates."""

import datetime as dt
import re
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

from fleet.rules import words
from fleet.rules.dates import Length

# From which day a claim's clocks may count, and what a payer may want done with the old part.
FILE_FROM = ("failed_on", "repaired_on")
PART_BACK_FROM = ("failed_on", "part_taken_on")
OLD_PART = ("return", "return if asked", "plate only", "keep until credited")


@dataclass(frozen=True, slots=True)
class Basis:
    """One way to find the day a term starts: a date on file, perhaps with time added, or the earliest of several."""

    dates: tuple["Addend", ...]
    new_house_only: bool = False
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Addend:
    """A date on file with months or days added to it."""

    date: str
    plus_months: int = 0
    plus_days: int = 0


@dataclass(frozen=True, slots=True)
class Place:
    """A place whose law says that registration may not be asked for; region is ISO 3166-2, matched exactly."""

    region: str
    uses: tuple[str, ...] = ()
    started_from: dt.date | None = None


@dataclass(frozen=True, slots=True)
class RegistrationTerms:
    """What these terms say about registering: who, within how many days, counted from which date, and where it is not required."""

    required: bool
    by: str
    within_days: int
    counted_from: str
    new_house_counted_from: str | None = None
    not_required_in: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class AutomaticIn:
    """A region whose law makes a promise follow the house for sales from that day on."""

    region: str
    first: dt.date | None = None


@dataclass(frozen=True, slots=True)
class TransferTerms:
    """What becomes of the promise when the house is sold: rule is automatic, notice or none."""

    rule: str
    within_days: int | None = None
    automatic_in: tuple[AutomaticIn, ...] = ()


@dataclass(frozen=True, slots=True)
class Tier:
    """A length, with the conditions that it asks (those of the whole terms included)."""

    length: Length
    when: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Coverage:
    """Which kinds of cost are paid for which components, after how many waiting days, in which tiers."""

    pays_for: tuple[str, ...]
    components: tuple[str, ...]
    tiers: tuple[Tier, ...]
    waits_days: int = 0


@dataclass(frozen=True, slots=True)
class ReplacementTerms:
    """What a replaced part has: the remainder, the longer of remainder and a length, or a fresh length."""

    rule: str
    length: Length


@dataclass(frozen=True, slots=True)
class ClaimTerms:
    """The clocks and wants of a claim under these terms."""

    form_before_part: bool = False
    file_within_days: int | None = None
    file_counted_from: str = "failed_on"
    part_back_within_days: int | None = None
    part_back_counted_from: str = "failed_on"
    old_part: str = "return"
    leave_first: tuple[str, ...] = ()
    wants: tuple[str, ...] = ()
    fee: Decimal = Decimal(0)

    @property
    def part_wanted_back(self) -> bool:
        """Whether the old part has a day to be back by."""
        return self.old_part in ("return", "return if asked")


@dataclass(frozen=True, slots=True)
class HandlingBand:
    """What handling a part pays where its cost is below an amount (None: any cost)."""

    below: Decimal | None
    pays: Decimal


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a payer pays for labor and around it, in dollars and hours."""

    call: Decimal = Decimal(0)
    hourly: Decimal = Decimal(0)
    hours: tuple[tuple[str, Decimal], ...] = ()
    refrigerant_per_lb: tuple[tuple[str, Decimal], ...] = ()
    reclaim: Decimal = Decimal(0)
    handling: tuple[HandlingBand, ...] = ()


@dataclass(frozen=True)
class Terms:
    """What one payer promises for some models, in writing, with dates, a source and the day somebody last checked it."""

    code: str
    payer: str
    maker: str
    title: str
    models: tuple[str, ...]
    installed_from: dt.date
    installed_to: dt.date | None
    replaces: str
    checked_on: dt.date
    source_title: str
    source_page: str
    counts_first_day: bool
    excludes_causes: tuple[str, ...]
    starts: tuple[Basis, ...]
    requires: tuple[str, ...] = ()
    registration: RegistrationTerms | None = None
    transfer: TransferTerms | None = None
    coverages: tuple[Coverage, ...] = ()
    replacement: ReplacementTerms | None = None
    claims: ClaimTerms = field(default_factory=ClaimTerms)
    allowance: Allowance | None = None

    def __hash__(self) -> int:
        return hash(self.code)

    @cached_property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of cost that any of the coverages pays for, in the fixed order."""
        return tuple(kind for kind in words.KINDS if any(kind in coverage.pays_for for coverage in self.coverages))

    @cached_property
    def _found(self) -> dict[tuple[str, str], Coverage]:
        return {(kind, component): c for c in self.coverages for kind in c.pays_for for component in c.components}

    def coverage(self, kind: str, component: str) -> Coverage | None:
        """Find the coverage of a component for a kind of cost: one that names it beats one that says `*`."""
        return self._found.get((kind, component)) or self._found.get((kind, "*"))

    def named(self, kind: str) -> tuple[str, ...]:
        """List the components that some coverage for this kind of cost names."""
        return tuple(component for of_kind, component in self._found if of_kind == kind and component != "*")

    @cached_property
    def _patterns(self) -> tuple[re.Pattern[str], ...]:
        return tuple(_pattern(model) for model in self.models)

    @cached_property
    def _maker_key(self) -> str:
        return words.key(self.maker)

    def fits(self, *, maker: str, model: str) -> bool:
        """Whether these terms are written for this maker and model; case, spaces and hyphens do not count."""
        if self.maker != "*" and self._maker_key != words.key(maker):
            return False
        return self.fits_model(words.key(model))

    def fits_model(self, model_key: str) -> bool:
        """Whether a folded model matches one of the patterns."""
        return any(pattern.fullmatch(model_key) for pattern in self._patterns)


def _pattern(model: str) -> re.Pattern[str]:
    parts = (".*" if sign == "*" else "." if sign == "?" else re.escape(sign) for sign in words.key(model))
    return re.compile("".join(parts), re.DOTALL)
