import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0010_sittings'),
    ]

    operations = [
        migrations.AddField(
            model_name='dayoff',
            name='noted_on',
            field=models.DateField(null=True),
        ),
        migrations.AddField(
            model_name='workinghours',
            name='earlier',
            field=models.JSONField(default=list),
        ),
        migrations.CreateModel(
            name='PromisedDay',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('made_at', models.DateTimeField()),
                ('promised', models.DateField(null=True)),
                ('day_50', models.DateField()),
                ('day_90', models.DateField()),
                ('reasons', models.JSONField()),
                ('why', models.CharField(max_length=80)),
                ('job', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='promised_days', to='studio.job')),
            ],
            options={
                'ordering': ('made_at', 'id'),
                'constraints': [models.CheckConstraint(condition=models.Q(('day_90__gte', models.F('day_50'))), name='sure_day_is_not_before_the_likely_one')],
            },
        ),
    ]
