from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0002_letterhead_on_the_shelf'),
    ]

    operations = [
        migrations.AddField(
            model_name='workroom',
            name='losses',
            field=models.JSONField(default=dict),
        ),
    ]
