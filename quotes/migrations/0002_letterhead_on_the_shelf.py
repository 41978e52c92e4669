import django.db.models.deletion
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def carry(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """What the workroom's row said of name, address and currency becomes the shelf's."""
    Shelf = apps.get_model("inventory", "Shelf")
    for room in apps.get_model("quotes", "Workroom").objects.all():
        kept = {"name": room.name, "address": room.address, "currency": room.currency}
        Shelf.objects.update_or_create(pk=1, defaults=kept)


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0003_items'),
        ('quotes', '0001_initial'),
    ]

    operations = [
        migrations.RunPython(carry, migrations.RunPython.noop),
        migrations.RemoveField(
            model_name='workroom',
            name='address',
        ),
        migrations.RemoveField(
            model_name='workroom',
            name='currency',
        ),
        migrations.RemoveField(
            model_name='workroom',
            name='name',
        ),
        migrations.AddField(
            model_name='workroom',
            name='bench_days',
            field=models.PositiveSmallIntegerField(default=28),
        ),
        migrations.AddField(
            model_name='workroom',
            name='lead_weeks',
            field=models.PositiveSmallIntegerField(default=8),
        ),
        migrations.AddField(
            model_name='workroom',
            name='shelf',
            field=models.OneToOneField(default=1, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='inventory.shelf'),
        ),
    ]
