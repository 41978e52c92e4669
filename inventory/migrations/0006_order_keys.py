import uuid

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def give_keys(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Each order that is there already gets a key of its own."""
    PurchaseOrder = apps.get_model("inventory", "PurchaseOrder")
    for order in PurchaseOrder.objects.all():
        order.key = uuid.uuid4()
        order.save(update_fields=["key"])


class Migration(migrations.Migration):

    dependencies = [("inventory", "0005_lots_in_the_order_they_are_taken")]

    operations = [
        migrations.RemoveField(model_name="purchaseorder", name="note"),
        migrations.AddField(model_name="purchaseorder", name="key", field=models.UUIDField(null=True)),
        migrations.RunPython(give_keys, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="purchaseorder", name="key", field=models.UUIDField(default=uuid.uuid4, unique=True)
        ),
    ]
