"""What is due at a site is found by whose work it is."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("fleet", "0020_what_a_missed_registration_lost")]

    operations = [
        migrations.RemoveIndex("duerow", "due_by_site"),
        migrations.AddIndex("duerow", models.Index(fields=["site", "by", "due_on"], name="due_by_site")),
    ]
