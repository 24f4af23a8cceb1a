"""The list of failures is counted and put in order by one index."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0016_lists_of_a_large_fleet"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="failure",
            index=models.Index(
                condition=models.Q(("voided_on__isnull", True)),
                fields=["failed_on", "id", "repaired_on"],
                name="failure_by_day",
            ),
        ),
    ]
