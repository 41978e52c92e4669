"""What needs a hand today, of the bench: fittings, near or passed days, what is to be collected, quotes that could begin."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.db.models import Q
from django.utils import timezone

from inventory.ground.wording import day_text, minor_text
from quotes.models import QuoteRevision
from studio.bench.bench_page import RunningRow, could_begin, running_row
from studio.bench.day_close import unanswered
from studio.jobs.wording import moment_text
from studio.models import Fitting, Job
from studio.money.bills import OpenJob, open_jobs
from studio.money.wording import since_text

__all__ = ["BenchToday", "bench_today"]

SOON_DAYS = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchToday:
    """Empty lists are left out of the page.

    Attributes:
        running: the timer that the reader runs.
        fittings: planned within a week, or passed without a word, with when; the last says that its day has passed.
        due: jobs that are promised, else wanted, within a week or before today, with the day; the last says it is late.
        to_collect: delivered and not paid, the oldest first, with the amount and since when.
        could_begin: accepted quotes without a job.
        untimed: how many operations the reader ticked without time.
    """

    running: RunningRow | None
    fittings: list[tuple[Fitting, str, bool]]
    due: list[tuple[Job, str, bool]]
    to_collect: list[tuple[OpenJob, str, str]]
    could_begin: list[QuoteRevision]
    untimed: int


def bench_today(*, user: User, on: date) -> BenchToday:
    """Return what waits at the bench on a day, for one person."""
    soon = on + timedelta(days=SOON_DAYS)
    jobs = Job.objects.open().select_related("client")
    planned = Fitting.objects.filter(job__in=Job.objects.open(), held_on=None).select_related("job__client")
    days = [(timezone.localdate(fitting.at), fitting) for fitting in planned.order_by("at")]
    due = jobs.filter(Q(promised__lte=soon) | Q(promised=None, due__lte=soon))
    dated = sorted(((job.promised or job.due or soon, job) for job in due), key=lambda pair: (pair[0], pair[1].pk))
    return BenchToday(
        running=running_row(user),
        fittings=[(fitting, moment_text(fitting.at), day < on) for day, fitting in days if day <= soon],
        due=[(job, f"{'promised' if job.promised else 'wanted'} {day_text(day)}", day < on) for day, job in dated],
        to_collect=[
            (job, minor_text(job.due_minor, job.currency), since_text(job.since, on=on))
            for job in open_jobs(Job.objects.filter(stage=Job.Stage.DELIVERED))
            if job.due_minor
        ],
        could_begin=could_begin(),
        untimed=sum(len(group.operations) for group in unanswered(user)),
    )
