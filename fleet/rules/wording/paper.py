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
from fleet.rules.wording.names import (
    ASKED,
    CAUSES,
    DATES,
    PEOPLE,
    dated,
    days,
    is_we,
    length,
    listed,
    region,
    subject,
    upper,
)


def terms_in_words(terms: Terms) -> tuple[str, ...]:
    """What a paper says, as short sentences in the order in which somebody would ask."""
    found = [_whose(terms), _from_when(terms), *_starts(terms.starts, counts_first_day=terms.counts_first_day)]
    found += _registering(terms.registration)
    found += [_paid(coverage, tier) for coverage in terms.coverages for tier in coverage.tiers]
    found += [
        f"For {listed(map(_component_listed, coverage.components))}, nothing is paid in the first {days(coverage.waits_days)}."
        for coverage in terms.coverages
        if coverage.waits_days
    ]
    if terms.excludes_causes:
        found.append(
            f"Not covered if the cause is {listed((CAUSES.get(cause, cause) for cause in terms.excludes_causes), 'or')}."
        )
    found += _sold(terms)
    found.append(_replaced(terms))
    # There is nobody to send a claim to for what we promise ourselves.
    if not is_we(terms.payer) or terms.claims != ClaimTerms():
        found += _claims(terms.claims)
    if terms.allowance is not None:
        found += _allowance(terms.allowance)
    return tuple(found)


def _whose(terms: Terms) -> str:
    maker = "any manufacturer" if terms.maker == "*" else terms.maker
    models = "all models" if "*" in terms.models else f"models {listed(terms.models)}"
    if terms.payer == "maker":
        return f"{terms.maker}, the manufacturer, covers {models}."
    return f"{upper(subject(terms.payer))} {'cover' if is_we(terms.payer) else 'covers'} {models} of {maker}."


def _from_when(terms: Terms) -> str:
    first = in_words(terms.installed_from)
    starts = f"on {first} or later" if terms.installed_to is None else f"from {first} to {in_words(terms.installed_to)}"
    return f"It applies to units whose coverage starts {starts}."


def _starts(bases: Sequence[Basis], *, counts_first_day: bool) -> list[str]:
    days_in_order = ", else on ".join(map(_basis, bases))
    ends = "the day before the same date" if counts_first_day else "on the same date"
    return [f"Coverage starts on {days_in_order}; a one-year term ends {ends} a year later."]


def _basis(basis: Basis) -> str:
    dates = [_addend(date) for date in basis.dates]
    one = dates[0] if len(dates) == 1 else f"the earliest of {listed(dates)}"
    marks = [*(["new houses only"] if basis.new_house_only else []), *(["assumed"] if basis.assumed else [])]
    return f"{one} ({', '.join(marks)})" if marks else one


def _addend(addend: Addend) -> str:
    if addend.plus_months:
        return f"{DATES[addend.date]} plus {length(str(Length(months=addend.plus_months)))}"
    return f"{DATES[addend.date]} plus {days(addend.plus_days)}" if addend.plus_days else DATES[addend.date]


def _registering(rules: RegistrationTerms | None) -> list[str]:
    if rules is None or not rules.required:
        return ["Registration is not required."]
    found = [
        f"{upper(PEOPLE[rules.by])} must register it within {days(rules.within_days)} of {DATES[rules.counted_from]}."
    ]
    if rules.new_house_counted_from:
        found.append(f"For a new house the {days(rules.within_days)} count from {DATES[rules.new_house_counted_from]}.")
    found += [f"Registration is not required in {_place(place)}." for place in rules.not_required_in]
    return found


def _place(place: Place) -> str:
    uses = f" if it is {listed((ASKED[use] for use in place.uses), 'or')}" if place.uses else ""
    since = f", for coverage that starts{dated(place.started_from)} or later" if place.started_from else ""
    return f"{region(place.region)}{uses}{since}"


def _component_listed(name: str) -> str:
    return "all components not named elsewhere" if name == "*" else "other components" if name == "other" else name


def _paid(coverage: Coverage, tier: Tier) -> str:
    paid, components = listed(coverage.pays_for), listed(map(_component_listed, coverage.components))
    asks = f", if it is {listed(ASKED[name] for name in tier.when)}" if tier.when else ""
    return f"{upper(paid)} for {components}: {length(str(tier.length))}{asks}."


def _sold(terms: Terms) -> list[str]:
    if not any("first owner" in tier.when for coverage in terms.coverages for tier in coverage.tiers):
        return ["A sale of the house changes nothing."]
    rules = terms.transfer
    if rules is None:
        return ["The terms say nothing about a sale of the house, so coverage for the first owner ends with the sale."]
    if rules.rule == "automatic":
        return ["When the house is sold, the new owner keeps the coverage automatically."]
    kept = f"the new owner keeps the coverage if the payer is notified within {days(rules.within_days or 0)}"
    found = [f"When the house is sold, {kept if rules.rule == 'notice' else 'coverage for the first owner ends'}."]
    for place in rules.automatic_in:
        since = f", for sales{dated(place.first)} or later" if place.first else ""
        found.append(f"In {region(place.region)} the new owner keeps the coverage by law{since}.")
    return found


def _replaced(terms: Terms) -> str:
    rules = terms.replacement
    if rules is None:
        return "The terms say nothing about replaced parts."
    if rules.rule == "remainder":
        return "A replaced part is covered for what is left of the unit's term."
    whole = length(str(rules.length))
    if rules.rule == "fresh":
        return f"A replaced part is covered for {whole} of its own, whatever is left of the unit's term."
    return f"A replaced part is covered for {whole} of its own or for what is left of the unit's term, whichever is longer."


_OLD_PART = {
    "return": "Return the old part",
    "return if asked": "Return the old part if they ask for it",
    "plate only": "Send only the old part's nameplate",
    "keep until credited": "Keep the old part until the claim is credited",
}


def _claims(rules: ClaimTerms) -> list[str]:
    found = []
    if rules.form_before_part:
        found.append("Send the claim form before picking up the new part.")
    if rules.file_within_days is not None:
        found.append(f"File a claim within {days(rules.file_within_days)} of {DATES[rules.file_counted_from]}.")
    back = ""
    if rules.part_wanted_back and rules.part_back_within_days is not None:
        back = f" within {days(rules.part_back_within_days)} of {DATES[rules.part_back_counted_from]}"
    found.append(f"{_OLD_PART[rules.old_part]}{back}.")
    if rules.leave_first:
        found.append(f"Get prior approval before replacing: {listed(rules.leave_first)}.")
    if rules.wants:
        found.append(f"A claim needs: {listed(rules.wants)}.")
    if rules.fee:
        found.append(f"Each claim costs a fee of ${rules.fee:,.2f}.")
    return found


def _allowance(rules: Allowance) -> list[str]:
    found = []
    if rules.call:
        found.append(f"They pay ${rules.call:,.2f} for the call.")
    if rules.hours:
        hours = (f"{'any other' if name == '*' else name} {number.normalize():f} h" for name, number in rules.hours)
        found.append(f"They pay ${rules.hourly:,.2f} an hour for labor, by these hours: {listed(hours)}.")
    found += [f"They pay ${amount:,.2f} a pound for refrigerant {name}." for name, amount in rules.refrigerant_per_lb]
    if rules.reclaim:
        found.append(f"They pay ${rules.reclaim:,.2f} for reclaiming refrigerant.")
    if rules.handling:
        bands = (
            f"${band.pays:,.2f}" + ("" if band.below is None else f" where the part costs less than ${band.below:,.2f}")
            for band in rules.handling
        )
        found.append(f"They pay for handling a part: {', else '.join(bands)}.")
    return found
