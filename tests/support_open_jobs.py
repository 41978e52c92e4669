"""Many open jobs on the bench, all of one accepted quote: made as the site makes them, one after another."""

from datetime import date, timedelta

from django.contrib.auth.models import User
from django.utils import timezone

from quotes.models import Quote, QuoteRevision
from quotes.needs.reserving import keep_firmly
from quotes.workroom.settings import workroom
from studio.bench.job_making import make_job
from studio.models import Job

__all__ = ["open_jobs"]


def open_jobs(count: int, *, like: QuoteRevision, user: User, on: date) -> list[Job]:
    """Add so many jobs of quotes `like` an accepted one, each wanted a week after the one before it."""
    last = Quote.objects.order_by("-number").values_list("number", flat=True)[0]
    jobs = []
    for place in range(1, count + 1):
        due = on + timedelta(weeks=3 + place)
        quote = like.quote.client.quotes.create(number=last + place, title=f"{like.quote.title} {place}", due=due)
        revision = QuoteRevision.objects.create(
            quote=quote,
            number=1,
            state=QuoteRevision.State.ACCEPTED,
            pattern_id=like.pattern_id,
            inputs=like.inputs,
            figures=like.figures,
            schema_version=like.schema_version,
            currency=like.currency,
            price_minor=like.price_minor,
            fingerprint=like.fingerprint,
            sent_at=timezone.now(),
            decided_at=timezone.now(),
            valid_until=on,
            accepted_option=like.accepted_option,
        )
        keep_firmly(revision, workroom(), on=on)
        jobs.append(make_job(revision, user=user, on=on))
    return jobs
