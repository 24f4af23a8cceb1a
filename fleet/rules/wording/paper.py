"""What a paper says, as short sentences."""

from collections.abc import Sequence

from fleet.rules.dates import Length, in_words
from fleet.rules.terms import (
    Addend,
    Allowance,
    Basis,
    ClaimTerms,
    Coverage,
    Place,
    RegistrationTerms,
    Terms,
    Tier,
)
from fleet.rules.wording.names import ASKED, CAUSES, DATES, PAYERS, dated, days, length, listed, upper


def terms_in_words(terms: Terms) -> tuple[str, ...]:
    """Write what a paper says, as short sentences in the order in which somebody would ask."""
    found = [_whose(terms), _from_when(terms), *_starts(terms.starts, counts_first_day=terms.counts_first_day)]
    found += _registering(terms.registration)
    found += [_paid(coverage, tier) for coverage in terms.coverages for tier in coverage.tiers]
    found += [
        f"For {listed(map(_component_listed, coverage.components))}, nothing is paid for in the first {days(coverage.waits_days)}."
        for coverage in terms.coverages
        if coverage.waits_days
    ]
    if terms.excludes_causes:
        found.append(f"Excluded causes: {listed(CAUSES.get(cause, cause) for cause in terms.excludes_causes)}.")
    found += _sold(terms)
    found.append(_replaced(terms))
    found += _claims(terms.claims)
    if terms.allowance is not None:
        found += _allowance(terms.allowance)
    return tuple(found)


def _whose(terms: Terms) -> str:
    maker = "any maker" if terms.maker == "*" else terms.maker
    models = "all models" if "*" in terms.models else f"models {listed(terms.models)}"
    payer = f"The maker, {terms.maker}," if terms.payer == "maker" else upper(PAYERS[terms.payer])
    whose = "" if terms.payer == "maker" else f" of {maker}"
    return f"{payer} promises this for {models}{whose}."


def _from_when(terms: Terms) -> str:
    first = in_words(terms.installed_from)
    starts = f"on {first} or later" if terms.installed_to is None else f"from {first} to {in_words(terms.installed_to)}"
    return f"It holds for units whose term starts {starts}."


def _starts(bases: Sequence[Basis], *, counts_first_day: bool) -> list[str]:
    wanted = ", else ".join(map(_basis, bases))
    counted = "that day is counted" if counts_first_day else "that day is not counted"
    return [f"A term starts on {wanted}; {counted}."]


def _basis(basis: Basis) -> str:
    dates = [_addend(date) for date in basis.dates]
    one = dates[0] if len(dates) == 1 else f"the earliest of {listed(dates)}"
    marks = [*(["for a new house"] if basis.new_house_only else []), *(["assumed"] if basis.assumed else [])]
    return f"{one} ({', '.join(marks)})" if marks else one


def _addend(addend: Addend) -> str:
    if addend.plus_months:
        return f"{DATES[addend.date]} plus {length(str(Length(months=addend.plus_months)))}"
    return f"{DATES[addend.date]} plus {days(addend.plus_days)}" if addend.plus_days else DATES[addend.date]


def _registering(rules: RegistrationTerms | None) -> list[str]:
    if rules is None or not rules.required:
        return ["Registering is not required."]
    who = "The owner or the installer" if rules.by == "either" else f"The {rules.by}"
    found = [f"{who} must register it within {days(rules.within_days)} of {DATES[rules.counted_from]}."]
    if rules.new_house_counted_from:
        found.append(f"In a new house the {days(rules.within_days)} count from {DATES[rules.new_house_counted_from]}.")
    found += [f"Registering is not required in {_place(place)}." for place in rules.not_required_in]
    return found


def _place(place: Place) -> str:
    uses = f" if it is {listed((ASKED[use] for use in place.uses), 'or')}" if place.uses else ""
    since = f" (for terms that start{dated(place.started_from)} or later)" if place.started_from else ""
    return f"{place.region}{uses}{since}"


def _component_listed(name: str) -> str:
    return "every component not named elsewhere" if name == "*" else "other components" if name == "other" else name


def _paid(coverage: Coverage, tier: Tier) -> str:
    paid, components = listed(coverage.pays_for), listed(map(_component_listed, coverage.components))
    asks = f", if it is {listed(ASKED[name] for name in tier.when)}" if tier.when else ""
    return f"{upper(paid)} for {components}: {length(str(tier.length))}{asks}."


def _sold(terms: Terms) -> list[str]:
    if not any("first owner" in tier.when for coverage in terms.coverages for tier in coverage.tiers):
        return ["A sale of the house changes nothing."]
    rules = terms.transfer
    if rules is None:
        return ["Nothing is said about a sale of the house, so the promise to the first owner ends with it."]
    if rules.rule == "automatic":
        return ["When the house is sold, the promise goes along by itself."]
    told = f"goes along if the payer is told within {days(rules.within_days or 0)}"
    found = [f"When the house is sold, the promise {told if rules.rule == 'notice' else 'to the first owner ends'}."]
    for place in rules.automatic_in:
        since = f" for sales{dated(place.first)} or later" if place.first else ""
        found.append(f"In {place.region} it goes along by law{since}.")
    return found


def _replaced(terms: Terms) -> str:
    rules = terms.replacement
    if rules is None:
        return "Nothing is said about replaced parts."
    if rules.rule == "remainder":
        return "A replaced part has what is left of the unit's term."
    whole = length(str(rules.length))
    if rules.rule == "fresh":
        return f"A replaced part has {whole} of its own, whatever is left of the unit's term."
    return f"A replaced part has {whole} of its own or what is left of the unit's term, whichever is longer."


_OLD_PART = {
    "return": "The old part goes back",
    "return if asked": "The old part goes back if it is asked for",
    "plate only": "Only the old part's nameplate is wanted",
    "keep until credited": "The old part is kept until the claim is credited",
}


def _claims(rules: ClaimTerms) -> list[str]:
    found = []
    if rules.form_before_part:
        found.append("The claim form comes before the new part is taken.")
    if rules.file_within_days is not None:
        found.append(f"A claim is filed within {days(rules.file_within_days)} of {DATES[rules.file_counted_from]}.")
    back = ""
    if rules.part_wanted_back and rules.part_back_within_days is not None:
        back = f", within {days(rules.part_back_within_days)} of {DATES[rules.part_back_counted_from]}"
    found.append(f"{_OLD_PART[rules.old_part]}{back}.")
    if rules.leave_first:
        found.append(f"The payer's leave comes before replacing: {listed(rules.leave_first)}.")
    if rules.wants:
        found.append(f"A claim needs: {listed(rules.wants)}.")
    if rules.fee:
        found.append(f"The fee for a claim is ${rules.fee:.2f}.")
    return found


def _allowance(rules: Allowance) -> list[str]:
    found = []
    if rules.call:
        found.append(f"Paid for the call: ${rules.call:.2f}.")
    if rules.hours:
        hours = (f"{'any other' if name == '*' else name} {number.normalize():f}" for name, number in rules.hours)
        found.append(f"Paid for labor: ${rules.hourly:.2f} an hour, in hours for each component: {listed(hours)}.")
    found += [f"Paid for refrigerant {name}: ${amount:.2f} a pound." for name, amount in rules.refrigerant_per_lb]
    if rules.reclaim:
        found.append(f"Paid for reclaiming refrigerant: ${rules.reclaim:.2f}.")
    if rules.handling:
        bands = (
            f"${band.pays:.2f}" + ("" if band.below is None else f" where the part costs less than ${band.below:.2f}")
            for band in rules.handling
        )
        found.append(f"Paid for handling a part: {', else '.join(bands)}.")
    return found
