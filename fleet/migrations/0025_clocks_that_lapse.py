"""When a clock that nobody claimed in time counts no more is kept with it, and claims are listed by an index."""

from django.db import migrations, models
from django.db.models import Case, Exists, F, OuterRef, Subquery, Value, When


def fill(apps, schema_editor):
    """The last day to file decides or, where there is none, the clock's own; what is claimed does not lapse."""
    clocks = apps.get_model("fleet", "ClockRow").objects
    filing = clocks.filter(failure=OuterRef("failure"), terms=OuterRef("terms"), kind="filing", claim=None)
    unclaimed = clocks.filter(claim=None)
    unclaimed.update(
        lapses_on=Case(When(Exists(filing), then=Subquery(filing.values("last_on")[:1])), default=F("last_on"))
    )


class Migration(migrations.Migration):
    dependencies = [("fleet", "0024_makers_by_index")]

    operations = [
        migrations.AddField("clockrow", "lapses_on", models.DateField(null=True)),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.RemoveIndex("clockrow", "clock_by_last_day"),
        migrations.AddIndex(
            "clockrow",
            models.Index(
                fields=["last_on", "failure", "terms", "lapses_on", "first", "claim"], name="clock_by_last_day"
            ),
        ),
        migrations.AddIndex("claim", models.Index(fields=["filed_on", "opened_on", "id"], name="claim_by_filing")),
    ]
