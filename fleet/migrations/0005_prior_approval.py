"""The day of a payer's prior approval by that name, in what was put right about it too."""

from typing import Any

from django.db import migrations, models


def rename_in_log(apps: Any, _: Any) -> None:
    apps.get_model("fleet", "Change").objects.filter(table="claim", field="leave_on").update(field="approved_on")


def rename_back(apps: Any, _: Any) -> None:
    apps.get_model("fleet", "Change").objects.filter(table="claim", field="approved_on").update(field="leave_on")


class Migration(migrations.Migration):

    dependencies = [("fleet", "0004_own_spreadsheets")]

    operations = [
        migrations.RenameField("claim", "leave_on", "approved_on"),
        migrations.AlterField(
            "claim", "approved_on", models.DateField(help_text="the payer approved it before the work", null=True)
        ),
        migrations.RunPython(rename_in_log, rename_back),
    ]
