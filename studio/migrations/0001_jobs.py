import django.db.models.deletion
import studio.models.planning
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('quotes', '0002_letterhead_on_the_shelf'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='CalendarLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token', models.CharField(default=studio.models.planning._token, max_length=64, unique=True)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('revoked_at', models.DateTimeField(null=True)),
                ('made_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='ClosedMonth',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_day', models.DateField(unique=True)),
                ('closed_at', models.DateTimeField()),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-first_day',),
            },
        ),
        migrations.CreateModel(
            name='DayOff',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first', models.DateField()),
                ('last', models.DateField()),
                ('words', models.CharField(blank=True, max_length=80)),
            ],
            options={
                'ordering': ('first',),
                'constraints': [models.CheckConstraint(condition=models.Q(('last__gte', models.F('first'))), name='day_off_ends_after_it_begins', violation_error_message='The last day is not before the first.')],
            },
        ),
        migrations.CreateModel(
            name='Job',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reference', models.CharField(max_length=40, unique=True)),
                ('title', models.CharField(max_length=160)),
                ('style', models.CharField(blank=True, max_length=120)),
                ('construction', models.CharField(max_length=120)),
                ('stage', models.CharField(choices=[('accepted', 'Accepted'), ('drafting', 'Drafting'), ('toile', 'Toile'), ('cutting', 'Cutting'), ('sewing', 'Sewing'), ('boning', 'Boning'), ('finishing', 'Finishing'), ('delivered', 'Delivered'), ('cancelled', 'Cancelled')], default='accepted', max_length=10)),
                ('due', models.DateField(null=True)),
                ('promised', models.DateField(null=True)),
                ('position', models.PositiveIntegerField(default=0)),
                ('started_on', models.DateField()),
                ('delivered_on', models.DateField(null=True)),
                ('ended_why', models.CharField(blank=True, max_length=200)),
                ('toile_signed_on', models.DateField(null=True)),
                ('net_minor', models.BigIntegerField(null=True)),
                ('tax_minor', models.BigIntegerField(null=True)),
                ('fee_minor', models.BigIntegerField(null=True)),
                ('discount_minor', models.BigIntegerField(default=0)),
                ('extras_minor', models.BigIntegerField(default=0)),
                ('version', models.PositiveIntegerField(default=1)),
                ('client', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='jobs', to='quotes.client')),
                ('revision', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='job', to='quotes.quoterevision')),
            ],
            options={
                'ordering': ('position', 'id'),
            },
        ),
        migrations.CreateModel(
            name='Fitting',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('toile', 'Toile fitting'), ('boned', 'Boned fitting'), ('final', 'Final fitting')], max_length=10)),
                ('at', models.DateTimeField()),
                ('minutes', models.PositiveSmallIntegerField(default=60)),
                ('notes', models.TextField(blank=True)),
                ('held_on', models.DateField(null=True)),
                ('alterations', models.TextField(blank=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='fittings', to='studio.job')),
            ],
            options={
                'ordering': ('at',),
            },
        ),
        migrations.CreateModel(
            name='ChangeOrder',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(max_length=160)),
                ('net_minor', models.BigIntegerField()),
                ('minutes', models.PositiveIntegerField(default=0)),
                ('agreed_on', models.DateField()),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='changes', to='studio.job')),
            ],
            options={
                'ordering': ('agreed_on', 'id'),
            },
        ),
        migrations.CreateModel(
            name='JobOperation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=20)),
                ('name', models.CharField(max_length=160)),
                ('group', models.CharField(max_length=20)),
                ('place', models.PositiveSmallIntegerField()),
                ('planned_min', models.FloatField()),
                ('estimated_min', models.FloatField()),
                ('done_at', models.DateTimeField(null=True)),
                ('done_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='operations', to='studio.job')),
            ],
            options={
                'ordering': ('job', 'place'),
            },
        ),
        migrations.CreateModel(
            name='JobPhoto',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('photo', models.FileField(upload_to='jobs')),
                ('words', models.CharField(blank=True, max_length=120)),
                ('taken_at', models.DateTimeField(auto_now_add=True)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='photos', to='studio.job')),
            ],
        ),
        migrations.CreateModel(
            name='LearntMinutes',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('operation', models.CharField(max_length=20)),
                ('factor', models.FloatField()),
                ('evidence', models.JSONField()),
                ('state', models.CharField(choices=[('open', 'Proposed'), ('taken', 'Taken'), ('refused', 'Refused')], default='open', max_length=8)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('decided_at', models.DateTimeField(null=True)),
                ('decided_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-id',),
            },
        ),
        migrations.CreateModel(
            name='Payment',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.PositiveIntegerField(unique=True)),
                ('what', models.CharField(choices=[('deposit', 'Deposit'), ('instalment', 'Instalment'), ('balance', 'Balance'), ('refund', 'Paid back')], max_length=10)),
                ('amount_minor', models.BigIntegerField()),
                ('fee_minor', models.PositiveBigIntegerField(default=0)),
                ('day', models.DateField()),
                ('note', models.CharField(blank=True, max_length=160)),
                ('key', models.UUIDField(unique=True)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='payments', to='studio.job')),
            ],
            options={
                'ordering': ('day', 'id'),
            },
        ),
        migrations.CreateModel(
            name='PieceAccount',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('delivered_on', models.DateField()),
                ('currency', models.CharField(max_length=3)),
                ('net_minor', models.BigIntegerField()),
                ('quoted_profit_minor', models.BigIntegerField()),
                ('actual_profit_minor', models.BigIntegerField()),
                ('per_hour_minor', models.BigIntegerField()),
                ('minutes', models.PositiveIntegerField()),
                ('overhead_minor', models.BigIntegerField()),
                ('style', models.CharField(blank=True, max_length=120)),
                ('construction', models.CharField(max_length=120)),
                ('client_name', models.CharField(max_length=120)),
                ('is_under_floor', models.BooleanField(default=False)),
                ('document', models.JSONField()),
                ('frozen_at', models.DateTimeField(null=True)),
                ('job', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='account', to='studio.job')),
            ],
            options={
                'ordering': ('-delivered_on', '-id'),
            },
        ),
        migrations.CreateModel(
            name='SeamPass',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('shell', models.CharField(max_length=60)),
                ('half', models.CharField(max_length=5)),
                ('seam', models.PositiveSmallIntegerField()),
                ('number', models.PositiveSmallIntegerField()),
                ('stitch_mm', models.FloatField(null=True)),
                ('done_at', models.DateTimeField(null=True)),
                ('done_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='seam_passes', to='studio.job')),
            ],
            options={
                'ordering': ('job', 'shell', 'half', 'seam', 'number'),
            },
        ),
        migrations.CreateModel(
            name='TimeEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('started_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(null=True)),
                ('day', models.DateField()),
                ('minutes', models.PositiveIntegerField(null=True)),
                ('cause', models.CharField(blank=True, choices=[('', 'As planned'), ('own-slip', 'Own slip'), ('cloth-fault', 'Fault in the cloth'), ('client', 'Asked for by the client'), ('fit', 'Fit changed')], default='', max_length=12)),
                ('key', models.UUIDField(unique=True)),
                ('why', models.CharField(blank=True, max_length=200)),
                ('written_at', models.DateTimeField(auto_now_add=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='time_entries', to=settings.AUTH_USER_MODEL)),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='studio.joboperation')),
                ('replaces', models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='replaced_by', to='studio.timeentry')),
            ],
            options={
                'ordering': ('started_at', 'id'),
            },
        ),
        migrations.CreateModel(
            name='WorkingHours',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('minutes_by_weekday', models.JSONField()),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='one_row_of_working_hours')],
            },
        ),
        migrations.AddConstraint(
            model_name='job',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('stage', 'delivered'), _negated=True), models.Q(('delivered_on__isnull', False), ('fee_minor__isnull', False), ('net_minor__isnull', False), ('tax_minor__isnull', False)), _connector='OR'), name='delivered_job_is_dated_and_invoiced'),
        ),
        migrations.AddConstraint(
            model_name='joboperation',
            constraint=models.UniqueConstraint(fields=('job', 'code'), name='operation_of_a_job_is_unique'),
        ),
        migrations.AddConstraint(
            model_name='learntminutes',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('operation',), name='one_open_proposal_an_operation'),
        ),
        migrations.AddConstraint(
            model_name='payment',
            constraint=models.CheckConstraint(condition=models.Q(('amount_minor', 0), _negated=True), name='payment_is_of_something'),
        ),
        migrations.AddIndex(
            model_name='pieceaccount',
            index=models.Index(fields=['-delivered_on'], name='accounts_by_day'),
        ),
        migrations.AddConstraint(
            model_name='seampass',
            constraint=models.UniqueConstraint(fields=('job', 'shell', 'half', 'seam', 'number'), name='seam_pass_is_unique'),
        ),
        migrations.AddIndex(
            model_name='timeentry',
            index=models.Index(fields=['day'], name='time_by_day'),
        ),
        migrations.AddConstraint(
            model_name='timeentry',
            constraint=models.UniqueConstraint(condition=models.Q(('ended_at__isnull', True)), fields=('by',), name='one_timer_a_person'),
        ),
        migrations.AddConstraint(
            model_name='timeentry',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('ended_at__isnull', True), ('minutes__isnull', True)), models.Q(('ended_at__gte', models.F('started_at')), ('minutes__isnull', False)), _connector='OR'), name='time_entry_is_running_or_over'),
        ),
        migrations.AddConstraint(
            model_name='timeentry',
            constraint=models.CheckConstraint(condition=models.Q(('replaces__isnull', True), models.Q(('why', ''), _negated=True), _connector='OR'), name='time_correction_says_why'),
        ),
    ]
