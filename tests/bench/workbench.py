"""Speed of a bench with twenty open jobs, in a database file of its own; run by `run.py`."""

import io
import os
import tempfile
from itertools import cycle
from typing import TYPE_CHECKING
from uuid import uuid4

from run import measured, told

if TYPE_CHECKING:
    from django.test import Client as Browser

    from studio.models import Job

JOBS = 20


def timer(browser: "Browser", job: "Job") -> None:
    """From the tap on a timer to the answer, when it is saved: each starts another one and stops the one before."""
    from studio.models import TimeEntry

    addresses = cycle(f"/bench/{job.pk}/operations/{row.pk}/start/" for row in job.operations.all()[:2])
    before = TimeEntry.objects.count()
    runs = 40
    measured(
        "timer, from the tap until it is saved",
        lambda: browser.post(next(addresses), {"key": uuid4()}),
        times=runs,
        asked=0.050,
    )
    assert TimeEntry.objects.count() - before == runs + 1


def pages(browser: "Browser", job: "Job") -> None:
    """Pages of the bench, with their queries."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    for what, path, asked in (
        (f"bench, {JOBS} open jobs", "/bench/", 0.150),
        ("a job's page", f"/bench/{job.pk}/", 0.150),
        ("a job's materials", f"/bench/{job.pk}/materials/", 0.150),
        (f"calendar, {JOBS} open jobs", "/bench/calendar/", 0.300),
    ):
        browser.get(path)  # what is kept on the first visit
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(path).status_code == 200
            queries = len(captured)
        measured(what, lambda path=path: browser.get(path), times=20, asked=asked)
        told(f"queries: {queries}")


def what_if(browser: "Browser", job: "Job") -> None:
    """What a price risks, by itself and as its page."""
    from quotes.pricing.risk import DRAWS
    from quotes.seal.risks import risk_of

    rates = job.revision.snapshot.rates
    measured(
        f"what a price risks, {DRAWS} draws",
        lambda: risk_of(job.option, rates, job.currency, seed=1),
        times=20,
        asked=1.0,
    )
    page = f"/quotes/{job.revision.quote_id}/{job.revision.number}/options/0/risk/"
    assert browser.get(page).status_code == 200
    measured("the page that tells it", lambda: browser.get(page), times=10, asked=1.0)


def main() -> None:
    """Open the jobs and measure."""
    import django

    with tempfile.TemporaryDirectory() as folder:
        os.environ["STUDIO_DATA"] = folder
        # The books of a workroom that keeps them in PostgreSQL are not to be filled.
        os.environ.pop("DATABASE_URL", None)
        django.setup()
        from django.contrib.auth.models import User
        from django.core.management import call_command
        from django.test import Client as Browser
        from django.utils import timezone
        from support_open_jobs import open_jobs

        from quotes.models import QuoteRevision

        call_command("migrate", verbosity=0)
        call_command("demo", stdout=io.StringIO())
        maker = User.objects.get(username="maker")
        browser = Browser(headers={"host": "localhost"})
        browser.force_login(maker)
        accepted = QuoteRevision.objects.filter(state=QuoteRevision.State.ACCEPTED).select_related("quote__client")
        jobs = open_jobs(JOBS, like=accepted.order_by("pk")[0], user=maker, on=timezone.localdate())
        timer(browser, jobs[0])
        pages(browser, jobs[0])
        what_if(browser, jobs[0])


if __name__ == "__main__":
    main()
