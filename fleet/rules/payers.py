"""The kinds of payers, in the order in which they are asked: one line each."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Band:
    """How a payer's promise is drawn: what a solid band leaves open on each square of 8, and how a possible one is hatched.

    `strokes` and `hatch` are paths of SVG, `dots` the middles of dots; `side` is that of the square that the hatch repeats.
    """

    strokes: str = ""
    dots: tuple[tuple[int, int], ...] = ()
    hatch: str = "M1 0V7"
    side: int = 7


@dataclass(frozen=True, slots=True)
class Payer:
    """A kind of payer: its code in files, rows and JSON, what it is called, and its band.

    `pays` answers "who pays?", and `label` names it beside its band. Terms of one that is `bought` are held by the units alone that they were attached to; terms
    that are `ours` by those alone that we installed, and there is nobody to send a claim to.
    """

    code: str
    name: str
    pays: str
    label: str
    band: Band
    bought: bool = False
    ours: bool = False


PAYERS = (
    Payer("maker", "the manufacturer", "the manufacturer", "manufacturer", Band()),
    Payer("labor plan", "the labor plan", "the labor plan", "labor plan", Band(strokes="M2 0V8M6 0V8", hatch="M1 0V10M4 0V10", side=10), bought=True),
    Payer("installer", "our warranty", "we do", "our warranty", Band(dots=((2, 2), (6, 6)), hatch="M1 0V3M4.5 3.5V6.5"), ours=True),
)  # fmt: skip
BY_CODE = {payer.code: payer for payer in PAYERS}
# What may be chosen in a form or a filter: code and label.
CHOICES = tuple((payer.code, payer.label) for payer in PAYERS)
