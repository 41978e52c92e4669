from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

CAUSES = ("own-slip", "cloth-fault", "client", "fit")
"""The causes that scrap could have until now; its words began with one."""


def cause_of_each(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Scrap that was posted before the cause had a field of its own takes it from its words, which stay as they are."""
    scrap = apps.get_model("inventory", "Posting").objects.filter(kind="scrap")
    for cause in CAUSES:
        # SQLite compares beginnings without regard to capitals, an expression with it.
        scrap.filter(why__regex=f"^{cause}(:|$)").update(cause=cause)


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0008_work_that_is_over"),
    ]

    operations = [
        migrations.AddField(
            model_name="posting",
            name="cause",
            field=models.CharField(blank=True, default="", max_length=20),
        ),
        migrations.RunPython(cause_of_each, migrations.RunPython.noop),
    ]
