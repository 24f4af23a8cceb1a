"""The makers of units are listed from one to the next, by an index of their own."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("fleet", "0023_money_of_failures")]

    operations = [migrations.AddIndex("unit", models.Index(fields=["maker"], name="unit_by_maker"))]
