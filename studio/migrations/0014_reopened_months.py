import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps


def drop_guard_that_kept_all_closed(apps: StateApps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Guards are installed by their names after each migration; this one has none that follows it."""
    name, is_postgresql = "closed_month_is_not_opened", schema_editor.connection.vendor == "postgresql"
    schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}" + (" ON studio_closedmonth" if is_postgresql else ""))
    if is_postgresql:
        schema_editor.execute(f"DROP FUNCTION IF EXISTS {name}()")


class Migration(migrations.Migration):

    dependencies = [
        ('studio', '0013_open_money'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ReopenedMonth',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_day', models.DateField()),
                ('closed_at', models.DateTimeField()),
                ('reopened_at', models.DateTimeField()),
                ('why', models.CharField(max_length=160)),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('closed_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('-reopened_at', '-id'),
                'constraints': [models.UniqueConstraint(fields=('first_day', 'closed_at'), name='month_reopened_once_a_closing'), models.CheckConstraint(condition=models.Q(('why', ''), _negated=True), name='reopened_month_has_a_reason')],
            },
        ),
        migrations.RunPython(drop_guard_that_kept_all_closed, migrations.RunPython.noop),
    ]
