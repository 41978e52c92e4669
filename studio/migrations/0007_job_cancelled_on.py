from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps
from django.utils import timezone


def day_of_each(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Jobs that were cancelled before the day was kept take it from their diary."""
    Job, JobNote = apps.get_model("studio", "Job"), apps.get_model("studio", "JobNote")
    for job in Job.objects.filter(stage="cancelled"):
        note = JobNote.objects.filter(job=job, words__startswith="Cancelled: ").order_by("-at").first()
        Job.objects.filter(pk=job.pk).update(cancelled_on=timezone.localdate(note.at) if note else job.started_on)


class Migration(migrations.Migration):
    dependencies = [
        ("studio", "0006_payment_noted_at"),
    ]

    operations = [
        migrations.AddField(
            model_name="job",
            name="cancelled_on",
            field=models.DateField(null=True),
        ),
        migrations.RunPython(day_of_each, migrations.RunPython.noop),
    ]
