"""Findings and terms in plain English; the only module that writes sentences."""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import assert_never

from fleet.rules.dates import Length, in_words
from fleet.rules.findings import Answer, Code, Payment, Reason, Result
from fleet.rules.registration import Standing, State
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

# ------------------------------------------------------------------------------------------------- names of things

_DATES = {
    "started_on": "the day it was started",
    "installed_on": "the day it was installed",
    "purchased_on": "the day it was purchased",
    "closed_on": "the closing day of the house",
    "manufactured_on": "the day it was manufactured",
    "attached_on": "the day these terms were bought or promised",
    "failed_on": "the day it failed",
    "repaired_on": "the day it was repaired",
    "part_taken_on": "the day the new part was taken",
}
_PAYERS = {
    "maker": "the maker",
    "labor plan": "the labor plan",
    "installer": "the installer",
    "customer": "the customer",
}
_CAUSES = {"installation ours": "our installation", "installation others": "another firm's installation"}
# For each condition: that it holds, that it does not, and what is open ("if ...", "whether ...").
_CONDITIONS = {
    "registered": ("It is registered", "It is not registered", "it is registered"),
    "recognized installer": (
        "A recognized installer put it in",
        "It was not put in by a recognized installer",
        "a recognized installer put it in",
    ),
    "licensed installer": (
        "A licensed installer put it in",
        "It was not put in by a licensed installer",
        "a licensed installer put it in",
    ),
    "matched system": (
        "It is part of a matched system",
        "It is not part of a matched system",
        "it is part of a matched system",
    ),
    "original site": ("It is at its original site", "It is not at its original site", "it is at its original site"),
    "owner home": ("It is in an owner's home", "It is not in an owner's home", "it is in an owner's home"),
    "rental": ("It is in a rental", "It is not in a rental", "it is in a rental"),
    "business": ("It is in a business", "It is not in a business", "it is in a business"),
    "first owner": (
        "No sale of the house since the start is on file",
        "The house was sold",
        "the house was not sold",
    ),
    "yearly maintenance": (
        "No full year is without a technician's maintenance on file",
        "A full year is without a technician's maintenance",
        "a technician maintained it every year",
    ),
    "away from coast": ("It is not near the coast", "It is near the coast", "it is not near the coast"),
}
# The same as what a paper asks for.
_ASKED = {
    "registered": "registered",
    "recognized installer": "put in by a recognized installer",
    "licensed installer": "put in by a licensed installer",
    "matched system": "part of a matched system",
    "original site": "at its original site",
    "owner home": "in an owner's home",
    "rental": "in a rental",
    "business": "in a business",
    "first owner": "with its first owner",
    "yearly maintenance": "maintained by a technician every year",
    "away from coast": "away from the coast",
}


def length(what: str) -> str:
    """Write a length as people say it.

    >>> length("120 months"), length("18 months"), length("1 days"), length("lifetime")
    ('10 years', '18 months', '1 day', 'the life of the unit')
    """
    if what == "lifetime":
        return "the life of the unit"
    number, unit = _counted(what)
    return f"{number:,} {unit}" if number == 1 else f"{number:,} {unit}s"


def _term(what: str) -> str:
    """Name a term by its length: `the 10-year term`; a bare `the term` where the length is not told."""
    if not what:
        return "the term"
    if what == "lifetime":
        return "the lifetime term"
    number, unit = _counted(what)
    return f"the {number:,}-{unit} term"


def _counted(what: str) -> tuple[int, str]:
    number, unit = int(what.split()[0]), what.split()[1].removesuffix("s")
    return (number // 12, "year") if unit == "month" and number % 12 == 0 else (number, unit)


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"


def _listed(items: Iterable[str], last: str = "and") -> str:
    found = tuple(items)
    if len(found) < 2:
        return "".join(found)
    return f"{', '.join(found[:-1])} {last} {found[-1]}"


def _on(day: dt.date | None, before: str = " on ") -> str:
    """Write a day with its lead, or nothing where it is not known."""
    return "" if day is None else f"{before}{in_words(day)}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _component(name: str) -> str:
    return "any other component" if name in ("any other", "other", "*") else f"the {name}"


# --------------------------------------------------------------------------------------------------------- reasons


def sentence(reason: Reason, *, on: dt.date) -> str:
    """Write a reason as one sentence; `on` is the day of the failure.

    >>> sentence(Reason(Code.ENDED, what="60 months", until=dt.date(2020, 4, 14)), on=dt.date(2020, 5, 7))
    'The 5-year term ended on 14 April 2020, 23 days before.'
    """
    return f"{_reason(reason, on)}{_would_have(reason)}."


def _reason(reason: Reason, on: dt.date) -> str:  # noqa: C901 - one case for each code
    what, day, until = reason.what, reason.day, reason.until
    match reason.code:
        case Code.TIER_USED:
            return (
                f"{_upper(_term(what))} has no last day"
                if until is None
                else f"{_upper(_term(what))}{_on(until, ' runs to ')}"
            )
        case Code.CONDITION_MET:
            return _CONDITIONS[what][0]
        case Code.REGISTERED_IN_TIME:
            return f"Registered{_on(day)}, {_before_limit(day, until)}"
        case Code.REGISTERED_WITH_NUMBER:
            return f"Registered{_on(day)} under number {what}; the day that the limit counts from is not on file"
        case Code.REGISTERED_LATE:
            return f"Registered {_gap(until, day)} late:{_on(day)}, the limit was{_on(until, ' ')}"
        case Code.NOT_REGISTERED:
            return f"Not registered; the limit was{_on(until, ' ')}"
        case Code.REGISTRATION_NOT_REQUIRED:
            return (
                f"The law in {what} lets nobody ask for registration" if what else "These terms ask for no registration"
            )
        case Code.REGISTRATION_ACCEPTED_LATE:
            return f"The payer accepted the late registration in writing{_on(day, '; it was registered on ')}"
        case Code.REGISTER_BY:
            return f"Not registered yet; the limit is{_on(until, ' ')}"
        case Code.ANCHOR_UNKNOWN:
            told = "Registered" if day else "Not registered yet"
            return f"{told}{_on(day)}; the limit counts from {_DATES[what]}, which is not on file"
        case Code.PLACE_UNKNOWN:
            fact = "region" if what == "region" else "use"
            if day is not None:
                return f"The house was sold{_on(day)}; whether the promise goes along depends on the site's {fact}, which is not on file"
            return f"Too late to register; whether that matters depends on the site's {fact}, which is not on file"
        case Code.START_UNKNOWN:
            return f"The start is not known: {_DATES[what]} is not on file"
        case Code.START_ASSUMED:
            return f"The start,{_on(day, ' ')}, is assumed from {_DATES[what]}"
        case Code.BEFORE_START:
            return f"These terms start{_on(day)}, {_gap(on, day)} after"
        case Code.WAITING_DAYS:
            return f"Started{_on(day)}; after waiting days, nothing is paid for before{_on(until, ' ')}"
        case Code.ENDED:
            return f"{_upper(_term(what))} ended{_on(until)}, {_gap(until, on)} before"
        case Code.EDGE_DAY:
            return _edge(until, on)
        case Code.COMPONENT_NOT_LISTED:
            return f"These terms do not pay for {_component(what)}"
        case Code.CAUSE_EXCLUDED:
            return f"These terms exclude this cause: {_CAUSES.get(what, what)}"
        case Code.CONDITION_OPEN:
            return f"Nobody recorded whether {_CONDITIONS[what][2]}"
        case Code.CONDITION_FAILED:
            return f"It was moved to another site{_on(day)}" if day else _CONDITIONS[what][1]
        case Code.SOLD:
            return f"The house was sold{_on(day)}, and the promise did not go along"
        case Code.TRANSFER_IN_TIME:
            return f"The payer was told of the sale{_on(day)}, {_before_limit(day, until)}"
        case Code.TRANSFER_MISSED:
            return f"The house was sold{_on(day)}, and the payer was not told by{_on(until, ' ')}"
        case Code.TRANSFER_AUTOMATIC:
            return f"The house was sold{_on(day)}, and the promise went along by itself"
        case Code.NOTIFY_BY:
            return f"The house was sold{_on(day)}; the payer must be told by{_on(until, ' ')}"
        case Code.MAINTENANCE_GAP:
            return f"No technician's maintenance is on file{_on(day, ' from ')}{_on(until, ' to ')}"
        case Code.PART_REPLACED:
            runs = "ran" if until is not None and until < on else "runs"
            return (
                f"{_upper(_component(what))} was replaced{_on(day)}; the new part's own term {runs} to{_on(until, ' ')}"
            )
        case Code.UNIT_EXCHANGED:
            if what == "came":
                return f"This unit came in exchange{_on(day)}; a failure before that is the earlier unit's"
            return f"This unit was exchanged{_on(day)}; a failure since then is the new unit's"
        case Code.UNIT_REMOVED:
            return f"This unit was taken out{_on(day)}"
        case Code.NO_TERMS:
            return "This unit holds no terms on file"
        case _ as never:
            assert_never(never)


def _gap(first: dt.date | None, later: dt.date | None) -> str:
    return "some days" if first is None or later is None else _days((later - first).days)


def _before_limit(day: dt.date | None, until: dt.date | None) -> str:
    if day is None or until is None:
        return "in time"
    return "the last day for it" if day == until else f"{_gap(day, until)} before the limit"


def _edge(until: dt.date | None, on: dt.date) -> str:
    if until is None or until == on:
        return f"The failure is on the last day,{_on(until or on, ' ')}"
    return f"The last day,{_on(until, ' ')}, is the day {'after' if until > on else 'before'} the failure"


def _would_have(reason: Reason) -> str:
    """Say how far the term would have run if this one thing had been otherwise."""
    if reason.would_reach is None:
        return ""
    otherwise = {
        Code.REGISTERED_LATE: "registered in time",
        Code.NOT_REGISTERED: "registered in time",
        Code.SOLD: "without the sale",
        Code.TRANSFER_MISSED: "told in time",
    }.get(reason.code, "otherwise")
    return f"; {otherwise} it would have run to {in_words(reason.would_reach)}"


# ----------------------------------------------------------------------------------------------------------- needs


def need(reason: Reason, *, on: dt.date) -> str:  # noqa: C901 - one case for each code
    """Write what somebody must do or find so that the answer gets certain; `on` is the day of the failure.

    >>> need(Reason(Code.REGISTER_BY, what="owner", until=dt.date(2021, 4, 30)), on=dt.date(2021, 4, 1))
    'Register by 30 April 2021; the owner must do it.'
    """
    what, day, until = reason.what, reason.day, reason.until
    match reason.code:
        case Code.REGISTER_BY:
            whose = "" if what == "either" else f"; the {what} must do it"
            return f"Register by{_on(until, ' ')}{whose}."
        case Code.ANCHOR_UNKNOWN:
            return f"Find {_DATES[what]}: the limit for registering counts from it."
        case Code.START_UNKNOWN:
            return f"Find {_DATES[what]}."
        case Code.START_ASSUMED:
            return f"Find proof of the start:{_on(day, ' ')} is assumed from {_DATES[what]}."
        case Code.PLACE_UNKNOWN:
            return "Find the region of the site." if what == "region" else "Find out what the site is used for."
        case Code.CONDITION_OPEN:
            return f"Find out whether {_CONDITIONS[what][2]}."
        case Code.NOTIFY_BY:
            return f"Tell the payer by{_on(until, ' ')} that the house was sold{_on(day)}."
        case Code.MAINTENANCE_GAP:
            return f"Find a record of a technician's maintenance{_on(day, ' from ')}{_on(until, ' to ')}."
        case Code.EDGE_DAY:
            return f"Keep proof of the day it failed: {_lower(_edge(until, on))}."
        case (
            Code.TIER_USED | Code.CONDITION_MET | Code.CONDITION_FAILED | Code.REGISTERED_IN_TIME
            | Code.REGISTERED_WITH_NUMBER | Code.REGISTERED_LATE | Code.NOT_REGISTERED | Code.REGISTRATION_NOT_REQUIRED
            | Code.REGISTRATION_ACCEPTED_LATE | Code.BEFORE_START | Code.WAITING_DAYS | Code.ENDED
            | Code.COMPONENT_NOT_LISTED | Code.CAUSE_EXCLUDED | Code.SOLD | Code.TRANSFER_IN_TIME | Code.TRANSFER_MISSED
            | Code.TRANSFER_AUTOMATIC | Code.PART_REPLACED | Code.UNIT_EXCHANGED | Code.UNIT_REMOVED | Code.NO_TERMS
        ):  # fmt: skip
            return "Nothing is to be done."
        case _ as never:
            assert_never(never)


def _provided(reason: Reason) -> str:
    """Write an open reason as what must hold: `Covered ... if ...`."""
    match reason.code:
        case Code.REGISTER_BY:
            return f"it is registered by{_on(reason.until, ' ')}"
        case Code.ANCHOR_UNKNOWN:
            return f"it was registered in time, counted from {_DATES[reason.what]}"
        case Code.PLACE_UNKNOWN if reason.day is None:
            return "registering is not required there"
        case Code.PLACE_UNKNOWN:
            return f"the promise went along with the sale{_on(reason.day, ' of ')}"
        case Code.NOTIFY_BY:
            return f"the payer is told of the sale by{_on(reason.until, ' ')}"
        case Code.MAINTENANCE_GAP:
            return f"a technician maintained it{_on(reason.day, ' between ')}{_on(reason.until, ' and ')}"
        case Code.START_ASSUMED:
            return f"it did start{_on(reason.day)}"
        case _:
            return _CONDITIONS[reason.what][2]


# --------------------------------------------------------------------------------------------------------- answers

# What only goes along with a "no", and does not head it.
_BESIDE = (Code.PART_REPLACED, Code.START_ASSUMED, Code.EDGE_DAY)


def answer_line(answer: Answer, *, on: dt.date) -> str:
    """Write the headline of one answer; `on` is the day of the failure."""
    payer = _PAYERS[answer.payer]
    match answer.result:
        case Result.COVERED:
            known = "for the life of the unit" if answer.lifetime else f"until{_on(answer.last, ' ')}"
            return f"Covered by {payer} {known}{_perhaps(answer)}."
        case Result.COVERED_IF:
            provided = _listed(dict.fromkeys(map(_provided, answer.needs)))
            possible = (
                "for the life of the unit" if answer.possible_lifetime else f"until{_on(answer.possible_last, ' ')}"
            )
            return f"Covered by {payer} {possible} if {provided}."
        case Result.NOT_COVERED:
            return f"Not covered by {payer}: {_why_not(answer.reasons, on)}."
        case Result.CANNOT_SAY:
            return f"Cannot say whether {payer} covers it: {_lower(_reason(answer.reasons[0], on))}."
        case _ as never:
            assert_never(never)


def _perhaps(answer: Answer) -> str:
    if answer.possible_lifetime:
        return ", perhaps for the life of the unit"
    return _on(answer.possible_last, ", perhaps until ")


def longer(answer: Answer) -> str:
    """Write how far a promise may still run and what that hangs on, from an answer just after its definite term.

    >>> need = Reason(Code.REGISTER_BY, what="either", until=dt.date(2021, 4, 30))
    >>> used = Reason(Code.TIER_USED, what="120 months", until=dt.date(2031, 3, 1))
    >>> longer(Answer("t", "maker", "parts", Result.COVERED_IF, (used,), (need,)))
    'Until 1 March 2031 if it is registered by 30 April 2021.'
    """
    if answer.result is not Result.COVERED_IF:
        return ""
    last = next((reason.until for reason in answer.reasons if reason.code is Code.TIER_USED), None)
    until = "For the life of the unit" if last is None else f"Until {in_words(last)}"
    return f"{until} if {_listed(dict.fromkeys(map(_provided, answer.needs)))}."


def _why_not(reasons: Sequence[Reason], on: dt.date) -> str:
    """Name the first thing that decided, and how far the term would have run had one thing been otherwise."""
    deciding = next((reason for reason in reasons if reason.code not in _BESIDE), reasons[0])
    missed = next((reason for reason in reasons if reason.would_reach is not None), deciding)
    return f"{_lower(_reason(deciding, on))}{_would_have(missed)}"


def standing(found: Standing, *, asked: dt.date) -> str:
    """Write where a registration stands on the day of asking."""
    reason = found.judgement.reasons[0]
    match found.state:
        case State.NOT_REQUIRED:
            return f"Not required: {_lower(_reason(reason, asked))}."
        case State.WAITING:
            return f"Waiting for a date: the limit counts from {_DATES[reason.what]}."
        case State.TO_DO:
            if found.deadline == asked:
                return f"To do today, the last day for it:{_on(found.deadline, ' ')}."
            return f"To do: {_gap(asked, found.deadline)} left, until{_on(found.deadline, ' ')}."
        case State.SENT:
            return f"Sent{_on(found.day)}; its number is not on file yet."
        case State.CONFIRMED:
            return f"Confirmed{_on(found.day, '; registered on ')}."
        case State.MISSED:
            return f"Missed: {_lower(_reason(reason, asked))}."
        case _ as never:
            assert_never(never)


def payment(found: Payment) -> str:
    """Write who pays one kind of cost.

    >>> payment(Payment("labor", "labor plan if", ("maker",)))
    'Labor: the labor plan pays if what is open turns out so; the maker is worth asking.'
    """
    if found.pays == "cannot say":
        paid = "nobody can say who pays"
    elif found.pays.endswith(" if"):
        paid = f"{_PAYERS[found.pays.removesuffix(' if')]} pays if what is open turns out so"
    else:
        paid = f"{_PAYERS[found.pays]} pays"
    asked = _listed(_PAYERS[name] for name in found.worth_asking)
    worth = f"; {asked} {'is' if len(found.worth_asking) == 1 else 'are'} worth asking" if asked else ""
    return f"{_upper(found.kind)}: {paid}{worth}."


# ----------------------------------------------------------------------------------------------------------- terms


def terms_in_words(terms: Terms) -> tuple[str, ...]:
    """Write what a paper says, as short sentences in the order in which somebody would ask."""
    found = [_whose(terms), _from_when(terms), *_starts(terms.starts, counts_first_day=terms.counts_first_day)]
    found += _registering(terms.registration)
    found += [_paid(coverage, tier) for coverage in terms.coverages for tier in coverage.tiers]
    found += [
        f"For {_listed(map(_component_listed, coverage.components))}, nothing is paid for in the first {_days(coverage.waits_days)}."
        for coverage in terms.coverages
        if coverage.waits_days
    ]
    if terms.excludes_causes:
        found.append(f"Excluded causes: {_listed(_CAUSES.get(cause, cause) for cause in terms.excludes_causes)}.")
    found += _sold(terms)
    found.append(_replaced(terms))
    found += _claims(terms.claims)
    if terms.allowance is not None:
        found += _allowance(terms.allowance)
    return tuple(found)


def _whose(terms: Terms) -> str:
    maker = "any maker" if terms.maker == "*" else terms.maker
    models = "all models" if "*" in terms.models else f"models {_listed(terms.models)}"
    payer = f"The maker, {terms.maker}," if terms.payer == "maker" else _upper(_PAYERS[terms.payer])
    whose = "" if terms.payer == "maker" else f" of {maker}"
    return f"{payer} promises this for {models}{whose}."


def _from_when(terms: Terms) -> str:
    first = in_words(terms.installed_from)
    days = f"on {first} or later" if terms.installed_to is None else f"from {first} to {in_words(terms.installed_to)}"
    return f"It holds for units whose term starts {days}."


def _starts(bases: Sequence[Basis], *, counts_first_day: bool) -> list[str]:
    wanted = ", else ".join(map(_basis, bases))
    counted = "that day is counted" if counts_first_day else "that day is not counted"
    return [f"A term starts on {wanted}; {counted}."]


def _basis(basis: Basis) -> str:
    dates = [_addend(date) for date in basis.dates]
    one = dates[0] if len(dates) == 1 else f"the earliest of {_listed(dates)}"
    marks = [*(["for a new house"] if basis.new_house_only else []), *(["assumed"] if basis.assumed else [])]
    return f"{one} ({', '.join(marks)})" if marks else one


def _addend(addend: Addend) -> str:
    if addend.plus_months:
        return f"{_DATES[addend.date]} plus {length(str(Length(months=addend.plus_months)))}"
    return f"{_DATES[addend.date]} plus {_days(addend.plus_days)}" if addend.plus_days else _DATES[addend.date]


def _registering(rules: RegistrationTerms | None) -> list[str]:
    if rules is None or not rules.required:
        return ["Registering is not required."]
    who = "The owner or the installer" if rules.by == "either" else f"The {rules.by}"
    found = [f"{who} must register it within {_days(rules.within_days)} of {_DATES[rules.counted_from]}."]
    if rules.new_house_counted_from:
        found.append(
            f"In a new house the {_days(rules.within_days)} count from {_DATES[rules.new_house_counted_from]}."
        )
    found += [f"Registering is not required in {_place(place)}." for place in rules.not_required_in]
    return found


def _place(place: Place) -> str:
    uses = f" if it is {_listed((_ASKED[use] for use in place.uses), 'or')}" if place.uses else ""
    since = f" (for terms that start{_on(place.started_from)} or later)" if place.started_from else ""
    return f"{place.region}{uses}{since}"


def _component_listed(name: str) -> str:
    return "every component not named elsewhere" if name == "*" else "other components" if name == "other" else name


def _paid(coverage: Coverage, tier: Tier) -> str:
    paid, components = _listed(coverage.pays_for), _listed(map(_component_listed, coverage.components))
    asks = f", if it is {_listed(_ASKED[name] for name in tier.when)}" if tier.when else ""
    return f"{_upper(paid)} for {components}: {length(str(tier.length))}{asks}."


def _sold(terms: Terms) -> list[str]:
    if not any("first owner" in tier.when for coverage in terms.coverages for tier in coverage.tiers):
        return ["A sale of the house changes nothing."]
    rules = terms.transfer
    if rules is None:
        return ["Nothing is said about a sale of the house, so the promise to the first owner ends with it."]
    if rules.rule == "automatic":
        return ["When the house is sold, the promise goes along by itself."]
    told = f"goes along if the payer is told within {_days(rules.within_days or 0)}"
    found = [f"When the house is sold, the promise {told if rules.rule == 'notice' else 'to the first owner ends'}."]
    for place in rules.automatic_in:
        since = f" for sales{_on(place.first)} or later" if place.first else ""
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
        found.append(f"A claim is filed within {_days(rules.file_within_days)} of {_DATES[rules.file_counted_from]}.")
    back = ""
    if rules.part_wanted_back and rules.part_back_within_days is not None:
        back = f", within {_days(rules.part_back_within_days)} of {_DATES[rules.part_back_counted_from]}"
    found.append(f"{_OLD_PART[rules.old_part]}{back}.")
    if rules.leave_first:
        found.append(f"The payer's leave comes before replacing: {_listed(rules.leave_first)}.")
    if rules.wants:
        found.append(f"A claim needs: {_listed(rules.wants)}.")
    if rules.fee:
        found.append(f"The fee for a claim is ${rules.fee:.2f}.")
    return found


def _allowance(rules: Allowance) -> list[str]:
    found = []
    if rules.call:
        found.append(f"Paid for the call: ${rules.call:.2f}.")
    if rules.hours:
        hours = (f"{'any other' if name == '*' else name} {number.normalize():f}" for name, number in rules.hours)
        found.append(f"Paid for labor: ${rules.hourly:.2f} an hour, in hours for each component: {_listed(hours)}.")
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
