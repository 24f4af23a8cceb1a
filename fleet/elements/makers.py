"""The makers on file, to choose from."""

from django.db import connection

from fleet import models

# From one name to the next by the index: a large fleet has few makers, and listing them would read every row.
_NAMES = """
WITH RECURSIVE named(maker) AS (
    SELECT MIN(maker) FROM {table}
    UNION ALL
    SELECT (SELECT MIN(maker) FROM {table} WHERE maker > named.maker) FROM named WHERE named.maker IS NOT NULL
)
SELECT maker FROM named WHERE maker IS NOT NULL
"""


def of_units() -> tuple[str, ...]:
    """List the makers of units on file, each as it is written, in order."""
    return _in(models.Unit._meta.db_table)


def of_claims() -> tuple[str, ...]:
    """List the makers of units with claims, each as it is written, in order."""
    return _in(models.Claim._meta.db_table)


def of_terms() -> tuple[str, ...]:
    """List the makers whose terms are on file: those for any maker are nobody's."""
    makers = models.Terms.objects.exclude(maker="*").order_by("maker").values_list("maker", flat=True)
    return tuple(makers.distinct())


def _in(table: str) -> tuple[str, ...]:
    with connection.cursor() as cursor:
        cursor.execute(_NAMES.format(table=table))
        return tuple(maker for (maker,) in cursor.fetchall())
