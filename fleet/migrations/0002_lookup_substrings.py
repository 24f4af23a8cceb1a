"""A substring index for the look-up: trigrams, in each database's own way."""

from django.contrib.postgres.operations import TrigramExtension
from django.db import migrations

SQLITE = [
    """CREATE VIRTUAL TABLE fleet_lookup_trigrams USING fts5(
        folded, content='fleet_lookupentry', content_rowid='id', tokenize='trigram', detail='full'
    )""",
    """CREATE TRIGGER fleet_lookup_added AFTER INSERT ON fleet_lookupentry BEGIN
        INSERT INTO fleet_lookup_trigrams(rowid, folded) VALUES (new.id, new.folded);
    END""",
    """CREATE TRIGGER fleet_lookup_dropped AFTER DELETE ON fleet_lookupentry BEGIN
        INSERT INTO fleet_lookup_trigrams(fleet_lookup_trigrams, rowid, folded) VALUES ('delete', old.id, old.folded);
    END""",
    """CREATE TRIGGER fleet_lookup_changed AFTER UPDATE ON fleet_lookupentry BEGIN
        INSERT INTO fleet_lookup_trigrams(fleet_lookup_trigrams, rowid, folded) VALUES ('delete', old.id, old.folded);
        INSERT INTO fleet_lookup_trigrams(rowid, folded) VALUES (new.id, new.folded);
    END""",
]
POSTGRESQL = ["CREATE INDEX fleet_lookup_trigrams ON fleet_lookupentry USING gin (folded gin_trgm_ops)"]


def make(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


def drop(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for name in ("added", "dropped", "changed"):
            schema_editor.execute(f"DROP TRIGGER fleet_lookup_{name}")
        schema_editor.execute("DROP TABLE fleet_lookup_trigrams")
    else:
        schema_editor.execute("DROP INDEX fleet_lookup_trigrams")


class Migration(migrations.Migration):
    dependencies = [("fleet", "0001_record")]
    operations = [TrigramExtension(), migrations.RunPython(make, drop)]
