"""The tables of this room as 2 migrations left them: what an empty book takes instead."""

import django.db.models.deletion
import workshop.core.fields
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from workshop.core.database.squashed_migration_operation import CreateTables


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('planning', '0001_initial'),
        ('planning', '0002_order_costs_and_minutes'),
    ]

    dependencies = [
        ('dispatch', '0001_initial'),
        ('goods_in', '0001_squashed_0004_supplier_gtin'),
        ('kettle', '0001_squashed_0002_cleaning'),
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
        migrations.CreateModel(
            name='AcceptedWeek',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('monday', models.DateField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CustomerOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('number', models.CharField(max_length=60)),
                ('ordered_on', models.DateField()),
                ('due_on', models.DateField()),
                ('is_cancelled', models.BooleanField(default=False)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='dispatch.customer')),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CustomerOrderLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('units', models.PositiveIntegerField()),
                ('item', models.ForeignKey(limit_choices_to={'kind': 'product'}, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.item')),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='planning.customerorder')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Hours',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('hours_a_day', workshop.core.fields.FixedPointField(default=Decimal('8'), places=2)),
                ('days', models.CharField(default='1111100', max_length=7)),
                ('weeks_ahead', models.PositiveSmallIntegerField(default=4)),
                ('batches_a_day', models.PositiveSmallIntegerField(default=1)),
                ('batch_minutes', models.PositiveSmallIntegerField(default=120)),
                ('units_an_hour', models.PositiveSmallIntegerField(default=40)),
                ('cleaning_minutes', models.PositiveSmallIntegerField(default=30)),
                ('racks_hold_g', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name_plural': 'hours',
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PlannedBatch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('why', models.CharField(blank=True, max_length=300)),
                ('batch', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='planned', to='kettle.batch')),
                ('week', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='batches', to='planning.acceptedweek')),
            ],
            options={
                'ordering': ['day', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='PlannedRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('units', models.PositiveIntegerField()),
                ('why', models.CharField(blank=True, max_length=300)),
                ('item', models.ForeignKey(limit_choices_to={'kind': 'product'}, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.item')),
                ('week', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='planning.acceptedweek')),
            ],
            options={
                'ordering': ['day', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='PurchaseOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('number', models.CharField(max_length=20, unique=True)),
                ('ordered_on', models.DateField()),
                ('expected_on', models.DateField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='orders', to='goods_in.supplier')),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PurchaseLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', workshop.core.fields.QuantityField(places=3)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.item')),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='planning.purchaseorder')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='PurchaseStop',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('reason', models.CharField(max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('order', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='stopped', to='planning.purchaseorder')),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Reservation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('quantity', workshop.core.fields.QuantityField(places=3)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reserved', to='ledger.lot')),
                ('planned', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reserved', to='planning.plannedbatch')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Terms',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('minimum_stock', workshop.core.fields.QuantityField(default=0, places=3)),
                ('lead_days', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('pack_size', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('order_least', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('wanted_per_week', workshop.core.fields.FixedPointField(blank=True, null=True, places=3)),
                ('order_cost', workshop.core.fields.FixedPointField(blank=True, null=True, places=4)),
                ('holding_percent', workshop.core.fields.FixedPointField(blank=True, null=True, places=2)),
                ('usual_minutes', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='terms', to='ledger.item')),
                ('supplier', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='terms', to='goods_in.supplier')),
            ],
            options={
                'verbose_name_plural': 'terms',
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.AddIndex(
            model_name='acceptedweek',
            index=models.Index(fields=['monday'], name='accepted_week_monday'),
        ),
        migrations.AddIndex(
            model_name='customerorder',
            index=models.Index(fields=['number'], name='customer_order_number'),
        ),
        migrations.AddConstraint(
            model_name='customerorder',
            constraint=models.CheckConstraint(condition=models.Q(('number', ''), _negated=True), name='customer_order_has_a_number'),
        ),
        migrations.AddConstraint(
            model_name='customerorderline',
            constraint=models.UniqueConstraint(fields=('order', 'item'), name='customer_order_item_once'),
        ),
        migrations.AddConstraint(
            model_name='customerorderline',
            constraint=models.CheckConstraint(condition=models.Q(('units__gt', 0)), name='customer_order_units'),
        ),
        migrations.AddConstraint(
            model_name='hours',
            constraint=models.CheckConstraint(condition=models.Q(('hours_a_day__gt', 0), ('weeks_ahead__gt', 0), ('weeks_ahead__lte', 26), ('batches_a_day__gt', 0), ('units_an_hour__gt', 0)), name='hours_are_possible', violation_error_message='Hours, weeks, batches and units are above zero.'),
        ),
        migrations.AddConstraint(
            model_name='hours',
            constraint=models.CheckConstraint(condition=models.Q(('days', '0000000'), _negated=True), name='hours_have_a_day'),
        ),
        migrations.AddConstraint(
            model_name='hours',
            constraint=models.CheckConstraint(condition=models.Q(('racks_hold_g', None), ('racks_hold_g__gte', 0), _connector='OR'), name='hours_racks_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='plannedrun',
            constraint=models.CheckConstraint(condition=models.Q(('units__gt', 0)), name='planned_run_units'),
        ),
        migrations.AddConstraint(
            model_name='purchaseorder',
            constraint=models.CheckConstraint(condition=models.Q(('expected_on__gte', models.F('ordered_on'))), name='purchase_comes_after_it_is_ordered', violation_error_message='It cannot come before it is ordered.'),
        ),
        migrations.AddConstraint(
            model_name='purchaseline',
            constraint=models.UniqueConstraint(fields=('order', 'item'), name='purchase_item_once'),
        ),
        migrations.AddConstraint(
            model_name='purchaseline',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='purchase_quantity'),
        ),
        migrations.AddConstraint(
            model_name='purchasestop',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='purchase_stop_says_why', violation_error_message='Say why nothing more comes.'),
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=models.UniqueConstraint(fields=('planned', 'lot'), name='reservation_lot_once'),
        ),
        migrations.AddConstraint(
            model_name='reservation',
            constraint=models.CheckConstraint(condition=models.Q(('quantity__gt', 0)), name='reservation_is_something'),
        ),
        migrations.AddConstraint(
            model_name='terms',
            constraint=models.CheckConstraint(condition=models.Q(('minimum_stock__gte', 0), models.Q(('pack_size', None), ('pack_size__gt', 0), _connector='OR'), models.Q(('order_least', None), ('order_least__gte', 0), _connector='OR'), models.Q(('wanted_per_week', None), ('wanted_per_week__gte', 0), _connector='OR')), name='terms_amounts_are_possible', violation_error_message='No amount is below zero, and a pack holds something.'),
        ),
        migrations.AddConstraint(
            model_name='terms',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('order_cost', None), ('order_cost__gt', 0), _connector='OR'), models.Q(('holding_percent', None), ('holding_percent__gt', 0), _connector='OR')), name='terms_costs_are_possible', violation_error_message='An order and holding stock cost something.'),
        ),
    ])]
