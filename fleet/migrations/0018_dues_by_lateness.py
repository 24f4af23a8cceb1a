"""What is late is counted from an index of its own."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("fleet", "0017_failures_by_day")]

    operations = [
        migrations.AddIndex(
            "duerow",
            models.Index(fields=["by", "late_after", "opens_on", "not_before"], name="due_by_lateness"),
        ),
    ]
