"""A payer's own list of credits: kept on the disk until its columns are matched, read by them, and remembered for that payer."""

import contextlib
import hashlib
import re
import secrets
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from django.conf import settings

from fleet import models
from fleet.claims.pages.statements import Heading, Matching
from fleet.rules.spreadsheets import credit_lists, days, headings
from fleet.rules.spreadsheets.days import Order
from fleet.sheets import Problem, Problems, own
from fleet.sheets.own import OwnSheet

FOLDER = "statements"
KEPT_FOR = 2 * 24 * 3600  # seconds
SAMPLES, LONGEST_SAMPLE = 4, 60
_KIND = "statement"
_TOKEN = re.compile(r"[0-9a-f]{32}\.(?:csv|xlsx)")


@dataclass(frozen=True, slots=True)
class Plan:
    """What each heading is, and the order in which days in numbers are written."""

    columns: Mapping[str, str]
    order: Order | None = None


# ------------------------------------------------------------------------------------------------------- on the disk


def keep(file: BinaryIO, name: str) -> str:
    """Keep a file until its columns are matched, and give its token; files that nobody matched for two days go."""
    folder = Path(settings.DATA_DIR) / FOLDER
    folder.mkdir(mode=0o700, exist_ok=True)
    for old in folder.iterdir():
        with contextlib.suppress(OSError):
            if old.stat().st_mtime < time.time() - KEPT_FOR:
                old.unlink()
    token = f"{secrets.token_hex(16)}.{'xlsx' if name.casefold().endswith('.xlsx') else 'csv'}"
    with (folder / token).open("xb") as out:
        out.write(file.read())
    return token


def path_of(token: str) -> Path | None:
    """Where a kept file is; None where there is none by that token."""
    path = Path(settings.DATA_DIR) / FOLDER / token
    return path if _TOKEN.fullmatch(token) and path.is_file() else None


def drop(token: str) -> None:
    """Forget a kept file."""
    if (path := path_of(token)) is not None:
        path.unlink(missing_ok=True)


# ---------------------------------------------------------------------------------------------------------- matching


def matching(path: Path, name: str, payer: str) -> Matching:
    """The headings of a file with samples, and what each most likely is; raises Problem where it has none."""
    table = _table(path, name)
    samples: dict[str, list[str]] = {}
    cells_of: dict[str, list[str]] = {}
    count = 0
    for _, cells in own.own_rows(path, table):
        count += 1
        for heading, cell in cells.items():
            if cell:
                cells_of.setdefault(heading, []).append(cell)
                some = samples.setdefault(heading, [])
                if len(some) < SAMPLES and cell[:LONGEST_SAMPLE] not in some:
                    some.append(cell[:LONGEST_SAMPLE])
    if not count:
        raise Problem(name, 0, "", "at least one credit below the header")
    memory = _remembered(payer, table.header)
    known = memory.columns if memory else _elsewhere(table.header)
    columns = credit_lists.suggest(table.header, known)
    is_ours = {heading.casefold() for heading in table.header} <= set(credit_lists.COLUMNS)
    return Matching(
        headings=tuple(
            Heading(
                one,
                tuple(samples.get(one, ())),
                columns.get(one, "") if memory is None else known.get(headings.fold(one), ""),
            )
            for one in table.header
        ),
        order=memory.plan.get("order", "") if memory else "",
        open_order=tuple(heading for heading, cells in cells_of.items() if credit_lists.is_open(cells)),
        is_ours=is_ours
        and table.heading_row == 1
        and {"day", "amount"} <= {heading.casefold() for heading in table.header},
        is_remembered=memory is not None,
    )


def remember(payer: str, theirs: Iterable[str], plan: Plan) -> None:
    """Remember for a payer what its headings are."""
    theirs = list(theirs)
    models.ColumnMemory.objects.update_or_create(
        kind=_KIND,
        heading=_mark(payer, theirs),
        defaults={
            "columns": {headings.fold(one): plan.columns.get(one, "") for one in theirs},
            "plan": {"order": plan.order.value if plan.order else ""},
        },
    )


def _remembered(payer: str, theirs: Iterable[str]) -> models.ColumnMemory | None:
    return models.ColumnMemory.objects.filter(kind=_KIND, heading=_mark(payer, theirs)).first()


def _elsewhere(theirs: Iterable[str]) -> Mapping[str, str]:
    """What was said of the same headings without a payer: proposed, and asked about all the same."""
    memory = _remembered("", theirs)
    return memory.columns if memory else {}


def _mark(payer: str, theirs: Iterable[str]) -> str:
    return hashlib.sha256(f"{payer}\n{headings.digest(theirs)}".encode()).hexdigest()


def _table(path: Path, name: str) -> OwnSheet:
    """The sheet of a file that has the credits: the first that is shown and whose headings say so, else the first shown."""
    tops = [top for top in own.tops(path, name) if any(any(cells) for _, cells in top.lines)]
    if not tops:
        raise Problem(name, 0, "", "a header row and at least one credit below it")
    shown = [top for top in tops if top.is_visible] or tops
    best = max(shown, key=lambda top: _known(top))
    return OwnSheet(name, sheet=best.sheet, heading_row=_heading_row(best), shape=own.shape_of(path, name, best.sheet))


def _known(top: own.Top) -> int:
    return max((len(credit_lists.suggest(cells, {})) for _, cells in top.lines), default=0)


def _heading_row(top: own.Top) -> int:
    """The row that names the columns: the one of whose cells most say what they are, else the one that looks like it."""
    row, cells = max(top.lines, key=lambda line: len(credit_lists.suggest(line[1], {})))
    return row if len(credit_lists.suggest(cells, {})) > 1 else top.heading_row


# ----------------------------------------------------------------------------------------------------------- reading


def read(path: Path, name: str, plan: Plan) -> Iterable[tuple[int, dict[str, str]]]:
    """The rows of a file by our columns, each cell as our own file would have it; what cannot be read is noted, and refused whole.

    Titles, sums and headings that come again are no credits.
    """
    table, problems = _table(path, name), Problems(name)
    heading_of = {ours: heading for heading, ours in plan.columns.items() if ours}
    rows = list(own.own_rows(path, table))
    order = plan.order or credit_lists.order_of([cells.get(heading_of["day"], "") for _, cells in rows])
    found = []
    for number, theirs in rows:
        if headings.is_header_again(theirs) or headings.is_total(theirs):
            continue
        text = {ours: theirs.get(heading, "") for ours, heading in heading_of.items()}
        if not any(text.get(ours, "") for ours in ("day", "amount", credit_lists.DEBIT)):
            continue
        found.append((number, _row(number, text, heading_of, order, problems)))
    problems.refuse_if_any()
    return found


def _row(
    number: int, text: Mapping[str, str], heading_of: Mapping[str, str], order: Order | None, problems: Problems
) -> dict[str, str]:
    row = {ours: text.get(ours, "") for ours in ("reference", "number", "text")}
    day = days.in_order(text["day"], order) if text["day"] else None
    if day is None:
        problems.note(number, heading_of["day"], f"the day of the credit, not {text['day'][:LONGEST_SAMPLE]!r}")
    else:
        row["day"] = day.isoformat()
    money = credit_lists.credited(text.get("amount", ""), text.get(credit_lists.DEBIT, ""))
    if money is None:
        where = heading_of.get("amount") or heading_of[credit_lists.DEBIT]
        said = " and ".join(filter(None, (text.get("amount", ""), text.get(credit_lists.DEBIT, ""))))
        problems.note(number, where, f"one amount such as 1,412.50, not {said[:LONGEST_SAMPLE]!r}")
    else:
        row["amount"] = money
    return row
