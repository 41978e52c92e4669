"""The grid in which bones are counted: a field a length and form, or a coil."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django import forms

from inventory.counting.by_length import BoneGroup
from inventory.ground.findings import Finding
from inventory.ground.measures import quantity_text
from inventory.ground.site.fields import QuantityField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.sure_forms import SureForm
from inventory.ground.units import inches_text
from inventory.models import StockItem, StockMaterial
from inventory.reckoning.slips import count_doubts

__all__ = ["ByLengthForm", "GridRow"]

_FIELD = "counted_"  # before the key of a group


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRow:
    """A group with its field; `book` is empty where the count is blind."""

    material: StockMaterial
    length: str
    inches: str
    form: str
    lot: str
    book: str
    field: forms.BoundField


class ByLengthForm(SureForm):
    """What lies there by length; what is left empty is not counted yet."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)

    def __init__(self, *args: Any, groups: Sequence[BoneGroup], is_blind: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.groups, self.is_blind = groups, is_blind
        for group in groups:
            field = QuantityField(
                stock_unit=group.item.unit, least=0, required=False, label=str(group.item), initial=group.counted
            )
            field.widget.attrs["aria-label"] = f"How many lie there: {group.item}"
            self.fields[_name(group)] = field

    @property
    def rows(self) -> Iterator[GridRow]:
        """The groups with their fields."""
        for group in self.groups:
            item, form = group.item, group.item.bone_form
            assert form is not None
            length = item.size_tenths_mm / 10
            yield GridRow(
                material=item.material,
                length=item.size_words,
                inches=f"{inches_text(length)} in" if length else "",
                form=form.label,
                lot=str(group.lines[0].lot) if not length else "",
                book="" if self.is_blind else quantity_text(group.book, item.unit),
                field=self[_name(group)],
            )

    @property
    def question(self) -> forms.BoundField | None:
        """The tick at what may have a digit too many; None where nothing is asked."""
        asked = [bound for bound in self.visible_fields() if not bound.name.startswith(_FIELD)]
        return asked[0] if asked else None

    @property
    def counts(self) -> dict[int, int]:
        """By the key of a group, what was written down."""
        said = {group.key: self.cleaned_data[_name(group)] for group in self.groups}
        return {key: quantity for key, quantity in said.items() if quantity is not None}

    def without(self, items: set[StockItem]) -> dict[str, str]:
        """What was written down, without what is to be counted again."""
        again = {_name(group) for group in self.groups if group.item in items}
        return {name: self.data.get(name, "") for name in self.fields if name not in again}

    def clean(self) -> Cleaned:
        """What may have a digit too many is asked about."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        doubts: list[Finding] = []
        for group in self.groups:
            counted = cleaned[_name(group)]
            if counted is not None and counted != group.counted:
                doubts += [
                    replace(found, message=f"{group.item}: {found.message}")
                    for found in count_doubts(counted, group.book, group.item.unit)
                ]
        self.ask_unless_sure(doubts, words="Yes, so many")
        return cleaned


def _name(group: BoneGroup) -> str:
    return f"{_FIELD}{group.key}"
