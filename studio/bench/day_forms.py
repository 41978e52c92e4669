"""Forms of the day's close."""

from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone

from inventory.ground.site.fields import DayField
from inventory.ground.site.keyed_forms import Cleaned
from studio.bench.time_forms import SittingForm
from studio.jobs.fields import MinutesField
from studio.models import Job, TimeEntry

__all__ = ["QUICK_MINUTES", "AnswerForm", "PresentForm"]

QUICK_MINUTES = (5, 10, 15, 30, 45, 60)


class AnswerForm(SittingForm):
    """Where the time of checked operations is: so many minutes, written or pressed, or in an entry that stands already."""

    day = DayField()
    minutes = MinutesField(required=False)
    quick = forms.TypedChoiceField(
        choices=[(minutes, minutes) for minutes in QUICK_MINUTES], coerce=int, required=False, empty_value=None
    )
    is_elsewhere = forms.BooleanField(required=False)
    is_undone = forms.BooleanField(required=False)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, operations=job.operations.all(), **kwargs)
        entries = TimeEntry.objects.filter(Q(minutes__gt=0) | Q(ended_at__isnull=True), operation__job=job)
        self.fields["entry"] = forms.ModelChoiceField(entries.with_operations(), required=False)

    def clean(self) -> Cleaned:
        """Take the pressed minutes before the written ones."""
        said: Cleaned = super().clean() or {}
        said["minutes"] = said.get("quick") or said.get("minutes")
        if said.get("is_elsewhere"):
            if said.get("entry") is None and "entry" not in self.errors:
                self.add_error("entry", "Choose the entry that their time is in.")
        elif not said.get("is_undone") and said["minutes"] is None and not self.errors:
            self.add_error("minutes", "Say how long it took, together.")
        return said


class PresentForm(forms.Form):
    """How long somebody was at the bench."""

    minutes = MinutesField(label="All in all", help_text="Minutes, or 7:30; breaks and all.")
    day = DayField(label="Day", initial=timezone.localdate)
