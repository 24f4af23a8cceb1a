"""Which customer and site each row of a file means, where the file names no sites or several customers have one name."""

from collections.abc import Iterator, Sequence
from itertools import islice

from fleet import models
from fleet.loading import namesakes
from fleet.loading.former import Former
from fleet.loading.staging import Stage
from fleet.loading.whose import NEW, Whose
from fleet.rules.spreadsheets import filling, places
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.plan import APART, NEW_CUSTOMER, ONE, Plan

_LOT = 2_000
# A customer as the stage has them, the name of a site, its street, and the street folded.
_Line = tuple[str, str, str, str]


def said_in(plan: Plan) -> Whose:
    """What somebody said of a file's customers, as its load asks it."""
    keys = {
        where: NEW if answer in (NEW_CUSTOMER, APART) else int(answer)
        for where, answer in plan.whose.items()
        if answer != ONE
    }
    return Whose(keys)


def tell_apart(stage: Stage, plan: Plan) -> None:
    """Name the sites, where that is worked out, and mark each row with the customer it means."""
    way = plan.ways.get("site")
    if way:
        sites(stage, way)
    namesakes.mark(stage, Former(), said_in(plan))
    if way:  # each of those whom the street tells apart has a Home of their own
        sites(stage, way)
        _as_on_file(stage)


def sites(stage: Stage, way: Way) -> None:
    """Name each row's site; a street that is spelled in several ways is one, by the way that most rows have."""
    for table in ("streets", "named_sites"):
        stage.run(f"DROP TABLE IF EXISTS {table}")
    stage.run(
        "CREATE TABLE streets AS SELECT customer, same_street, street, COUNT(*) AS times, MIN(row) AS first FROM staged"
        " WHERE street IS NOT NULL GROUP BY customer, same_street, street"
    )
    stage.run("CREATE INDEX streets_of ON streets (customer)")
    stage.run("CREATE TABLE named_sites (customer, same_street, site, PRIMARY KEY (customer, same_street))")
    spelled = stage.select(
        "SELECT customer, same_street, street, (SELECT COUNT(DISTINCT o.same_street) FROM streets o WHERE o.customer = s.customer)"
        " FROM streets s ORDER BY customer, same_street, times, first DESC"
    )
    # The last of a street's spellings here is the one that stays.
    stage.run_many(
        "INSERT OR REPLACE INTO named_sites VALUES (?, ?, ?)",
        (
            (customer, same, street if way is Way.SITE_STREET else filling.site(street, count))
            for customer, same, street, count in spelled
        ),
    )
    stage.run(
        "UPDATE staged SET site = COALESCE((SELECT s.site FROM named_sites s"
        " WHERE s.customer = staged.customer AND s.same_street = staged.same_street AND staged.street IS NOT NULL), ?)",
        [filling.HOME],
    )


def _as_on_file(stage: Stage) -> None:
    """Name a site as it is called on file; a new one by its street, where the name that was worked out is another house's of theirs."""
    lines = iter(
        list(stage.select("SELECT DISTINCT customer, site, street, same_street FROM staged WHERE same_street != ''"))
    )
    former = Former()
    while chunk := list(islice(lines, _LOT)):
        stage.run_many(
            "UPDATE staged SET site = ? WHERE customer = ? AND same_street = ?",
            ((name, customer, same) for (customer, site, _, same), name in _named(chunk, former) if name != site),
        )


def _named(lines: Sequence[_Line], former: Former) -> Iterator[tuple[_Line, str]]:
    """Lines whose customer is on file, each with the name that its site has or is to have."""
    keys = {customer: namesakes.key_of(customer) for customer, *_ in lines}
    by_name = namesakes.by_name([name for name, key in keys.items() if key is None], former)
    keys |= {name: rows[0].pk for name, rows in by_name.items() if len(rows) == 1}
    by_street: dict[tuple[int, str], str] = {}
    streets: dict[tuple[int, str], str] = {}
    for row in models.Site.objects.filter(customer__in={key for key in keys.values() if key}).order_by("-pk"):
        same = places.same_street(row.street)
        by_street[row.customer_id, same] = row.name
        streets[row.customer_id, row.name] = same
    for line in lines:
        customer, site, street, same = line
        if key := keys[customer]:
            is_anothers = streets.get((key, site), "") not in ("", same)
            yield line, by_street.get((key, same)) or (street if is_anothers else site)
