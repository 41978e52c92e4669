from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0009_cause_of_scrap"),
    ]

    operations = [
        migrations.AddConstraint(
            model_name="posting",
            constraint=models.CheckConstraint(
                condition=models.Q(("cause", ""), ("kind", "scrap"), _connector="OR"),
                name="posting_cause_on_scrap_only",
                violation_error_message="Only scrap has a cause.",
            ),
        ),
    ]
