"""The tables of this room as 7 migrations left them: what an empty book takes instead."""

import django.core.validators
import django.db.models.deletion
import simple_history.models
import workshop.core.fields
from django.conf import settings
from django.db import migrations, models

from workshop.core.database.squashed_migration_operation import CreateTables


LIKELIHOOD = (
    "CREATE OR REPLACE FUNCTION likelihood(boolean, numeric) RETURNS boolean"
    " LANGUAGE sql IMMUTABLE PARALLEL SAFE AS 'SELECT $1'"
)


def add_likelihood(_, editor):
    """The planner's hint that SQLite has and PostgreSQL lacks, so that one text serves both."""
    if editor.connection.vendor == "postgresql":
        editor.execute(LIKELIHOOD)


class Migration(migrations.Migration):

    initial = True

    replaces = [
        ('ledger', '0001_initial'),
        ('ledger', '0002_likelihood'),
        ('ledger', '0003_shed'),
        ('ledger', '0004_despite'),
        ('ledger', '0005_stock_before_the_book'),
        ('ledger', '0006_places_and_counts'),
        ('ledger', '0007_unpacking'),
    ]

    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [CreateTables([
        migrations.CreateModel(
            name='Counter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=20, unique=True)),
                ('last', models.PositiveIntegerField(default=0)),
            ],
        ),
        migrations.CreateModel(
            name='Covered',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('table', models.CharField(max_length=80, unique=True)),
                ('last', models.BigIntegerField(default=0)),
                ('pending', models.JSONField(default=list)),
            ],
        ),
        migrations.CreateModel(
            name='HistoricalItem',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('code', models.CharField(db_index=True, error_messages={'unique': 'Another item already has this code.'}, max_length=20, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9.-]*$', 'Use capital letters, digits, dots and hyphens only.')])),
                ('name', models.CharField(max_length=120)),
                ('kind', models.CharField(choices=[('material', 'material'), ('packaging', 'packaging'), ('bulk', 'bulk'), ('product', 'product')], max_length=10)),
                ('unit', models.CharField(choices=[('g', 'grams'), ('each', 'pieces')], max_length=4)),
                ('is_active', models.BooleanField(default=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical item',
                'verbose_name_plural': 'historical items',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalPlace',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a place of this name.'}, max_length=60)),
                ('code', models.CharField(db_index=True, editable=False, max_length=6)),
                ('kind', models.CharField(choices=[('shelf', 'shelf'), ('cupboard', 'cupboard'), ('rack', 'rack for curing'), ('cold', 'refrigerator'), ('freezer', 'freezer'), ('floor', 'on the floor')], max_length=8)),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical place',
                'verbose_name_plural': 'historical places',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Item',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(error_messages={'unique': 'Another item already has this code.'}, max_length=20, unique=True, validators=[django.core.validators.RegexValidator('^[A-Z0-9][A-Z0-9.-]*$', 'Use capital letters, digits, dots and hyphens only.')])),
                ('name', models.CharField(max_length=120)),
                ('kind', models.CharField(choices=[('material', 'material'), ('packaging', 'packaging'), ('bulk', 'bulk'), ('product', 'product')], max_length=10)),
                ('unit', models.CharField(choices=[('g', 'grams'), ('each', 'pieces')], max_length=4)),
                ('is_active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['name', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['material', 'packaging', 'bulk', 'product'])), name='item_kind_is_known'), models.CheckConstraint(condition=models.Q(('unit__in', ['g', 'each'])), name='item_unit_is_known'), models.CheckConstraint(condition=models.Q(('kind', 'material'), ('kind', 'packaging'), models.Q(('kind', 'bulk'), ('unit', 'g')), models.Q(('kind', 'product'), ('unit', 'each')), _connector='OR'), name='item_unit_fits_kind', violation_error_message='A bulk is weighed in grams, a product counted in pieces.')],
            },
        ),
        migrations.CreateModel(
            name='Lot',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=7, unique=True)),
                ('status', models.CharField(choices=[('quarantine', 'quarantine'), ('released', 'released'), ('on_hold', 'on hold'), ('rejected', 'rejected')], default='quarantine', max_length=10)),
                ('made_on', models.DateField(help_text='The day it was made here, or came in.')),
                ('best_before', models.DateField(blank=True, null=True)),
                ('item', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='ledger.item')),
            ],
            options={
                'ordering': ['-pk'],
            },
        ),
        migrations.CreateModel(
            name='Operation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('receipt', 'receipt'), ('batch', 'batch'), ('packing', 'packing run'), ('unpacking', 'unpacking'), ('dispatch', 'dispatch'), ('return', 'return'), ('count', 'stock count'), ('discard', 'discard'), ('shed', 'loss in store'), ('opening', 'stock before the book')], max_length=10)),
                ('reference', models.CharField(max_length=20, unique=True)),
                ('token', models.CharField(max_length=64, unique=True)),
                ('opened_at', models.DateTimeField()),
                ('closed_at', models.DateTimeField(blank=True, null=True)),
                ('closed_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('opened_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-opened_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='LotCount',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('counted', workshop.core.fields.QuantityField(places=3)),
                ('book', workshop.core.fields.QuantityField(places=3)),
                ('counted_at', models.DateTimeField()),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lot_counts', to='ledger.lot')),
                ('operation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='lot_count', to='ledger.operation')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.AddField(
            model_name='lot',
            name='origin',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='ledger.operation'),
        ),
        migrations.CreateModel(
            name='Amendment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('reason', models.CharField(max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='amendments', to='ledger.operation')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Place',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a place of this name.'}, max_length=60, unique=True)),
                ('code', models.CharField(editable=False, max_length=6, unique=True)),
                ('kind', models.CharField(choices=[('shelf', 'shelf'), ('cupboard', 'cupboard'), ('rack', 'rack for curing'), ('cold', 'refrigerator'), ('freezer', 'freezer'), ('floor', 'on the floor')], max_length=8)),
                ('is_active', models.BooleanField(default=True, verbose_name='in use')),
            ],
            options={
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('kind__in', ['shelf', 'cupboard', 'rack', 'cold', 'freezer', 'floor'])), name='place_kind_is_known'), models.CheckConstraint(condition=models.Q(('code', ''), _negated=True), name='place_has_a_code')],
            },
        ),
        migrations.CreateModel(
            name='Placing',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('spot', models.CharField(blank=True, max_length=40)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='placings', to='ledger.lot')),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='placings', to='ledger.place')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Posting',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('side', models.CharField(choices=[('in', 'into the operation'), ('out', 'out of the operation')], max_length=3)),
                ('quantity', workshop.core.fields.QuantityField(places=3)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversal', to='ledger.posting')),
                ('lot', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='postings', to='ledger.lot')),
                ('operation', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='postings', to='ledger.operation')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='Seal',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveBigIntegerField(unique=True)),
                ('record', models.TextField()),
                ('digest', models.CharField(max_length=64, unique=True)),
                ('previous', models.CharField(max_length=64, unique=True)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='seals', to='ledger.operation')),
            ],
            options={
                'ordering': ['number'],
            },
        ),
        migrations.CreateModel(
            name='Shed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('strained', 'strained out'), ('skimmed', 'skimmed off'), ('evaporated', 'evaporated'), ('dried', 'dried off'), ('trimmed', 'trimmed off'), ('sampled', 'taken as a sample'), ('film', 'left on the kettle'), ('spilled', 'spilled')], max_length=10)),
                ('quantity', workshop.core.fields.QuantityField(places=3)),
                ('is_estimated', models.BooleanField(default=False, help_text='Not weighed: by a figure kept with the formula, or by eye.')),
                ('stays', models.CharField(blank=True, max_length=200)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('corrects', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='reversal', to='ledger.shed')),
                ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='sheds', to='ledger.lot')),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sheds', to='ledger.operation')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='StatusChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('was', models.CharField(blank=True, choices=[('quarantine', 'quarantine'), ('released', 'released'), ('on_hold', 'on hold'), ('rejected', 'rejected')], max_length=10)),
                ('now', models.CharField(choices=[('quarantine', 'quarantine'), ('released', 'released'), ('on_hold', 'on hold'), ('rejected', 'rejected')], max_length=10)),
                ('at', models.DateTimeField()),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('despite', models.TextField(blank=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='status_changes', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='DateChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('was', models.DateField(blank=True, null=True)),
                ('now', models.DateField(blank=True, null=True)),
                ('at', models.DateTimeField()),
                ('reason', models.CharField(max_length=300)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='date_changes', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='date_change_says_why', violation_error_message='Say why the best-before date changes.')],
            },
        ),
        migrations.CreateModel(
            name='Correction',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('fact', models.CharField(max_length=40)),
                ('was', models.TextField(blank=True)),
                ('now', models.TextField(blank=True)),
                ('amendment', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='corrections', to='ledger.amendment')),
                ('lot', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrections', to='ledger.lot')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('was', models.F('now')), _negated=True), name='correction_changes_something'), models.CheckConstraint(condition=models.Q(('fact', ''), _negated=True), name='correction_names_its_fact')],
            },
        ),
        migrations.AddIndex(
            model_name='operation',
            index=models.Index(fields=['kind', 'opened_at'], name='operation_kind_opened'),
        ),
        migrations.AddConstraint(
            model_name='operation',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['receipt', 'batch', 'packing', 'unpacking', 'dispatch', 'return', 'count', 'discard', 'shed', 'opening'])), name='operation_kind_is_known'),
        ),
        migrations.AddConstraint(
            model_name='operation',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('closed_at', None), ('closed_by', None)), models.Q(('closed_at__isnull', False), ('closed_by__isnull', False)), _connector='OR'), name='operation_closed_by_somebody'),
        ),
        migrations.AddConstraint(
            model_name='operation',
            constraint=models.CheckConstraint(condition=models.Q(('token', ''), _negated=True), name='operation_has_a_token'),
        ),
        migrations.AddConstraint(
            model_name='lotcount',
            constraint=models.CheckConstraint(condition=models.Q(('counted__gte', 0)), name='lot_count_not_below_zero', violation_error_message='A counted quantity is not below zero.'),
        ),
        migrations.AddIndex(
            model_name='lot',
            index=models.Index(fields=['item', 'status', 'best_before'], name='lot_item_status_date'),
        ),
        migrations.AddIndex(
            model_name='lot',
            index=models.Index(fields=['status', 'best_before'], name='lot_status_date'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('status__in', ['quarantine', 'released', 'on_hold', 'rejected'])), name='lot_status_is_known'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('best_before', None), ('best_before__gte', models.F('made_on')), _connector='OR'), name='lot_date_not_before_made', violation_error_message='The best-before date lies before the day it was made.'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.CheckConstraint(condition=models.Q(('code', ''), _negated=True), name='lot_has_a_code'),
        ),
        migrations.AddConstraint(
            model_name='amendment',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='amendment_says_why', violation_error_message='Say why the closed record is opened again.'),
        ),
        migrations.AddConstraint(
            model_name='placing',
            constraint=models.CheckConstraint(condition=models.Q(('token', ''), _negated=True), name='placing_has_a_token'),
        ),
        migrations.AddIndex(
            model_name='posting',
            index=models.Index(condition=models.Q(('corrects__isnull', False)), fields=['corrects'], name='posting_undoing'),
        ),
        migrations.AddIndex(
            model_name='posting',
            index=models.Index(fields=['lot', 'quantity'], name='posting_lot_quantity'),
        ),
        migrations.AddIndex(
            model_name='posting',
            index=models.Index(fields=['lot', 'side', 'operation', 'corrects', 'quantity'], name='posting_walk_from_lot'),
        ),
        migrations.AddIndex(
            model_name='posting',
            index=models.Index(fields=['operation', 'side', 'lot', 'corrects', 'quantity'], name='posting_walk_from_operation'),
        ),
        migrations.AddConstraint(
            model_name='posting',
            constraint=models.CheckConstraint(condition=models.Q(('side__in', ['in', 'out'])), name='posting_side_is_known'),
        ),
        migrations.AddConstraint(
            model_name='posting',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('corrects', None), ('quantity__gt', 0), ('side', 'out')), models.Q(('corrects', None), ('quantity__lt', 0), ('side', 'in')), models.Q(('corrects__isnull', False), ('quantity__lt', 0), ('side', 'out')), models.Q(('corrects__isnull', False), ('quantity__gt', 0), ('side', 'in')), _connector='OR'), name='posting_sign_fits_side', violation_error_message='What goes in lowers the lot; what comes out raises it.'),
        ),
        migrations.AddConstraint(
            model_name='posting',
            constraint=models.CheckConstraint(condition=models.Q(('token', ''), _negated=True), name='posting_has_a_token'),
        ),
        migrations.AddConstraint(
            model_name='posting',
            constraint=models.CheckConstraint(condition=models.Q(('corrects', None), models.Q(('reason', ''), _negated=True), _connector='OR'), name='posting_reversal_says_why', violation_error_message='Say why the posting is taken back.'),
        ),
        migrations.AddConstraint(
            model_name='shed',
            constraint=models.CheckConstraint(condition=models.Q(('kind__in', ['strained', 'skimmed', 'evaporated', 'dried', 'trimmed', 'sampled', 'film', 'spilled'])), name='shed_kind_is_known'),
        ),
        migrations.AddConstraint(
            model_name='shed',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('corrects', None), ('quantity__gte', 0)), models.Q(('corrects__isnull', False), ('quantity__lte', 0)), _connector='OR'), name='shed_sign_fits'),
        ),
        migrations.AddConstraint(
            model_name='shed',
            constraint=models.CheckConstraint(condition=models.Q(('lot__isnull', False), models.Q(('kind', 'strained'), _negated=True), _connector='OR'), name='shed_names_what_was_strained', violation_error_message='Say which lot was strained out.'),
        ),
        migrations.AddConstraint(
            model_name='shed',
            constraint=models.CheckConstraint(condition=models.Q(('kind', 'strained'), ('stays', ''), _connector='OR'), name='shed_only_strained_leaves_something'),
        ),
        migrations.AddConstraint(
            model_name='shed',
            constraint=models.CheckConstraint(condition=models.Q(('corrects', None), models.Q(('reason', ''), _negated=True), _connector='OR'), name='shed_reversal_says_why'),
        ),
        migrations.AddConstraint(
            model_name='shed',
            constraint=models.CheckConstraint(condition=models.Q(('token', ''), _negated=True), name='shed_has_a_token'),
        ),
        migrations.AddConstraint(
            model_name='statuschange',
            constraint=models.CheckConstraint(condition=models.Q(('despite', ''), models.Q(('now', 'released'), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='status_change_despite_is_a_release_and_says_why', violation_error_message='Say why it is released all the same.'),
        ),
        migrations.AddConstraint(
            model_name='statuschange',
            constraint=models.CheckConstraint(condition=models.Q(('now__in', ['quarantine', 'released', 'on_hold', 'rejected']), ('was__in', ['', 'quarantine', 'released', 'on_hold', 'rejected'])), name='status_change_is_known'),
        ),
        migrations.AddConstraint(
            model_name='statuschange',
            constraint=models.CheckConstraint(condition=models.Q(('was', ''), models.Q(('now', 'released'), ('was', 'quarantine')), models.Q(('reason', ''), _negated=True), _connector='OR'), name='status_change_says_why', violation_error_message='Say why the lot moves to this status.'),
        ),
        migrations.AddConstraint(
            model_name='statuschange',
            constraint=models.CheckConstraint(condition=models.Q(('was', ''), models.Q(('now', 'released'), ('was', 'quarantine')), models.Q(('now', 'on_hold'), ('was', 'quarantine')), models.Q(('now', 'rejected'), ('was', 'quarantine')), models.Q(('now', 'quarantine'), ('was', 'released')), models.Q(('now', 'on_hold'), ('was', 'released')), models.Q(('now', 'rejected'), ('was', 'released')), models.Q(('now', 'quarantine'), ('was', 'on_hold')), models.Q(('now', 'released'), ('was', 'on_hold')), models.Q(('now', 'rejected'), ('was', 'on_hold')), models.Q(('now', 'quarantine'), ('was', 'rejected')), _connector='OR'), name='status_change_is_allowed', violation_error_message='A lot does not move from that status to this one.'),
        ),
    ]), migrations.RunPython(add_likelihood, migrations.RunPython.noop)]
