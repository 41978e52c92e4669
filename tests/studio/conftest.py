"""What tests of the workroom begin with, besides the books."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from support_bench import new_job
from support_states import kept_states

from quotes.models import PatternRevision
from studio.models import Job


@pytest.fixture
def open_job(books: User, pattern: PatternRevision, two_layers: dict[str, Any]) -> Job:
    """A job just accepted, nothing done on it yet."""
    return Job.objects.get() if kept_states.holds("open_job") else new_job(books, pattern, two_layers)


@pytest.fixture
def job(open_job: Job) -> Job:
    """The open job; a room that asks after delivered work puts its own delivered job in this place."""
    return open_job
