"""The look-up's line of each site that is on file: all that it may be known by, so that any words of it find it."""

from django.db import migrations

from fleet.rules.typed import line_of

LONGEST = 200


def write_lines(apps, schema_editor):
    entries = apps.get_model("fleet", "LookupEntry").objects.using(schema_editor.connection.alias)
    contacts = apps.get_model("fleet", "Contact").objects.using(schema_editor.connection.alias)
    sites = apps.get_model("fleet", "Site").objects.using(schema_editor.connection.alias)
    people = {}
    for site, name, phone in contacts.values_list("site", "name", "phone"):
        people.setdefault(site, []).extend((name, phone))
    rows = []
    for site in sites.select_related("customer").iterator(chunk_size=2000):
        payer, place = site.customer, (site.street, site.city, site.postcode)
        parts = (payer.name, *place, payer.phone, site.name, *people.get(site.pk, ()))
        text, line = ", ".join(filter(None, parts))[:LONGEST], line_of(*parts)[:LONGEST].rstrip()
        rows.append(entries.model(kind="site", object_id=site.pk, part="line", text=text, folded=line))
    entries.filter(kind="site", part="line").delete()
    entries.bulk_create(rows, batch_size=2000)


class Migration(migrations.Migration):
    dependencies = [("fleet", "0018_phone")]

    operations = [migrations.RunPython(write_lines, migrations.RunPython.noop)]
