from decimal import Decimal

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

from inventory.ground.money import currency_of


def price_of_each(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """The price that the client saw, from the figures, which stay as they are."""
    QuoteRevision = apps.get_model("quotes", "QuoteRevision")
    for revision in QuoteRevision.objects.only("figures", "accepted_option").iterator(chunk_size=100):
        quotation = revision.figures["quotation"]
        prices = {option["name"]: option["gross"] for option in reversed(quotation["options"])}
        price = prices.get(revision.accepted_option) or quotation["options"][0]["gross"]
        QuoteRevision.objects.filter(pk=revision.pk).update(
            currency=quotation["currency"], price_minor=currency_of(quotation["currency"]).to_minor(Decimal(price))
        )


class Migration(migrations.Migration):
    dependencies = [
        ("quotes", "0003_losses"),
    ]

    operations = [
        migrations.AddField(
            model_name="quoterevision",
            name="currency",
            field=models.CharField(default="", max_length=3),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="quoterevision",
            name="price_minor",
            field=models.BigIntegerField(default=0),
            preserve_default=False,
        ),
        migrations.RunPython(price_of_each, migrations.RunPython.noop),
    ]
