import django.db.models.deletion
import simple_history.models
import workshop.core.fields
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('ledger', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
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
                ('goes_in_for_good', models.BooleanField(default=False, help_text='A wax or anything that melts in at once: it is best weighed late.', verbose_name='cannot be taken back out')),
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
    ]
