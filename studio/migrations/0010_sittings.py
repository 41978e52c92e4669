import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0009_role_of_operations'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='AlsoWorked',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='also', to='studio.timeentry')),
                ('operation', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='also_in', to='studio.joboperation')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('entry', 'operation'), name='operation_once_in_a_sitting')],
            },
        ),
        migrations.CreateModel(
            name='DayPresent',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('minutes', models.PositiveSmallIntegerField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='days_present', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('day', 'by'), name='one_presence_a_day_and_person'), models.CheckConstraint(condition=models.Q(('minutes__gt', 0), ('minutes__lte', 1440)), name='presence_fits_a_day')],
            },
        ),
    ]
