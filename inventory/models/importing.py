"""A maker's own spreadsheet on its way in."""

from django.conf import settings
from django.db import models


class ColumnMatching(models.Model):
    """Which column meant what, remembered by the header, so that the next sheet of the kind needs no asking."""

    header_key = models.CharField(max_length=64, unique=True)
    columns = models.JSONField()  # {"field": column number}

    def __str__(self) -> str:
        return self.header_key[:8]


class ImportSheet(models.Model):
    """The rows of a sheet between the steps: read, matched, looked at, taken in or dropped."""

    filename = models.CharField(max_length=120)
    rows = models.JSONField()  # header first, all cells as text
    first_row = models.PositiveIntegerField(default=1)  # number of the header's row in the file
    columns = models.JSONField(default=dict)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, null=True, related_name="+")
    taken_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.filename
