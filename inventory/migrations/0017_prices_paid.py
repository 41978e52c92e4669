import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0016_new_days_of_orders"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="movement",
            name="movement_has_one_direction",
        ),
        migrations.AddField(
            model_name="lot",
            name="charges_minor",
            field=models.BigIntegerField(default=0),
        ),
        migrations.AddField(
            model_name="posting",
            name="corrected_by",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="consequences",
                to="inventory.posting",
            ),
        ),
        migrations.AddField(
            model_name="purchaseorder",
            name="charged_minor",
            field=models.BigIntegerField(default=0),
        ),
        migrations.AlterField(
            model_name="posting",
            name="kind",
            field=models.CharField(
                choices=[
                    ("receipt", "Received"),
                    ("issue", "Issued"),
                    ("return", "Returned"),
                    ("count", "Counted"),
                    ("scrap", "Scrapped"),
                    ("washing", "Washed"),
                    ("splitting", "Split off"),
                    ("correction", "Cost corrected"),
                ],
                max_length=10,
            ),
        ),
        migrations.AddConstraint(
            model_name="movement",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("quantity__gt", 0), ("value_minor__gte", 0)),
                    models.Q(("quantity__lt", 0), ("value_minor__lte", 0)),
                    models.Q(("quantity", 0), models.Q(("value_minor", 0), _negated=True)),
                    _connector="OR",
                ),
                name="movement_has_one_direction",
            ),
        ),
    ]
