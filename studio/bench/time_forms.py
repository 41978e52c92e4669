"""Forms of time at the bench, each with the key that makes a double click count once."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils import timezone

from inventory.ground.site.fields import DayField
from inventory.ground.site.keyed_forms import KeyForm
from studio.jobs.fields import MinutesField
from studio.models import JobOperation, TimeEntry

__all__ = ["CorrectForm", "OperationsField", "SittingForm", "StartForm", "StopForm", "WriteForm"]


class OperationsField(forms.TypedMultipleChoiceField):
    """Operations of a job to be checked; hands over their rows in the order of the work."""

    def __init__(self, operations: Iterable[JobOperation], **kwargs: Any) -> None:
        by_pk = {str(operation.pk): operation for operation in operations}
        super().__init__(
            choices=[(pk, operation.name) for pk, operation in by_pk.items()],
            coerce=by_pk.__getitem__,
            widget=forms.CheckboxSelectMultiple,
            **kwargs,
        )

    def clean(self, value: Any) -> list[JobOperation]:
        return sorted(super().clean(value), key=lambda operation: operation.place)


class SittingForm(KeyForm):
    """Says at which operations time is spent."""

    words = "Operations"

    def __init__(
        self, *args: Any, operations: Iterable[JobOperation], must_choose: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["operations"] = OperationsField(operations, label=self.words, required=must_choose)


class StartForm(SittingForm):
    """Starts a timer at an operation, for planned work or to do it again; `operations` are others beside it."""

    words = "Others in the same sitting"
    cause = forms.ChoiceField(choices=TimeEntry.Cause.choices, required=False, label="Why it is done")


class StopForm(forms.Form):
    """Stops the timer that the page showed."""

    entry = forms.IntegerField(min_value=1)


class WriteForm(StartForm):
    """Time that no timer took."""

    field_order = ("key", "day", "minutes", "cause")
    day = DayField(label="Day", initial=timezone.localdate)
    minutes = MinutesField(label="How long", help_text="Minutes, or 1:35.")
    cause = forms.ChoiceField(choices=TimeEntry.Cause.choices, required=False, label="Why it was done")


class CorrectForm(WriteForm):
    """Another figure in place of an entry; `operations` are all that it was worked at."""

    words = "Worked at"
    why = forms.CharField(max_length=200, label="What was wrong")

    def __init__(self, *args: Any, entry: TimeEntry, **kwargs: Any) -> None:
        worked_at = [operation.pk for operation in entry.worked_operations()]
        kwargs["initial"] = {"day": entry.day, "minutes": entry.minutes, "cause": entry.cause, "operations": worked_at}
        super().__init__(*args, **kwargs)
        self.fields["minutes"].help_text = "Minutes, or 1:35. 0 strikes it out."
