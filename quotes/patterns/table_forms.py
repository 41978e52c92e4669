"""The pattern table's forms: the file, what is said of it, and the name under which it is kept."""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from django import forms

from inventory.ground.site.fields import LengthField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.units import LengthUnit, format_length
from quotes.models import PatternHandIn
from quotes.pattern.cutline import EdgeAllowances
from quotes.pattern.geometry import Point
from quotes.pattern.panels import MOST_PANELS, EdgeName
from quotes.pattern.readers import KINDS
from quotes.pattern.table.look import Look, number_of
from quotes.pattern.table.said import DrawnLine, PieceSaid, Said
from quotes.pattern.taking.taken import TakenOutline
from quotes.patterns.forms import ENDINGS, LEAST_WAIST_MM, FitForm
from quotes.patterns.kept_patterns import free_name

__all__ = ["START_OVER", "THESE_NUMBERS", "HandInForm", "KeepForm", "SaidForm", "shown_waist_mm"]

START_OVER, THESE_NUMBERS = "start-over", "these-numbers"
"""What the buttons of the table ask for beside what its fields say."""
PHOTOGRAPHED = "From photographs"
"""What such a pattern is called until the maker names it."""
WIDEST_MM = 100.0
"""The widest seam allowance that is believed."""
LINES = (
    (DrawnLine.AS_FOUND, "as the drawing shows"),
    (DrawnLine.STITCHING, "the stitching line"),
    (DrawnLine.CUT, "the cut line, allowance with it"),
)
SIDES = (("", "as the seams show"), ("left", "to the left"), ("right", "to the right"))


class HandInForm(forms.Form):
    """The file."""

    file = forms.FileField(
        label="Your drawing",
        help_text=f"{ENDINGS}, up to 20 MB, as your program saves it.",
        widget=forms.ClearableFileInput(attrs={"accept": ",".join(KINDS)}),
    )


def shown_waist_mm(look: Look, index: int) -> float | None:
    """Return the waist's height above the lowest point of the panel that an outline is; None where that is not known."""
    panel = look.panel(number_of(look.taken.outlines[index - 1]))
    return None if panel is None else panel.waist_mm - panel.bounds[0][1]


class SaidForm(forms.Form):
    """Everything that can be said of what lies on the table; what stands as it is shown says nothing new."""

    corners = forms.CharField(required=False, widget=forms.HiddenInput(attrs={"autocomplete": "off"}))
    do = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, look: Look, said: Said, length_unit: LengthUnit) -> None:
        super().__init__(data)
        self.look, self.before, self.length_unit = look, said, length_unit
        self._pieces: list[TakenOutline] = [outline for outline in look.taken.outlines if outline.may_be_panel]
        self._add_choices()
        self._add_allowances()
        numbers = [number_of(outline) for outline in self._pieces]
        most = min(MOST_PANELS, max(len(numbers), *numbers, 2))
        choices = [(0, "left out"), *((number, f"panel {number}") for number in range(1, most + 1))]
        for outline, number in zip(self._pieces, numbers, strict=True):
            self.fields[f"number_{outline.index}"] = forms.TypedChoiceField(
                choices=choices, coerce=int, initial=number, label="It is"
            )
            if number and (waist := shown_waist_mm(look, outline.index)) is not None:
                self.fields[f"waist_{outline.index}"] = self._length("Waist above the bottom", waist, most=3000.0)

    def _add_choices(self) -> None:
        look, said = self.look, self.before
        if look.scales:
            self.fields["scale"] = self._choice(
                "How large it is",
                [(f"{scale.mm_per_unit:.9g}", scale.words) for scale in look.scales],
                f"{look.mm_per_unit:.9g}",
            )
        if look.taken.sizes:
            size = said.size if said.size in look.taken.sizes else ""
            self.fields["size"] = self._choice("Size", [(name, name) for name in look.taken.sizes], size)
        self.fields["line"] = self._choice("The outlines are", list(LINES), said.line)
        self.fields["centre_front"] = self._choice("Centre front lies", list(SIDES), said.centre_front)
        seams = look.pattern.panels_per_half - 1 if look.pattern else 0
        self.fields["ease"] = forms.TypedMultipleChoiceField(
            choices=[(number, f"seam {number}: the difference is meant") for number in range(1, seams + 1)],
            coerce=int,
            initial=list(look.pattern.ease if look.pattern else ()),
            required=False,
            label="Seams with ease",
            widget=forms.CheckboxSelectMultiple,
        )

    def _add_allowances(self) -> None:
        said, drawing = self.before, self.look.drawing
        known = said.allowance_mm if said.allowance_mm is not None or drawing is None else drawing.seam_allowance_mm
        self.fields["allowance"] = self._length("Allowance at every edge", known)
        for edge in EdgeName:
            own = getattr(said.edge_allowances, f"{edge}_mm", None)
            self.fields[f"allowance_{edge}"] = self._length(f"At the {edge} edge", own)

    def _choice(self, label: str, choices: list[tuple[str, str]], initial: str) -> forms.ChoiceField:
        return forms.ChoiceField(
            choices=choices, initial=initial, required=False, label=label, widget=forms.RadioSelect
        )

    def _length(self, label: str, initial: float | None, *, most: float = WIDEST_MM) -> LengthField:
        return LengthField(length_unit=self.length_unit, required=False, most_mm=most, label=label, initial=initial)

    def clean_corners(self) -> dict[int, tuple[Point, Point, Point, Point]]:
        """`outline:x,y;x,y;x,y;x,y` per outline, parted by spaces."""
        picked = {}
        try:
            for part in self.cleaned_data["corners"].split():
                index, _, points = part.partition(":")
                first, second, third, fourth = (
                    (float(x), float(y)) for x, y in (p.split(",") for p in points.split(";"))
                )
                if not all(map(math.isfinite, (*first, *second, *third, *fourth))):
                    raise ValueError
                picked[int(index)] = (first, second, third, fourth)
        except ValueError:
            raise forms.ValidationError("The picked corners cannot be read; pick them again.") from None
        return picked

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        given = [edge for edge in EdgeName if cleaned.get(f"allowance_{edge}") is not None]
        even = cleaned.get("allowance")
        if given and even is None and len(given) < len(EdgeName):
            self.add_error("allowance", "Say the allowance of the other edges too, or one for every edge.")
        return cleaned

    @property
    def said(self) -> Said:
        """What is said now; call after `is_valid`."""
        cleaned, before, look = self.cleaned_data, self.before, self.look
        said = replace(
            before,
            line=DrawnLine(cleaned["line"]),
            centre_front=cleaned["centre_front"],
            ease=tuple(sorted(cleaned["ease"])) if look.pattern else before.ease,
            allowance_mm=cleaned["allowance"] if self._is_changed("allowance") else before.allowance_mm,
            edge_allowances=self._edge_allowances(),
        )
        size = cleaned.get("size") or before.size
        if size != before.size:
            # Other outlines are other pieces.
            return replace(said, size=size, pieces=())
        said = replace(said, pieces=self._said_of_pieces())
        scale = float(cleaned.get("scale") or look.mm_per_unit)
        if f"{scale:.9g}" != f"{look.mm_per_unit:.9g}":
            said = said.at_scale(scale, times=scale / look.mm_per_unit)
        return said

    def _edge_allowances(self) -> EdgeAllowances | None:
        cleaned = self.cleaned_data
        given = {edge: cleaned[f"allowance_{edge}"] for edge in EdgeName}
        if all(width is None for width in given.values()):
            return None
        front, back, top, bottom = (
            cleaned["allowance"] if given[edge] is None else given[edge]
            for edge in (EdgeName.FRONT, EdgeName.BACK, EdgeName.TOP, EdgeName.BOTTOM)
        )
        return EdgeAllowances(front_mm=front, back_mm=back, top_mm=top, bottom_mm=bottom)

    def _said_of_pieces(self) -> tuple[PieceSaid, ...]:
        cleaned, numbers = self.cleaned_data, self._numbers()
        pieces = []
        for outline in self._pieces:
            piece = self.before.of_piece(outline.index)
            if numbers is not None:
                piece = replace(piece, number=numbers[outline.index])
            waist = f"waist_{outline.index}"
            if cleaned.get(waist) is not None and self._is_changed(waist):
                piece = replace(piece, waist_mm=cleaned[waist])
            if outline.index in cleaned["corners"]:
                piece = replace(piece, corners=cleaned["corners"][outline.index])
            if piece != PieceSaid(index=outline.index):
                pieces.append(piece)
        return tuple(pieces)

    def _numbers(self) -> dict[int, int] | None:
        """The number of every piece where one was changed or all are said to be right, else None.

        A piece that is given the number of another gives it its own, unless both halves are drawn.
        """
        shown = {outline.index: number_of(outline) for outline in self._pieces}
        said = {index: self.cleaned_data[f"number_{index}"] for index in shown}
        changed = [index for index in shown if said[index] != shown[index]]
        if not changed and self.cleaned_data["do"] != THESE_NUMBERS:
            return None
        numbers = [number for number in shown.values() if number]
        if len(set(numbers)) < len(numbers):
            return said
        for index in changed:
            others = [other for other in shown if other not in changed and said[other] == said[index] != 0]
            if len(others) == 1:
                said[others[0]] = shown[index]
        return said

    def _is_changed(self, name: str) -> bool:
        """Whether a length is another than the one shown, as far as the page shows it."""
        field = self.fields[name]
        return bool(field.has_changed(field.prepare_value(field.initial), self[name].data))


class KeepForm(FitForm):
    """Under which name what the table shows is kept, and whom it is to fit."""

    name = forms.CharField(max_length=120, label="Name")

    def __init__(
        self,
        data: Any = None,
        *,
        hand_in: PatternHandIn,
        length_unit: LengthUnit,
        is_photographed: bool = False,
        written: Mapping[str, str] | None = None,
    ) -> None:
        """Begin with what was written before, if any; for a photograph ask whether its outlines are right."""
        name = free_name(PHOTOGRAPHED if is_photographed else Path(hand_in.filename).stem)
        super().__init__(
            data,
            initial={"name": name, **(written or {})},
            length_unit=length_unit,
            waist_help=f"From {format_length(LEAST_WAIST_MM, length_unit)}; with the gap it says how much is taken in.",
        )
        if is_photographed:
            self.fields["outlines_lie_right"] = forms.BooleanField(
                label="In every photograph the outlines lie on the edges of the paper",
                error_messages={"required": "Look at each photograph, then say that its outlines lie right."},
            )
            self.fields["keeps_photographs"] = forms.BooleanField(
                label="Keep the photographs with the pattern", required=False
            )
        if hand_in.pattern_id is not None:
            del self.fields["name"]
