"""Terms written on screen: the fields that a terms file has, in the order in which somebody reads them off a paper."""

from collections.abc import Iterable

from fleet.elements.written import Choices, Field, Node, Pairs, Part, Rows
from fleet.rules import payers, words
from fleet.rules.terms import FILE_FROM, OLD_PART, PART_BACK_FROM
from fleet.rules.wording.names import ASKED, CAUSES, DATES, upper


def _named(names: Iterable[str]) -> Choices:
    return tuple((name, name) for name in names)


def _dates(names: Iterable[str]) -> Choices:
    return tuple((name, DATES[name]) for name in names)


_COMPONENTS = (("*", "all components not named elsewhere"), *_named(words.COMPONENTS))
_CONDITIONS = tuple((name, ASKED[name]) for name in words.CONDITIONS)
_CAUSES = tuple((name, CAUSES.get(name, name)) for name in words.CAUSES)
_PLACE = Field("region", "State or province", "place", help="By its name or its letters: Florida or FL, Quebec or QC.")
_DATE = (
    Field("from", "Date", "choice", _dates(words.START_DATES)),
    Field("plus_months", "plus months", "whole"),
    Field("plus_days", "plus days", "whole"),
)
_USES = Field("use", "Only if it is", "words", tuple((use, ASKED[use]) for use in words.USES))

NODES: tuple[Node, ...] = (
    Field("title", "Title"),
    Field("code", "Code", help="A short name of your own, in lower-case letters, digits, dots and hyphens."),
    Field("payer", "Who pays", "choice", payers.CHOICES),
    Field("maker", "Manufacturer", help="As on the nameplate. * stands for any."),
    Field("models", "Models, one to a line", "lines", help="* stands for any letters, ? for one: HW* fits HW36."),
    Field("installed_from", "For coverage that starts from", "day"),
    Field("installed_to", "to (optional)", "day"),
    Field("replaces", "Replaces the terms with this code (optional)"),
    Part("source", "Where it says so", (Field("title", "Paper"), Field("page", "Page (optional)"))),
    Field("checked_on", "Checked against the paper on", "day"),
    Rows("starts", "When coverage starts: the first of these dates that is known", "Start", (
        *_DATE,
        Rows("earliest_of", "Or the earliest of several dates", "Date", _DATE),
        Field("when", "Counts for", "choice", (("new house", "new houses only"),)),
        Field("assumed", "Only assumed, until somebody finds proof", "flag"),
    )),
    Field("counts_first_day", "The first day counts, so a one-year term ends the day before the same date", "flag"),
    Rows("coverage", "What is covered", "Coverage line", (
        Field("pays_for", "Pays for", "words", _named(words.KINDS)),
        Field("components", "Components", "words", _COMPONENTS),
        Field("waits_days", "Pays nothing in the first so many days (optional)", "whole"),
        Rows("tiers", "For how long", "Term", (
            Field("months", "Months", "whole"),
            Field("days", "or days", "whole"),
            Field("lifetime", "or for the life of the unit", "flag"),
            Field("when", "Only if it is", "words", _CONDITIONS),
        )),
    )),
    Field("requires", "Every term asks that it is", "words", _CONDITIONS),
    Field("excludes_causes", "Not covered if the cause is", "words", _CAUSES),
    Part("registration", "Registration", (
        Field("required", "Registration is not required", "flag", means=False),
        Field("by", "Who may register (either, unless you say so)", "choice", _named(("owner", "installer", "either"))),
        Field("within_days", "Within so many days", "whole"),
        Field("counted_from", "Counted from", "choice", _dates(words.ANCHOR_DATES)),
        Field("new_house_counted_from", "For a new house, from (optional)", "choice", _dates(words.ANCHOR_DATES)),
        Rows("not_required_in", "Not required in", "Place", (
            _PLACE, _USES, Field("started_from", "Only for coverage that starts from (optional)", "day"),
        )),
    )),
    Part("transfer", "A sale of the house", (
        Field("rule", "Coverage for the first owner", "choice", (
            ("automatic", "goes to the new owner automatically"), ("notice", "goes to the new owner if they are notified"),
            ("none", "ends"),
        )),
        Field("within_days", "Notify them within so many days", "whole"),
        Rows("automatic_in", "By law it goes to the new owner in", "Place", (
            _PLACE, Field("from", "For sales from (optional)", "day"),
        )),
    )),
    Part("replacement", "Replaced parts", (
        Field("rule", "A replaced part is covered for", "choice", (
            ("remainder", "what is left of the unit's term"), ("longer of", "its own term or what is left, whichever is longer"),
            ("fresh", "its own term, whatever is left"),
        )),
        Field("months", "Its own term, months", "whole"),
        Field("days", "or days", "whole"),
    )),
    Part("claims", "Claims", (
        Field("form_before_part", "The claim form goes in before picking up the new part", "flag"),
        Field("file_within_days", "File within so many days (optional)", "whole"),
        Field("file_counted_from", "Counted from", "choice", _dates(FILE_FROM)),
        Field("old_part", "Old part", "choice", _named(OLD_PART)),
        Field("part_back_within_days", "Return the old part within so many days (optional)", "whole"),
        Field("part_back_counted_from", "Counted from", "choice", _dates(PART_BACK_FROM)),
        Field("leave_first", "Prior approval before replacing", "words", _named(words.COMPONENTS)),
        Field("wants", "What a claim needs, one to a line", "lines"),
        Field("fee", "Fee for a claim, in dollars (optional)", "amount"),
    )),
    Part("allowance", "What they pay for labor and around it", (
        Field("call", "For the call, in dollars", "amount"),
        Field("hourly", "For an hour of labor, in dollars", "amount"),
        Pairs("hours", "Hours by component", "Component", (("*", "any other component"), *_named(words.COMPONENTS))),
        Pairs("refrigerant_per_lb", "For a pound of refrigerant, in dollars", "Refrigerant"),
        Field("reclaim", "For reclaiming refrigerant, in dollars", "amount"),
        Rows("handling", "For handling a part, by what it cost", "Band", (
            Field("below", "If the part costs less than, in dollars (blank: any cost)", "amount"),
            Field("pays", "Pays, in dollars", "amount"),
        )),
    )),
)  # fmt: skip
# Which headings stand over the fields that belong to no part: the first field of each.
HEADINGS = {"title": "The terms", "starts": "When and what"}
# A blank form has a row of each of these, since no terms are without.
BLANK = {"starts#": ["1"], "coverage#": ["1"], "coverage[1].tiers#": ["1"]}


def label_of(nodes: Iterable[Node], where: str) -> str:
    """A place in the table in the words of the form: `Coverage line 2, Term 1, Months`; what no field has stays as it is.

    >>> label_of(NODES, "coverage[2].tiers[1].months"), label_of(NODES, "transfer.rule"), label_of(NODES, "frob")
    ('Coverage line 2, Term 1, Months', 'A sale of the house, Coverage for the first owner', 'frob')
    """
    head, _, rest = where.partition(".")
    key, _, number = head.removesuffix("]").partition("[")
    node = next((one for one in nodes if one.key == key), None)
    if node is None:
        return where
    words_of = f"{node.one} {number}" if isinstance(node, Rows) and number else node.label
    inner = () if isinstance(node, (Field, Pairs)) else node.fields
    return f"{words_of}, {label_of(inner, rest)}" if rest else upper(words_of)
