"""Forms and choices of one table's rows that say for types whose rows they are: `RowForm[Supplier]`."""

from typing import TYPE_CHECKING

__all__ = ["RowChoice", "RowForm"]

if TYPE_CHECKING:
    from django.forms import ModelChoiceField as RowChoice
    from django.forms import ModelForm as RowForm
else:
    # Django's own take no type in brackets at run time.
    from django import forms

    class _OfRows:
        def __class_getitem__(cls, row):
            return cls

    class RowForm(_OfRows, forms.ModelForm):
        """A form of one row."""

    class RowChoice(_OfRows, forms.ModelChoiceField):
        """A choice among rows."""
