from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def end_what_is_kept(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Nothing is kept again for jobs that were delivered or cancelled before the shelf knew that they are over."""
    over = apps.get_model("studio", "Job").objects.filter(stage__in=["delivered", "cancelled"])
    references = list(over.values_list("reference", flat=True))
    reservations = apps.get_model("inventory", "Reservation").objects
    for first in range(0, len(references), 500):
        reservations.filter(reference__in=references[first : first + 500]).update(state="over")


class Migration(migrations.Migration):
    dependencies = [
        ("studio", "0007_job_cancelled_on"),
        ("inventory", "0008_work_that_is_over"),
    ]

    operations = [
        migrations.RunPython(end_what_is_kept, migrations.RunPython.noop),
    ]
