"""The tables of this room as 3 migrations left them: what an empty book takes instead."""

import django.db.models.deletion
import simple_history.models
import workshop.core.fields
from django.conf import settings
from django.db import migrations, models

from workshop.core.database.squashed_migration_operation import CreateTables


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('curing', '0001_initial'),
        ('curing', '0002_racks_are_places'),
        ('curing', '0003_lots_on_racks_have_a_place'),
    ]

    dependencies = [
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
        migrations.CreateModel(
            name='Rack',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a rack of this name.'}, max_length=60, unique=True)),
                ('is_active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalRack',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a rack of this name.'}, max_length=60)),
                ('is_active', models.BooleanField(default=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical rack',
                'verbose_name_plural': 'historical racks',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='RackPlace',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='as_rack', to='ledger.place')),
                ('rack', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='as_place', to='curing.rack')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='CureTest',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('ph', 'pH of a 1 % solution'), ('alkali', 'free alkali, % as sodium hydroxide')], max_length=6)),
                ('method', models.CharField(max_length=120)),
                ('value', workshop.core.fields.FixedPointField(places=4)),
                ('least', workshop.core.fields.FixedPointField(blank=True, null=True, places=4)),
                ('most', workshop.core.fields.FixedPointField(blank=True, null=True, places=4)),
                ('is_within', models.BooleanField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cure_tests', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['ph', 'alkali'])), name='cure_test_kind_is_known'), models.CheckConstraint(condition=models.Q(('method', ''), _negated=True), name='cure_test_has_a_method')],
            },
        ),
        migrations.CreateModel(
            name='CureWeighing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('bar', 'a sample bar'), ('tray', 'all of the lot')], max_length=4)),
                ('before_g', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('weight_g', workshop.core.fields.QuantityField(places=3)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversal', to='curing.cureweighing')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cure_weighings', to='ledger.lot')),
                ('operation', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='cure_weighing', to='ledger.operation')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['bar', 'tray'])), name='cure_weighing_kind_is_known'), models.CheckConstraint(condition=models.Q(('weight_g__gt', 0)), name='cure_weighing_weighs_something'), models.CheckConstraint(condition=models.Q(('before_g', None), ('before_g__gte', models.F('weight_g')), _connector='OR'), name='cure_weighing_does_not_gain'), models.CheckConstraint(condition=models.Q(('corrects', None), models.Q(('reason', ''), _negated=True), _connector='OR'), name='cure_weighing_taken_back_says_why')],
            },
        ),
        migrations.CreateModel(
            name='Standing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('place', models.CharField(blank=True, max_length=40)),
                ('bars', models.PositiveIntegerField(blank=True, null=True)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='standings', to='ledger.lot')),
                ('rack', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='standings', to='curing.rack')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('bars', None), ('bars__gt', 0), _connector='OR'), name='standing_has_bars')],
            },
        ),
    ])]
