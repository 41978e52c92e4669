"""Lays: those that were drawn, and the searches for them."""

from django.conf import settings
from django.db import models
from django.db.models import BooleanField, ExpressionWrapper, Q


class DrawnLay(models.Model):
    """A lay that was searched for once, by the key of its problem, so that the same cut is not searched again."""

    key = models.CharField(max_length=80, unique=True)
    plan = models.JSONField()
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.key


class SearchQuerySet(models.QuerySet["LaySearch"]):
    def under_way(self) -> "SearchQuerySet":
        """Those that wait or run."""
        return self.filter(state__in=LaySearch.UNDER_WAY)

    def in_turn(self) -> "SearchQuerySet":
        """What somebody waits for first, then what idle time is for; each as they came."""
        is_for_idle_time = ExpressionWrapper(Q(asked_by=None), output_field=BooleanField())
        return self.order_by(is_for_idle_time, "created_at", "pk")


class LaySearch(models.Model):
    """A search for a lay in the background: asked for by somebody, or by nobody, in idle time.

    `attempt` counts how often it was taken up and not put back in good order; whoever took it up writes on only while that is
    still the number, so that two never end one search. `wanted_effort` is what was asked for since it was taken up, where that
    is more; else empty. `best_mm` and the shares beside it are of the shortest lay so far, None before the first; where
    remnants may be used, there is no share above what is possible, and `best_mm` is what the roll gives. The problem, its
    pieces called by their numbers, stands here until the search is over.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        STOPPED = "stopped", "Stopped"
        FAILED = "failed", "Failed"

    UNDER_WAY = (State.WAITING, State.RUNNING)

    key = models.CharField(max_length=80, db_index=True)
    problem = models.JSONField(null=True)
    effort = models.CharField(max_length=10)
    wanted_effort = models.CharField(max_length=10, blank=True, default="")
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    attempt = models.PositiveIntegerField(default=0)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    is_stop_asked = models.BooleanField(default=False)
    best_mm = models.FloatField(null=True)
    utilisation_share = models.FloatField(null=True)
    above_bound_share = models.FloatField(null=True)
    created_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True)
    heartbeat_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    objects = SearchQuerySet.as_manager()

    class Meta:
        ordering = ("created_at", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("key",),
                condition=Q(state__in=("waiting", "running")),
                name="lay_search_one_under_way_for_a_lay",
            ),
            models.CheckConstraint(
                name="lay_search_has_its_problem_until_it_is_over",
                condition=Q(state__in=("waiting", "running"), problem__isnull=False, finished_at=None)
                | Q(state__in=("done", "stopped", "failed"), problem__isnull=True, finished_at__isnull=False),
            ),
            models.CheckConstraint(
                name="lay_search_that_runs_shows_life",
                condition=~Q(state="running") | Q(heartbeat_at__isnull=False, started_at__isnull=False),
            ),
        )

    def __str__(self) -> str:
        return f"{self.key}, {self.state}"

    @property
    def is_for_idle_time(self) -> bool:
        """Whether nobody asked for it."""
        return self.asked_by_id is None

    @property
    def is_over(self) -> bool:
        """Whether nothing more comes of it."""
        return self.state not in self.UNDER_WAY
