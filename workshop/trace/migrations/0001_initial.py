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
        ('dispatch', '0001_initial'),
        ('ledger', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Complaint',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reference', models.CharField(max_length=20, unique=True)),
                ('token', models.CharField(max_length=64, unique=True)),
                ('channel', models.CharField(choices=[('telephone', 'telephone'), ('email', 'e-mail'), ('letter', 'letter'), ('in_person', 'in person'), ('online', 'online form or message'), ('shop', 'through a shop')], max_length=10)),
                ('told_by', models.CharField(blank=True, max_length=200)),
                ('received_on', models.DateField()),
                ('code_read', models.CharField(blank=True, max_length=60)),
                ('nature', models.CharField(choices=[('skin', 'skin reaction'), ('smell', 'smell or colour'), ('texture', 'texture'), ('underfill', 'underfill'), ('packaging', 'packaging'), ('foreign', 'foreign matter'), ('label', 'label'), ('other', 'other')], max_length=10)),
                ('severity', models.CharField(choices=[('minor', 'minor'), ('major', 'major'), ('critical', 'critical')], max_length=10)),
                ('outcome', models.CharField(blank=True, choices=[('death', 'death'), ('life', 'danger to life'), ('hospital', 'stay in hospital'), ('disability', 'lasting disability or incapacity'), ('birth', 'birth defect'), ('infection', 'infection'), ('looks', 'disfigurement: serious and lasting rash, second- or third-degree burn, much hair lost, lasting change of looks'), ('treated', 'treatment was needed to prevent one of these')], max_length=10)),
                ('description', models.TextField()),
                ('state', models.CharField(choices=[('open', 'open'), ('assessed', 'assessed'), ('answered', 'answered'), ('closed', 'closed')], default='open', max_length=10)),
                ('reported_on', models.DateField(blank=True, null=True)),
                ('cause', models.TextField(blank=True)),
                ('customer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='complaints', to='dispatch.customer')),
                ('lots', models.ManyToManyField(blank=True, related_name='complaints', to='ledger.lot')),
                ('photos', models.ManyToManyField(blank=True, related_name='+', to='core.upload')),
                ('product', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='complaints', to='ledger.item')),
            ],
            options={
                'ordering': ['-received_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='ComplaintEvent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('step', models.CharField(choices=[('logged', 'logged'), ('noted', 'noted'), ('assessed', 'assessed'), ('reported', 'reported to the authority'), ('answered', 'answered'), ('closed', 'closed'), ('reopened', 'opened again')], max_length=10)),
                ('words', models.TextField()),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('complaint', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='events', to='trace.complaint')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalComplaint',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('reference', models.CharField(db_index=True, max_length=20)),
                ('token', models.CharField(db_index=True, max_length=64)),
                ('channel', models.CharField(choices=[('telephone', 'telephone'), ('email', 'e-mail'), ('letter', 'letter'), ('in_person', 'in person'), ('online', 'online form or message'), ('shop', 'through a shop')], max_length=10)),
                ('told_by', models.CharField(blank=True, max_length=200)),
                ('received_on', models.DateField()),
                ('code_read', models.CharField(blank=True, max_length=60)),
                ('nature', models.CharField(choices=[('skin', 'skin reaction'), ('smell', 'smell or colour'), ('texture', 'texture'), ('underfill', 'underfill'), ('packaging', 'packaging'), ('foreign', 'foreign matter'), ('label', 'label'), ('other', 'other')], max_length=10)),
                ('severity', models.CharField(choices=[('minor', 'minor'), ('major', 'major'), ('critical', 'critical')], max_length=10)),
                ('outcome', models.CharField(blank=True, choices=[('death', 'death'), ('life', 'danger to life'), ('hospital', 'stay in hospital'), ('disability', 'lasting disability or incapacity'), ('birth', 'birth defect'), ('infection', 'infection'), ('looks', 'disfigurement: serious and lasting rash, second- or third-degree burn, much hair lost, lasting change of looks'), ('treated', 'treatment was needed to prevent one of these')], max_length=10)),
                ('description', models.TextField()),
                ('state', models.CharField(choices=[('open', 'open'), ('assessed', 'assessed'), ('answered', 'answered'), ('closed', 'closed')], default='open', max_length=10)),
                ('reported_on', models.DateField(blank=True, null=True)),
                ('cause', models.TextField(blank=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('customer', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='dispatch.customer')),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('product', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.item')),
            ],
            options={
                'verbose_name': 'historical complaint',
                'verbose_name_plural': 'historical complaints',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalComplaint_lots',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('m2m_history_id', models.AutoField(primary_key=True, serialize=False)),
                ('complaint', models.ForeignKey(blank=True, db_constraint=False, db_tablespace='', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='trace.complaint')),
                ('history', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, to='trace.historicalcomplaint')),
                ('lot', models.ForeignKey(blank=True, db_constraint=False, db_tablespace='', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.lot')),
            ],
            options={
                'verbose_name': 'HistoricalComplaint_lots',
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalComplaint_photos',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('m2m_history_id', models.AutoField(primary_key=True, serialize=False)),
                ('complaint', models.ForeignKey(blank=True, db_constraint=False, db_tablespace='', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='trace.complaint')),
                ('history', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, to='trace.historicalcomplaint')),
                ('upload', models.ForeignKey(blank=True, db_constraint=False, db_tablespace='', null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='core.upload')),
            ],
            options={
                'verbose_name': 'HistoricalComplaint_photos',
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='HistoricalRecall',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('reference', models.CharField(db_index=True, max_length=20)),
                ('token', models.CharField(db_index=True, max_length=64)),
                ('is_drill', models.BooleanField(default=False)),
                ('reason', models.CharField(max_length=300)),
                ('hazard', models.CharField(blank=True, choices=[('1', 'Class I: serious harm or death is reasonably likely'), ('2', 'Class II: passing harm, or serious harm only remotely likely'), ('3', 'Class III: harm is not likely'), ('', 'not classed yet')], default='', max_length=1)),
                ('depth', models.CharField(choices=[('consumer', 'consumer or user'), ('retail', 'retail'), ('wholesale', 'wholesale')], default='retail', max_length=10)),
                ('level', models.CharField(choices=[('A', 'A, every customer'), ('B', 'B, more than 10 %, fewer than all'), ('C', 'C, 10 %'), ('D', 'D, 2 %'), ('E', 'E, none')], default='A', max_length=1)),
                ('classed_by', models.CharField(blank=True, max_length=120)),
                ('classed_on', models.DateField(blank=True, null=True)),
                ('remedy', models.CharField(blank=True, max_length=300)),
                ('notice_on', models.DateField(blank=True, null=True)),
                ('started_at', models.DateTimeField()),
                ('closed_at', models.DateTimeField(blank=True, null=True)),
                ('cause', models.TextField(blank=True)),
                ('gaps', models.TextField(blank=True)),
                ('units_out', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('units_reached', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('units_unreachable', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('closed_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('complaint', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='trace.complaint')),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('lot', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='ledger.lot')),
                ('started_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical recall',
                'verbose_name_plural': 'historical recalls',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Recall',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reference', models.CharField(max_length=20, unique=True)),
                ('token', models.CharField(max_length=64, unique=True)),
                ('is_drill', models.BooleanField(default=False)),
                ('reason', models.CharField(max_length=300)),
                ('hazard', models.CharField(blank=True, choices=[('1', 'Class I: serious harm or death is reasonably likely'), ('2', 'Class II: passing harm, or serious harm only remotely likely'), ('3', 'Class III: harm is not likely'), ('', 'not classed yet')], default='', max_length=1)),
                ('depth', models.CharField(choices=[('consumer', 'consumer or user'), ('retail', 'retail'), ('wholesale', 'wholesale')], default='retail', max_length=10)),
                ('level', models.CharField(choices=[('A', 'A, every customer'), ('B', 'B, more than 10 %, fewer than all'), ('C', 'C, 10 %'), ('D', 'D, 2 %'), ('E', 'E, none')], default='A', max_length=1)),
                ('classed_by', models.CharField(blank=True, max_length=120)),
                ('classed_on', models.DateField(blank=True, null=True)),
                ('remedy', models.CharField(blank=True, max_length=300)),
                ('notice_on', models.DateField(blank=True, null=True)),
                ('started_at', models.DateTimeField()),
                ('closed_at', models.DateTimeField(blank=True, null=True)),
                ('cause', models.TextField(blank=True)),
                ('gaps', models.TextField(blank=True)),
                ('units_out', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('units_reached', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('units_unreachable', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('closed_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('complaint', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='recalls', to='trace.complaint')),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='recalls', to='ledger.lot')),
                ('started_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-started_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='RecallEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(choices=[('started', 'started'), ('held', 'lots put on hold'), ('terms', 'terms changed'), ('told', 'told'), ('not_reached', 'tried, not reached'), ('answered', 'answered'), ('listed', 'list of buyers looked through'), ('noted', 'noted'), ('closed', 'closed')], max_length=12)),
                ('means', models.CharField(blank=True, choices=[('telephone', 'telephone'), ('email', 'e-mail'), ('letter', 'letter'), ('in_person', 'in person')], max_length=10)),
                ('spoke_with', models.CharField(blank=True, max_length=120)),
                ('words', models.TextField(blank=True)),
                ('will_return', workshop.core.fields.QuantityField(default=Decimal('0'), places=3)),
                ('destroyed', workshop.core.fields.QuantityField(default=Decimal('0'), places=3)),
                ('sold_on', workshop.core.fields.QuantityField(default=Decimal('0'), places=3)),
                ('buyers_units', workshop.core.fields.QuantityField(default=Decimal('0'), places=3)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(max_length=64, unique=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('customer', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='dispatch.customer')),
                ('recall', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='trace.recall')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='RecallLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made', workshop.core.fields.QuantityField(places=3)),
                ('on_hand', workshop.core.fields.QuantityField(places=3)),
                ('found', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('with_customers', workshop.core.fields.QuantityField(places=3)),
                ('on_its_way', workshop.core.fields.QuantityField(blank=True, null=True, places=3)),
                ('used', workshop.core.fields.QuantityField(places=3)),
                ('discarded', workshop.core.fields.QuantityField(places=3)),
                ('lost', workshop.core.fields.QuantityField(places=3)),
                ('missing', workshop.core.fields.QuantityField(places=3)),
                ('lot', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='ledger.lot')),
                ('recall', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lines', to='trace.recall')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.AddIndex(
            model_name='complaint',
            index=models.Index(fields=['received_on', 'nature'], name='complaint_day_nature'),
        ),
        migrations.AddConstraint(
            model_name='complaint',
            constraint=models.CheckConstraint(condition=models.Q(('channel__in', ['telephone', 'email', 'letter', 'in_person', 'online', 'shop']), ('nature__in', ['skin', 'smell', 'texture', 'underfill', 'packaging', 'foreign', 'label', 'other']), ('outcome__in', ['', 'death', 'life', 'hospital', 'disability', 'birth', 'infection', 'looks', 'treated']), ('severity__in', ['minor', 'major', 'critical']), ('state__in', ['open', 'assessed', 'answered', 'closed'])), name='complaint_words_are_known'),
        ),
        migrations.AddConstraint(
            model_name='complaint',
            constraint=models.CheckConstraint(condition=models.Q(('description', ''), _negated=True), name='complaint_says_what', violation_error_message='Write down what was said.'),
        ),
        migrations.AddConstraint(
            model_name='complaint',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'closed'), _negated=True), models.Q(('cause', ''), _negated=True), _connector='OR'), name='complaint_closed_with_a_cause', violation_error_message='Name the cause, or say that none was found.'),
        ),
        migrations.AddConstraint(
            model_name='complaint',
            constraint=models.CheckConstraint(condition=models.Q(('reported_on', None), ('reported_on__gte', models.F('received_on')), _connector='OR'), name='complaint_reported_after_received', violation_error_message='It was received after this day.'),
        ),
        migrations.AddConstraint(
            model_name='complaintevent',
            constraint=models.CheckConstraint(condition=models.Q(('step__in', ['logged', 'noted', 'assessed', 'reported', 'answered', 'closed', 'reopened'])), name='complaint_step_is_known'),
        ),
        migrations.AddConstraint(
            model_name='complaintevent',
            constraint=models.CheckConstraint(condition=models.Q(('words', ''), _negated=True), name='complaint_event_says_what'),
        ),
        migrations.AddConstraint(
            model_name='recall',
            constraint=models.CheckConstraint(condition=models.Q(('depth__in', ['consumer', 'retail', 'wholesale']), ('hazard__in', ['1', '2', '3', '']), ('level__in', ['A', 'B', 'C', 'D', 'E'])), name='recall_words_are_known'),
        ),
        migrations.AddConstraint(
            model_name='recall',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='recall_says_why', violation_error_message='Say why it is recalled.'),
        ),
        migrations.AddConstraint(
            model_name='recall',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('closed_at', None), ('closed_by', None)), models.Q(('closed_at__gte', models.F('started_at')), ('closed_by__isnull', False)), _connector='OR'), name='recall_closed_by_somebody'),
        ),
        migrations.AddConstraint(
            model_name='recall',
            constraint=models.CheckConstraint(condition=models.Q(('closed_at', None), ('is_drill', True), models.Q(('cause', ''), _negated=True), _connector='OR'), name='recall_closed_with_a_cause', violation_error_message='Name the cause and what is done about it.'),
        ),
        migrations.AddConstraint(
            model_name='recall',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('classed_by', ''), ('classed_on', None)), models.Q(models.Q(('classed_by', ''), _negated=True), models.Q(('hazard', ''), _negated=True), ('classed_on__isnull', False)), _connector='OR'), name='recall_classed_by_whom_and_when', violation_error_message='Name the class, who assigned it and on which day.'),
        ),
        migrations.AddConstraint(
            model_name='recall',
            constraint=models.UniqueConstraint(condition=models.Q(('closed_at', None), ('is_drill', False)), fields=('lot',), name='recall_open_once_a_lot', violation_error_message='A recall of this lot is open already.'),
        ),
        migrations.AddConstraint(
            model_name='recallentry',
            constraint=models.CheckConstraint(condition=models.Q(('means__in', ['', 'telephone', 'email', 'letter', 'in_person']), ('what__in', ['started', 'held', 'terms', 'told', 'not_reached', 'answered', 'listed', 'noted', 'closed'])), name='recall_entry_is_known'),
        ),
        migrations.AddConstraint(
            model_name='recallentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('customer__isnull', False), ('what__in', ('told', 'not_reached', 'answered', 'listed'))), models.Q(models.Q(('what__in', ('told', 'not_reached', 'answered', 'listed')), _negated=True), ('customer', None)), _connector='OR'), name='recall_entry_names_customer'),
        ),
        migrations.AddConstraint(
            model_name='recallentry',
            constraint=models.CheckConstraint(condition=models.Q(('buyers_units__gte', 0), ('destroyed__gte', 0), ('sold_on__gte', 0), ('will_return__gte', 0)), name='recall_entry_counts_up', violation_error_message='A number of units is not below zero.'),
        ),
        migrations.AddConstraint(
            model_name='recallentry',
            constraint=models.CheckConstraint(condition=models.Q(('what', 'closed'), models.Q(('words', ''), _negated=True), _connector='OR'), name='recall_entry_says_something', violation_error_message='Write down what was said or done.'),
        ),
        migrations.AddConstraint(
            model_name='recallline',
            constraint=models.UniqueConstraint(fields=('recall', 'lot'), name='recall_line_once_a_lot'),
        ),
        migrations.AddConstraint(
            model_name='recallline',
            constraint=models.CheckConstraint(condition=models.Q(('found', None), ('found__gte', 0), _connector='OR'), name='recall_line_found_counts_up'),
        ),
    ]
