"""Rows of one installs file that are of the same unit: they must agree, and are made one before anything is applied."""

from fleet.loading.loading import Loading
from fleet.loading.namesakes import name_of

# A serial with its maker and model is one unit; without a serial, a role and room in a system is.
_SAME = {
    "serial_key IS NOT NULL": ("maker_key", "model_key", "serial_key"),
    "serial_key IS NULL": ("customer", "site", "system", "role", "room"),
}
_SPELLED = {"maker", "model", "serial"}


def merge_rows(loading: Loading) -> None:
    """Make one row of all that are of the same unit, noting where they differ."""
    for which, known_by in _SAME.items():
        loading.stage.run(f"CREATE INDEX same_{len(known_by)} ON staged ({', '.join(known_by)}) WHERE {which}")
        # Written out first: the rows that the index is on change below.
        loading.stage.run(
            f"CREATE TABLE again_{len(known_by)} AS SELECT {', '.join(known_by)} FROM staged WHERE {which}"
            f" GROUP BY {', '.join(known_by)} HAVING COUNT(*) > 1"
        )
        for keys in loading.stage.select(f"SELECT * FROM again_{len(known_by)}"):
            _merge(known_by, keys, which, loading)


def _merge(known_by: tuple[str, ...], keys: tuple[str, ...], which: str, loading: Loading) -> None:
    stage = loading.stage
    condition = " AND ".join(f"{name} = ?" for name in known_by)
    rows = list(
        stage.select(
            f"SELECT n, row, {', '.join(stage.columns)} FROM staged WHERE {which} AND {condition} ORDER BY row", keys
        )
    )
    first, first_row = rows[0][:2]
    merged: dict[str, str] = {}
    for _, row, *cells in rows:
        for name, cell in zip(stage.columns, cells, strict=True):
            if cell is None or merged.setdefault(name, cell) == cell:
                continue
            if name in _SPELLED:
                merged[name] = min(merged[name], cell)  # whichever comes first in the file
            else:
                before, now = name_of(merged[name]), name_of(cell)
                expected = f"{before!r} as in row {first_row}, which is of the same unit, not {now!r}"
                if before == now:
                    expected = f"the same customer as in row {first_row}, which is of the same unit"
                loading.problems.note(row, name, expected)
    stage.run(f"UPDATE staged SET {', '.join(f'{name} = ?' for name in merged)} WHERE n = ?", [*merged.values(), first])
    stage.run_many("DELETE FROM staged WHERE n = ?", ((n,) for n, *_ in rows[1:]))
    for _, row, *_ in rows[1:]:
        loading.same(row)
