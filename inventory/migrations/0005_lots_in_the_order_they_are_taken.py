from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0004_closed_until'),
    ]

    operations = [
        migrations.AlterModelOptions(
            name='lot',
            options={'ordering': ('-is_open', 'received_on', 'id')},
        ),
    ]
