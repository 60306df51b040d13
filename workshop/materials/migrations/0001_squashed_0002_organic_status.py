"""The tables of this room as 2 migrations left them: what an empty book takes instead."""

import datetime
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
        ('materials', '0001_initial'),
        ('materials', '0002_organic_status'),
    ]

    dependencies = [
        ('core', '0001_squashed_0002_markets_apart'),
        ('ledger', '0001_squashed_0007_unpacking'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
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
            name='HistoricalOrganicScheme',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('code', models.CharField(db_index=True, error_messages={'unique': 'There is already a scheme of this code.'}, max_length=12)),
                ('name', models.CharField(max_length=120)),
                ('organic_from', workshop.core.fields.PercentField(default=95, help_text='Share without water and salt.', places=4, verbose_name='organic from, %')),
                ('made_with_from', workshop.core.fields.PercentField(default=70, places=4, verbose_name='made with organic from, %')),
                ('tolerance', workshop.core.fields.PercentField(default=2, help_text='A balance of mass that misses by more is shown as large. No rule sets a figure.', places=4, verbose_name='unexplained, up to %')),
                ('source', models.CharField(help_text='The text that was read.', max_length=200)),
                ('known_on', models.DateField(help_text='The day of that text.', verbose_name='as known on')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical organic scheme',
                'verbose_name_plural': 'historical organic schemes',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
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
            name='HistoricalUseLimit',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('most', workshop.core.fields.PercentField(places=4)),
                ('source', models.CharField(max_length=200)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('item', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'historical use limit',
                'verbose_name_plural': 'historical use limits',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='OrganicScheme',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(error_messages={'unique': 'There is already a scheme of this code.'}, max_length=12, unique=True)),
                ('name', models.CharField(max_length=120)),
                ('organic_from', workshop.core.fields.PercentField(default=95, help_text='Share without water and salt.', places=4, verbose_name='organic from, %')),
                ('made_with_from', workshop.core.fields.PercentField(default=70, places=4, verbose_name='made with organic from, %')),
                ('tolerance', workshop.core.fields.PercentField(default=2, help_text='A balance of mass that misses by more is shown as large. No rule sets a figure.', places=4, verbose_name='unexplained, up to %')),
                ('source', models.CharField(help_text='The text that was read.', max_length=200)),
                ('known_on', models.DateField(help_text='The day of that text.', verbose_name='as known on')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('made_with_from__gt', 0), ('made_with_from__lte', models.F('organic_from')), ('organic_from__lte', 100)), name='organic_scheme_shares_go_upwards', violation_error_message='The share of “organic” is not below that of “made with”.'), models.CheckConstraint(condition=models.Q(('tolerance__gte', 0), ('tolerance__lte', 100)), name='organic_scheme_tolerance_is_possible', violation_error_message='A tolerance lies between 0 and 100 %%.')],
            },
        ),
        migrations.CreateModel(
            name='HistoricalListEntry',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(max_length=160)),
                ('status', models.CharField(choices=[('listed_a', 'not agricultural, listed as nonsynthetic (205.605(a))'), ('listed_b', 'not agricultural, listed as synthetic (205.605(b))'), ('listed_made_with', 'listed for “made with organic” only'), ('listed_606', 'agricultural, not organic, listed (205.606)'), ('prohibited', 'prohibited or not allowed')], max_length=16, verbose_name='listed as')),
                ('annotation', models.CharField(blank=True, max_length=300)),
                ('source', models.CharField(max_length=200)),
                ('known_on', models.DateField(verbose_name='as known on')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('scheme', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='materials.organicscheme')),
            ],
            options={
                'verbose_name': 'historical list entry',
                'verbose_name_plural': 'historical list entrys',
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
            name='OrganicStatus',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('part_name', models.CharField(blank=True, max_length=160, verbose_name='part of the blend')),
                ('scheme', models.CharField(default='NOP', max_length=12)),
                ('from_day', models.DateField(default=datetime.date(1900, 1, 1), verbose_name='holds from')),
                ('status', models.CharField(choices=[('organic', 'organic, bought under a certificate'), ('listed_a', 'not agricultural, listed as nonsynthetic (205.605(a))'), ('listed_b', 'not agricultural, listed as synthetic (205.605(b))'), ('listed_made_with', 'listed for “made with organic” only'), ('listed_606', 'agricultural, not organic, listed (205.606)'), ('agricultural', 'agricultural, not organic, not listed'), ('prohibited', 'prohibited or not allowed'), ('water', 'added water'), ('salt', 'salt')], max_length=16, verbose_name='what it is')),
                ('annotation', models.CharField(blank=True, help_text='What the list says beside its name.', max_length=300)),
                ('search', models.TextField(blank=True, help_text='Who was asked, in what form, quality and quantity, and what they answered.', verbose_name='search for an organic one')),
                ('searched_on', models.DateField(blank=True, null=True, verbose_name='searched on')),
                ('source', models.CharField(max_length=200, verbose_name='where it is known from')),
                ('next_review', models.DateField(blank=True, null=True)),
                ('evidence', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='core.upload')),
                ('profile', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='organic_statuses', to='materials.profile')),
            ],
            options={
                'ordering': ['scheme', 'part_name', '-from_day'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalOrganicStatus',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('part_name', models.CharField(blank=True, max_length=160, verbose_name='part of the blend')),
                ('scheme', models.CharField(default='NOP', max_length=12)),
                ('from_day', models.DateField(default=datetime.date(1900, 1, 1), verbose_name='holds from')),
                ('status', models.CharField(choices=[('organic', 'organic, bought under a certificate'), ('listed_a', 'not agricultural, listed as nonsynthetic (205.605(a))'), ('listed_b', 'not agricultural, listed as synthetic (205.605(b))'), ('listed_made_with', 'listed for “made with organic” only'), ('listed_606', 'agricultural, not organic, listed (205.606)'), ('agricultural', 'agricultural, not organic, not listed'), ('prohibited', 'prohibited or not allowed'), ('water', 'added water'), ('salt', 'salt')], max_length=16, verbose_name='what it is')),
                ('annotation', models.CharField(blank=True, help_text='What the list says beside its name.', max_length=300)),
                ('search', models.TextField(blank=True, help_text='Who was asked, in what form, quality and quantity, and what they answered.', verbose_name='search for an organic one')),
                ('searched_on', models.DateField(blank=True, null=True, verbose_name='searched on')),
                ('source', models.CharField(max_length=200, verbose_name='where it is known from')),
                ('next_review', models.DateField(blank=True, null=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('evidence', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='core.upload')),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('profile', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='materials.profile')),
            ],
            options={
                'verbose_name': 'historical organic status',
                'verbose_name_plural': 'historical organic statuss',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
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
                ('profile', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='materials.profile')),
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
                ('profile', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='parts', to='materials.profile')),
            ],
            options={
                'ordering': ['-share', 'inci_name'],
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
            name='UseLimit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('most', workshop.core.fields.PercentField(places=4)),
                ('source', models.CharField(max_length=200)),
                ('item', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='use_limit', to='ledger.item')),
            ],
            options={
                'ordering': ['item__name'],
            },
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
        migrations.CreateModel(
            name='ListEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=160)),
                ('status', models.CharField(choices=[('listed_a', 'not agricultural, listed as nonsynthetic (205.605(a))'), ('listed_b', 'not agricultural, listed as synthetic (205.605(b))'), ('listed_made_with', 'listed for “made with organic” only'), ('listed_606', 'agricultural, not organic, listed (205.606)'), ('prohibited', 'prohibited or not allowed')], max_length=16, verbose_name='listed as')),
                ('annotation', models.CharField(blank=True, max_length=300)),
                ('source', models.CharField(max_length=200)),
                ('known_on', models.DateField(verbose_name='as known on')),
                ('scheme', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='materials.organicscheme')),
            ],
            options={
                'ordering': ['scheme', 'name'],
                'constraints': [models.UniqueConstraint(fields=('scheme', 'name', 'known_on'), name='list_entry_is_entered_once', violation_error_message='The list of that day names it already.'), models.CheckConstraint(condition=models.Q(('status__in', ['listed_a', 'listed_b', 'listed_made_with', 'listed_606', 'prohibited'])), name='list_entry_status_is_known')],
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
            model_name='organicstatus',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['organic', 'listed_a', 'listed_b', 'listed_made_with', 'listed_606', 'agricultural', 'prohibited', 'water', 'salt'])), name='organic_status_is_known'),
        ),
        migrations.AddConstraint(
            model_name='organicstatus',
            constraint=models.CheckConstraint(condition=models.Q(('source', ''), _negated=True), name='organic_status_names_its_source', violation_error_message='Say where it is known from.'),
        ),
        migrations.AddConstraint(
            model_name='organicstatus',
            constraint=models.UniqueConstraint(fields=('profile', 'part_name', 'scheme', 'from_day'), name='organic_status_of_a_day', violation_error_message='There is a status from that day already: change it.'),
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
            model_name='soapvalue',
            constraint=models.CheckConstraint(condition=models.Q(('value', 0), models.Q(('value__gte', 50), ('value__lte', 400)), _connector='OR'), name='soap_value_is_possible', violation_error_message='A saponification value is 0, or lies between 50 and 400.'),
        ),
        migrations.AddConstraint(
            model_name='soapvalue',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('least', None), models.Q(('least__gte', 50), ('least__lte', models.F('value'))), _connector='OR'), models.Q(('most', None), models.Q(('most__gte', models.F('value')), ('most__lte', 400)), _connector='OR')), name='soap_value_lies_in_its_range', violation_error_message='The saponification value lies between the lowest and the highest, and both between 50 and 400.'),
        ),
        migrations.AddConstraint(
            model_name='uselimit',
            constraint=models.CheckConstraint(condition=models.Q(('most__gt', 0), ('most__lte', 100)), name='use_limit_is_a_share', violation_error_message='A limit lies above 0 and at most at 100 %%.'),
        ),
        migrations.AddConstraint(
            model_name='uselimit',
            constraint=models.CheckConstraint(condition=models.Q(('source', ''), _negated=True), name='use_limit_names_its_source', violation_error_message='Say where the limit comes from.'),
        ),
    ])]
