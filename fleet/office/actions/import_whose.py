"""Whom rows of a file mean that name a customer on file at another street, or one new customer at several."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from fleet import models
from fleet.loading import namesakes
from fleet.loading.former import Former
from fleet.loading.staging import Stage
from fleet.loading.whose import EVERYWHERE, Whose
from fleet.rules.spreadsheets import filling, places
from fleet.rules.spreadsheets.plan import APART, NEW_CUSTOMER, ONE, NameAndStreet, Plan

# What tells customers of one name apart besides the street: two that differ in both are most likely two.
_TELLING = ("phone", "email")


def questions(stage: Stage, plan: Plan) -> Iterator[dict[str, Any]]:
    """Which customer is meant at each street that is none of theirs; and whether a new name at several streets is one customer."""
    former, seen = Former(), set()
    elsewhere = [one for one in namesakes.read(stage, former, Whose()) if one.is_elsewhere and one.street]
    for one in sorted(elsewhere, key=lambda one: one.row):
        where = (one.customer, places.same_street(one.street))
        if where not in seen:
            seen.add(where)
            yield _question(where, plan, _likely(one, stage), row=one.row, street=one.street, customers=one.customers)
    yield from _of_new(stage, plan, former)


def _question(where: NameAndStreet, plan: Plan, likely: str, **more: Any) -> dict[str, Any]:
    name, street = where
    answer = plan.whose.get(where, likely)
    return {"key": f"whose {name}\t{street}", "customer": name, "same_street": street, "answer": answer} | more


def _likely(one: namesakes.Named, stage: Stage) -> str:
    """Who is most likely meant: the one on file whose phone or e-mail the rows have, another if they have other ones."""
    on_file = models.Customer.objects.filter(pk__in=one.customers)
    for column in _TELLING:
        values = _values(stage, column, one.customer).get(places.same_street(one.street), set())
        known = {of.pk: getattr(of, column) for of in on_file}
        same = [
            pk
            for pk, value in known.items()
            if value and any(filling.is_same_fact(column, value, text) for text in values)
        ]
        if len(same) == 1:
            return str(same[0])
        if values and all(known.values()) and not same:
            return NEW_CUSTOMER
    return ""


def _values(stage: Stage, column: str, customer: str) -> Mapping[str, set[str]]:
    """What a customer's rows say in a column, by the street."""
    values: defaultdict[str, set[str]] = defaultdict(set)
    for street, value in stage.select(
        f"SELECT DISTINCT same_street, {column} FROM staged WHERE customer = ? AND same_street != '' AND {column} IS NOT NULL",
        [customer],
    ):
        values[street].add(value)
    return values


def _of_new(stage: Stage, plan: Plan, former: Former) -> Iterator[dict[str, Any]]:
    """Names that nobody on file has, at several streets: asked of where a phone or an e-mail, or one site's name, says that they are two."""
    of = "customer" if "site" in plan.ways else "customer, site"
    several = stage.select(
        "SELECT DISTINCT customer FROM (SELECT customer FROM staged WHERE same_street != ''"
        f" GROUP BY {of} HAVING COUNT(DISTINCT same_street) > 1) ORDER BY customer"
    )
    names = [name for (name,) in several]
    on_file = namesakes.by_name(names, former).keys() if names else set()
    for name in names:
        likely = APART if _tells(stage, name) else ONE
        if name not in on_file and (likely == APART or "site" not in plan.ways):
            yield _question((name, EVERYWHERE), plan, likely, row=_first(stage, name), streets=_streets(stage, name))


def _tells(stage: Stage, name: str) -> bool:
    """Whether a phone or an e-mail of each street is none of another's."""
    return any(_differ(_values(stage, column, name).values()) for column in _TELLING)


def _differ(values: Collection[set[str]]) -> bool:
    return len(values) > 1 and sum(map(len, values)) == len(set().union(*values))


def _first(stage: Stage, name: str) -> int:
    ((row,),) = stage.select("SELECT MIN(row) FROM staged WHERE customer = ?", [name])
    return int(row)


def _streets(stage: Stage, name: str) -> list[str]:
    lines = stage.select(
        "SELECT MIN(street) FROM staged WHERE customer = ? AND same_street != '' GROUP BY same_street ORDER BY MIN(row)",
        [name],
    )
    return [street for (street,) in lines]
