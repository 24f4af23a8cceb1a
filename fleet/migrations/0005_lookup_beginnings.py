"""An index of how the look-up's texts begin, for short texts, and so that a beginning stands before an inside."""

from django.db import migrations

# Whatever the database's own order of letters is, this class compares character by character, as LIKE does.
POSTGRESQL = "CREATE INDEX fleet_lookup_beginnings ON fleet_lookupentry (folded varchar_pattern_ops)"
SQLITE = "CREATE INDEX fleet_lookup_beginnings ON fleet_lookupentry (folded)"


def make(apps, schema_editor):
    schema_editor.execute(SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL)


def drop(apps, schema_editor):
    schema_editor.execute("DROP INDEX fleet_lookup_beginnings")


class Migration(migrations.Migration):
    dependencies = [("fleet", "0004_jobs")]
    operations = [migrations.RunPython(make, drop)]
