"""The tables of this room as 3 migrations left them: what an empty book takes instead."""

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
        ('packing', '0001_initial'),
        ('packing', '0002_losses_are_shed'),
        ('packing', '0003_fill_by_volume'),
    ]

    dependencies = [
        ('kettle', '0001_squashed_0002_cleaning'),
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
        migrations.CreateModel(
            name='HistoricalProduct',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('fill_g', workshop.core.fields.QuantityField(help_text='Grams in one unit, as the label says.', places=3)),
                ('fill_ml', workshop.core.fields.FixedPointField(blank=True, null=True, places=3, verbose_name='fill by volume, mL')),
                ('density_g_per_ml', workshop.core.fields.FixedPointField(blank=True, null=True, places=4, verbose_name='density, g/mL')),
                ('unit_name', models.CharField(default='tin', max_length=20)),
                ('shelf_life_months', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('gtin', models.CharField(blank=True, max_length=14, verbose_name='GTIN')),
                ('label_name', models.CharField(help_text='The name as the label prints it.', max_length=120)),
                ('identity', models.CharField(blank=True, help_text='What it is in plain words, such as “hand salve”.', max_length=120)),
                ('directions', models.TextField(blank=True)),
                ('cautions', models.TextField(blank=True)),
                ('claims_organic', models.BooleanField(default=False)),
                ('is_small_package', models.BooleanField(default=False, help_text='All of it together has less than 12 square inches (77 cm²) for labelling.')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('bulk', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
                ('container', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'historical product',
                'verbose_name_plural': 'historical products',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Product',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('fill_g', workshop.core.fields.QuantityField(help_text='Grams in one unit, as the label says.', places=3)),
                ('fill_ml', workshop.core.fields.FixedPointField(blank=True, null=True, places=3, verbose_name='fill by volume, mL')),
                ('density_g_per_ml', workshop.core.fields.FixedPointField(blank=True, null=True, places=4, verbose_name='density, g/mL')),
                ('unit_name', models.CharField(default='tin', max_length=20)),
                ('shelf_life_months', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('gtin', models.CharField(blank=True, max_length=14, verbose_name='GTIN')),
                ('label_name', models.CharField(help_text='The name as the label prints it.', max_length=120)),
                ('identity', models.CharField(blank=True, help_text='What it is in plain words, such as “hand salve”.', max_length=120)),
                ('directions', models.TextField(blank=True)),
                ('cautions', models.TextField(blank=True)),
                ('claims_organic', models.BooleanField(default=False)),
                ('is_small_package', models.BooleanField(default=False, help_text='All of it together has less than 12 square inches (77 cm²) for labelling.')),
                ('bulk', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='packed_as', to='ledger.item')),
                ('container', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='holds', to='ledger.item')),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='product', to='ledger.item')),
            ],
            options={
                'ordering': ['item__name'],
            },
        ),
        migrations.CreateModel(
            name='PackingRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('planned_units', models.PositiveIntegerField(blank=True, null=True)),
                ('note', models.TextField(blank=True)),
                ('shelf_life_months', models.PositiveSmallIntegerField(blank=True, help_text='What its lot was dated by, as it was on that day.', null=True)),
                ('operation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='packing_run', to='ledger.operation')),
                ('product', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='packing.product')),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='Retained',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('units', workshop.core.fields.QuantityField(places=3)),
                ('place', models.CharField(blank=True, max_length=60)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='retained_rows', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='FillSample',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.PositiveSmallIntegerField()),
                ('kind', models.CharField(choices=[('full', 'full, with its container'), ('net', 'contents alone, scale tared'), ('empty', 'empty container')], max_length=5)),
                ('grams', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=70, unique=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='correction', to='packing.fillsample')),
                ('scale', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='fill_samples', to='kettle.scale')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='samples', to='packing.packingrun')),
            ],
            options={
                'ordering': ['place', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['full', 'net', 'empty'])), name='fill_sample_kind_is_known'), models.CheckConstraint(condition=models.Q(models.Q(('grams__gt', 0), ('grams__isnull', False)), models.Q(('corrects__isnull', False), ('grams', None)), _connector='OR'), name='fill_sample_weighs_something', violation_error_message='A weight is above zero.'), models.CheckConstraint(condition=models.Q(('corrects', None), models.Q(('reason', ''), _negated=True), _connector='OR'), name='fill_sample_correction_says_why', violation_error_message='Say why the weight is corrected.'), models.CheckConstraint(condition=models.Q(('token', ''), _negated=True), name='fill_sample_has_a_token'), models.UniqueConstraint(condition=models.Q(('corrects', None)), fields=('run', 'place'), name='fill_sample_place_once')],
            },
        ),
        migrations.AddConstraint(
            model_name='product',
            constraint=models.CheckConstraint(condition=models.Q(('fill_g__gt', 0)), name='product_holds_something', violation_error_message='A unit holds more than nothing.'),
        ),
        migrations.AddConstraint(
            model_name='product',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('density_g_per_ml', None), ('fill_ml', None)), models.Q(('density_g_per_ml__gte', Decimal('0.3')), ('density_g_per_ml__isnull', False), ('density_g_per_ml__lte', Decimal('5')), ('fill_ml__gt', 0), ('fill_ml__isnull', False)), _connector='OR'), name='product_volume_has_a_density', violation_error_message='A fill by volume has a density from 0.3 to 5 g/mL.'),
        ),
        migrations.AddConstraint(
            model_name='product',
            constraint=models.UniqueConstraint(condition=models.Q(('gtin', ''), _negated=True), fields=('gtin',), name='product_gtin_once', violation_error_message='Another product already has this GTIN.'),
        ),
        migrations.AddConstraint(
            model_name='retained',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('units__gt', 0), models.Q(('place', ''), _negated=True)), models.Q(('units__lt', 0), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='retained_says_where_or_why', violation_error_message='Say where the samples are kept, or why they are given up.'),
        ),
        migrations.AddConstraint(
            model_name='retained',
            constraint=models.CheckConstraint(condition=models.Q(('token', ''), _negated=True), name='retained_has_a_token'),
        ),
    ])]
