import uuid

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def give_keys(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Each quote that is there already gets a key of its own."""
    Quote = apps.get_model("quotes", "Quote")
    quotes = list(Quote.objects.all())
    for quote in quotes:
        quote.key = uuid.uuid4()
    Quote.objects.bulk_update(quotes, ["key"], batch_size=500)


class Migration(migrations.Migration):

    dependencies = [("quotes", "0006_offer_links")]

    operations = [
        migrations.AddField(model_name="quote", name="key", field=models.UUIDField(null=True)),
        migrations.RunPython(give_keys, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="quote",
            name="key",
            field=models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
        ),
    ]
