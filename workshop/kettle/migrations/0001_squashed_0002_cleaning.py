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
        ('kettle', '0001_initial'),
        ('kettle', '0002_cleaning'),
    ]

    dependencies = [
        ('core', '0001_squashed_0002_markets_apart'),
        ('formulas', '0001_squashed_0002_straining_and_cure'),
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
        migrations.CreateModel(
            name='Batch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('state', models.CharField(choices=[('planned', 'planned'), ('under_way', 'under way'), ('poured', 'poured'), ('closed', 'closed'), ('abandoned', 'stopped for good')], default='planned', max_length=10)),
                ('target_g', workshop.core.fields.QuantityField(help_text='All that goes into the kettle.', places=3)),
                ('expected_loss', workshop.core.fields.PercentField(places=4)),
                ('units', models.PositiveIntegerField(blank=True, null=True)),
                ('fill_g', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('note', models.TextField(blank=True)),
                ('operation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='batch', to='ledger.operation')),
                ('version', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='batches', to='formulas.version')),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='BatchLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('order', models.PositiveSmallIntegerField()),
                ('phase', models.CharField(max_length=20)),
                ('target_g', workshop.core.fields.QuantityField(places=3)),
                ('tolerance', workshop.core.fields.PercentField(default=Decimal('2'), places=4)),
                ('is_irreversible', models.BooleanField(default=False)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='kettle.batch')),
                ('formula_line', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='formulas.line')),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.item')),
            ],
            options={
                'ordering': ['order'],
            },
        ),
        migrations.CreateModel(
            name='Check',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('temperature', 'temperature'), ('time', 'time'), ('spoon', 'spoon test'), ('clean', 'kettle and tools clean and dry'), ('sample', 'sample kept back'), ('note', 'note')], max_length=12)),
                ('temperature_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('minutes', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('is_within', models.BooleanField(default=True)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='kettle.batch')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('step', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='formulas.step')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalKettle',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a kettle of this name.'}, max_length=60)),
                ('capacity_g', workshop.core.fields.QuantityField(places=3)),
                ('material', models.CharField(blank=True, choices=[('stainless steel', 'stainless steel'), ('enamel', 'enamel'), ('glass', 'glass'), ('plastic', 'plastic (HDPE, PP)'), ('copper', 'copper'), ('aluminium', 'aluminium'), ('tin', 'tin, or tinned'), ('zinc', 'zinc'), ('galvanised', 'galvanised'), ('other', 'something else')], max_length=20, verbose_name='made of')),
                ('is_active', models.BooleanField(default=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical kettle',
                'verbose_name_plural': 'historical kettles',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalScale',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a scale of this name.'}, max_length=60)),
                ('division_g', workshop.core.fields.QuantityField(places=3)),
                ('interval_g', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('capacity_g', workshop.core.fields.QuantityField(places=3)),
                ('accuracy_class', models.CharField(choices=[('I', 'I, special'), ('II', 'II, high'), ('III', 'III, medium'), ('IIII', 'IIII, ordinary')], default='III', max_length=4)),
                ('is_active', models.BooleanField(default=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical scale',
                'verbose_name_plural': 'historical scales',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Kettle',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a kettle of this name.'}, max_length=60, unique=True)),
                ('capacity_g', workshop.core.fields.QuantityField(places=3)),
                ('material', models.CharField(blank=True, choices=[('stainless steel', 'stainless steel'), ('enamel', 'enamel'), ('glass', 'glass'), ('plastic', 'plastic (HDPE, PP)'), ('copper', 'copper'), ('aluminium', 'aluminium'), ('tin', 'tin, or tinned'), ('zinc', 'zinc'), ('galvanised', 'galvanised'), ('other', 'something else')], max_length=20, verbose_name='made of')),
                ('is_active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('material', ''), ('material__in', ['stainless steel', 'enamel', 'glass', 'plastic', 'copper', 'aluminium', 'tin', 'zinc', 'galvanised', 'other']), _connector='OR'), name='kettle_material_is_known'), models.CheckConstraint(condition=models.Q(('capacity_g__gt', 0)), name='kettle_holds_something', violation_error_message='A kettle holds more than nothing.')],
            },
        ),
        migrations.CreateModel(
            name='Cleaning',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('cleaned_at', models.DateTimeField()),
                ('method', models.CharField(max_length=200, verbose_name='what was done')),
                ('agent', models.CharField(max_length=120, verbose_name='with what')),
                ('rinse', models.CharField(blank=True, max_length=200, verbose_name='rinse or purge, and what became of it')),
                ('checked_by', models.CharField(blank=True, max_length=80)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('kettle', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleanings', to='kettle.kettle')),
            ],
            options={
                'ordering': ['-cleaned_at', '-pk'],
            },
        ),
        migrations.AddField(
            model_name='batch',
            name='kettle',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='batches', to='kettle.kettle'),
        ),
        migrations.CreateModel(
            name='Photo',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('shows', models.CharField(max_length=200)),
                ('token', models.CharField(max_length=64, unique=True)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='photos', to='kettle.batch')),
                ('step', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='formulas.step')),
                ('upload', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='core.upload')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Scale',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a scale of this name.'}, max_length=60, unique=True)),
                ('division_g', workshop.core.fields.QuantityField(places=3)),
                ('interval_g', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('capacity_g', workshop.core.fields.QuantityField(places=3)),
                ('accuracy_class', models.CharField(choices=[('I', 'I, special'), ('II', 'II, high'), ('III', 'III, medium'), ('IIII', 'IIII, ordinary')], default='III', max_length=4)),
                ('is_active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('capacity_g__gt', 0), ('division_g__gt', 0)), name='scale_reads_something', violation_error_message="A scale's division and capacity are above zero."), models.CheckConstraint(condition=models.Q(('interval_g', None), models.Q(('interval_g__gte', models.F('division_g')), ('interval_g__lte', models.F('capacity_g'))), _connector='OR'), name='scale_interval_is_possible', violation_error_message='The verification interval e lies between the division d and what the scale takes.'), models.CheckConstraint(condition=models.Q(('accuracy_class__in', ['I', 'II', 'III', 'IIII'])), name='scale_class_is_known')],
            },
        ),
        migrations.AddField(
            model_name='batch',
            name='scale',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='batches', to='kettle.scale'),
        ),
        migrations.CreateModel(
            name='TargetChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('accept', 'accepted as it is'), ('rebalance', 'rebalanced within tolerance'), ('restore', 'restored to the formula'), ('split', 'part of the melt split off'), ('adjust', 'adjusted after the spoon test'), ('substitute', "set to a substitute's proportion")], max_length=10)),
                ('was_g', workshop.core.fields.QuantityField(places=3)),
                ('now_g', workshop.core.fields.QuantityField(places=3)),
                ('least_g', workshop.core.fields.QuantityField(places=3)),
                ('most_g', workshop.core.fields.QuantityField(places=3)),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='target_changes', to='kettle.batchline')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Timer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80)),
                ('minutes', models.PositiveSmallIntegerField()),
                ('started_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('token', models.CharField(max_length=64, unique=True)),
                ('batch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='timers', to='kettle.batch')),
                ('started_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('step', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='formulas.step')),
            ],
            options={
                'ordering': ['started_at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Weighing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('note', models.CharField(blank=True, max_length=300)),
                ('line', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='weighings', to='kettle.batchline')),
                ('posting', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='weighing', to='ledger.posting')),
                ('scale', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='weighings', to='kettle.scale')),
            ],
            options={
                'ordering': ['posting'],
            },
        ),
        migrations.AddConstraint(
            model_name='batchline',
            constraint=models.UniqueConstraint(fields=('batch', 'order'), name='batch_line_order_once'),
        ),
        migrations.AddConstraint(
            model_name='batchline',
            constraint=models.CheckConstraint(condition=models.Q(('target_g__gte', 0)), name='batch_line_target_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='batchline',
            constraint=models.CheckConstraint(condition=models.Q(('tolerance__gt', 0), ('tolerance__lte', 50)), name='batch_line_tolerance_is_possible', violation_error_message='A tolerance lies above 0 and at most at 50 %%.'),
        ),
        migrations.AddConstraint(
            model_name='batchline',
            constraint=models.CheckConstraint(condition=models.Q(('formula_line__isnull', False), models.Q(('reason', ''), _negated=True), _connector='OR'), name='batch_line_unplanned_says_why', violation_error_message='Say why this is added.'),
        ),
        migrations.AddConstraint(
            model_name='check',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['temperature', 'time', 'spoon', 'clean', 'sample', 'note'])), name='check_kind_is_known'),
        ),
        migrations.AddConstraint(
            model_name='check',
            constraint=models.CheckConstraint(condition=models.Q(('is_within', True), models.Q(('note', ''), _negated=True), _connector='OR'), name='check_out_of_limits_says_more', violation_error_message='It is outside its limits: say what was done about it.'),
        ),
        migrations.AddConstraint(
            model_name='photo',
            constraint=models.CheckConstraint(condition=models.Q(('shows', ''), _negated=True), name='photo_says_more'),
        ),
        migrations.AddIndex(
            model_name='batch',
            index=models.Index(fields=['state'], name='batch_state'),
        ),
        migrations.AddConstraint(
            model_name='batch',
            constraint=models.CheckConstraint(condition=models.Q(('state__in', ['planned', 'under_way', 'poured', 'closed', 'abandoned'])), name='batch_state_is_known'),
        ),
        migrations.AddConstraint(
            model_name='batch',
            constraint=models.CheckConstraint(condition=models.Q(('target_g__gt', 0)), name='batch_weighs_something'),
        ),
        migrations.AddConstraint(
            model_name='batch',
            constraint=models.CheckConstraint(condition=models.Q(('expected_loss__gte', 0), ('expected_loss__lt', 100)), name='batch_loss_is_possible', violation_error_message='A loss lies between 0 and below 100 %%.'),
        ),
        migrations.AddConstraint(
            model_name='batch',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('fill_g', None), ('units', None)), models.Q(('fill_g__gt', 0), ('fill_g__isnull', False), ('units__gt', 0), ('units__isnull', False)), _connector='OR'), name='batch_units_have_a_fill', violation_error_message='A number of units needs the fill of one unit.'),
        ),
        migrations.AddConstraint(
            model_name='targetchange',
            constraint=models.UniqueConstraint(fields=('line', 'token'), name='target_change_once'),
        ),
        migrations.AddConstraint(
            model_name='targetchange',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['accept', 'rebalance', 'restore', 'split', 'adjust', 'substitute'])), name='target_change_kind_is_known'),
        ),
        migrations.AddConstraint(
            model_name='targetchange',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='target_change_says_why', violation_error_message='Say why the target is changed.'),
        ),
        migrations.AddConstraint(
            model_name='targetchange',
            constraint=models.CheckConstraint(condition=models.Q(('now_g__gte', 0), models.Q(('now_g', models.F('was_g')), _negated=True)), name='target_change_changes'),
        ),
        migrations.AddConstraint(
            model_name='targetchange',
            constraint=models.CheckConstraint(condition=models.Q(('least_g__lte', models.F('now_g')), ('most_g__gte', models.F('now_g'))), name='target_change_lies_in_its_band'),
        ),
        migrations.AddConstraint(
            model_name='timer',
            constraint=models.CheckConstraint(condition=models.Q(('minutes__gt', 0)), name='timer_runs_a_while'),
        ),
        migrations.AddConstraint(
            model_name='timer',
            constraint=models.CheckConstraint(condition=models.Q(('ended_at', None), ('ended_at__gte', models.F('started_at')), _connector='OR'), name='timer_ends_after_it_starts'),
        ),
        migrations.AddConstraint(
            model_name='timer',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('batch', 'step'), name='timer_runs_once_a_step'),
        ),
    ])]
