"""What a failure cost that a payer would have paid, and our hours on it, are kept with the rest of what the rules say."""

import datetime as dt

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q

LOT = 2_000


def ask_about_each(apps, schema_editor):
    """Give every failure a row whose day has come, so that the next catching up works it out; of units that are gone as well."""
    row = apps.get_model("fleet", "MoneyRow")
    failures = apps.get_model("fleet", "Failure").objects.filter(voided_on=None).order_by("pk")
    long_since, lot = dt.date(2000, 1, 1), []
    for pk, failed_on in failures.values_list("pk", "failed_on").iterator(chunk_size=LOT):
        lot.append(row(failure_id=pk, failed_on=failed_on, next_on=long_since))
        if len(lot) == LOT:
            row.objects.bulk_create(lot)
            lot.clear()
    row.objects.bulk_create(lot)


class Migration(migrations.Migration):
    dependencies = [("fleet", "0022_write_ups_taken_back")]

    operations = [
        migrations.CreateModel(
            name="MoneyRow",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("failed_on", models.DateField()),
                ("missed", models.JSONField(default=list)),
                ("terms_missed", models.PositiveSmallIntegerField(default=0)),
                ("missed_cost", models.DecimalField(decimal_places=2, default=0, max_digits=12)),
                ("labor_cost", models.DecimalField(decimal_places=2, max_digits=12, null=True)),
                ("labor_short", models.DecimalField(decimal_places=2, max_digits=12, null=True)),
                ("next_on", models.DateField(db_index=True, null=True)),
                (
                    "failure",
                    models.OneToOneField("fleet.failure", django.db.models.deletion.CASCADE, related_name="money"),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(labor_cost__isnull=True, labor_short__isnull=True)
                        | Q(labor_cost__isnull=False, labor_short__isnull=False),
                        name="moneyrow_labor_cost_and_short_together",
                    )
                ],
                "indexes": [
                    models.Index(
                        fields=["failed_on", "terms_missed", "missed_cost", "labor_cost", "labor_short"],
                        name="money_since",
                    ),
                    models.Index(condition=Q(terms_missed__gt=0), fields=["failed_on", "failure"], name="money_missed"),
                ],
            },
        ),
        migrations.RunPython(ask_about_each, migrations.RunPython.noop),
    ]
