"""The tables of this room as 2 migrations left them: what an empty book takes instead."""

import django.db.models.deletion
import simple_history.models
import workshop.core.fields
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from workshop.core.database.squashed_migration_operation import CreateTables


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('formulas', '0001_initial'),
        ('formulas', '0002_straining_and_cure'),
    ]

    dependencies = [
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
        migrations.CreateModel(
            name='Formula',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a formula of this name.'}, max_length=120, unique=True)),
                ('is_active', models.BooleanField(default=True)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='formulas', to='ledger.item')),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalFormula',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a formula of this name.'}, max_length=120)),
                ('is_active', models.BooleanField(default=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'historical formula',
                'verbose_name_plural': 'historical formulas',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalVersion',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('number', models.PositiveSmallIntegerField()),
                ('status', models.CharField(choices=[('draft', 'draft'), ('approved', 'approved'), ('retired', 'retired')], default='draft', max_length=10)),
                ('expected_loss', workshop.core.fields.PercentField(default=Decimal('2'), places=4)),
                ('shelf_life_months', models.PositiveSmallIntegerField(default=12)),
                ('cure_days', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('cure_loss', workshop.core.fields.PercentField(blank=True, help_text='What a soap loses from the pour to the end of its cure.', null=True, places=4)),
                ('weekly_loss_most', workshop.core.fields.PercentField(blank=True, help_text='Above this loss in a week it is not cured yet.', null=True, places=4)),
                ('ph_least', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('ph_most', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('free_alkali_most', workshop.core.fields.PercentField(blank=True, help_text='Free caustic alkali, as sodium hydroxide.', null=True, places=4)),
                ('rework_limit', workshop.core.fields.PercentField(default=Decimal('0'), places=4)),
                ('claims_organic', models.BooleanField(default=False)),
                ('is_rinse_off', models.BooleanField(default=False)),
                ('note', models.TextField(blank=True)),
                ('made_at', models.DateTimeField()),
                ('approved_at', models.DateTimeField(blank=True, null=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('approved_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('formula', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='formulas.formula')),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('made_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical version',
                'verbose_name_plural': 'historical versions',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Version',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveSmallIntegerField()),
                ('status', models.CharField(choices=[('draft', 'draft'), ('approved', 'approved'), ('retired', 'retired')], default='draft', max_length=10)),
                ('expected_loss', workshop.core.fields.PercentField(default=Decimal('2'), places=4)),
                ('shelf_life_months', models.PositiveSmallIntegerField(default=12)),
                ('cure_days', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('cure_loss', workshop.core.fields.PercentField(blank=True, help_text='What a soap loses from the pour to the end of its cure.', null=True, places=4)),
                ('weekly_loss_most', workshop.core.fields.PercentField(blank=True, help_text='Above this loss in a week it is not cured yet.', null=True, places=4)),
                ('ph_least', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('ph_most', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('free_alkali_most', workshop.core.fields.PercentField(blank=True, help_text='Free caustic alkali, as sodium hydroxide.', null=True, places=4)),
                ('rework_limit', workshop.core.fields.PercentField(default=Decimal('0'), places=4)),
                ('claims_organic', models.BooleanField(default=False)),
                ('is_rinse_off', models.BooleanField(default=False)),
                ('note', models.TextField(blank=True)),
                ('made_at', models.DateTimeField()),
                ('approved_at', models.DateTimeField(blank=True, null=True)),
                ('approved_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('formula', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='versions', to='formulas.formula')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['formula', '-number'],
            },
        ),
        migrations.CreateModel(
            name='Step',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('order', models.PositiveSmallIntegerField()),
                ('phase', models.CharField(blank=True, max_length=20)),
                ('text', models.TextField()),
                ('from_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='from, °C')),
                ('to_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='to, °C')),
                ('minutes', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('keep_water_out', models.BooleanField(default=False)),
                ('caution', models.CharField(blank=True, max_length=300)),
                ('version', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='formulas.version')),
            ],
            options={
                'ordering': ['order'],
            },
        ),
        migrations.CreateModel(
            name='Line',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('order', models.PositiveSmallIntegerField()),
                ('phase', models.CharField(default='A', max_length=20)),
                ('share', workshop.core.fields.PercentField(help_text='Percent of the whole, to four decimals.', places=4)),
                ('tolerance', workshop.core.fields.PercentField(default=Decimal('2'), help_text="Percent of the line's own weight.", places=4)),
                ('is_irreversible', models.BooleanField(default=False, help_text='A wax or anything that melts in at once: it is best weighed late.', verbose_name='cannot be removed once added')),
                ('is_strained_out', models.BooleanField(default=False, verbose_name='strained out again')),
                ('stays', models.CharField(blank=True, help_text='The INCI name of what it leaves in the oil.', max_length=200)),
                ('held_back', workshop.core.fields.PercentField(default=Decimal('0'), help_text="What the marc holds of the oil, percent of the line's own weight.", places=4)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='formula_lines', to='ledger.item')),
                ('substitutes', models.ManyToManyField(blank=True, related_name='+', to='ledger.item')),
                ('version', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='lines', to='formulas.version')),
            ],
            options={
                'ordering': ['order'],
            },
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.UniqueConstraint(fields=('formula', 'number'), name='version_number_once'),
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['draft', 'approved', 'retired'])), name='version_status_is_known'),
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.CheckConstraint(condition=models.Q(('status', 'draft'), models.Q(('approved_at__isnull', False), ('approved_by__isnull', False)), _connector='OR'), name='version_approved_by_somebody'),
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.CheckConstraint(condition=models.Q(('expected_loss__gte', 0), ('expected_loss__lt', 100)), name='version_loss_is_possible', violation_error_message='A loss lies between 0 and below 100 %%.'),
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.CheckConstraint(condition=models.Q(('cure_days', None), ('cure_days__lte', 3660), _connector='OR'), name='version_cure_is_possible', violation_error_message='The cure must be from 0 days to ten years.'),
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('cure_loss', None), models.Q(('cure_loss__gte', 0), ('cure_loss__lt', 100)), _connector='OR'), models.Q(('weekly_loss_most', None), models.Q(('weekly_loss_most__gt', 0), ('weekly_loss_most__lt', 100)), _connector='OR'), models.Q(('free_alkali_most', None), models.Q(('free_alkali_most__gt', 0), ('free_alkali_most__lte', 5)), _connector='OR'), models.Q(('ph_least', None), models.Q(('ph_least__gte', 0), ('ph_least__lte', 14)), _connector='OR'), models.Q(('ph_most', None), models.Q(('ph_most__gte', 0), ('ph_most__lte', 14)), _connector='OR'), models.Q(('ph_least', None), ('ph_most', None), ('ph_most__gte', models.F('ph_least')), _connector='OR')), name='version_cure_figures_are_possible', violation_error_message='A figure of the cure cannot be.'),
        ),
        migrations.AddConstraint(
            model_name='version',
            constraint=models.CheckConstraint(condition=models.Q(('rework_limit__gte', 0), ('rework_limit__lte', 100)), name='version_rework_is_possible', violation_error_message='A rework limit lies between 0 and 100 %%.'),
        ),
        migrations.AddConstraint(
            model_name='step',
            constraint=models.UniqueConstraint(fields=('version', 'order'), name='step_order_once'),
        ),
        migrations.AddConstraint(
            model_name='step',
            constraint=models.CheckConstraint(condition=models.Q(('from_c', None), ('to_c', None), ('to_c__gte', models.F('from_c')), _connector='OR'), name='step_range_is_a_range', violation_error_message='The upper temperature lies below the lower one.'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.UniqueConstraint(fields=('version', 'order'), name='line_order_once'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.UniqueConstraint(fields=('version', 'item'), name='line_item_once'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(('share__gt', 0), ('share__lte', 100)), name='line_share_is_possible', violation_error_message='A share lies above 0 and at most at 100 %%.'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(('tolerance__gt', 0), ('tolerance__lte', 50)), name='line_tolerance_is_possible', violation_error_message='A tolerance lies above 0 and at most at 50 %%.'),
        ),
        migrations.AddConstraint(
            model_name='line',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('held_back__gte', 0), ('held_back__lte', 1000), ('is_strained_out', True), models.Q(('stays', ''), _negated=True)), models.Q(('held_back', 0), ('is_strained_out', False), ('stays', '')), _connector='OR'), name='line_strained_out_says_what_stays', violation_error_message='Say what stays of it, in INCI words.'),
        ),
    ])]
