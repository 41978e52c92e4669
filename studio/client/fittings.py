"""Use cases of fittings: planned as fixed dates, held with notes and alterations; a toile is signed off at one."""

from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import Finding, refuse
from inventory.ground.wording import day_text
from inventory.shelf.settings import must_have_come
from studio.calendar.days import working_calendar
from studio.jobs.acts import note_down, open_job
from studio.models import Fitting, Job
from studio.schedule.appointments import Appointment, doubts

__all__ = ["call_off_fitting", "doubts_of", "hold_fitting", "move_fitting", "plan_fitting"]


LONGEST = timedelta(hours=10)


def doubts_of(job: Job, *, kind: str, at: datetime, minutes: int, moved: Fitting | None = None) -> tuple[Finding, ...]:
    """Return what speaks against an appointment; nothing does against one that is planned just so already.

    Args:
        moved: the fitting that would be there instead of where it is.
    """
    near = (
        Fitting.objects.filter(at__gt=at - LONGEST, at__lt=at + LONGEST, held_on__isnull=True)
        .exclude(job__stage__in=(Job.Stage.DELIVERED, Job.Stage.CANCELLED))
        .select_related("job")
    )
    if any((other.job_id, other.kind, other.at) == (job.pk, kind, at) for other in near if moved is None):
        return ()
    others = [_appointment(other) for other in near if moved is None or other.pk != moved.pk]
    wanted = Appointment(name=str(job), at=timezone.localtime(at), minutes=minutes)
    return doubts(wanted, others, working_calendar(), today=timezone.localdate())


def _appointment(fitting: Fitting) -> Appointment:
    return Appointment(name=str(fitting), at=timezone.localtime(fitting.at), minutes=fitting.minutes)


@transaction.atomic
def plan_fitting(job: Job, *, kind: str, at: datetime, minutes: int, notes: str = "") -> Fitting:
    """Plan an appointment; the same kind at the same time counts once.

    Raises:
        Refused: a job that is over.
    """
    job = open_job(job.pk)
    return Fitting.objects.get_or_create(job=job, kind=kind, at=at, defaults={"minutes": minutes, "notes": notes})[0]


@transaction.atomic
def move_fitting(fitting: Fitting, *, at: datetime, minutes: int, notes: str, user: User | None) -> None:
    """Put an appointment on another time; the diary keeps the one before.

    Raises:
        Refused: it was held already or called off, or the job is over.
    """
    open_job(fitting.job_id)
    fitting = _as_it_stands(fitting)
    _must_be_ahead(fitting)
    if at != fitting.at:
        note_down(fitting.job, f"{fitting.get_kind_display()} moved from {_when(fitting.at)} to {_when(at)}.", by=user)
    Fitting.objects.filter(pk=fitting.pk).update(at=at, minutes=minutes, notes=notes)


@transaction.atomic
def call_off_fitting(fitting: Fitting, *, user: User | None) -> None:
    """Take an appointment out; the diary keeps that it was planned.

    Raises:
        Refused: it was held already, or called off.
    """
    # Locked, so that of two acts at once the second finds what the first has done.
    Job.objects.select_for_update().get(pk=fitting.job_id)
    fitting = _as_it_stands(fitting)
    _must_be_ahead(fitting)
    note_down(fitting.job, f"{fitting.get_kind_display()} of {_when(fitting.at)} called off.", by=user)
    fitting.delete()


@transaction.atomic
def hold_fitting(
    fitting: Fitting, *, held_on: date, notes: str, alterations: str, signs_toile: bool, user: User | None
) -> None:
    """Note what a fitting found; noting it again puts other words in place.

    Args:
        signs_toile: the client and the maker are content with the toile; the cloth may be cut by it.

    Raises:
        Refused: a day to come, a toile signed off at another fitting than a toile's, a fitting that was called off, or
            a job that is over.
    """
    job = open_job(fitting.job_id)
    fitting = _as_it_stands(fitting)
    must_have_come(held_on, "fitting.day", "Note it when it was held.")
    if signs_toile and fitting.kind != Fitting.Kind.TOILE:
        raise refuse("fitting.no-toile", str(fitting), "A toile is signed off at its own fitting.")
    Fitting.objects.filter(pk=fitting.pk).update(held_on=held_on, notes=notes, alterations=alterations)
    if signs_toile and job.toile_signed_on != held_on:
        _sign_toile(job, held_on, user)
    elif not signs_toile and fitting.held_on is not None and job.toile_signed_on == fitting.held_on:
        _sign_toile(job, None, user)


def _sign_toile(job: Job, on: date | None, user: User | None) -> None:
    Job.objects.filter(pk=job.pk).update(toile_signed_on=on)
    words = "The toile's sign-off was taken back." if on is None else f"Toile signed off on {day_text(on)}."
    note_down(job, words, by=user)


def _as_it_stands(fitting: Fitting) -> Fitting:
    """The fitting as it stands now, under the lock of its job."""
    current = Fitting.objects.select_related("job").filter(pk=fitting.pk).first()
    if current is None:
        raise refuse("fitting.gone", str(fitting), "This fitting was called off.", "Plan another one.")
    return current


def _must_be_ahead(fitting: Fitting) -> None:
    if fitting.held_on is not None:
        raise refuse("fitting.held", str(fitting), f"It was held on {day_text(fitting.held_on)}.", "Plan another one.")


def _when(at: datetime) -> str:
    local = timezone.localtime(at)
    return f"{day_text(local.date())}, {local:%H:%M}"
