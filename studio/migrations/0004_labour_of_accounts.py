from decimal import Decimal

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from inventory.ground.money import currency_of


def from_documents(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    rows = apps.get_model("studio", "PieceAccount").objects
    for row in rows.only("currency", "document").iterator(chunk_size=200):
        labour = currency_of(row.currency).to_minor(Decimal(row.document["account"]["labour"]))
        rows.filter(pk=row.pk).update(labour_minor=labour)


class Migration(migrations.Migration):

    dependencies = [
        ("studio", "0003_learnt_changes"),
    ]

    operations = [
        migrations.AddField(
            model_name="pieceaccount",
            name="labour_minor",
            field=models.BigIntegerField(default=0),
            preserve_default=False,
        ),
        migrations.RunPython(from_documents, migrations.RunPython.noop),
    ]
