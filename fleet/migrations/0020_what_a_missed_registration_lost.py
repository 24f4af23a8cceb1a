"""Why a registration stands where it does, and what a missed one lost, are kept with the rest of what the rules say."""

import datetime as dt

from django.db import migrations, models


def ask_again(apps, schema_editor):
    """Let the day of every row have come, so that the next catching up works out what is new in it."""
    apps.get_model("fleet", "HoldingRow").objects.update(next_on=dt.date(2000, 1, 1))


class Migration(migrations.Migration):
    dependencies = [("fleet", "0019_outlook_and_import_of_agreements")]

    operations = [
        migrations.AddField("holdingrow", "reason", models.JSONField(default=list)),
        migrations.AddField("holdingrow", "lost", models.JSONField(default=list)),
        migrations.RunPython(ask_again, migrations.RunPython.noop),
    ]
