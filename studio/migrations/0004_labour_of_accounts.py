from decimal import Decimal

from django.db import migrations, models
from django.db.models.fields.json import KT

from inventory.money import currency_of


def fill(apps, schema_editor):
    """Labour as each account worked it out; what an account holds besides stays as it is."""
    rows = apps.get_model('studio', 'PieceAccount').objects
    for pk, code, labour in rows.values_list('pk', 'currency', KT('document__account__labour')).iterator(chunk_size=500):
        rows.filter(pk=pk).update(labour_minor=currency_of(code).to_minor(Decimal(labour)))


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0003_learnt_changes'),
    ]

    operations = [
        migrations.AddField(
            model_name='pieceaccount',
            name='labour_minor',
            field=models.BigIntegerField(default=0),
            preserve_default=False,
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
    ]
