from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0003_items'),
    ]

    operations = [
        migrations.AddField(
            model_name='shelf',
            name='closed_until',
            field=models.DateField(blank=True, null=True),
        ),
    ]
