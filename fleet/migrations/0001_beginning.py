"""Every table as the program begins, with the look-up's index of substrings in each database's own way."""

import django.contrib.auth.models
import django.contrib.auth.validators
import django.db.models.deletion
import django.db.models.functions.datetime
import django.db.models.functions.text
import django.utils.timezone
from decimal import Decimal
from django.conf import settings
from django.contrib.postgres.operations import TrigramExtension
from django.core.management import CommandError
from django.db import migrations, models
from django.db.migrations.recorder import MigrationRecorder

SQLITE = [
    """CREATE VIRTUAL TABLE fleet_lookup_trigrams USING fts5(
        folded, content='fleet_lookupentry', content_rowid='id', tokenize='trigram', detail='full'
    )""",
    """CREATE TRIGGER fleet_lookup_added AFTER INSERT ON fleet_lookupentry BEGIN
        INSERT INTO fleet_lookup_trigrams(rowid, folded) VALUES (new.id, new.folded);
    END""",
    """CREATE TRIGGER fleet_lookup_dropped AFTER DELETE ON fleet_lookupentry BEGIN
        INSERT INTO fleet_lookup_trigrams(fleet_lookup_trigrams, rowid, folded) VALUES ('delete', old.id, old.folded);
    END""",
    """CREATE TRIGGER fleet_lookup_changed AFTER UPDATE ON fleet_lookupentry BEGIN
        INSERT INTO fleet_lookup_trigrams(fleet_lookup_trigrams, rowid, folded) VALUES ('delete', old.id, old.folded);
        INSERT INTO fleet_lookup_trigrams(rowid, folded) VALUES (new.id, new.folded);
    END""",
]
POSTGRESQL = ["CREATE INDEX fleet_lookup_trigrams ON fleet_lookupentry USING gin (folded gin_trgm_ops)"]


def refuse_older_tables(apps, schema_editor):
    if any(app == "fleet" for app, _ in MigrationRecorder(schema_editor.connection).applied_migrations()):
        raise CommandError(
            "The tables here were made by a version that is too old to migrate from: begin with an empty database."
        )


def index_substrings(apps, schema_editor):
    for statement in SQLITE if schema_editor.connection.vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement)


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('auth', '0012_alter_user_first_name_max_length'),
    ]

    operations = [
        migrations.RunPython(refuse_older_tables, migrations.RunPython.noop),
        migrations.CreateModel(
            name='ClosedDay',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField(unique=True)),
                ('why', models.CharField(blank=True, max_length=120)),
            ],
            options={
                'ordering': ['on'],
            },
        ),
        migrations.CreateModel(
            name='LoginTries',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(help_text='as folded by rules.logins', max_length=150, unique=True)),
                ('wrong', models.PositiveSmallIntegerField()),
                ('last_at', models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.CreateModel(
            name='User',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('password', models.CharField(max_length=128, verbose_name='password')),
                ('last_login', models.DateTimeField(blank=True, null=True, verbose_name='last login')),
                ('is_superuser', models.BooleanField(default=False, help_text='Designates that this user has all permissions without explicitly assigning them.', verbose_name='superuser status')),
                ('username', models.CharField(error_messages={'unique': 'A user with that username already exists.'}, help_text='Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.', max_length=150, unique=True, validators=[django.contrib.auth.validators.UnicodeUsernameValidator()], verbose_name='username')),
                ('first_name', models.CharField(blank=True, max_length=150, verbose_name='first name')),
                ('last_name', models.CharField(blank=True, max_length=150, verbose_name='last name')),
                ('email', models.EmailField(blank=True, max_length=254, verbose_name='email address')),
                ('is_staff', models.BooleanField(default=False, help_text='Designates whether the user can log into this admin site.', verbose_name='staff status')),
                ('is_active', models.BooleanField(default=True, help_text='Designates whether this user should be treated as active. Unselect this instead of deleting accounts.', verbose_name='active')),
                ('date_joined', models.DateTimeField(default=django.utils.timezone.now, verbose_name='date joined')),
                ('role', models.CharField(blank=True, choices=[('office', 'Office'), ('technician', 'Technician'), ('owner', 'Owner')], max_length=12)),
                ('groups', models.ManyToManyField(blank=True, help_text='The groups this user belongs to. A user will get all permissions granted to each of their groups.', related_name='user_set', related_query_name='user', to='auth.group', verbose_name='groups')),
                ('user_permissions', models.ManyToManyField(blank=True, help_text='Specific permissions for this user.', related_name='user_set', related_query_name='user', to='auth.permission', verbose_name='user permissions')),
            ],
            managers=[
                ('objects', django.contrib.auth.models.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name='CalendarLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('name', models.CharField(blank=True, help_text='which phone or desk', max_length=120)),
                ('made_at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('read_at', models.DateTimeField(null=True)),
                ('revoked_at', models.DateTimeField(null=True)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='calendar_links', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Claim',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('payer', models.CharField(choices=[('maker', 'maker'), ('labor plan', 'labor plan'), ('installer', 'installer')], max_length=12)),
                ('payer_name', models.CharField(help_text='the maker, or the title of other terms', max_length=500)),
                ('kinds', models.CharField(max_length=60)),
                ('reference', models.CharField(blank=True, db_index=True, help_text="the payer's own number", max_length=120)),
                ('state', models.CharField(choices=[('gathering', 'gathering'), ('filed', 'filed'), ('asked for more', 'asked for more'), ('approved', 'approved'), ('part approved', 'part approved'), ('denied', 'denied'), ('credited', 'credited'), ('written off', 'written off'), ('withdrawn', 'withdrawn')], default='gathering', max_length=16)),
                ('failed_on', models.DateField(null=True)),
                ('maker', models.CharField(blank=True, max_length=120)),
                ('opened_on', models.DateField()),
                ('opened_because', models.CharField(blank=True, help_text='where the payer promised nothing', max_length=300)),
                ('leave_on', models.DateField(help_text='the payer gave its leave to replace', null=True)),
                ('form_on', models.DateField(help_text='the claim form was made out', null=True)),
                ('part_back_on', models.DateField(null=True)),
                ('part_asked_for', models.BooleanField(null=True)),
                ('carrier', models.CharField(blank=True, help_text='with whom the old part went, and its number there', max_length=120)),
                ('filed_on', models.DateField(help_text='the first filing', null=True)),
                ('last_step_on', models.DateField(null=True)),
                ('asked', models.DecimalField(decimal_places=2, default=0, max_digits=10)),
                ('approved', models.DecimalField(decimal_places=2, default=0, max_digits=10)),
                ('credited', models.DecimalField(decimal_places=2, default=0, max_digits=10)),
                ('expected', models.DecimalField(decimal_places=2, default=0, max_digits=10)),
                ('possible', models.DecimalField(decimal_places=2, default=0, max_digits=10)),
                ('version', models.PositiveIntegerField(default=0)),
                ('next_on', models.DateField(db_index=True, help_text='when time alone may change what is expected', null=True)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-opened_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='ClaimStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField()),
                ('came_from', models.CharField(choices=[('gathering', 'gathering'), ('filed', 'filed'), ('asked for more', 'asked for more'), ('approved', 'approved'), ('part approved', 'part approved'), ('denied', 'denied'), ('credited', 'credited'), ('written off', 'written off'), ('withdrawn', 'withdrawn')], max_length=16)),
                ('asked_for', models.CharField(choices=[('gathering', 'gathering'), ('filed', 'filed'), ('asked for more', 'asked for more'), ('approved', 'approved'), ('part approved', 'part approved'), ('denied', 'denied'), ('credited', 'credited'), ('written off', 'written off'), ('withdrawn', 'withdrawn')], max_length=16)),
                ('went_to', models.CharField(choices=[('gathering', 'gathering'), ('filed', 'filed'), ('asked for more', 'asked for more'), ('approved', 'approved'), ('part approved', 'part approved'), ('denied', 'denied'), ('credited', 'credited'), ('written off', 'written off'), ('withdrawn', 'withdrawn')], max_length=16)),
                ('on', models.DateField()),
                ('amount', models.DecimalField(decimal_places=2, max_digits=10, null=True)),
                ('reason', models.CharField(blank=True, max_length=500)),
                ('note', models.TextField(blank=True)),
                ('last', models.BooleanField(default=False, help_text='the payer will not pay more')),
                ('payers_correction', models.BooleanField(default=False)),
                ('reference', models.CharField(blank=True, help_text="of the payer's letter or credit", max_length=120)),
                ('key', models.UUIDField(null=True, unique=True)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('claim', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='fleet.claim')),
            ],
            options={
                'ordering': ['number'],
            },
        ),
        migrations.CreateModel(
            name='ClockNote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('claim form', 'claim form'), ('leave to replace', 'leave to replace'), ('filing', 'filing'), ('old part back', 'old part back')], max_length=20)),
                ('why', models.CharField(max_length=300)),
                ('on', models.DateField()),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('claim', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='clock_notes', to='fleet.claim')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='ColumnMemory',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=12)),
                ('heading', models.CharField(max_length=64)),
                ('columns', models.JSONField()),
                ('date_styles', models.JSONField(default=dict)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('kind', 'heading'), name='columnmemory_once')],
            },
        ),
        migrations.CreateModel(
            name='Failure',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('component', models.CharField(choices=[('compressor', 'compressor'), ('outdoor coil', 'outdoor coil'), ('indoor coil', 'indoor coil'), ('heat exchanger', 'heat exchanger'), ('outdoor fan motor', 'outdoor fan motor'), ('indoor fan motor', 'indoor fan motor'), ('blower wheel', 'blower wheel'), ('control board', 'control board'), ('capacitor', 'capacitor'), ('contactor', 'contactor'), ('igniter', 'igniter'), ('gas valve', 'gas valve'), ('sensor', 'sensor'), ('expansion valve', 'expansion valve'), ('reversing valve', 'reversing valve'), ('branch box', 'branch box'), ('drain pump', 'drain pump'), ('drain pan', 'drain pan'), ('drain line', 'drain line'), ('louver', 'louver'), ('remote control', 'remote control'), ('wired controller', 'wired controller'), ('panel', 'panel'), ('filter', 'filter'), ('line set', 'line set'), ('flare joint', 'flare joint'), ('wiring', 'wiring'), ('refrigerant', 'refrigerant'), ('dehumidifier sealed system', 'dehumidifier sealed system'), ('humidistat', 'humidistat'), ('other', 'other')], max_length=40)),
                ('failed_on', models.DateField()),
                ('cause', models.CharField(blank=True, choices=[('manufacturing defect', 'manufacturing defect'), ('installation ours', 'installation ours'), ('installation others', 'installation others'), ('maintenance', 'maintenance'), ('environment', 'environment'), ('power', 'power'), ('misuse', 'misuse'), ('wear', 'wear'), ('shipping', 'shipping'), ('no fault found', 'no fault found'), ('not known', 'not known')], max_length=30)),
                ('repaired_on', models.DateField(null=True)),
                ('part_taken_on', models.DateField(null=True)),
                ('part_number', models.CharField(blank=True, max_length=120)),
                ('new_part_number', models.CharField(blank=True, max_length=120)),
                ('parts_cost', models.DecimalField(decimal_places=2, max_digits=10, null=True)),
                ('labor_minutes', models.PositiveIntegerField(null=True)),
                ('technician', models.CharField(blank=True, max_length=120)),
                ('notes', models.TextField(blank=True)),
                ('found_by', models.CharField(blank=True, max_length=120)),
                ('leak_at', models.CharField(blank=True, help_text='where a leak was', max_length=80)),
                ('fault_code', models.CharField(blank=True, max_length=60)),
                ('new_serial', models.CharField(blank=True, help_text='of a whole unit that came for this one', max_length=120)),
                ('invoice', models.CharField(blank=True, help_text="the supplier's, for the part", max_length=120)),
                ('refrigerant_cost', models.DecimalField(decimal_places=2, max_digits=10, null=True)),
                ('freight_cost', models.DecimalField(decimal_places=2, max_digits=10, null=True)),
                ('old_part_at', models.CharField(blank=True, choices=[('truck', 'truck'), ('shelf', 'shelf'), ('sent', 'sent')], max_length=12)),
                ('key', models.UUIDField(null=True, unique=True)),
                ('voided_on', models.DateField(null=True)),
                ('void_reason', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['failed_on', 'pk'],
            },
        ),
        migrations.AddField(
            model_name='claim',
            name='failure',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='claims', to='fleet.failure'),
        ),
        migrations.CreateModel(
            name='FailureAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('asked_on', models.DateField()),
                ('content', models.JSONField()),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('failure', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='answers', to='fleet.failure')),
            ],
            options={
                'ordering': ['-at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='House',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('hourly_rate', models.DecimalField(decimal_places=2, default=Decimal('0.00'), max_digits=7)),
                ('weekdays', models.CharField(default='01234', max_length=7)),
                ('hours_a_day', models.DecimalField(decimal_places=2, default=Decimal('6'), help_text='0: no limit', max_digits=5)),
                ('drive_price', models.DecimalField(decimal_places=2, default=Decimal('0.00'), help_text='what an hour on the road costs us', max_digits=7)),
                ('renewal_percent', models.DecimalField(decimal_places=2, default=Decimal('80'), max_digits=5)),
                ('record_complete_from', models.DateField(null=True)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='house_is_one'), models.CheckConstraint(condition=models.Q(('weekdays', ''), _negated=True), name='house_works_some_day'), models.CheckConstraint(condition=models.Q(('hours_a_day__gte', 0), ('hourly_rate__gte', 0), ('drive_price__gte', 0)), name='house_rates_not_negative'), models.CheckConstraint(condition=models.Q(('renewal_percent__gte', 0), ('renewal_percent__lte', 100)), name='house_renewal_is_a_share')],
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.CharField(max_length=200, unique=True)),
                ('name', models.CharField(max_length=60)),
                ('payload', models.JSONField(default=dict, help_text='ids and plain values, by name')),
                ('about', models.CharField(blank=True, help_text='what a person would call it', max_length=200)),
                ('asked_at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('not_before', models.DateTimeField(null=True)),
                ('state', models.CharField(choices=[('waiting', 'waiting'), ('running', 'running'), ('done', 'done'), ('failed', 'failed'), ('stopped', 'stopped')], default='waiting', max_length=12)),
                ('tries', models.PositiveSmallIntegerField(default=0)),
                ('lease', models.CharField(blank=True, max_length=32)),
                ('leased_until', models.DateTimeField(null=True)),
                ('stop_asked', models.BooleanField(default=False)),
                ('parts_done', models.PositiveIntegerField(default=0)),
                ('parts', models.PositiveIntegerField(null=True)),
                ('why', models.TextField(blank=True, help_text='why the last try failed')),
                ('started_at', models.DateTimeField(null=True)),
                ('ended_at', models.DateTimeField(null=True)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Import',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('installs', 'installs'), ('history', 'history'), ('agreements', 'agreements')], max_length=12)),
                ('name', models.CharField(max_length=255)),
                ('stored', models.CharField(blank=True, max_length=120)),
                ('sheet', models.JSONField(default=list, help_text='their columns: heading, samples, how their days can be read')),
                ('columns', models.JSONField(default=dict, help_text='our column by theirs')),
                ('date_styles', models.JSONField(default=dict, help_text='style by our column')),
                ('correcting', models.BooleanField(default=False)),
                ('checking', models.BooleanField(default=False, help_text='the job says what would come of it, and takes nothing')),
                ('state', models.CharField(choices=[('reading', 'reading'), ('to match', 'to match'), ('waiting', 'waiting'), ('checked', 'checked'), ('taken', 'taken'), ('refused', 'refused')], default='reading', max_length=12)),
                ('row_count', models.PositiveIntegerField(null=True)),
                ('report', models.JSONField(default=dict)),
                ('problems_stored', models.CharField(blank=True, max_length=120)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to='fleet.job')),
            ],
        ),
        migrations.CreateModel(
            name='Load',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=20)),
                ('name', models.CharField(blank=True, max_length=255)),
                ('digest', models.CharField(blank=True, max_length=64)),
                ('row_count', models.PositiveIntegerField(default=0)),
                ('correcting', models.BooleanField(default=False)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.AddField(
            model_name='failure',
            name='load',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load'),
        ),
        migrations.CreateModel(
            name='Customer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200, unique=True)),
                ('phone', models.CharField(blank=True, max_length=60)),
                ('email', models.CharField(blank=True, max_length=254)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
            ],
        ),
        migrations.CreateModel(
            name='Change',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('table', models.CharField(max_length=40)),
                ('object_id', models.BigIntegerField()),
                ('field', models.CharField(max_length=60)),
                ('before', models.TextField(blank=True)),
                ('after', models.TextField(blank=True)),
                ('why', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='changes', to='fleet.load')),
            ],
        ),
        migrations.CreateModel(
            name='CareSheet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=80, unique=True)),
                ('document', models.TextField()),
                ('digest', models.CharField(max_length=64)),
                ('in_force', models.BooleanField(default=True)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
            ],
        ),
        migrations.CreateModel(
            name='LookupEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=10)),
                ('object_id', models.BigIntegerField()),
                ('part', models.CharField(max_length=10)),
                ('text', models.CharField(max_length=200)),
                ('folded', models.CharField(max_length=200)),
            ],
            options={
                'indexes': [models.Index(fields=['folded'], name='fleet_lookup_beginnings', opclasses=['varchar_pattern_ops'])],
                'constraints': [models.UniqueConstraint(fields=('kind', 'object_id', 'part'), name='lookupentry_once')],
            },
        ),
        migrations.CreateModel(
            name='Merge',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('customer', 'customer'), ('site', 'site'), ('unit', 'unit')], max_length=12)),
                ('kept_id', models.BigIntegerField()),
                ('gone_id', models.BigIntegerField()),
                ('content', models.JSONField()),
                ('why', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('undone_at', models.DateTimeField(null=True)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('undone_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='MoneyRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('failed_on', models.DateField()),
                ('missed', models.JSONField(default=list)),
                ('terms_missed', models.PositiveSmallIntegerField(default=0)),
                ('missed_cost', models.DecimalField(decimal_places=2, default=0, max_digits=12)),
                ('labor_cost', models.DecimalField(decimal_places=2, max_digits=12, null=True)),
                ('labor_short', models.DecimalField(decimal_places=2, max_digits=12, null=True)),
                ('next_on', models.DateField(db_index=True, null=True)),
                ('failure', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='money', to='fleet.failure')),
            ],
        ),
        migrations.CreateModel(
            name='MonthHours',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('month', models.DateField(unique=True)),
                ('hours', models.DecimalField(decimal_places=2, max_digits=7)),
            ],
            options={
                'ordering': ['month'],
                'constraints': [models.CheckConstraint(condition=models.Q(('month__day', 1)), name='monthhours_first_of_the_month'), models.CheckConstraint(condition=models.Q(('hours__gte', 0)), name='monthhours_not_negative')],
            },
        ),
        migrations.CreateModel(
            name='Outlook',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField()),
                ('at', models.DateTimeField()),
                ('mark', models.CharField(help_text='what was on file when it was worked out', max_length=120)),
                ('content', models.JSONField(default=dict)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='outlook_is_one')],
            },
        ),
        migrations.CreateModel(
            name='Site',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200)),
                ('street', models.CharField(blank=True, max_length=200)),
                ('city', models.CharField(blank=True, max_length=120)),
                ('region', models.CharField(blank=True, max_length=12)),
                ('postcode', models.CharField(blank=True, max_length=20)),
                ('new_construction', models.BooleanField(null=True)),
                ('closed_on', models.DateField(null=True)),
                ('drive_minutes', models.PositiveIntegerField(null=True)),
                ('gate_code', models.CharField(blank=True, max_length=60)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sites', to='fleet.customer')),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
            ],
        ),
        migrations.CreateModel(
            name='Sale',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sold_on', models.DateField()),
                ('buyer', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='bought', to='fleet.customer')),
                ('seller', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='sold', to='fleet.customer')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='sales', to='fleet.site')),
            ],
            options={
                'ordering': ['sold_on'],
            },
        ),
        migrations.CreateModel(
            name='Offer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('heads', models.PositiveIntegerField()),
                ('tasks', models.PositiveIntegerField()),
                ('visits', models.PositiveIntegerField()),
                ('late', models.PositiveIntegerField(help_text='of the tasks, those that are late on the day it was worked out')),
                ('first_on', models.DateField()),
                ('minutes', models.PositiveIntegerField()),
                ('price', models.DecimalField(decimal_places=2, max_digits=10)),
                ('site', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='offer', to='fleet.site')),
            ],
        ),
        migrations.CreateModel(
            name='Document',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('given_for', models.CharField(blank=True, help_text='what a payer asked for, in its own words', max_length=300)),
                ('proves_registration', models.BooleanField(default=False)),
                ('kind', models.CharField(choices=[('photo', 'photo'), ('document', 'document')], max_length=12)),
                ('name', models.CharField(max_length=200)),
                ('caption', models.CharField(blank=True, max_length=300)),
                ('media_type', models.CharField(max_length=60)),
                ('stored', models.CharField(max_length=120, unique=True)),
                ('digest', models.CharField(max_length=64)),
                ('size', models.PositiveIntegerField()),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('dropped_on', models.DateField(null=True)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('claim', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='documents', to='fleet.claim')),
                ('failure', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='documents', to='fleet.failure')),
                ('site', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='documents', to='fleet.site')),
            ],
            options={
                'ordering': ['-at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='Contact',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200)),
                ('role', models.CharField(choices=[('owner', 'owner'), ('tenant', 'tenant'), ('manager', 'manager'), ('builder', 'builder'), ('other', 'other')], default='owner', max_length=12)),
                ('phone', models.CharField(blank=True, max_length=60)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('reach', models.CharField(blank=True, help_text='when and how to reach them', max_length=300)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='contacts', to='fleet.site')),
            ],
            options={
                'ordering': ['name', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Booking',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField()),
                ('state', models.CharField(choices=[('booked', 'booked'), ('made', 'made'), ('called off', 'called off')], default='booked', max_length=12)),
                ('minutes', models.PositiveIntegerField()),
                ('price', models.DecimalField(decimal_places=2, max_digits=10)),
                ('why', models.CharField(blank=True, max_length=300)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('key', models.UUIDField(null=True, unique=True)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('technician', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='bookings', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bookings', to='fleet.site')),
            ],
            options={
                'ordering': ['on', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Agreement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reference', models.CharField(blank=True, max_length=120)),
                ('start_on', models.DateField()),
                ('months', models.PositiveIntegerField()),
                ('visits_per_year', models.PositiveIntegerField()),
                ('first_head', models.DecimalField(decimal_places=2, max_digits=10)),
                ('further_head', models.DecimalField(decimal_places=2, max_digits=10)),
                ('discount_percent', models.DecimalField(decimal_places=4, default=Decimal('0'), max_digits=7)),
                ('billing', models.CharField(choices=[('upfront', 'upfront'), ('monthly', 'monthly'), ('per visit', 'per visit')], default='upfront', max_length=12)),
                ('renews', models.CharField(choices=[('by itself', 'by itself'), ('by asking', 'by asking'), ('no', 'no')], default='by itself', max_length=12)),
                ('rise_percent', models.DecimalField(decimal_places=4, default=Decimal('0'), max_digits=7)),
                ('terms_agreed', models.PositiveIntegerField(default=1)),
                ('ended_on', models.DateField(null=True)),
                ('ended_why', models.CharField(blank=True, max_length=300)),
                ('notes', models.TextField(blank=True)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='agreements', to='fleet.site')),
            ],
            options={
                'ordering': ['start_on', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='SiteUse',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('use', models.CharField(choices=[('owner home', 'owner home'), ('rental', 'rental'), ('business', 'business')], max_length=12)),
                ('from_on', models.DateField(null=True)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='uses', to='fleet.site')),
            ],
            options={
                'ordering': [models.OrderBy(models.F('from_on'), nulls_first=True)],
            },
        ),
        migrations.CreateModel(
            name='Statement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('payer_name', models.CharField(blank=True, max_length=500)),
                ('name', models.CharField(max_length=255)),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='StatementLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('row', models.PositiveIntegerField()),
                ('reference', models.CharField(blank=True, max_length=120)),
                ('number', models.CharField(blank=True, help_text="serial, or the claim's own number", max_length=120)),
                ('on', models.DateField()),
                ('amount', models.DecimalField(decimal_places=2, max_digits=10)),
                ('text', models.CharField(blank=True, max_length=300)),
                ('state', models.CharField(choices=[('open', 'open'), ('matched', 'matched'), ('set aside', 'set aside')], default='open', max_length=12)),
                ('why', models.CharField(blank=True, max_length=300)),
                ('statement', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='fleet.statement')),
                ('step', models.OneToOneField(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='statement_line', to='fleet.claimstep')),
            ],
            options={
                'ordering': ['row'],
            },
        ),
        migrations.CreateModel(
            name='Supplier',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200, unique=True)),
                ('phone', models.CharField(blank=True, max_length=60)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('form_before_part', models.BooleanField(null=True)),
                ('file_within_days', models.PositiveIntegerField(null=True)),
                ('file_counted_from', models.CharField(choices=[('failed_on', 'failed_on'), ('repaired_on', 'repaired_on')], default='failed_on', max_length=20)),
                ('part_back_within_days', models.PositiveIntegerField(null=True)),
                ('part_back_counted_from', models.CharField(choices=[('failed_on', 'failed_on'), ('part_taken_on', 'part_taken_on')], default='failed_on', max_length=20)),
                ('old_part', models.CharField(blank=True, choices=[('return', 'return'), ('return if asked', 'return if asked'), ('plate only', 'plate only'), ('keep until credited', 'keep until credited')], max_length=30)),
                ('fee', models.DecimalField(decimal_places=2, max_digits=8, null=True)),
            ],
            options={
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='supplier_has_a_name'), models.CheckConstraint(condition=models.Q(('file_counted_from__in', ['failed_on', 'repaired_on'])), name='supplier_file_counted_from_known', violation_error_message='file_counted_from is not one of the known words.'), models.CheckConstraint(condition=models.Q(('part_back_counted_from__in', ['failed_on', 'part_taken_on'])), name='supplier_part_back_counted_from_known', violation_error_message='part_back_counted_from is not one of the known words.'), models.CheckConstraint(condition=models.Q(('old_part__in', ['return', 'return if asked', 'plate only', 'keep until credited', ''])), name='supplier_old_part_known', violation_error_message='old_part is not one of the known words.'), models.CheckConstraint(condition=models.Q(('fee__isnull', True), ('fee__gte', 0), _connector='OR'), name='supplier_fee_not_negative')],
            },
        ),
        migrations.AddField(
            model_name='failure',
            name='supplier',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='failures', to='fleet.supplier'),
        ),
        migrations.AddField(
            model_name='claim',
            name='supplier',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='claims', to='fleet.supplier'),
        ),
        migrations.CreateModel(
            name='System',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=120)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='systems', to='fleet.site')),
            ],
        ),
        migrations.CreateModel(
            name='Terms',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=80, unique=True)),
                ('payer', models.CharField(choices=[('maker', 'maker'), ('labor plan', 'labor plan'), ('installer', 'installer')], max_length=12)),
                ('maker', models.CharField(max_length=120)),
                ('title', models.CharField(max_length=500)),
                ('installed_from', models.DateField()),
                ('installed_to', models.DateField(null=True)),
                ('replaces', models.CharField(blank=True, db_index=True, max_length=80)),
                ('document', models.TextField()),
                ('digest', models.CharField(max_length=64)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
            ],
        ),
        migrations.CreateModel(
            name='Reminder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reminded_on', models.DateField()),
                ('way', models.CharField(choices=[('letter', 'letter'), ('phone', 'phone'), ('e-mail', 'e-mail'), ('in person', 'in person')], max_length=12)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='reminders', to='fleet.system')),
                ('terms', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reminders', to='fleet.terms')),
            ],
            options={
                'ordering': ['-reminded_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='ClockRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('claim form', 'claim form'), ('leave to replace', 'leave to replace'), ('filing', 'filing'), ('old part back', 'old part back')], max_length=20)),
                ('last_on', models.DateField(null=True)),
                ('first', models.BooleanField(default=False)),
                ('counted_from', models.CharField(max_length=20)),
                ('lapses_on', models.DateField(null=True)),
                ('next_on', models.DateField(db_index=True, null=True)),
                ('claim', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='clocks', to='fleet.claim')),
                ('failure', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='clocks', to='fleet.failure')),
                ('terms', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='+', to='fleet.terms')),
            ],
        ),
        migrations.AddField(
            model_name='claim',
            name='terms',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='claims', to='fleet.terms'),
        ),
        migrations.CreateModel(
            name='TermsCheck',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('checked_on', models.DateField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('terms', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='checks', to='fleet.terms')),
            ],
            options={
                'ordering': ['-checked_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='Unit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('outdoor', 'outdoor'), ('head', 'head'), ('branch box', 'branch box'), ('air handler', 'air handler'), ('furnace', 'furnace'), ('dehumidifier', 'dehumidifier'), ('pump', 'pump'), ('other', 'other')], max_length=20)),
                ('style', models.CharField(blank=True, choices=[('wall', 'wall'), ('floor', 'floor'), ('cassette', 'cassette'), ('ducted', 'ducted')], max_length=12)),
                ('room', models.CharField(blank=True, max_length=120)),
                ('maker', models.CharField(max_length=120)),
                ('model', models.CharField(max_length=120)),
                ('serial', models.CharField(blank=True, max_length=120)),
                ('maker_key', models.CharField(max_length=120)),
                ('model_key', models.CharField(max_length=120)),
                ('serial_key', models.CharField(blank=True, db_index=True, max_length=120)),
                ('purchased_on', models.DateField(null=True)),
                ('installed_on', models.DateField(null=True)),
                ('started_on', models.DateField(null=True)),
                ('manufactured_on', models.DateField(null=True)),
                ('installed_by', models.CharField(blank=True, help_text='blank or us: we did; else the firm', max_length=120)),
                ('installer', models.CharField(blank=True, max_length=120)),
                ('recognized_installer', models.BooleanField(null=True)),
                ('licensed_installer', models.BooleanField(null=True)),
                ('matched_system', models.BooleanField(null=True)),
                ('original_site', models.BooleanField(null=True)),
                ('drain', models.CharField(blank=True, max_length=120)),
                ('surroundings', models.CharField(blank=True, help_text='words with ; between, in the known order', max_length=80)),
                ('access', models.CharField(blank=True, choices=[('normal', 'normal'), ('high', 'high'), ('roof', 'roof'), ('crawlspace', 'crawlspace')], max_length=12)),
                ('refrigerant', models.CharField(blank=True, max_length=30)),
                ('plate_charge_oz', models.DecimalField(decimal_places=2, max_digits=7, null=True)),
                ('plate_amps', models.DecimalField(decimal_places=2, max_digits=7, null=True)),
                ('notes', models.TextField(blank=True)),
                ('gone_on', models.DateField(null=True)),
                ('gone_how', models.CharField(blank=True, max_length=12)),
                ('came_on', models.DateField(null=True)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='units', to='fleet.system')),
                ('took_over_from', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='taken_over_by', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='SetAside',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('fact', models.CharField(choices=[('started_on', 'started_on'), ('installed_on', 'installed_on'), ('purchased_on', 'purchased_on'), ('manufactured_on', 'manufactured_on'), ('attached_on', 'attached_on'), ('region', 'region'), ('use', 'use'), ('new_construction', 'new_construction'), ('closed_on', 'closed_on'), ('recognized_installer', 'recognized_installer'), ('licensed_installer', 'licensed_installer'), ('matched_system', 'matched_system'), ('original_site', 'original_site'), ('maintenance', 'maintenance'), ('serial', 'serial'), ('style', 'style')], max_length=24)),
                ('first_on', models.DateField(null=True)),
                ('set_aside_on', models.DateField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='set_aside', to='fleet.site')),
                ('unit', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='set_aside', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='Registration',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('registered_on', models.DateField(null=True)),
                ('number', models.CharField(blank=True, max_length=120)),
                ('accepted_late', models.BooleanField(null=True)),
                ('accepted_late_on', models.DateField(null=True)),
                ('told_by', models.CharField(blank=True, help_text='who at the payer said so', max_length=200)),
                ('with_install', models.BooleanField(default=False)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('proof', models.ForeignKey(help_text="the payer's paper; one may prove many", null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='proves', to='fleet.document')),
                ('terms', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='registrations', to='fleet.terms')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='registrations', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('came_on', models.DateField(null=True)),
                ('left_on', models.DateField(null=True)),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='places', to='fleet.system')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='places', to='fleet.unit')),
            ],
            options={
                'ordering': [models.OrderBy(models.F('came_on'), nulls_first=True)],
            },
        ),
        migrations.CreateModel(
            name='PayerWord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=12)),
                ('component', models.CharField(blank=True, help_text='blank: whatever has no coverage of its own', max_length=40)),
                ('said_on', models.DateField()),
                ('who', models.CharField(max_length=200)),
                ('covered', models.BooleanField()),
                ('last_on', models.DateField(null=True)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('settled_on', models.DateField(null=True)),
                ('settled_how', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('terms', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payer_words', to='fleet.terms')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='payer_words', to='fleet.unit')),
            ],
            options={
                'ordering': ['-said_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='Notice',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('notified_on', models.DateField()),
                ('number', models.CharField(blank=True, max_length=120)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('terms', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='notices', to='fleet.terms')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='notices', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='Idle',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('idle_on', models.DateField()),
                ('back_on', models.DateField(null=True)),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='idles', to='fleet.unit')),
            ],
            options={
                'ordering': ['idle_on'],
            },
        ),
        migrations.CreateModel(
            name='HoldingRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('attached', models.BooleanField()),
                ('start_on', models.DateField(null=True)),
                ('start_by', models.CharField(blank=True, max_length=20)),
                ('start_assumed', models.BooleanField()),
                ('registration', models.CharField(max_length=20)),
                ('registration_day', models.DateField(null=True)),
                ('deadline', models.DateField(null=True)),
                ('reason', models.JSONField(default=list)),
                ('lost', models.JSONField(default=list)),
                ('next_on', models.DateField(db_index=True, null=True)),
                ('system', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='fleet.system')),
                ('terms', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name='holdings', to='fleet.terms')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='holdings', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='HistoryRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('reference', models.CharField(blank=True, max_length=120)),
                ('content', models.JSONField()),
                ('table', models.CharField(max_length=40)),
                ('object_id', models.BigIntegerField(null=True)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='told', to='fleet.unit')),
            ],
        ),
        migrations.AddField(
            model_name='failure',
            name='unit',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='failures', to='fleet.unit'),
        ),
        migrations.CreateModel(
            name='FactRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('fact', models.CharField(max_length=24)),
                ('worth_days', models.PositiveIntegerField()),
                ('parts_days', models.PositiveIntegerField()),
                ('labor_days', models.PositiveIntegerField()),
                ('refrigerant_days', models.PositiveIntegerField()),
                ('freight_days', models.PositiveIntegerField()),
                ('first_on', models.DateField(null=True)),
                ('last_on', models.DateField(null=True)),
                ('site', models.ForeignKey(db_index=False, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='facts_wanted', to='fleet.site')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='facts_wanted', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='DueRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('task', models.CharField(max_length=120)),
                ('by', models.CharField(choices=[('owner', 'owner'), ('technician', 'technician')], max_length=12)),
                ('last_done', models.DateField(null=True)),
                ('due_on', models.DateField()),
                ('opens_on', models.DateField()),
                ('late_after', models.DateField()),
                ('graded', models.BooleanField(default=False)),
                ('not_before', models.DateField(null=True)),
                ('price', models.DecimalField(decimal_places=2, max_digits=10)),
                ('minutes', models.PositiveIntegerField()),
                ('units', models.JSONField(default=list)),
                ('anchor', models.DateField(null=True)),
                ('times', models.CharField(blank=True, help_text='an exact decimal', max_length=20)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='dues', to='fleet.site')),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='dues', to='fleet.system')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='dues', to='fleet.unit')),
            ],
        ),
        migrations.AddField(
            model_name='document',
            name='unit',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='documents', to='fleet.unit'),
        ),
        migrations.CreateModel(
            name='CoverageRow',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('payer', models.CharField(max_length=12)),
                ('kind', models.CharField(max_length=12)),
                ('components', models.TextField()),
                ('result', models.CharField(max_length=12)),
                ('first_on', models.DateField(null=True)),
                ('last_on', models.DateField(null=True)),
                ('lifetime', models.BooleanField(default=False)),
                ('possible_last_on', models.DateField(null=True)),
                ('possible_lifetime', models.BooleanField(default=False)),
                ('reasons', models.JSONField()),
                ('needs', models.JSONField()),
                ('hangs_on', models.JSONField(default=list)),
                ('next_on', models.DateField(null=True)),
                ('terms', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='coverage', to='fleet.terms')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='coverage', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='BookedTask',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('task', models.CharField(max_length=120)),
                ('booking', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='tasks', to='fleet.booking')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='booked_tasks', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='Attachment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('attached_on', models.DateField(null=True)),
                ('number', models.CharField(blank=True, max_length=120)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('terms', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='attachments', to='fleet.terms')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='attachments', to='fleet.unit')),
            ],
        ),
        migrations.CreateModel(
            name='WriteUp',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('on', models.DateField()),
                ('technician', models.CharField(max_length=120)),
                ('minutes', models.PositiveIntegerField(null=True)),
                ('notes', models.TextField(blank=True)),
                ('content', models.JSONField(default=dict)),
                ('at', models.DateTimeField(db_default=django.db.models.functions.datetime.Now())),
                ('taken_back_on', models.DateField(null=True)),
                ('taken_back_why', models.CharField(blank=True, max_length=300)),
                ('booking', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='write_ups', to='fleet.booking')),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='write_ups', to='fleet.site')),
                ('taken_back_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='RefrigerantEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField()),
                ('move', models.CharField(choices=[('charged', 'charged'), ('added', 'added'), ('recovered', 'recovered')], max_length=12)),
                ('refrigerant', models.CharField(max_length=30)),
                ('ounces', models.DecimalField(decimal_places=2, max_digits=9)),
                ('cylinder', models.CharField(blank=True, max_length=60)),
                ('who', models.CharField(max_length=120)),
                ('certificate', models.CharField(blank=True, max_length=60)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('failure', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='refrigerant_entries', to='fleet.failure')),
                ('system', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='refrigerant_entries', to='fleet.system')),
                ('write_up', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='refrigerant_entries', to='fleet.writeup')),
            ],
            options={
                'ordering': ['on', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Reading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('on', models.DateField()),
                ('start_up', models.BooleanField(default=False)),
                ('reading', models.CharField(max_length=40)),
                ('value', models.DecimalField(decimal_places=3, max_digits=10)),
                ('measure', models.CharField(max_length=12)),
                ('mode', models.CharField(blank=True, max_length=20)),
                ('fan', models.CharField(blank=True, max_length=20)),
                ('minutes_running', models.PositiveIntegerField(null=True)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('failure', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='readings', to='fleet.failure')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='readings', to='fleet.unit')),
                ('write_up', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='fleet.writeup')),
            ],
            options={
                'ordering': ['on', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='MaintenanceRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('done_on', models.DateField()),
                ('skipped', models.BooleanField(default=False)),
                ('task', models.CharField(blank=True, max_length=120)),
                ('dirt_wheel', models.PositiveSmallIntegerField(null=True)),
                ('dirt_coil', models.PositiveSmallIntegerField(null=True)),
                ('not_before', models.DateField(null=True)),
                ('technician', models.CharField(blank=True, max_length=120)),
                ('labor_minutes', models.PositiveIntegerField(null=True)),
                ('notes', models.TextField(blank=True)),
                ('skip_reason', models.CharField(blank=True, choices=[('customer declined', 'customer declined'), ('no access', 'no access'), ('other', 'other')], max_length=20)),
                ('load', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fleet.load')),
                ('unit', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='records', to='fleet.unit')),
                ('write_up', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='records', to='fleet.writeup')),
            ],
            options={
                'ordering': ['done_on', 'pk'],
            },
        ),
        migrations.AddField(
            model_name='failure',
            name='write_up',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='failures', to='fleet.writeup'),
        ),
        migrations.AddConstraint(
            model_name='user',
            constraint=models.CheckConstraint(condition=models.Q(('role__in', ['office', 'technician', 'owner', ''])), name='user_role_known'),
        ),
        migrations.AddConstraint(
            model_name='user',
            constraint=models.UniqueConstraint(django.db.models.functions.text.Lower('username'), name='user_logs_in_under_a_name_of_their_own', violation_error_message='Somebody else logs in under that name already.'),
        ),
        migrations.AddConstraint(
            model_name='user',
            constraint=models.UniqueConstraint(django.db.models.functions.text.Lower('email'), condition=models.Q(('email', ''), _negated=True), name='user_has_an_email_of_their_own', violation_error_message='Somebody else has that e-mail address already.'),
        ),
        migrations.AddConstraint(
            model_name='claimstep',
            constraint=models.UniqueConstraint(fields=('claim', 'number'), name='claimstep_one_after_the_other'),
        ),
        migrations.AddConstraint(
            model_name='claimstep',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('asked_for', 'filed'), ('came_from', 'gathering')), models.Q(('asked_for', 'withdrawn'), ('came_from', 'gathering')), models.Q(('asked_for', 'asked for more'), ('came_from', 'filed')), models.Q(('asked_for', 'approved'), ('came_from', 'filed')), models.Q(('asked_for', 'part approved'), ('came_from', 'filed')), models.Q(('asked_for', 'denied'), ('came_from', 'filed')), models.Q(('asked_for', 'withdrawn'), ('came_from', 'filed')), models.Q(('asked_for', 'filed'), ('came_from', 'asked for more')), models.Q(('asked_for', 'withdrawn'), ('came_from', 'asked for more')), models.Q(('asked_for', 'credited'), ('came_from', 'approved')), models.Q(('asked_for', 'written off'), ('came_from', 'approved')), models.Q(('asked_for', 'credited'), ('came_from', 'part approved')), models.Q(('asked_for', 'written off'), ('came_from', 'part approved')), models.Q(('asked_for', 'filed'), ('came_from', 'denied')), models.Q(('asked_for', 'written off'), ('came_from', 'denied')), models.Q(('asked_for', 'filed'), ('came_from', 'credited')), _connector='OR'), name='claimstep_in_the_table', violation_error_message='A claim cannot take that step from where it stands.'),
        ),
        migrations.AddConstraint(
            model_name='claimstep',
            constraint=models.CheckConstraint(condition=models.Q(('went_to', models.F('asked_for')), models.Q(('asked_for', 'credited'), ('went_to', models.F('came_from'))), _connector='OR'), name='claimstep_goes_where_it_says'),
        ),
        migrations.AddConstraint(
            model_name='claimstep',
            constraint=models.CheckConstraint(condition=models.Q(('amount__isnull', True), ('amount__gt', 0), _connector='OR'), name='claimstep_amount_positive'),
        ),
        migrations.AddConstraint(
            model_name='clocknote',
            constraint=models.UniqueConstraint(fields=('claim', 'kind'), name='clocknote_once'),
        ),
        migrations.AddConstraint(
            model_name='clocknote',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['claim form', 'leave to replace', 'filing', 'old part back'])), name='clocknote_kind_known', violation_error_message='kind is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='clocknote',
            constraint=models.CheckConstraint(condition=models.Q(('why', ''), _negated=True), name='clocknote_says_why', violation_error_message='Say why this clock counts no more.'),
        ),
        migrations.AddIndex(
            model_name='job',
            index=models.Index(fields=['state', 'id'], name='job_by_state'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['waiting', 'running', 'done', 'failed', 'stopped'])), name='job_state_known', violation_error_message='state is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('leased_until__isnull', False), ('state', 'running'), models.Q(('lease', ''), _negated=True)), models.Q(models.Q(('state', 'running'), _negated=True), ('lease', ''), ('leased_until__isnull', True)), _connector='OR'), name='job_leased_while_running'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at__isnull', False), ('state__in', ('done', 'failed', 'stopped'))), models.Q(models.Q(('state__in', ('done', 'failed', 'stopped')), _negated=True), ('ended_at__isnull', True)), _connector='OR'), name='job_ended_at_with_its_end'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'failed'), _negated=True), models.Q(('why', ''), _negated=True), _connector='OR'), name='job_failed_says_why'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('key', ''), _negated=True), models.Q(('name', ''), _negated=True)), name='job_has_key_and_name'),
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(('parts__isnull', True), ('parts_done__lte', models.F('parts')), _connector='OR'), name='job_parts_done_of_all'),
        ),
        migrations.AddConstraint(
            model_name='import',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['installs', 'history', 'agreements'])), name='import_kind_known', violation_error_message='kind is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='import',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['reading', 'to match', 'waiting', 'checked', 'taken', 'refused'])), name='import_state_known', violation_error_message='state is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='customer',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='customer_has_a_name'),
        ),
        migrations.AddIndex(
            model_name='change',
            index=models.Index(fields=['table', 'object_id', '-at'], name='fleet_chang_table_12aa9b_idx'),
        ),
        migrations.AddConstraint(
            model_name='caresheet',
            constraint=models.UniqueConstraint(condition=models.Q(('in_force', True)), fields=('in_force',), name='caresheet_one_in_force'),
        ),
        migrations.AddConstraint(
            model_name='merge',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['customer', 'site', 'unit'])), name='merge_kind_known', violation_error_message='kind is not one of the known words.'),
        ),
        migrations.AddIndex(
            model_name='moneyrow',
            index=models.Index(fields=['failed_on', 'terms_missed', 'missed_cost', 'labor_cost', 'labor_short'], name='money_since'),
        ),
        migrations.AddIndex(
            model_name='moneyrow',
            index=models.Index(condition=models.Q(('terms_missed__gt', 0)), fields=['failed_on', 'failure'], name='money_missed'),
        ),
        migrations.AddConstraint(
            model_name='moneyrow',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('labor_cost__isnull', True), ('labor_short__isnull', True)), models.Q(('labor_cost__isnull', False), ('labor_short__isnull', False)), _connector='OR'), name='moneyrow_labor_cost_and_short_together'),
        ),
        migrations.AddConstraint(
            model_name='site',
            constraint=models.UniqueConstraint(fields=('customer', 'name'), name='site_known_by_customer_and_name'),
        ),
        migrations.AddConstraint(
            model_name='site',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='site_has_a_name'),
        ),
        migrations.AddConstraint(
            model_name='site',
            constraint=models.CheckConstraint(condition=models.Q(('drive_minutes__isnull', True), ('drive_minutes__lte', 1440), _connector='OR'), name='site_drive_within_a_day'),
        ),
        migrations.AddConstraint(
            model_name='sale',
            constraint=models.UniqueConstraint(fields=('site', 'sold_on'), name='sale_once_a_day'),
        ),
        migrations.AddIndex(
            model_name='offer',
            index=models.Index(fields=['-price', 'site'], name='fleet_offer_price_20576c_idx'),
        ),
        migrations.AddIndex(
            model_name='offer',
            index=models.Index(fields=['first_on', 'site'], name='fleet_offer_first_o_e5294d_idx'),
        ),
        migrations.AddIndex(
            model_name='offer',
            index=models.Index(fields=['-late', 'site'], name='fleet_offer_late_1ba7a2_idx'),
        ),
        migrations.AddConstraint(
            model_name='contact',
            constraint=models.CheckConstraint(condition=models.Q(('role__in', ['owner', 'tenant', 'manager', 'builder', 'other'])), name='contact_role_known', violation_error_message='role is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='contact',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='contact_has_a_name'),
        ),
        migrations.AddIndex(
            model_name='booking',
            index=models.Index(fields=['on', 'technician'], name='fleet_booki_on_385d6d_idx'),
        ),
        migrations.AddIndex(
            model_name='booking',
            index=models.Index(fields=['site', 'on'], name='fleet_booki_site_id_b7a717_idx'),
        ),
        migrations.AddConstraint(
            model_name='booking',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['booked', 'made', 'called off'])), name='booking_state_known', violation_error_message='state is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='booking',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'called off'), _negated=True), fields=('site', 'on'), name='booking_one_a_day_at_a_site'),
        ),
        migrations.AddIndex(
            model_name='agreement',
            index=models.Index(fields=['site', 'start_on'], name='fleet_agree_site_id_4453ba_idx'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.UniqueConstraint(condition=models.Q(('reference', ''), _negated=True), fields=('site', 'reference'), name='agreement_known_by_reference'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.UniqueConstraint(condition=models.Q(('reference', '')), fields=('site', 'start_on'), name='agreement_known_by_start'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.CheckConstraint(condition=models.Q(('billing__in', ['upfront', 'monthly', 'per visit'])), name='agreement_billing_known', violation_error_message='billing is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.CheckConstraint(condition=models.Q(('renews__in', ['by itself', 'by asking', 'no'])), name='agreement_renews_known', violation_error_message='renews is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.CheckConstraint(condition=models.Q(('months__gte', 1), ('visits_per_year__gte', 1), ('terms_agreed__gte', 1)), name='agreement_lasts_and_visits', violation_error_message='An agreement has at least a month, a visit a year and one term.'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.CheckConstraint(condition=models.Q(('first_head__gte', 0), ('further_head__gte', 0), ('rise_percent__gt', -100)), name='agreement_prices_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.CheckConstraint(condition=models.Q(('discount_percent__gte', 0), ('discount_percent__lte', 100)), name='agreement_discount_is_a_share'),
        ),
        migrations.AddConstraint(
            model_name='agreement',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_on__isnull', True), ('ended_why', '')), models.Q(('ended_on__gte', models.F('start_on')), models.Q(('ended_why', ''), _negated=True)), _connector='OR'), name='agreement_ended_on_with_why', violation_error_message='An agreement that ended has a day, not before it began, and a reason.'),
        ),
        migrations.AddConstraint(
            model_name='siteuse',
            constraint=models.CheckConstraint(condition=models.Q(('use__in', ['owner home', 'rental', 'business'])), name='siteuse_use_known', violation_error_message='use is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='siteuse',
            constraint=models.UniqueConstraint(fields=('site', 'from_on'), name='siteuse_one_from_each_day'),
        ),
        migrations.AddConstraint(
            model_name='siteuse',
            constraint=models.UniqueConstraint(condition=models.Q(('from_on__isnull', True)), fields=('site',), name='siteuse_one_ever_since'),
        ),
        migrations.AddConstraint(
            model_name='statementline',
            constraint=models.UniqueConstraint(fields=('statement', 'row'), name='statementline_once'),
        ),
        migrations.AddConstraint(
            model_name='statementline',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['open', 'matched', 'set aside'])), name='statementline_state_known', violation_error_message='state is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='system',
            constraint=models.UniqueConstraint(fields=('site', 'name'), name='system_known_by_site_and_name'),
        ),
        migrations.AddConstraint(
            model_name='system',
            constraint=models.CheckConstraint(condition=models.Q(('name', ''), _negated=True), name='system_has_a_name'),
        ),
        migrations.AddConstraint(
            model_name='terms',
            constraint=models.CheckConstraint(condition=models.Q(('payer__in', ['maker', 'labor plan', 'installer'])), name='terms_payer_known', violation_error_message='payer is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='reminder',
            constraint=models.CheckConstraint(condition=models.Q(('way__in', ['letter', 'phone', 'e-mail', 'in person'])), name='reminder_way_known', violation_error_message='way is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='reminder',
            constraint=models.UniqueConstraint(fields=('system', 'terms', 'reminded_on', 'way'), name='reminder_once_a_day'),
        ),
        migrations.AddIndex(
            model_name='clockrow',
            index=models.Index(fields=['last_on', 'failure', 'terms', 'lapses_on', 'first', 'claim'], name='clock_by_last_day'),
        ),
        migrations.AddIndex(
            model_name='clockrow',
            index=models.Index(condition=models.Q(('first', True)), fields=['last_on', 'failure', 'lapses_on', 'first'], name='clock_first'),
        ),
        migrations.AddIndex(
            model_name='clockrow',
            index=models.Index(fields=['claim', 'lapses_on', 'failure', 'terms'], name='clock_by_claim'),
        ),
        migrations.AddConstraint(
            model_name='clockrow',
            constraint=models.UniqueConstraint(fields=('failure', 'terms', 'kind'), name='clockrow_once'),
        ),
        migrations.AddConstraint(
            model_name='clockrow',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['claim form', 'leave to replace', 'filing', 'old part back'])), name='clockrow_kind_known', violation_error_message='kind is not one of the known words.'),
        ),
        migrations.AddIndex(
            model_name='claim',
            index=models.Index(fields=['state', 'filed_on', 'failed_on', 'asked', 'approved', 'credited'], name='claim_by_state'),
        ),
        migrations.AddIndex(
            model_name='claim',
            index=models.Index(fields=['failed_on', 'payer_name', 'maker', 'state', 'expected', 'asked', 'approved', 'credited'], name='claim_money_since'),
        ),
        migrations.AddIndex(
            model_name='claim',
            index=models.Index(fields=['maker'], name='claim_by_maker'),
        ),
        migrations.AddIndex(
            model_name='claim',
            index=models.Index(fields=['filed_on', 'opened_on', 'id'], name='claim_by_filing'),
        ),
        migrations.AddConstraint(
            model_name='claim',
            constraint=models.UniqueConstraint(fields=('failure', 'payer', 'payer_name'), name='claim_one_per_failure_and_payer'),
        ),
        migrations.AddConstraint(
            model_name='claim',
            constraint=models.CheckConstraint(condition=models.Q(('payer__in', ['maker', 'labor plan', 'installer'])), name='claim_payer_known', violation_error_message='payer is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='claim',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['gathering', 'filed', 'asked for more', 'approved', 'part approved', 'denied', 'credited', 'written off', 'withdrawn'])), name='claim_state_known', violation_error_message='state is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='claim',
            constraint=models.CheckConstraint(condition=models.Q(('asked__gte', 0), ('approved__gte', 0), ('credited__gte', 0)), name='claim_money_not_negative'),
        ),
        migrations.AddIndex(
            model_name='unit',
            index=models.Index(fields=['maker'], name='unit_by_maker'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.UniqueConstraint(condition=models.Q(('serial_key', ''), _negated=True), fields=('maker_key', 'model_key', 'serial_key'), name='unit_known_by_maker_model_serial'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.UniqueConstraint(condition=models.Q(('gone_on__isnull', True), ('serial_key', '')), fields=('system', 'role', 'room'), name='unit_without_serial_known_by_room'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('serial_key', ''), _negated=True), models.Q(('room', ''), _negated=True), _connector='OR'), name='unit_has_serial_or_room', violation_error_message='A unit needs a serial, or a room while its label cannot be read.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('maker', ''), _negated=True), models.Q(('model', ''), _negated=True)), name='unit_has_maker_and_model'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('role__in', ['outdoor', 'head', 'branch box', 'air handler', 'furnace', 'dehumidifier', 'pump', 'other'])), name='unit_role_known', violation_error_message='role is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('style__in', ['wall', 'floor', 'cassette', 'ducted', ''])), name='unit_style_known', violation_error_message='style is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('access__in', ['normal', 'high', 'roof', 'crawlspace', ''])), name='unit_access_known', violation_error_message='access is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('gone_how', ''), ('gone_on__isnull', True)), models.Q(('gone_how__in', ['exchanged', 'removed']), ('gone_on__isnull', False)), _connector='OR'), name='unit_gone_on_with_how', violation_error_message='A unit that is gone has a day and whether it was exchanged or removed.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('came_on__isnull', True), ('took_over_from__isnull', True)), models.Q(('came_on__isnull', False), ('took_over_from__isnull', False)), _connector='OR'), name='unit_came_on_with_predecessor', violation_error_message='A unit that took over from another has the day it came.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('gone_on__isnull', True), ('came_on__isnull', True), ('gone_on__gte', models.F('came_on')), _connector='OR'), name='unit_gone_after_it_came', violation_error_message='A unit cannot be gone before it came.'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('plate_charge_oz__isnull', True), ('plate_charge_oz__gte', 0), _connector='OR'), name='unit_charge_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='unit',
            constraint=models.CheckConstraint(condition=models.Q(('plate_amps__isnull', True), ('plate_amps__gte', 0), _connector='OR'), name='unit_amps_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='setaside',
            constraint=models.CheckConstraint(condition=models.Q(('fact__in', ['started_on', 'installed_on', 'purchased_on', 'manufactured_on', 'attached_on', 'region', 'use', 'new_construction', 'closed_on', 'recognized_installer', 'licensed_installer', 'matched_system', 'original_site', 'maintenance', 'serial', 'style'])), name='setaside_fact_known', violation_error_message='fact is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='setaside',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('site__isnull', False), ('unit__isnull', True)), models.Q(('site__isnull', True), ('unit__isnull', False)), _connector='OR'), name='setaside_of_a_unit_or_a_site'),
        ),
        migrations.AddConstraint(
            model_name='setaside',
            constraint=models.CheckConstraint(condition=models.Q(('first_on__isnull', True), ('fact', 'maintenance'), _connector='OR'), name='setaside_day_is_of_a_gap'),
        ),
        migrations.AddConstraint(
            model_name='registration',
            constraint=models.UniqueConstraint(condition=models.Q(('with_install', True)), fields=('unit',), name='registration_one_with_the_install'),
        ),
        migrations.AddConstraint(
            model_name='registration',
            constraint=models.CheckConstraint(condition=models.Q(('accepted_late_on__isnull', True), ('accepted_late', True), _connector='OR'), name='registration_late_day_only_if_accepted'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.UniqueConstraint(condition=models.Q(('left_on__isnull', True)), fields=('unit',), name='place_one_at_a_time'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.UniqueConstraint(fields=('unit', 'came_on'), name='place_one_from_each_day'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.UniqueConstraint(condition=models.Q(('came_on__isnull', True)), fields=('unit',), name='place_one_first'),
        ),
        migrations.AddConstraint(
            model_name='place',
            constraint=models.CheckConstraint(condition=models.Q(('came_on__isnull', True), ('left_on__isnull', True), ('left_on__gt', models.F('came_on')), _connector='OR'), name='place_left_after_it_came', violation_error_message='A unit leaves a system on a later day than it came.'),
        ),
        migrations.AddConstraint(
            model_name='payerword',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('settled_how', ''), ('settled_on__isnull', True)), models.Q(('settled_on__isnull', False), models.Q(('settled_how', ''), _negated=True)), _connector='OR'), name='payerword_settled_on_with_how', violation_error_message='Settling a difference says how.'),
        ),
        migrations.AddConstraint(
            model_name='payerword',
            constraint=models.CheckConstraint(condition=models.Q(('covered', True), ('last_on__isnull', True), _connector='OR'), name='payerword_last_day_only_if_covered'),
        ),
        migrations.AddConstraint(
            model_name='idle',
            constraint=models.UniqueConstraint(condition=models.Q(('back_on__isnull', True)), fields=('unit',), name='idle_one_at_a_time'),
        ),
        migrations.AddConstraint(
            model_name='idle',
            constraint=models.UniqueConstraint(fields=('unit', 'idle_on'), name='idle_once_a_day'),
        ),
        migrations.AddConstraint(
            model_name='idle',
            constraint=models.CheckConstraint(condition=models.Q(('back_on__isnull', True), ('back_on__gte', models.F('idle_on')), _connector='OR'), name='idle_back_after_it_began', violation_error_message='A unit comes back into use no earlier than it fell idle.'),
        ),
        migrations.AddIndex(
            model_name='holdingrow',
            index=models.Index(fields=['registration', 'deadline', 'system', 'terms', 'unit'], name='holding_by_deadline'),
        ),
        migrations.AddIndex(
            model_name='holdingrow',
            index=models.Index(fields=['terms', 'start_on'], name='holding_by_start'),
        ),
        migrations.AddConstraint(
            model_name='holdingrow',
            constraint=models.UniqueConstraint(fields=('unit', 'terms'), name='holdingrow_once'),
        ),
        migrations.AddIndex(
            model_name='factrow',
            index=models.Index(condition=models.Q(('site__isnull', False)), fields=['site', 'fact', 'worth_days'], name='fact_by_site'),
        ),
        migrations.AddIndex(
            model_name='factrow',
            index=models.Index(models.F('site'), models.OrderBy(models.F('worth_days'), descending=True), models.F('fact'), models.F('unit'), name='fact_by_worth'),
        ),
        migrations.AddConstraint(
            model_name='factrow',
            constraint=models.UniqueConstraint(fields=('unit', 'fact', 'site'), name='factrow_once'),
        ),
        migrations.AddIndex(
            model_name='duerow',
            index=models.Index(fields=['by', 'due_on', 'site', 'task'], name='due_by_day'),
        ),
        migrations.AddIndex(
            model_name='duerow',
            index=models.Index(fields=['by', 'late_after', 'opens_on', 'not_before'], name='due_by_lateness'),
        ),
        migrations.AddIndex(
            model_name='duerow',
            index=models.Index(fields=['site', 'by', 'due_on'], name='due_by_site'),
        ),
        migrations.AddIndex(
            model_name='duerow',
            index=models.Index(fields=['task', 'due_on'], name='due_by_task'),
        ),
        migrations.AddConstraint(
            model_name='duerow',
            constraint=models.UniqueConstraint(fields=('unit', 'task'), name='duerow_once'),
        ),
        migrations.AddConstraint(
            model_name='duerow',
            constraint=models.CheckConstraint(condition=models.Q(('by__in', ['owner', 'technician'])), name='duerow_by_known', violation_error_message='by is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='document',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['photo', 'document'])), name='document_kind_known', violation_error_message='kind is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='document',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('site__isnull', True), ('unit__isnull', False)), models.Q(('site__isnull', False), ('unit__isnull', True)), _connector='OR'), name='document_of_a_unit_or_a_site'),
        ),
        migrations.AddIndex(
            model_name='coveragerow',
            index=models.Index(condition=models.Q(('result', 'covered')), fields=['last_on', 'unit', 'payer', 'kind', 'result'], name='coverage_ending'),
        ),
        migrations.AddIndex(
            model_name='coveragerow',
            index=models.Index(condition=models.Q(('result', 'covered')), fields=['last_on', 'result'], name='coverage_ending_count'),
        ),
        migrations.AddConstraint(
            model_name='coveragerow',
            constraint=models.UniqueConstraint(fields=('unit', 'terms', 'kind', 'components'), name='coveragerow_once'),
        ),
        migrations.AddConstraint(
            model_name='coveragerow',
            constraint=models.CheckConstraint(condition=models.Q(('last_on__isnull', True), ('lifetime', False), _connector='OR'), name='coveragerow_lifetime_has_no_last_day'),
        ),
        migrations.AddConstraint(
            model_name='bookedtask',
            constraint=models.UniqueConstraint(fields=('booking', 'unit', 'task'), name='bookedtask_once'),
        ),
        migrations.AddConstraint(
            model_name='attachment',
            constraint=models.UniqueConstraint(fields=('unit', 'terms'), name='attachment_once'),
        ),
        migrations.AddIndex(
            model_name='writeup',
            index=models.Index(fields=['site', '-on'], name='fleet_write_site_id_433f4e_idx'),
        ),
        migrations.AddConstraint(
            model_name='writeup',
            constraint=models.UniqueConstraint(condition=models.Q(('taken_back_on__isnull', True)), fields=('booking',), name='writeup_one_that_counts_of_a_visit'),
        ),
        migrations.AddConstraint(
            model_name='writeup',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('taken_back_by__isnull', True), ('taken_back_on__isnull', True), ('taken_back_why', '')), models.Q(('taken_back_by__isnull', False), ('taken_back_on__isnull', False), models.Q(('taken_back_why', ''), _negated=True)), _connector='OR'), name='writeup_taken_back_by_somebody_with_reason', violation_error_message='Taking a write-up back says who did and why.'),
        ),
        migrations.AddIndex(
            model_name='refrigerantentry',
            index=models.Index(fields=['system', 'on'], name='fleet_refri_system__c685bb_idx'),
        ),
        migrations.AddConstraint(
            model_name='refrigerantentry',
            constraint=models.CheckConstraint(condition=models.Q(('move__in', ['charged', 'added', 'recovered'])), name='refrigerantentry_move_known', violation_error_message='move is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='refrigerantentry',
            constraint=models.CheckConstraint(condition=models.Q(('ounces__gt', 0)), name='refrigerantentry_weighs_something'),
        ),
        migrations.AddIndex(
            model_name='reading',
            index=models.Index(fields=['unit', 'on'], name='fleet_readi_unit_id_229e2f_idx'),
        ),
        migrations.AddConstraint(
            model_name='reading',
            constraint=models.CheckConstraint(condition=models.Q(('reading__in', ['indoor relative humidity', 'indoor temperature', 'outdoor temperature', 'return air temperature', 'supply air temperature', 'liquid line temperature', 'gas line temperature', 'superheat', 'subcooling', 'pressure test', 'vacuum reached', 'vacuum held', 'amps', 'volts', 'line length', 'charge added'])), name='reading_reading_known', violation_error_message='reading is not one of the known words.'),
        ),
        migrations.AddIndex(
            model_name='maintenancerecord',
            index=models.Index(fields=['unit', 'done_on'], name='fleet_maint_unit_id_d458c1_idx'),
        ),
        migrations.AddConstraint(
            model_name='maintenancerecord',
            constraint=models.CheckConstraint(condition=models.Q(('dirt_wheel__isnull', True), ('dirt_wheel__lte', 3), _connector='OR'), name='maintenancerecord_wheel_graded_0_to_3'),
        ),
        migrations.AddConstraint(
            model_name='maintenancerecord',
            constraint=models.CheckConstraint(condition=models.Q(('dirt_coil__isnull', True), ('dirt_coil__lte', 3), _connector='OR'), name='maintenancerecord_coil_graded_0_to_3'),
        ),
        migrations.AddConstraint(
            model_name='maintenancerecord',
            constraint=models.CheckConstraint(condition=models.Q(('not_before__isnull', True), ('skipped', True), _connector='OR'), name='maintenancerecord_not_before_only_when_skipped', violation_error_message='Only a skipped task waits until a later day.'),
        ),
        migrations.AddConstraint(
            model_name='maintenancerecord',
            constraint=models.CheckConstraint(condition=models.Q(('skip_reason__in', ['customer declined', 'no access', 'other', ''])), name='maintenancerecord_skip_reason_known', violation_error_message='skip_reason is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='maintenancerecord',
            constraint=models.CheckConstraint(condition=models.Q(('skip_reason', ''), ('skipped', True), _connector='OR'), name='maintenancerecord_reason_only_when_skipped'),
        ),
        migrations.AddIndex(
            model_name='failure',
            index=models.Index(fields=['unit', 'failed_on'], name='fleet_failu_unit_id_34dc71_idx'),
        ),
        migrations.AddIndex(
            model_name='failure',
            index=models.Index(condition=models.Q(('voided_on__isnull', True)), fields=['failed_on', 'id', 'repaired_on'], name='failure_by_day'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(('component__in', ['compressor', 'outdoor coil', 'indoor coil', 'heat exchanger', 'outdoor fan motor', 'indoor fan motor', 'blower wheel', 'control board', 'capacitor', 'contactor', 'igniter', 'gas valve', 'sensor', 'expansion valve', 'reversing valve', 'branch box', 'drain pump', 'drain pan', 'drain line', 'louver', 'remote control', 'wired controller', 'panel', 'filter', 'line set', 'flare joint', 'wiring', 'refrigerant', 'dehumidifier sealed system', 'humidistat', 'other'])), name='failure_component_known', violation_error_message='component is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(('cause__in', ['manufacturing defect', 'installation ours', 'installation others', 'maintenance', 'environment', 'power', 'misuse', 'wear', 'shipping', 'no fault found', 'not known', ''])), name='failure_cause_known', violation_error_message='cause is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(('repaired_on__isnull', True), ('repaired_on__gte', models.F('failed_on')), _connector='OR'), name='failure_repaired_after_it_failed', violation_error_message='A repair cannot be earlier than the failure.'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(('parts_cost__isnull', True), ('parts_cost__gte', 0), _connector='OR'), name='failure_cost_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('refrigerant_cost__isnull', True), ('refrigerant_cost__gte', 0), _connector='OR'), models.Q(('freight_cost__isnull', True), ('freight_cost__gte', 0), _connector='OR')), name='failure_other_costs_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(('old_part_at__in', ['truck', 'shelf', 'sent', ''])), name='failure_old_part_at_known', violation_error_message='old_part_at is not one of the known words.'),
        ),
        migrations.AddConstraint(
            model_name='failure',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('void_reason', ''), ('voided_on__isnull', True)), models.Q(('voided_on__isnull', False), models.Q(('void_reason', ''), _negated=True)), _connector='OR'), name='failure_voided_on_with_reason', violation_error_message='Voiding a failure says why.'),
        ),
        TrigramExtension(),
        migrations.RunPython(index_substrings),
    ]
