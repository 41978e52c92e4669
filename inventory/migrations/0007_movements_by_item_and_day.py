from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0006_order_keys'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='movement',
            index=models.Index(fields=['item', 'day'], name='movements_by_item_and_day'),
        ),
    ]
