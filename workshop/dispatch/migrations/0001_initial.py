import django.db.models.deletion
import simple_history.models
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
            name='Customer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(error_messages={'unique': 'There is already a customer of this name.'}, max_length=120, unique=True)),
                ('contact', models.CharField(blank=True, max_length=120)),
                ('address', models.TextField(blank=True)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('telephone', models.CharField(blank=True, max_length=40)),
                ('stands_for_many', models.BooleanField(default=False)),
                ('buyers_named', models.PositiveIntegerField(blank=True, null=True)),
                ('is_active', models.BooleanField(default=True)),
            ],
            options={
                'ordering': ['name'],
                'constraints': [models.CheckConstraint(condition=models.Q(('buyers_named', None), ('stands_for_many', True), _connector='OR'), name='customer_names_buyers_where_there_are_many', violation_error_message='Only who stands for many buyers has buyers to name.')],
            },
        ),
        migrations.CreateModel(
            name='Dispatch',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('customer_reference', models.CharField(blank=True, db_index=True, max_length=60)),
                ('sent_on', models.DateField()),
                ('note', models.TextField(blank=True)),
                ('customer', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='dispatches', to='dispatch.customer')),
                ('operation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='dispatch', to='ledger.operation')),
                ('taken_back', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='dispatch', to='ledger.amendment')),
            ],
            options={
                'verbose_name_plural': 'dispatches',
                'ordering': ['-sent_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='Arrival',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('turn', models.PositiveSmallIntegerField(default=0)),
                ('arrived_on', models.DateField()),
                ('note', models.CharField(blank=True, max_length=300)),
                ('at', models.DateTimeField()),
                ('token', models.CharField(blank=True, default='', max_length=64)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('dispatch', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='arrivals', to='dispatch.dispatch')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='HistoricalCustomer',
            fields=[
                ('id', models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name='ID')),
                ('name', models.CharField(db_index=True, error_messages={'unique': 'There is already a customer of this name.'}, max_length=120)),
                ('contact', models.CharField(blank=True, max_length=120)),
                ('address', models.TextField(blank=True)),
                ('email', models.EmailField(blank=True, max_length=254)),
                ('telephone', models.CharField(blank=True, max_length=40)),
                ('stands_for_many', models.BooleanField(default=False)),
                ('buyers_named', models.PositiveIntegerField(blank=True, null=True)),
                ('is_active', models.BooleanField(default=True)),
                ('history_id', models.AutoField(primary_key=True, serialize=False)),
                ('history_date', models.DateTimeField(db_index=True)),
                ('history_change_reason', models.CharField(max_length=100, null=True)),
                ('history_type', models.CharField(choices=[('+', 'Created'), ('~', 'Changed'), ('-', 'Deleted')], max_length=1)),
                ('history_user', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name': 'historical customer',
                'verbose_name_plural': 'historical customers',
                'ordering': ('-history_date', '-history_id'),
                'get_latest_by': ('history_date', 'history_id'),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name='Return',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('returned_on', models.DateField()),
                ('reason', models.CharField(max_length=300)),
                ('dispatch', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='returns', to='dispatch.dispatch')),
                ('operation', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='returned', to='ledger.operation')),
            ],
            options={
                'ordering': ['-returned_on', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='WordTakenBack',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
                ('arrival', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='taken_back', to='dispatch.arrival')),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'verbose_name_plural': 'words taken back',
                'ordering': ['pk'],
            },
        ),
        migrations.AddIndex(
            model_name='dispatch',
            index=models.Index(fields=['sent_on', 'id'], name='dispatch_by_day'),
        ),
        migrations.AddConstraint(
            model_name='arrival',
            constraint=models.UniqueConstraint(fields=('dispatch', 'turn'), name='arrival_one_word_a_turn'),
        ),
        migrations.AddConstraint(
            model_name='arrival',
            constraint=models.UniqueConstraint(condition=models.Q(('token', ''), _negated=True), fields=('dispatch', 'token'), name='arrival_once_a_form'),
        ),
        migrations.AddConstraint(
            model_name='return',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='return_says_why', violation_error_message='Say why it came back.'),
        ),
        migrations.AddConstraint(
            model_name='wordtakenback',
            constraint=models.CheckConstraint(condition=models.Q(('reason', ''), _negated=True), name='word_taken_back_says_why', violation_error_message='Say why it is taken back.'),
        ),
    ]
