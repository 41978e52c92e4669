"""Triggers stay where they are through migrations, and their absence is told."""

import errno

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from support_commands import run

from inventory.ground.site.triggers import missing_guards, put_guards_back
from quotes.guards import TRIGGERS


def installed() -> set[str]:
    table, column = ("pg_trigger", "tgname") if connection.vendor == "postgresql" else ("sqlite_master", "name")
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM {table}")
        return {row[0] for row in cursor.fetchall()}


@pytest.mark.django_db
def test_they_are_there_after_migrate_and_again_after_another():
    names = {trigger.name for trigger in TRIGGERS}
    assert names <= installed()
    call_command("migrate", verbosity=0)
    assert names <= installed()


@pytest.mark.django_db
def test_a_missing_one_is_told_by_the_system_check():
    with connection.cursor() as cursor:
        cursor.execute(TRIGGERS[0].drop_sql(connection.vendor))
    with pytest.raises(SystemCheckError, match=TRIGGERS[0].name):
        call_command("check", databases=["default"], fail_level="WARNING")


@pytest.mark.django_db
def test_audit_names_one_that_is_missing_and_says_no_more_otherwise():
    whole = run("audit")
    assert whole[0] == 0
    assert whole[1]["differences"] == []
    with connection.cursor() as cursor:
        cursor.execute(TRIGGERS[0].drop_sql(connection.vendor))
    left, document = run("audit")
    assert left == 1
    (difference,) = document["differences"]
    assert difference["row"] == f"guard {TRIGGERS[0].name}"
    assert document["checked"] == whole[1]["checked"]
    put_guards_back()
    assert run("audit") == whole


@pytest.mark.django_db
def test_they_are_put_back_after_a_migration_that_failed(monkeypatch: pytest.MonkeyPatch):
    """The migration fails in its middle, after the guards were taken down for it."""
    seen: list[set[str]] = []

    def fails(*args: object, **kwargs: object) -> None:
        seen.append({trigger.name for trigger in TRIGGERS} & installed())
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(MigrationExecutor, "migrate", fails)
    with pytest.raises(SystemExit) as left:
        call_command("migrate", verbosity=0)
    assert left.value.code == 1
    assert seen == [set()]
    assert missing_guards() == []


@pytest.mark.django_db
def test_a_database_of_a_newer_program_is_not_migrated(capsys: pytest.CaptureFixture[str]):
    MigrationRecorder(connection).record_applied("quotes", "9999_of_later")
    with pytest.raises(SystemExit):
        call_command("migrate", verbosity=0)
    assert "newer version of this program: it has quotes.9999_of_later. Start that version" in capsys.readouterr().err
    assert missing_guards() == []


def test_each_vendor_has_its_own_words():
    """PostgreSQL takes a function for a trigger; SQLite a block."""
    first = TRIGGERS[0]
    assert "EXECUTE FUNCTION" in first.install_sql("postgresql")[1]
    assert "RAISE(ABORT" in first.install_sql("sqlite")[0]
    assert first.drop_sql("postgresql").endswith(f"ON {first.table}")
