"""The federal rules on refrigerant in plain English: which one leaves a system out and why, and what taking one out asks for."""

from decimal import Decimal

from fleet.rules.dates import in_words
from fleet.rules.federal import FederalRule, LeftOut, Standing

_ASKS = "The rate is here to help find the leak."
RECOVERY = (
    "Record the refrigerant recovered from the unit that was taken out: day, kind, weight, cylinder and who recovered it. "
    "Federal rules ask for it where a system held more than 5 and less than 50 lb (40 CFR 82.156(a)(3))."
)


def leak_rule(refrigerant: str, found: Standing, pounds: Decimal | None) -> str:
    """Which federal leak rule leaves a system out, and why; or that its rate must be watched.

    >>> from fleet.rules.federal import Subsector, Substance, standing
    >>> import datetime as dt
    >>> hfc = standing(Decimal(6), Substance.HFC, Subsector.RESIDENTIAL, on=dt.date(2026, 3, 2))
    >>> leak_rule("R-410A", hfc, Decimal(6)).split(": ")[1]
    'it leaves out residential and light commercial air conditioning and heat pumps. The rate is here to help find the leak.'
    """
    rule = found.rule
    if rule is None:
        return f"No federal leak rule names {refrigerant}. {_ASKS}"
    named = f"The federal leak rule for {refrigerant} ({rule.source.title})"
    match found.why:
        case LeftOut.SUBSECTOR:
            return f"{named} does not apply: it leaves out residential and light commercial air conditioning and heat pumps. {_ASKS}"
        case LeftOut.NOT_YET:
            return f"{named} does not apply yet: it holds from {in_words(rule.first_day)}. {_ASKS}"
        case LeftOut.CHARGE_UNKNOWN:
            return f"{named} applies from {_pounds(rule)} of full charge; the charge of this system is not on file."
        case LeftOut.TOO_SMALL:
            held = f"{pounds.quantize(Decimal('0.01')).normalize():f}" if pounds is not None else "less"
            return f"{named} does not apply: it begins at {_pounds(rule)} of full charge, and this system holds {held} lb. {_ASKS}"
        case _:
            return f"{named} applies: it covers systems of {_pounds(rule)} and more. Check the rule before you go on."


def unknown(refrigerant: str) -> str:
    """That nobody can say which rule applies."""
    kind = f"{refrigerant} is not in our list of refrigerants" if refrigerant else "The refrigerant is not on file"
    return f"{kind}, so look up whether a federal leak rule applies. {_ASKS}"


def over_trigger(rate: str, limit: Decimal) -> str:
    """That a leak must be repaired."""
    return f"{rate} is over the {limit.normalize():f}% a year at which the leak must be repaired."


def _pounds(rule: FederalRule) -> str:
    return f"{rule.least_pounds.normalize():f} lb"
