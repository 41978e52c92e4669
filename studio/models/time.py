"""Time at the bench: timers, entries written down, corrections that keep what stood before."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.models.jobs import JobOperation


class TimeEntryQuerySet(models.QuerySet["TimeEntry"]):
    def standing(self) -> "TimeEntryQuerySet":
        """Those that no correction replaces."""
        return self.filter(replaced_by__isnull=True)


class TimeEntry(models.Model):
    """So long at one operation. A running timer has no end; one person runs one at most, on however many devices.

    `cause` is empty for planned work, else why it was done again. A correction adds an entry that replaces this one.
    """

    class Cause(models.TextChoices):
        PLANNED = "", "As planned"
        OWN_SLIP = "own-slip", "Own slip"
        CLOTH_FAULT = "cloth-fault", "Fault in the cloth"
        CLIENT = "client", "Asked for by the client"
        FIT = "fit", "Fit changed"

    operation = models.ForeignKey(JobOperation, models.PROTECT, related_name="entries")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="time_entries")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    day = models.DateField()
    minutes = models.PositiveIntegerField(null=True)  # None while it runs
    cause = models.CharField(max_length=12, choices=Cause, blank=True, default=Cause.PLANNED)
    key = models.UUIDField(unique=True)
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")
    why = models.CharField(max_length=200, blank=True)
    written_at = models.DateTimeField(auto_now_add=True)

    objects = TimeEntryQuerySet.as_manager()

    class Meta:
        ordering = ("started_at", "id")
        constraints = (
            models.UniqueConstraint(fields=("by",), condition=Q(ended_at__isnull=True), name="one_timer_a_person"),
            models.CheckConstraint(
                name="time_entry_is_running_or_over",
                condition=Q(ended_at__isnull=True, minutes__isnull=True)
                | Q(ended_at__gte=F("started_at"), minutes__isnull=False),
            ),
            models.CheckConstraint(name="time_correction_says_why", condition=Q(replaces__isnull=True) | ~Q(why="")),
        )
        indexes = (models.Index(fields=("day",), name="time_by_day"),)

    def __str__(self) -> str:
        return f"{self.minutes} min at {self.operation}"

    @property
    def so_far_min(self) -> float:
        """Its minutes; up to now where it still runs."""
        if self.minutes is not None:
            return self.minutes
        return (timezone.now() - self.started_at).total_seconds() / 60
