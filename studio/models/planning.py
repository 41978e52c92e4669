"""When the maker works, which days were foretold, what was learnt from delivered jobs, and the calendar that others read."""

import secrets
from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from quotes.labour.learning.grounds import GROUNDS, Grounds
from studio.models.jobs import Job
from studio.schedule.day_reasons import DAY_REASONS, DayReasons


class WorkingHours(models.Model):
    """The one row of minutes at the table by weekday, Monday first."""

    minutes_by_weekday = models.JSONField()
    # Hours that were kept before, oldest first: rows of the last day on which they held (ISO 8601) and their minutes.
    earlier = models.JSONField(default=list)

    class Meta:
        constraints = (models.CheckConstraint(name="one_row_of_working_hours", condition=Q(pk=1)),)

    def __str__(self) -> str:
        return "Working hours"


class DayOff(models.Model):
    """Days without work, first and last included."""

    first = models.DateField()
    last = models.DateField()
    words = models.CharField(max_length=80, blank=True)
    # When it was entered: one that was not before its first day was not known in advance. None from before it was kept.
    noted_on = models.DateField(null=True)

    class Meta:
        ordering = ("first",)
        constraints = (
            models.CheckConstraint(
                name="day_off_ends_after_it_begins",
                condition=Q(last__gte=models.F("first")),
                violation_error_message="The last day is not before the first.",
            ),
        )

    def __str__(self) -> str:
        return self.words or f"{self.first} to {self.last}"


class PromisedDay(models.Model):
    """The days that were foretold for a job at a moment, and the day that was agreed for it. Written once.

    Kept when a job is made and whenever its days change, so that they can be judged when it is finished.
    """

    job = models.ForeignKey(Job, models.CASCADE, related_name="promised_days")
    made_at = models.DateTimeField()
    promised = models.DateField(null=True)  # None where no day was agreed with the client
    day_50 = models.DateField()
    day_90 = models.DateField()
    reasons = models.JSONField()  # as DAY_REASONS writes it
    why = models.CharField(max_length=80)

    class Meta:
        ordering = ("made_at", "id")
        constraints = (
            models.CheckConstraint(
                name="sure_day_is_not_before_the_likely_one", condition=Q(day_90__gte=models.F("day_50"))
            ),
        )

    def __str__(self) -> str:
        return f"{self.job}: {self.why}"

    @property
    def grounds(self) -> DayReasons:
        """What it rested on."""
        return DAY_REASONS.read(self.reasons)


def _token() -> str:
    return secrets.token_urlsafe(32)


class CalendarLink(models.Model):
    """A secret address of the calendar; whoever has it may read due dates and fittings until it is revoked."""

    token = models.CharField(max_length=64, unique=True, default=_token)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    revoked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"Link of {self.made_at.day} {self.made_at:%b %Y}"


class LogHabit(models.Model):
    """The one row of how this workroom logs, as it was last learnt: operations that are estimated below so many minutes
    and have no time of their own were mostly logged with the work before them. Without it, none were.
    """

    elsewhere_below_min = models.FloatField()

    class Meta:
        constraints = (models.CheckConstraint(name="one_habit_of_logging", condition=Q(pk=1)),)

    def __str__(self) -> str:
        return f"With others below {self.elsewhere_below_min:g} min"


class LearntChange(models.Model):
    """A change of what is estimated that delivered jobs suggest, with its evidence; the maker takes or refuses it.

    `what` is an operation's code, whose pace would be `value`; or one of the takeoff's losses, which would be `value`; or
    the hours of a piece, whose high would be `value` times their low.
    """

    class Kind(models.TextChoices):
        MINUTES = "minutes", "Minutes"
        LOSS = "loss", "Material"
        RANGE = "range", "Range"

    class State(models.TextChoices):
        OPEN = "open", "Proposed"
        TAKEN = "taken", "Taken"
        REFUSED = "refused", "Refused"

    kind = models.CharField(max_length=8, choices=Kind)
    what = models.CharField(max_length=40)
    value = models.FloatField()
    evidence = models.JSONField()  # as GROUNDS writes it
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    made_at = models.DateTimeField(auto_now_add=True)
    decided_at = models.DateTimeField(null=True)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    # What was taken can be taken back: what stood before it stands again.
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("-id",)
        constraints = (
            models.UniqueConstraint(
                fields=("kind", "what"), condition=Q(state="open"), name="one_open_proposal_of_a_figure"
            ),
        )

    def __str__(self) -> str:
        return f"{self.what}: {self.value:.3g}"

    @property
    def grounds(self) -> Grounds:
        """What it was proposed on."""
        return GROUNDS[self.kind].read(self.evidence)

    @property
    def decided_on(self) -> date:
        """The day on which a decided change was."""
        assert self.decided_at is not None
        return timezone.localdate(self.decided_at)
