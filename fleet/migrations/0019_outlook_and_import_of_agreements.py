"""The year ahead is kept as it was worked out last; files of agreements come through the import page too."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fleet", "0018_dues_by_lateness"),
    ]

    operations = [
        migrations.CreateModel(
            name="Offer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("heads", models.PositiveIntegerField()),
                ("tasks", models.PositiveIntegerField()),
                ("visits", models.PositiveIntegerField()),
                (
                    "late",
                    models.PositiveIntegerField(
                        help_text="of the tasks, those that are late on the day it was worked out"
                    ),
                ),
                ("first_on", models.DateField()),
                ("minutes", models.PositiveIntegerField()),
                ("price", models.DecimalField(decimal_places=2, max_digits=10)),
            ],
        ),
        migrations.CreateModel(
            name="Outlook",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("on", models.DateField()),
                ("at", models.DateTimeField()),
                ("mark", models.CharField(help_text="what was on file when it was worked out", max_length=120)),
                ("content", models.JSONField(default=dict)),
            ],
        ),
        migrations.RemoveConstraint(
            model_name="import",
            name="import_kind_known",
        ),
        migrations.AlterField(
            model_name="import",
            name="kind",
            field=models.CharField(
                choices=[("installs", "installs"), ("history", "history"), ("agreements", "agreements")], max_length=12
            ),
        ),
        migrations.AddConstraint(
            model_name="import",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ["installs", "history", "agreements"])),
                name="import_kind_known",
                violation_error_message="kind is not one of the known words.",
            ),
        ),
        migrations.AddField(
            model_name="offer",
            name="site",
            field=models.OneToOneField(
                on_delete=django.db.models.deletion.CASCADE, related_name="offer", to="fleet.site"
            ),
        ),
        migrations.AddConstraint(
            model_name="outlook",
            constraint=models.CheckConstraint(condition=models.Q(("pk", 1)), name="outlook_is_one"),
        ),
        migrations.AddIndex(
            model_name="offer",
            index=models.Index(fields=["-price", "site"], name="fleet_offer_price_20576c_idx"),
        ),
        migrations.AddIndex(
            model_name="offer",
            index=models.Index(fields=["first_on", "site"], name="fleet_offer_first_o_e5294d_idx"),
        ),
        migrations.AddIndex(
            model_name="offer",
            index=models.Index(fields=["-late", "site"], name="fleet_offer_late_1ba7a2_idx"),
        ),
    ]
