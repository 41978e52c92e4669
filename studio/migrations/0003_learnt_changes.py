from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0002_job_notes'),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name='learntminutes',
            name='one_open_proposal_an_operation',
        ),
        migrations.RenameModel(
            old_name='LearntMinutes',
            new_name='LearntChange',
        ),
        migrations.RenameField(
            model_name='learntchange',
            old_name='operation',
            new_name='what',
        ),
        migrations.RenameField(
            model_name='learntchange',
            old_name='factor',
            new_name='value',
        ),
        migrations.AlterField(
            model_name='learntchange',
            name='what',
            field=models.CharField(max_length=40),
        ),
        migrations.AddField(
            model_name='learntchange',
            name='kind',
            field=models.CharField(choices=[('minutes', 'Minutes'), ('loss', 'Material')], default='minutes', max_length=8),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            model_name='learntchange',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'open')), fields=('kind', 'what'), name='one_open_proposal_of_a_figure'),
        ),
    ]
