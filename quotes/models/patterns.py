"""Patterns that are kept, revised and used again."""

import json
from functools import lru_cache

from django.conf import settings
from django.db import models

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


@lru_cache(maxsize=256)
def _assembled(document: str) -> Pattern:
    return pattern_from(json.loads(document))
