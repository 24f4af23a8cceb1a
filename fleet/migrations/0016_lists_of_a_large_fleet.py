"""What the lists of a large fleet are counted, grouped and sorted by stands in their indexes."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F, OuterRef, Q, Subquery


def name_the_systems(apps, schema_editor):
    """Write the system of each unit beside what it holds."""
    units = apps.get_model("fleet", "Unit").objects.filter(pk=OuterRef("unit_id"))
    apps.get_model("fleet", "HoldingRow").objects.update(system_id=Subquery(units.values("system_id")))


class Migration(migrations.Migration):
    dependencies = [("fleet", "0015_proof_of_registrations")]

    operations = [
        migrations.AddField(
            "holdingrow",
            "system",
            models.ForeignKey(
                null=True,
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="+",
                to="fleet.system",
            ),
        ),
        migrations.RunPython(name_the_systems, migrations.RunPython.noop),
        migrations.AlterField(
            "holdingrow",
            "system",
            models.ForeignKey(
                db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="fleet.system"
            ),
        ),
        migrations.RemoveIndex("holdingrow", "holding_by_deadline"),
        migrations.AddIndex(
            "holdingrow",
            models.Index(fields=["registration", "deadline", "system", "terms", "unit"], name="holding_by_deadline"),
        ),
        migrations.AddIndex(
            "coveragerow",
            models.Index(fields=["last_on", "result"], condition=Q(result="covered"), name="coverage_ending_count"),
        ),
        migrations.RemoveIndex("factrow", "fact_by_site"),
        migrations.AddIndex(
            "factrow",
            models.Index(fields=["site", "fact"], condition=Q(site__isnull=False), name="fact_by_site"),
        ),
        migrations.AlterField(
            "factrow",
            "site",
            models.ForeignKey(
                null=True,
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="facts_wanted",
                to="fleet.site",
            ),
        ),
        migrations.AddIndex(
            "factrow",
            models.Index("site", F("worth_days").desc(), "fact", "unit", name="fact_by_worth"),
        ),
    ]
