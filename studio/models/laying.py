"""Lays of several jobs on one cloth: what was asked for, what was drawn, who pays what of it, and when it was cut."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from inventory.models import Lot, StockItem
from studio.models.jobs import Job


class JointSearch(models.Model):
    """A lay of one job or several on one cloth that was asked for; `question` is its `LayQuestion` (studio.laying.kept).

    It stands until it is drawn, whatever becomes of who draws it. `lays` says, by the keys that they are kept by, which lays
    were asked for to draw it from; `attempt` counts how often it was put together in vain. Searched longer, it waits again,
    from `asked_at` on, with more effort; what was drawn stands. `looked_at` is when idle time last drew it up anew.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"

    key = models.CharField(max_length=64, unique=True)
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="+")
    question = models.JSONField()
    effort = models.CharField(max_length=10)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING, db_index=True)
    attempt = models.PositiveIntegerField(default=0)
    lays = models.JSONField(default=dict)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    looked_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("asked_at", "id")

    def __str__(self) -> str:
        return f"Lay of {self.item}, {self.state}"


class JointLay(models.Model):
    """A lay of one job or several on one cloth, as it was drawn; `document` is its `KeptLay` (studio.laying.kept).

    `lot` is the roll, None where none lay there. What was cut off it is said when it is booked, once. A longer search adds
    another one, which takes less; `search` is None for those that were drawn before searches were kept.
    """

    key = models.CharField(max_length=64, unique=True)
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="joint_lays")
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="joint_lays")
    document = models.JSONField()
    search = models.ForeignKey(JointSearch, models.PROTECT, null=True, related_name="drawn")
    drawn_at = models.DateTimeField(auto_now_add=True)
    booked_at = models.DateTimeField(null=True)
    booked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    roll_mm = models.PositiveIntegerField(null=True)

    class Meta:
        ordering = ("-drawn_at", "-id")
        constraints = (
            models.CheckConstraint(
                name="joint_lay_that_is_booked_says_what_was_cut",
                condition=Q(booked_at__isnull=True, roll_mm__isnull=True)
                | Q(booked_at__isnull=False, roll_mm__isnull=False),
            ),
        )

    def __str__(self) -> str:
        return f"Lay {self.pk} of {self.item}"


class JointShare(models.Model):
    """What a job takes of a lay, and what it would take alone, in mm of the roll; `paid_minor` once it is booked."""

    lay = models.ForeignKey(JointLay, models.CASCADE, related_name="shares")
    job = models.ForeignKey(Job, models.PROTECT, related_name="joint_shares")
    place = models.PositiveSmallIntegerField()
    alone_mm = models.PositiveIntegerField()
    takes_mm = models.PositiveIntegerField()
    paid_minor = models.BigIntegerField(null=True)

    class Meta:
        ordering = ("lay", "place")
        constraints = (models.UniqueConstraint(fields=("lay", "job"), name="share_of_a_joint_lay_is_unique"),)

    def __str__(self) -> str:
        return f"{self.job.reference} of {self.lay}"
