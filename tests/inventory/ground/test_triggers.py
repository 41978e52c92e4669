"""Triggers stay where they are through migrations, and their absence is told."""

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import connection

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


def test_each_vendor_has_its_own_words():
    """PostgreSQL takes a function for a trigger; SQLite a block."""
    first = TRIGGERS[0]
    assert "EXECUTE FUNCTION" in first.install_sql("postgresql")[1]
    assert "RAISE(ABORT" in first.install_sql("sqlite")[0]
    assert first.drop_sql("postgresql").endswith(f"ON {first.table}")
