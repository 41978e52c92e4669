"""A maker's own spreadsheet on its way in."""

from django.conf import settings
from django.db import models


class ColumnMatching(models.Model):
    """Which column meant what, remembered by the header, so that the next sheet of the kind needs no asking."""

    header_key = models.CharField(max_length=64, unique=True)
    columns = models.JSONField()  # {"field": column number}

    def __str__(self) -> str:
        return self.header_key[:8]


class LearntWord(models.Model):
    """What a maker's own word for a kind means, said once on an import."""

    word = models.CharField(max_length=200, unique=True)  # in small letters with one space between
    kind = models.CharField(max_length=20)
    learnt_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["word"]
        constraints = [models.CheckConstraint(name="learnt_word_says_something", condition=~models.Q(word=""))]

    def __str__(self) -> str:
        return f"{self.word}: {self.kind}"


class ImportSheet(models.Model):
    """A maker's file between the steps: read, its table chosen, matched, looked at and mended, taken in or dropped."""

    filename = models.CharField(max_length=120)
    pages = models.JSONField(default=list)  # {"name", "is_hidden", "rows"}: all that the file holds
    tables = models.JSONField(default=list)  # the tables found in it, the proposed one first
    assumed = models.JSONField(default=list)  # sentences on how the file was read
    table = models.JSONField(default=dict)  # the chosen one
    rows = models.JSONField()  # of the chosen table, header first; a workbook's numbers as numbers, all else as text
    first_row = models.PositiveIntegerField(default=1)  # number of the header's row in the file
    columns = models.JSONField(default=dict)
    choices = models.JSONField(default=dict)  # what the maker said of marks, kinds and rows
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    taken_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.filename
