import datetime
import django.db.models.deletion
import simple_history.models
import workshop.core.fields
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('core', '0001_initial'),
        ('ledger', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Supplier',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a supplier of this name.'}, max_length=120, unique=True)),
                ('contact', models.CharField(blank=True, max_length=120)),
                ('address', models.TextField(blank=True)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('telephone', models.CharField(blank=True, max_length=40)),
                ('note', models.TextField(blank=True)),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='Certificate',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('certifier', models.CharField(max_length=120)),
                ('number', models.CharField(max_length=60)),
                ('scope', models.TextField(blank=True, help_text='As the certificate words it.')),
                ('valid_from', models.DateField()),
                ('valid_to', models.DateField(help_text='The last day it is valid.')),
                ('document', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='core.upload')),
                ('items', models.ManyToManyField(blank=True, related_name='certificates', to='ledger.item')),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='certificates', to='goods_in.supplier')),
            ],
            options={
                'ordering': ['-valid_to', 'number'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalAllergenContent',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(help_text='A name or CAS number.', max_length=120)),
                ('share', workshop.core.fields.PercentField(places=4)),
                ('source', models.CharField(blank=True, max_length=200)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
                ('lot', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.lot')),
            ],
            options={
                'verbose_name': 'historical allergen content',
                'verbose_name_plural': 'historical allergen contents',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalCertificate',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('certifier', models.CharField(max_length=120)),
                ('number', models.CharField(max_length=60)),
                ('scope', models.TextField(blank=True, help_text='As the certificate words it.')),
                ('valid_from', models.DateField()),
                ('valid_to', models.DateField(help_text='The last day it is valid.')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('document', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='core.upload')),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('supplier', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='goods_in.supplier')),
            ],
            options={
                'verbose_name': 'historical certificate',
                'verbose_name_plural': 'historical certificates',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalCertificate_items',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('m2m_history_id', models.AutoField(primary_key=True, serialize=False)),
                ('certificate', models.ForeignKey(blank=True, db_constraint=False, db_tablespace='', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='goods_in.certificate')),
                ('history', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, to='goods_in.historicalcertificate')),
                ('item', models.ForeignKey(blank=True, db_constraint=False, db_tablespace='', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'HistoricalCertificate_items',
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalProfile',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('inci_name', models.CharField(max_length=160, verbose_name='INCI name')),
                ('common_name', models.CharField(blank=True, max_length=120)),
                ('soap_name', models.CharField(blank=True, help_text='For a fat: its INCI name once saponified, such as Sodium Olivate.', max_length=160)),
                ('is_nano', models.BooleanField(default=False, help_text='The list then marks it (nano).', verbose_name='nanomaterial')),
                ('cas', models.CharField(blank=True, max_length=12, verbose_name='CAS number')),
                ('kind', models.CharField(choices=[('plain', 'plain ingredient'), ('water', 'added water'), ('salt', 'salt'), ('alkali', 'alkali'), ('colourant', 'colourant'), ('fragrance', 'fragrance'), ('flavour', 'flavour')], default='plain', max_length=10)),
                ('is_organic', models.BooleanField(default=False, help_text='Each lot still needs a certificate that covers it.', verbose_name='bought as organic')),
                ('density_g_per_ml', workshop.core.fields.FixedPointField(blank=True, null=True, places=4)),
                ('shelf_life_months', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('storage', models.CharField(blank=True, max_length=200)),
                ('max_arrival_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='warmest on arrival, °C')),
                ('melting_from_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='melts from, °C')),
                ('melting_to_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='molten at, °C')),
                ('caution', models.CharField(blank=True, max_length=300)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'historical profile',
                'verbose_name_plural': 'historical profiles',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalSoapValue',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('value', workshop.core.fields.FixedPointField(places=1, verbose_name='saponification value, mg KOH/g')),
                ('least', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='lowest by its data sheet')),
                ('most', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='highest by its data sheet')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'historical soap value',
                'verbose_name_plural': 'historical soap values',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalSupplier',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a supplier of this name.'}, max_length=120)),
                ('contact', models.CharField(blank=True, max_length=120)),
                ('address', models.TextField(blank=True)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('telephone', models.CharField(blank=True, max_length=40)),
                ('note', models.TextField(blank=True)),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical supplier',
                'verbose_name_plural': 'historical suppliers',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Profile',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('inci_name', models.CharField(max_length=160, verbose_name='INCI name')),
                ('common_name', models.CharField(blank=True, max_length=120)),
                ('soap_name', models.CharField(blank=True, help_text='For a fat: its INCI name once saponified, such as Sodium Olivate.', max_length=160)),
                ('is_nano', models.BooleanField(default=False, help_text='The list then marks it (nano).', verbose_name='nanomaterial')),
                ('cas', models.CharField(blank=True, max_length=12, verbose_name='CAS number')),
                ('kind', models.CharField(choices=[('plain', 'plain ingredient'), ('water', 'added water'), ('salt', 'salt'), ('alkali', 'alkali'), ('colourant', 'colourant'), ('fragrance', 'fragrance'), ('flavour', 'flavour')], default='plain', max_length=10)),
                ('is_organic', models.BooleanField(default=False, help_text='Each lot still needs a certificate that covers it.', verbose_name='bought as organic')),
                ('density_g_per_ml', workshop.core.fields.FixedPointField(blank=True, null=True, places=4)),
                ('shelf_life_months', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('storage', models.CharField(blank=True, max_length=200)),
                ('max_arrival_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='warmest on arrival, °C')),
                ('melting_from_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='melts from, °C')),
                ('melting_to_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='molten at, °C')),
                ('caution', models.CharField(blank=True, max_length=300)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='profile', to='ledger.item')),
            ],
        ),
        migrations.CreateModel(
            name='HistoricalBlendPart',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('inci_name', models.CharField(max_length=160, verbose_name='INCI name')),
                ('common_name', models.CharField(blank=True, max_length=120)),
                ('kind', models.CharField(choices=[('plain', 'plain ingredient'), ('water', 'added water'), ('salt', 'salt'), ('alkali', 'alkali'), ('colourant', 'colourant'), ('fragrance', 'fragrance'), ('flavour', 'flavour')], default='plain', max_length=10)),
                ('is_organic', models.BooleanField(default=False)),
                ('share', workshop.core.fields.PercentField(help_text='Percent by weight.', places=4)),
                ('from_day', models.DateField(default=datetime.date(1900, 1, 1), verbose_name='these parts hold from')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('profile', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='goods_in.profile')),
            ],
            options={
                'verbose_name': 'historical blend part',
                'verbose_name_plural': 'historical blend parts',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='BlendPart',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('inci_name', models.CharField(max_length=160, verbose_name='INCI name')),
                ('common_name', models.CharField(blank=True, max_length=120)),
                ('kind', models.CharField(choices=[('plain', 'plain ingredient'), ('water', 'added water'), ('salt', 'salt'), ('alkali', 'alkali'), ('colourant', 'colourant'), ('fragrance', 'fragrance'), ('flavour', 'flavour')], default='plain', max_length=10)),
                ('is_organic', models.BooleanField(default=False)),
                ('share', workshop.core.fields.PercentField(help_text='Percent by weight.', places=4)),
                ('from_day', models.DateField(default=datetime.date(1900, 1, 1), verbose_name='these parts hold from')),
                ('profile', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='parts', to='goods_in.profile')),
            ],
            options={
                'ordering': ['-share', 'inci_name'],
            },
        ),
        migrations.CreateModel(
            name='Receipt',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('received_on', models.DateField()),
                ('delivery_note', models.CharField(blank=True, max_length=60)),
                ('note', models.TextField(blank=True)),
                ('operation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='receipt', to='ledger.operation')),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='receipts', to='goods_in.supplier')),
            ],
            options={
                'ordering': ['-received_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='ReceiptLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('supplier_lot', models.CharField(db_index=True, max_length=60)),
                ('quantity_as_written', models.CharField(max_length=40)),
                ('makers_expiry', models.DateField(blank=True, null=True)),
                ('is_organic', models.BooleanField(default=False)),
                ('seal_is_good', models.BooleanField(default=False)),
                ('smell_is_good', models.BooleanField(default=False)),
                ('look_is_good', models.BooleanField(default=False)),
                ('temperature_c', workshop.core.fields.FixedPointField(blank=True, null=True, places=1)),
                ('checks_note', models.CharField(blank=True, max_length=300)),
                ('cost', workshop.core.fields.MoneyField(blank=True, null=True, places=2)),
                ('analysis', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='core.upload')),
                ('certificate', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='receipt_lines', to='goods_in.certificate')),
                ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='receipt_line', to='ledger.lot')),
                ('posting', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='receipt_line', to='ledger.posting')),
                ('receipt', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='goods_in.receipt')),
                ('taken_back', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='receipt_lines', to='ledger.amendment')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='SoapValue',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('value', workshop.core.fields.FixedPointField(places=1, verbose_name='saponification value, mg KOH/g')),
                ('least', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='lowest by its data sheet')),
                ('most', workshop.core.fields.FixedPointField(blank=True, null=True, places=1, verbose_name='highest by its data sheet')),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='soap_value', to='ledger.item')),
            ],
        ),
        migrations.CreateModel(
            name='AllergenContent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(help_text='A name or CAS number.', max_length=120)),
                ('share', workshop.core.fields.PercentField(places=4)),
                ('source', models.CharField(blank=True, max_length=200)),
                ('item', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='allergens', to='ledger.item')),
                ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='allergens', to='ledger.lot')),
            ],
            options={
                'ordering': ['-share', 'name'],
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('item', None), ('lot__isnull', False)), models.Q(('item__isnull', False), ('lot', None)), _connector='OR'), name='allergen_is_of_an_item_or_a_lot'), models.CheckConstraint(condition=models.Q(('share__gte', 0), ('share__lte', 100)), name='allergen_share_is_possible'), models.UniqueConstraint(fields=('item', 'name'), name='allergen_once_an_item'), models.UniqueConstraint(fields=('lot', 'name'), name='allergen_once_a_lot')],
            },
        ),
        migrations.AddConstraint(
            model_name='profile',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['plain', 'water', 'salt', 'alkali', 'colourant', 'fragrance', 'flavour'])), name='profile_kind_is_known'),
        ),
        migrations.AddConstraint(
            model_name='profile',
            constraint=models.CheckConstraint(condition=models.Q(('density_g_per_ml', None), models.Q(('density_g_per_ml__gte', Decimal('0.3')), ('density_g_per_ml__lte', Decimal('5'))), _connector='OR'), name='profile_density_is_possible', violation_error_message='A density lies between 0.3 and 5 g/mL.'),
        ),
        migrations.AddConstraint(
            model_name='profile',
            constraint=models.CheckConstraint(condition=models.Q(('is_organic', True), ('kind__in', ('water', 'salt', 'alkali')), _negated=True), name='profile_water_and_salt_are_not_organic', violation_error_message='Water, salt and alkali cannot be organic.'),
        ),
        migrations.AddConstraint(
            model_name='profile',
            constraint=models.CheckConstraint(condition=models.Q(('melting_from_c', None), ('melting_to_c', None), ('melting_from_c__lte', models.F('melting_to_c')), _connector='OR'), name='profile_melting_range_is_a_range', violation_error_message='A melting range begins below its end.'),
        ),
        migrations.AddConstraint(
            model_name='blendpart',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['plain', 'water', 'salt', 'alkali', 'colourant', 'fragrance', 'flavour'])), name='blend_part_kind_is_known'),
        ),
        migrations.AddConstraint(
            model_name='blendpart',
            constraint=models.CheckConstraint(condition=models.Q(('share__gt', 0), ('share__lte', 100)), name='blend_part_share_is_possible', violation_error_message='A share lies above 0 and at most at 100 %%.'),
        ),
        migrations.AddConstraint(
            model_name='blendpart',
            constraint=models.UniqueConstraint(fields=('profile', 'from_day', 'inci_name', 'is_organic'), name='blend_part_is_named_once'),
        ),
        migrations.AddConstraint(
            model_name='receiptline',
            constraint=models.CheckConstraint(condition=models.Q(('is_organic', False), ('certificate__isnull', False), _connector='OR'), name='receipt_line_organic_has_a_certificate', violation_error_message='An organic lot needs the certificate that covers it.'),
        ),
        migrations.AddConstraint(
            model_name='receiptline',
            constraint=models.CheckConstraint(condition=models.Q(('supplier_lot', ''), _negated=True), name='receipt_line_has_a_supplier_lot'),
        ),
        migrations.AddConstraint(
            model_name='receiptline',
            constraint=models.CheckConstraint(condition=models.Q(('cost', None), ('cost__gte', 0), _connector='OR'), name='receipt_line_cost_is_not_negative', violation_error_message='A cost is not below zero.'),
        ),
        migrations.AddConstraint(
            model_name='soapvalue',
            constraint=models.CheckConstraint(condition=models.Q(('value', 0), models.Q(('value__gte', 50), ('value__lte', 400)), _connector='OR'), name='soap_value_is_possible', violation_error_message='A saponification value is 0, or lies between 50 and 400.'),
        ),
        migrations.AddConstraint(
            model_name='soapvalue',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('least', None), models.Q(('least__gte', 50), ('least__lte', models.F('value'))), _connector='OR'), models.Q(('most', None), models.Q(('most__gte', models.F('value')), ('most__lte', 400)), _connector='OR')), name='soap_value_lies_in_its_range', violation_error_message='The saponification value lies between the lowest and the highest, and both between 50 and 400.'),
        ),
        migrations.AddConstraint(
            model_name='certificate',
            constraint=models.CheckConstraint(condition=models.Q(('valid_to__gte', models.F('valid_from'))), name='certificate_ends_after_it_begins', violation_error_message='The certificate ends before it begins.'),
        ),
        migrations.AddConstraint(
            model_name='certificate',
            constraint=models.UniqueConstraint(fields=('certifier', 'number', 'valid_from'), name='certificate_is_entered_once', violation_error_message='This certificate is already entered.'),
        ),
    ]
