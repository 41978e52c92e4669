from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps

ROLES = {
    "FIT": "fitting",
    "CUT": "cutting",
    "SEW1": "first-pass",
    "SEW2": "later-passes",
    "TAPE": "waist-tape",
    "CHAN": "channels",
    "CASE": "channels",
    "GROM": "grommets",
    "BINDM": "binding",
    "HAND": "hand-over",
    "CLOSE": "closing",
}
"""What the shipped operations were to the bench and the calendar, told by their codes until now."""


def role_of_each(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Operations of jobs that were made before operations had roles take that of their code."""
    operations = apps.get_model("studio", "JobOperation").objects
    for code, role in ROLES.items():
        operations.filter(code=code).update(role=role)


class Migration(migrations.Migration):
    dependencies = [
        ("studio", "0008_nothing_kept_for_jobs_that_are_over"),
    ]

    operations = [
        migrations.AddField(
            model_name="joboperation",
            name="role",
            field=models.CharField(blank=True, default="", max_length=20),
        ),
        migrations.RunPython(role_of_each, migrations.RunPython.noop),
    ]
