"""Rows of one installs file that tell of the same unit: they must agree, and are made one before anything is taken."""

from fleet.loading.loading import Loading

# A serial with its maker and model is one unit; without a serial, a role and room in a system is.
_SAME = {
    "serial_key IS NOT NULL": ("maker_key", "model_key", "serial_key"),
    "serial_key IS NULL": ("customer", "site", "system", "role", "room"),
}
_SPELLED = {"maker", "model", "serial"}


def join_same(loading: Loading) -> None:
    """Make one row of all that tell of the same unit, noting where they differ."""
    for which, known_by in _SAME.items():
        loading.stage.run(f"CREATE INDEX same_{len(known_by)} ON told ({', '.join(known_by)}) WHERE {which}")
        # Set down first: the rows that it is found on change below.
        loading.stage.run(
            f"CREATE TABLE again_{len(known_by)} AS SELECT {', '.join(known_by)} FROM told WHERE {which}"
            f" GROUP BY {', '.join(known_by)} HAVING COUNT(*) > 1"
        )
        for keys in loading.stage.find(f"SELECT * FROM again_{len(known_by)}"):
            _join(known_by, keys, which, loading)


def _join(known_by: tuple[str, ...], keys: tuple[str, ...], which: str, loading: Loading) -> None:
    stage = loading.stage
    condition = " AND ".join(f"{name} = ?" for name in known_by)
    rows = list(
        stage.find(
            f"SELECT n, row, {', '.join(stage.columns)} FROM told WHERE {which} AND {condition} ORDER BY row", keys
        )
    )
    first, first_row = rows[0][:2]
    joined: dict[str, str] = {}
    for _, row, *cells in rows:
        for name, cell in zip(stage.columns, cells, strict=True):
            if cell is None or joined.setdefault(name, cell) == cell:
                continue
            if name in _SPELLED:
                joined[name] = min(joined[name], cell)  # whichever comes first in the file
            else:
                wanted = f"{joined[name]!r} as in row {first_row}, which is of the same unit, not {cell!r}"
                loading.problems.note(row, name, wanted)
    stage.run(f"UPDATE told SET {', '.join(f'{name} = ?' for name in joined)} WHERE n = ?", [*joined.values(), first])
    stage.run_many("DELETE FROM told WHERE n = ?", ((n,) for n, *_ in rows[1:]))
    loading.count["unchanged"] += len(rows) - 1
