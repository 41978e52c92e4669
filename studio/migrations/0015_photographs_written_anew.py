"""Photographs that were kept as they came lose where they were taken, and whatever else stood in their files."""

from typing import Any

from django.core.files.base import ContentFile
from django.db import migrations, transaction
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from inventory.ground.photo_files import photo_file

KEPT = (("studio", "JobPhoto"), ("inventory", "StockMaterial"))


def write_anew(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor | None) -> None:
    """One that is missing or no picture stays what it was. Earlier files go once the new ones stand in the books."""
    for label, name in KEPT:
        for row in apps.get_model(label, name).objects.exclude(photo="").order_by("pk"):
            _write_anew(row)


def _write_anew(row: Any) -> None:
    storage, earlier = row.photo.storage, row.photo.name
    try:
        with row.photo.open("rb") as file:
            name, data = photo_file(file.read())
    except (ValueError, OSError):
        return
    row.photo.save(name, ContentFile(data), save=False)
    row.save(update_fields=["photo"])
    # A file that cannot be deleted keeps no other from being so.
    transaction.on_commit(lambda: storage.delete(earlier), robust=True)


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0014_reopened_months'),
        ('inventory', '0013_colours_and_pictures'),
    ]

    operations = [
        migrations.RunPython(write_anew, migrations.RunPython.noop),
    ]
