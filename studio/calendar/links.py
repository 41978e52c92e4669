"""Use cases of the calendar feed: secret links, made and revoked; what whoever has one may read."""

import logging
from datetime import datetime

from django.contrib.auth.models import User
from django.db.models import Max, QuerySet
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from studio.models import CalendarLink, Fitting, Job, JobNote
from studio.schedule.feed import Event, feed

__all__ = ["calendar_feed", "link_of", "links", "make_link", "revoke_link"]

logger = logging.getLogger(__name__)

NAME = "Staymaker's Daybook"


def links() -> QuerySet[CalendarLink]:
    """Return the links that open the feed, oldest first."""
    return CalendarLink.objects.filter(revoked_at__isnull=True).order_by("made_at", "pk")


def make_link(user: User) -> CalendarLink:
    """Make a link that nobody can guess."""
    made = CalendarLink.objects.create(made_by=user)
    logger.info("Made calendar link=%s", made.pk)
    return made


def revoke_link(link: CalendarLink) -> None:
    """Let a link open nothing from now on; revoking it again changes nothing."""
    CalendarLink.objects.filter(pk=link.pk, revoked_at__isnull=True).update(revoked_at=timezone.now())
    logger.info("Revoked calendar link=%s", link.pk)


def link_of(token: str) -> CalendarLink | None:
    """Return the link of a token; None for one that is unknown or revoked.

    All of them are compared, each in constant time, so that how long it takes tells nothing.
    """
    known = [link for link in links() if constant_time_compare(link.token, token)]
    return known[0] if known else None


def calendar_feed() -> bytes:
    """Return due dates and fittings of the open jobs as iCalendar; pieces are named by number and title, not by client."""
    events = []
    jobs = Job.objects.open().prefetch_related("fittings")
    noted = dict(JobNote.objects.filter(job__in=jobs).order_by().values_list("job").annotate(last=Max("at")))
    now = timezone.now()
    for job in jobs:
        updated = noted.get(job.pk, now)
        for kind, day in (("due", job.due), ("promised", job.promised)):
            if day is not None:
                events.append(
                    Event(uid=f"job-{job.pk}-{kind}@daybook", when=day, title=f"{job}: {kind}", updated=updated)
                )
        events += [_event(fitting, job, updated) for fitting in job.fittings.all()]
    return feed(events, name=NAME, stamp=now)


def _event(fitting: Fitting, job: Job, updated: datetime) -> Event:
    return Event(
        uid=f"fitting-{fitting.pk}@daybook",
        when=fitting.at,
        title=f"{fitting.get_kind_display()}: {job}",
        updated=updated,
        minutes=fitting.minutes,
    )
