"""The makers on file, to choose from."""

from django.db import connection

from fleet.models import Unit

# From one name to the next by the index: a large fleet has few makers, and listing them would read every unit.
_NAMES = f"""
WITH RECURSIVE named(maker) AS (
    SELECT MIN(maker) FROM {Unit._meta.db_table}
    UNION ALL
    SELECT (SELECT MIN(maker) FROM {Unit._meta.db_table} WHERE maker > named.maker) FROM named WHERE named.maker IS NOT NULL
)
SELECT maker FROM named WHERE maker IS NOT NULL
"""


def of_units() -> tuple[str, ...]:
    """List the makers of units on file, each as it is written, in order."""
    with connection.cursor() as cursor:
        cursor.execute(_NAMES)
        return tuple(maker for (maker,) in cursor.fetchall())
