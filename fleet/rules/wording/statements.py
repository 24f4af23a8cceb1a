"""Payers' statements in plain English: why a person has to decide about a credit."""

from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.statements import Fit, Found, Line
from fleet.rules.wording.claim_steps import STATES
from fleet.rules.wording.money import dollars


def left(found: Found, line: Line) -> str:
    """Why a credit was not booked by itself, and what may be done.

    >>> import datetime as dt
    >>> from decimal import Decimal
    >>> left(Found(Fit.NONE), Line("NR-5", "", dt.date(2026, 3, 2), Decimal("80.00")))
    'No claim on file has the reference NR-5.'
    """
    match found.fit:
        case Fit.EXACT:
            return "It is exactly what is still to come on this claim."
        case Fit.PART:
            (claim,) = found.claims
            return f"It is less than the {dollars(claim.left)} still to come on this claim: it may be a first part."
        case Fit.MORE:
            (claim,) = found.claims
            return f"It is more than the {dollars(claim.left)} still to come on this claim."
        case Fit.NOT_APPROVED:
            (claim,) = found.claims
            return f"The claim it names stands at “{STATES[claim.state]}”, so no credit is expected; first record what the payer did."
        case Fit.TOO_EARLY:
            (claim,) = found.claims
            day = "" if claim.last_step_on is None else f", {in_words(claim.last_step_on)}"
            return f"The amount fits, but {in_words(line.on)} is before the claim’s last step{day}. Choose the day to book it."
        case Fit.SEVERAL:
            return f"{len(found.claims)} claims have that reference or number, and the amount fits more than one."
        case Fit.TOLD_BEFORE:
            return "Another statement already has this credit: same reference, number, day and amount."
        case Fit.TAKES_BACK:
            return "It takes money back. Record on the claim what the payer corrected, then set this line aside."
        case Fit.NONE:
            return _nobody(line)
        case _ as never:
            assert_never(never)


def _nobody(line: Line) -> str:
    if line.reference and line.number:
        return f"No claim on file has the reference {line.reference} or the number {line.number}."
    if line.reference or line.number:
        return (
            f"No claim on file has the {'reference' if line.reference else 'number'} {line.reference or line.number}."
        )
    return "It has neither a reference nor a number."
