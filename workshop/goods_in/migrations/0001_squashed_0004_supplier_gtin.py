"""The tables of this room as 4 migrations left them: what an empty book takes instead."""

import django.db.models.deletion
import simple_history.models
import workshop.core.fields
from django.conf import settings
from django.db import migrations, models

from workshop.core.database.squashed_migration_operation import CreateTables


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('goods_in', '0001_initial'),
        ('goods_in', '0002_organic_status'),
        ('goods_in', '0003_openinglot'),
        ('goods_in', '0004_supplier_gtin'),
    ]

    dependencies = [
        ('core', '0001_squashed_0002_markets_apart'),
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
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
                ('scheme', models.CharField(default='NOP', max_length=12)),
                ('holder', models.CharField(blank=True, help_text="If it is another than the supplier's name here.", max_length=120, verbose_name='name on the certificate')),
                ('operation_number', models.CharField(blank=True, max_length=40, verbose_name='operation in the public database')),
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
            name='HistoricalCertificate',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('certifier', models.CharField(max_length=120)),
                ('number', models.CharField(max_length=60)),
                ('scheme', models.CharField(default='NOP', max_length=12)),
                ('holder', models.CharField(blank=True, help_text="If it is another than the supplier's name here.", max_length=120, verbose_name='name on the certificate')),
                ('operation_number', models.CharField(blank=True, max_length=40, verbose_name='operation in the public database')),
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
            name='OpeningLot',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('old_code', models.CharField(blank=True, db_index=True, max_length=40)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('lot', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='opening', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
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
            name='SupplierReview',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('verdict', models.CharField(choices=[('approved', 'approved'), ('conditional', 'approved with conditions'), ('refused', 'not approved')], max_length=12)),
                ('next_review', models.DateField()),
                ('answers', models.JSONField(default=dict)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('document', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='core.upload')),
                ('supplier', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='reviews', to='goods_in.supplier')),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='CertificateStop',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('kind', models.CharField(choices=[('suspended', 'suspended'), ('revoked', 'revoked'), ('reinstated', 'reinstated')], max_length=10)),
                ('from_day', models.DateField()),
                ('held', models.JSONField(default=list, help_text='Codes of the lots put on hold.')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('certificate', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='stops', to='goods_in.certificate')),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['suspended', 'revoked', 'reinstated'])), name='certificate_stop_kind_is_known')],
            },
        ),
        migrations.CreateModel(
            name='OrganicDecision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('scheme', models.CharField(default='NOP', max_length=12)),
                ('is_organic', models.BooleanField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('certificate', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='goods_in.certificate')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='organic_decisions', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
                'abstract': False,
                'constraints': [models.CheckConstraint(condition=models.Q(('is_organic', False), ('certificate__isnull', False), _connector='OR'), name='organic_decision_has_a_certificate', violation_error_message='An organic lot needs the certificate that covers it.')],
            },
        ),
        migrations.CreateModel(
            name='OrganicPapers',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name_on_papers', models.CharField(blank=True, max_length=120, verbose_name="supplier's name on the papers")),
                ('import_certificate', models.CharField(blank=True, max_length=60)),
                ('checked_on', models.DateField(blank=True, null=True, verbose_name='checked in the public database on')),
                ('checked_by', models.CharField(blank=True, max_length=80)),
                ('practices', models.JSONField(default=list)),
                ('receipt', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='papers', to='goods_in.receipt')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('checked_on', None), models.Q(('checked_by', ''), _negated=True), _connector='OR'), name='organic_papers_checked_by_somebody', violation_error_message='Say who looked in the public database.')],
            },
        ),
        migrations.CreateModel(
            name='ReceiptLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('supplier_lot', models.CharField(db_index=True, max_length=60)),
                ('quantity_as_written', models.CharField(max_length=40)),
                ('supplier_gtin', models.CharField(blank=True, db_index=True, max_length=14)),
                ('makers_expiry', models.DateField(blank=True, null=True)),
                ('is_organic', models.BooleanField(default=False)),
                ('scheme', models.CharField(default='NOP', max_length=12)),
                ('operation_number', models.CharField(blank=True, max_length=40)),
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
                'constraints': [models.CheckConstraint(condition=models.Q(('is_organic', False), ('certificate__isnull', False), _connector='OR'), name='receipt_line_organic_has_a_certificate', violation_error_message='An organic lot needs the certificate that covers it.'), models.CheckConstraint(condition=models.Q(('supplier_lot', ''), _negated=True), name='receipt_line_has_a_supplier_lot'), models.CheckConstraint(condition=models.Q(('cost', None), ('cost__gte', 0), _connector='OR'), name='receipt_line_cost_is_not_negative', violation_error_message='A cost is not below zero.')],
            },
        ),
        migrations.AddConstraint(
            model_name='certificate',
            constraint=models.CheckConstraint(condition=models.Q(('valid_to__gte', models.F('valid_from'))), name='certificate_ends_after_it_begins', violation_error_message='The certificate ends before it begins.'),
        ),
        migrations.AddConstraint(
            model_name='certificate',
            constraint=models.UniqueConstraint(fields=('certifier', 'number', 'valid_from'), name='certificate_is_entered_once', violation_error_message='This certificate is already entered.'),
        ),
        migrations.AddConstraint(
            model_name='supplierreview',
            constraint=models.CheckConstraint(condition=models.Q(('verdict__in', ['approved', 'conditional', 'refused'])), name='supplier_review_verdict_is_known'),
        ),
    ])]
