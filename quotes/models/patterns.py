"""Patterns that are kept, revised and used again."""

import json
from functools import lru_cache
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils import timezone

from quotes.pattern.panels import Pattern
from quotes.pattern.pattern_json import pattern_from


class KeptPattern(models.Model):
    """A pattern by its name; its panels stand in its revisions."""

    LONGEST_NAME = 120

    name = models.CharField(max_length=LONGEST_NAME, unique=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class PatternRevision(models.Model):
    """One state of a pattern, never changed: a new file or a mended corner makes the next revision."""

    pattern = models.ForeignKey(KeptPattern, models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    # The pattern as the JSON pattern file says it (quotes.pattern.pattern_json), in mm.
    document = models.JSONField()
    # The findings of reading it, as plain rows, for the page.
    findings = models.JSONField(default=list)
    source_name = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("pattern", "-number")
        constraints = (models.UniqueConstraint(fields=("pattern", "number"), name="pattern_revision_number_is_unique"),)

    def __str__(self) -> str:
        return f"{self.pattern.name}, revision {self.number}"

    @property
    def panels(self) -> Pattern:
        """The pattern itself; what was kept once is assembled once."""
        return _assembled(json.dumps(self.document))


class PatternHandIn(models.Model):
    """A maker's drawing on the pattern table: read once, said how it is to be taken, kept as a revision or dropped."""

    pattern = models.ForeignKey(KeptPattern, models.CASCADE, null=True, related_name="+")  # None for a new one
    filename = models.CharField(max_length=200)
    token = models.UUIDField(default=uuid4, editable=False)  # under which what was read is remembered in memory
    document = models.JSONField()  # what the file holds (quotes.pattern.table.lying); empty once it was kept
    said = models.JSONField(default=dict)  # what the maker said of it (quotes.pattern.table.said)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    kept_as = models.ForeignKey(PatternRevision, models.CASCADE, null=True, related_name="+")

    def __str__(self) -> str:
        return self.filename


class PatternPhotograph(models.Model):
    """A photograph on the pattern table, small, with what was measured in it. It goes with its hand-in."""

    hand_in = models.ForeignKey(PatternHandIn, models.CASCADE, related_name="photographs")
    name = models.CharField(max_length=200)
    data = models.BinaryField()  # a JPEG, written anew
    document = models.JSONField()  # what was measured where in it (quotes.patterns.photographed)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.name


class PhotographSet(models.Model):
    """Photographs of paper pieces while they are measured, one request a step; then they lie on the pattern table as one hand-in."""

    pattern = models.ForeignKey(KeptPattern, models.CASCADE, null=True, related_name="+")  # None for a new one
    # What the bars of the printed cards measured when the photographs came, in mm.
    cards_along_mm = models.FloatField()
    cards_across_mm = models.FloatField()
    ruler_mm = models.FloatField(null=True)  # from end to end, where the maker laid one in as a check
    refused = models.JSONField(
        default=list
    )  # the findings why those that were measured cannot lie on the table together
    began_at = models.DateTimeField(
        default=timezone.now
    )  # anew where some that were refused are replaced or tried again
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    hand_in = models.ForeignKey(PatternHandIn, models.CASCADE, null=True, related_name="+")  # once all are measured

    def __str__(self) -> str:
        return f"photographs of {self.began_at:%Y-%m-%d %H:%M}"


class PhotographInSet(models.Model):
    """A photograph that is being measured; gone once its set lies on the table."""

    of = models.ForeignKey(PhotographSet, models.CASCADE, related_name="photographs")
    name = models.CharField(max_length=200)
    data = models.BinaryField()  # the file as it came; empty once it is measured or refused
    look = models.JSONField(
        null=True
    )  # what it says of the lens (quotes.patterns.kept_looks), where it is one of several
    reading = models.JSONField(null=True)  # what was measured in it (quotes.patterns.kept_looks)
    shown = models.BinaryField(default=b"")  # what a page shows of it: a JPEG, written anew
    refused = models.JSONField(default=list)  # the findings why it cannot be used

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.name


@lru_cache(maxsize=256)
def _assembled(document: str) -> Pattern:
    return pattern_from(json.loads(document))
