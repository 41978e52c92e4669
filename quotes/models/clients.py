"""Clients, their measurements, and what they said about their health in confidence."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from quotes.languages.catalogue import LANGUAGES


class Client(models.Model):
    """Who a piece is made for."""

    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    # The language that offers and receipts are written in; empty for the workroom's own.
    language = models.CharField(max_length=2, choices=list(LANGUAGES.items()), blank=True)
    notes = models.TextField(blank=True)
    may_photograph = models.BooleanField("photographs agreed", default=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("name", "id")

    def __str__(self) -> str:
        return self.name


class HealthNote(models.Model):
    """A client's answers about their health, kept apart from everything else and erased on its own."""

    client = models.OneToOneField(Client, models.CASCADE, related_name="health_note")
    answers = models.TextField()
    changed_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"Health note {self.pk}"


class MeasurementSet(models.Model):
    """All measures of a client on one day. `unit` is the one they were written in."""

    client = models.ForeignKey(Client, models.CASCADE, related_name="measurement_sets")
    taken_on = models.DateField()
    unit = models.CharField(max_length=2, choices=[("mm", "mm"), ("cm", "cm"), ("in", "inches")], default="cm")
    notes = models.TextField(blank=True)
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("client", "-taken_on", "-id")

    def __str__(self) -> str:
        return f"{self.client.name}, {self.taken_on}"

    @property
    def takes_mm(self) -> dict[str, list[float]]:
        """The takes of each measure by its code, mm."""
        return {measure.code: [take / 10 for take in measure.takes_tenths_mm] for measure in self.measures.all()}


class Measure(models.Model):
    """One measure, taken up to three times; lengths in tenths of a millimetre, exact for 1/8 in and less."""

    measurement_set = models.ForeignKey(MeasurementSet, models.CASCADE, related_name="measures")
    code = models.SlugField(max_length=40)
    takes_tenths_mm = models.JSONField()

    class Meta:
        ordering = ("id",)
        constraints = (
            models.UniqueConstraint(fields=("measurement_set", "code"), name="measure_is_there_once_in_its_set"),
            models.CheckConstraint(name="measure_has_a_code", condition=~Q(code="")),
        )

    def __str__(self) -> str:
        return self.code
