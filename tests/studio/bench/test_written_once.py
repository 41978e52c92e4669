"""Payments, logged time, diaries and foretold days are added to and never changed: the database itself refuses, whoever writes to it.

Nothing outside is compared with: what the database was told to refuse is tried.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone
from support_bench import new_job, operation, pay

from quotes.models import PatternRevision
from studio.bench import timing
from studio.jobs.acts import note_down
from studio.models import Job, TimeEntry

TABLES = ["studio_payment", "studio_timeentry", "studio_alsoworked", "studio_jobnote", "studio_promisedday"]
WORDS = "never changed"


@pytest.fixture
def job(books: User, pattern: PatternRevision, two_layers: dict) -> Job:
    """A job with a payment, an hour at two operations, a line in its diary and the days that were foretold."""
    made = new_job(books, pattern, two_layers)
    pay(made, 4000, books)
    entry = timing.write_down(operation(made, "CUT"), user=books, key=uuid4(), day=timezone.localdate(), minutes=60)
    entry.also.create(operation=operation(made, "PREP"))
    note_down(made, "The busk comes from the old piece.", by=books)
    return made


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_a_row_that_was_written_is_neither_changed_nor_deleted(job: Job, table: str, statement: str):
    with pytest.raises(DatabaseError, match=WORDS), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement.format(table))


@pytest.mark.parametrize("table", TABLES)
def test_a_row_is_not_replaced_either(job: Job, table: str):
    """SQLite's REPLACE is a way of its own to delete; PostgreSQL has no such statement."""
    if connection.vendor == "sqlite":
        with pytest.raises(IntegrityError, match=WORDS), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"REPLACE INTO {table} SELECT * FROM {table}")


@pytest.mark.parametrize(
    "change",
    [
        {"started_at": timezone.now() - timedelta(days=1)},
        {"cause": "fit"},
        {"day": timezone.localdate() - timedelta(days=1)},
        {"key": uuid4()},
    ],
)
def test_a_running_timer_is_stopped_and_nothing_else_of_it_changes(job: Job, books: User, change: dict[str, object]):
    running = timing.start(operation(job, "PIN"), user=books, key=uuid4())
    with pytest.raises(DatabaseError, match=WORDS), transaction.atomic():
        TimeEntry.objects.filter(pk=running.pk).update(**change)
    with pytest.raises(DatabaseError, match=WORDS), transaction.atomic():
        running.delete()
    stopped = timing.stop(user=books)
    assert stopped is not None
    with pytest.raises(DatabaseError, match=WORDS), transaction.atomic():
        TimeEntry.objects.filter(pk=running.pk).update(ended_at=timezone.now(), minutes=1)
    corrected = timing.correct(stopped, user=books, key=uuid4(), day=stopped.day, minutes=7, why="the bell rang")
    assert corrected.replaces == stopped
