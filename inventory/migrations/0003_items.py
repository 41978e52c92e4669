"""Materials that were kept before the shelf held stock get their items: one per length, or one."""

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def make_items(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    StockItem = apps.get_model("inventory", "StockItem")
    for material in apps.get_model("inventory", "StockMaterial").objects.all():
        for tenths in material.lengths_tenths_mm or [0]:
            size = f"-{tenths / 10:g}".replace(".", "-") if tenths else ""
            StockItem.objects.get_or_create(
                material=material, size_tenths_mm=tenths, defaults={"code": f"{material.code[:58]}{size}"}
            )


class Migration(migrations.Migration):

    dependencies = [("inventory", "0002_shelf")]

    operations = [migrations.RunPython(make_items, migrations.RunPython.noop)]
