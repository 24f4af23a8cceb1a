"""The days of a unit by names of their own, in the log and in merges that can still be undone too."""

from collections.abc import Mapping
from typing import Any

from django.db import migrations, models

_NAMES = {
    "unit": {"gone_on": "removed_on", "gone_how": "removal_reason", "came_on": "replaced_on"},
    "place": {"came_on": "joined_on"},
}


def rename_in_log_and_merges(apps: Any, _: Any) -> None:
    _rename(apps, _NAMES)


def rename_back(apps: Any, _: Any) -> None:
    _rename(apps, {table: {new: old for old, new in names.items()} for table, names in _NAMES.items()})


def _rename(apps: Any, names: Mapping[str, Mapping[str, str]]) -> None:
    for table, fields in names.items():
        for before, after in fields.items():
            apps.get_model("fleet", "Change").objects.filter(table=table, field=before).update(field=after)
    for merge in apps.get_model("fleet", "Merge").objects.all():
        merge.content["steps"] = [
            [what, table, pk, *(_renamed(told, names.get(table, {})) for told in values)]
            for what, table, pk, *values in merge.content["steps"]
        ]
        merge.save(update_fields=["content"])


def _renamed(told: Any, names: Mapping[str, str]) -> Any:
    return {names.get(name, name): value for name, value in told.items()} if isinstance(told, dict) else told



class Migration(migrations.Migration):

    dependencies = [
        ('fleet', '0007_calls'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='place',
            name='place_one_from_each_day',
        ),
        migrations.RemoveConstraint(
            model_name='place',
            name='place_one_first',
        ),
        migrations.RemoveConstraint(
            model_name='place',
            name='place_left_after_it_came',
        ),
        migrations.RemoveConstraint(
            model_name='unit',
            name='unit_without_serial_known_by_room',
        ),
        migrations.RemoveConstraint(
            model_name='unit',
            name='unit_gone_on_with_how',
        ),
        migrations.RemoveConstraint(
            model_name='unit',
            name='unit_came_on_with_predecessor',
        ),
        migrations.RemoveConstraint(
            model_name='unit',
            name='unit_gone_after_it_came',
        ),
        migrations.RenameField(
            model_name='place',
            old_name='came_on',
            new_name='joined_on',
        ),
        migrations.RenameField(
            model_name='unit',
            old_name='gone_how',
            new_name='removal_reason',
        ),
        migrations.RenameField(
            model_name='unit',
            old_name='came_on',
            new_name='replaced_on',
        ),
        migrations.RenameField(
            model_name='unit',
            old_name='gone_on',
            new_name='removed_on',
        ),
        migrations.AlterModelOptions(
            name='place',
            options={'ordering': [models.OrderBy(models.F('joined_on'), nulls_first=True)]},
        ),
        migrations.RunPython(rename_in_log_and_merges, rename_back),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.UniqueConstraint(fields=('unit', 'joined_on'), name='place_one_from_each_day'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.UniqueConstraint(condition=models.Q(('joined_on__isnull', True)), fields=('unit',), name='place_one_first'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.CheckConstraint(condition=models.Q(('joined_on__isnull', True), ('left_on__isnull', True), ('left_on__gt', models.F('joined_on')), _connector='OR'), name='place_left_after_it_came', violation_error_message='A unit leaves a system on a later day than it came.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.UniqueConstraint(condition=models.Q(('removed_on__isnull', True), ('serial_key', '')), fields=('system', 'role', 'room'), name='unit_without_serial_known_by_room'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('removal_reason', ''), ('removed_on__isnull', True)), models.Q(('removal_reason__in', ['exchanged', 'removed']), ('removed_on__isnull', False)), _connector='OR'), name='unit_removed_on_with_reason', violation_error_message='A unit that is no longer in service has the day and whether it was exchanged or removed.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('replaced_on__isnull', True), ('took_over_from__isnull', True)), models.Q(('replaced_on__isnull', False), ('took_over_from__isnull', False)), _connector='OR'), name='unit_replaced_on_with_predecessor', violation_error_message='A unit that took over from another has the day it came.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('removed_on__isnull', True), ('replaced_on__isnull', True), ('removed_on__gte', models.F('replaced_on')), _connector='OR'), name='unit_removed_after_it_came', violation_error_message='A unit cannot be removed before it came.'),
        ),
    ]
