"""What the pages of money, claims, clocks and facts wanted add up and count stands in an index each."""

from django.db import migrations, models
from django.db.models import F, OuterRef, Q, Subquery


def fill(apps, schema_editor):
    """A claim is of the day of its failure, unless that was voided, and of the make of its unit."""
    failures = apps.get_model("fleet", "Failure").objects.filter(pk=OuterRef("failure"))
    counting = failures.filter(voided_on=None).values("failed_on")
    apps.get_model("fleet", "Claim").objects.update(
        failed_on=Subquery(counting), maker=Subquery(failures.values(make=F("unit__maker")))
    )


class Migration(migrations.Migration):
    dependencies = [("fleet", "0025_clocks_that_lapse")]

    operations = [
        migrations.AddField("claim", "failed_on", models.DateField(null=True)),
        migrations.AddField("claim", "maker", models.CharField(blank=True, default="", max_length=120), preserve_default=False),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.RemoveIndex("claim", "fleet_claim_state_a03779_idx"),
        migrations.AddIndex(
            "claim",
            models.Index(fields=["state", "filed_on", "failed_on", "asked", "approved", "credited"], name="claim_by_state"),
        ),
        migrations.AddIndex(
            "claim",
            models.Index(
                fields=["failed_on", "payer_name", "maker", "state", "expected", "asked", "approved", "credited"],
                name="claim_money_since",
            ),
        ),
        migrations.AddIndex("claim", models.Index(fields=["maker"], name="claim_by_maker")),
        migrations.AddIndex(
            "clockrow",
            models.Index(
                fields=["last_on", "failure", "lapses_on", "first"], condition=Q(first=True), name="clock_first"
            ),
        ),
        migrations.AlterField(
            "clockrow",
            "claim",
            models.ForeignKey(
                "fleet.claim", models.CASCADE, null=True, related_name="clocks", db_index=False
            ),
        ),
        migrations.AddIndex(
            "clockrow", models.Index(fields=["claim", "lapses_on", "failure", "terms"], name="clock_by_claim")
        ),
        migrations.RemoveIndex("factrow", "fact_by_site"),
        migrations.AddIndex(
            "factrow",
            models.Index(
                fields=["site", "fact", "worth_days"], condition=Q(site__isnull=False), name="fact_by_site"
            ),
        ),
    ]
