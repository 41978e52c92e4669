"""Handing in a pattern: a file, or the measures for an estimating block."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from inventory.ground.site.fields import FieldRow, LengthField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.units import LengthUnit, format_length
from inventory.ground.wording import percent_text
from quotes.defaults import desk_defaults
from quotes.models import KeptPattern
from quotes.pattern.block import Block, Level
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.fit import proposed_reduction_mm
from quotes.pattern.panels import FEWEST_PANELS, MOST_PANELS
from quotes.pattern.readers import KINDS

__all__ = ["ENDINGS", "LEAST_WAIST_MM", "BlockForm", "FitForm", "PatternFileForm"]


_PROPOSED = percent_text(desk_defaults().takeoff.reduction_share)
_WORDS = [kind.removeprefix(".").upper() for kind in KINDS]
ENDINGS = f"{', '.join(_WORDS[:-1])} or {_WORDS[-1]}"
"""The kinds of pattern files, in words."""
LEAST_WAIST_MM = 300
"""The least waist of a body that is believed."""


class FitForm(forms.Form):
    """Whom a pattern is to fit, where that is said: the waist of the body, and the gap at the lacing with it."""

    def __init__(self, *args: Any, length_unit: LengthUnit, waist_help: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["body_waist"] = LengthField(
            length_unit=length_unit,
            required=False,
            least_mm=LEAST_WAIST_MM,
            label="Waist of the body",
            help_text=waist_help,
        )
        self.fields["lacing_gap"] = LengthField(
            length_unit=length_unit, required=False, most_mm=300, label="Lacing gap"
        )

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if cleaned.get("body_waist") is not None and cleaned.get("lacing_gap") is None:
            self.add_error("lacing_gap", "Say the lacing gap too.")
        return cleaned


class PatternFileForm(FitForm):
    """A pattern file and what the maker says beside it."""

    name = forms.CharField(max_length=120, label="Name")
    file = forms.FileField(label="File", help_text=f"{ENDINGS}, up to 20 MB.")
    units = forms.ChoiceField(
        required=False,
        label="Units",
        choices=[("", "as the file says"), ("mm", "mm"), ("cm", "cm"), ("in", "inches")],
    )
    seam_allowance = LengthField(
        required=False, most_mm=100, label="Seam allowance", help_text="For a file that draws only the cut line."
    )
    centre_front = forms.ChoiceField(
        required=False,
        label="Centre front lies",
        choices=[("", "as the seams show"), ("left", "to the left"), ("right", "to the right")],
    )
    ease = forms.CharField(
        required=False,
        max_length=60,
        label="Seams with ease",
        help_text="Numbers of seams whose difference is meant: 2 4.",
    )
    corners = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, kept: KeptPattern | None, length_unit: LengthUnit, **kwargs: Any) -> None:
        waist_help = f"With the gap it says how much is taken in. Left empty, {_PROPOSED} of it is proposed."
        super().__init__(*args, length_unit=length_unit, waist_help=waist_help, **kwargs)
        self.fields["file"].widget.attrs["accept"] = ",".join(KINDS)
        if kept is not None:
            del self.fields["name"]

    def clean_ease(self) -> frozenset[int]:
        try:
            return frozenset(int(part) for part in self.cleaned_data["ease"].replace(",", " ").split())
        except ValueError:
            raise forms.ValidationError("Write seam numbers with spaces between: 2 4.") from None

    def clean_corners(self) -> dict[int, Any]:
        """`panel:x,y;x,y;x,y;x,y` per panel, parted by spaces."""
        picked = {}
        try:
            for part in self.cleaned_data["corners"].split():
                number, _, points = part.partition(":")
                first, second, third, fourth = (tuple(map(float, point.split(","))) for point in points.split(";"))
                picked[int(number)] = (first, second, third, fourth)
        except ValueError:
            raise forms.ValidationError("The picked corners cannot be read; pick them again.") from None
        return picked

    @property
    def options(self) -> ReadOptions:
        """What is said beside the file; call after `is_valid`."""
        cleaned = self.cleaned_data
        return ReadOptions(
            units=cleaned["units"] or None,
            seam_allowance_mm=cleaned["seam_allowance"],
            centre_front=cleaned["centre_front"] or None,
            ease=cleaned["ease"],
            corners=cleaned["corners"],
        )


LEVELS = (
    ("bust", "Top edge or bust", False),
    ("underbust", "Underbust", False),
    ("waist", "Waist", True),
    ("high_hip", "High hip", False),
    ("bottom", "Bottom edge", True),
)
"""Levels of the form: name, words, whether it is needed. The waist is at height 0."""


FROM_MEASURES = {
    "bust_girth": "bust",
    "bust_height": "to-bust-point",
    "underbust_girth": "underbust",
    "underbust_height": "to-underbust",
    "waist_girth": "waist",
    "high_hip_girth": "high-hip",
    "high_hip_height": "to-high-hip",
    "bottom_girth": "full-hip",
    **{f"{edge}_{place}": f"to-{edge}-{place}" for edge in ("top", "bottom") for place in ("front", "side", "back")},
}
"""Which measure of a client (by its code) fills which field of the form."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRow:
    """The fields of a level; the waist has no height."""

    words: str
    height: forms.BoundField | None
    girth: forms.BoundField
    take_in: forms.BoundField


class BlockForm(forms.Form):
    """Measures for an estimating block. Heights are from the waist: up positive, down given as below.

    A waist of which nothing is said to be taken in has its reduction proposed when the block is kept.

    `middles_mm` are a client's measures by code; they stand in the fields to begin with.
    """

    name = forms.CharField(max_length=120, label="Name")
    panels_per_half = forms.IntegerField(
        min_value=FEWEST_PANELS,
        max_value=MOST_PANELS,
        initial=desk_defaults().block.panels_per_half,
        label="Panels a half",
        help_text="Six are usual.",
    )

    def __init__(
        self,
        data: Any = None,
        *,
        length_unit: LengthUnit,
        name: str = "",
        middles_mm: Mapping[str, float] | None = None,
        **kwargs: Any,
    ) -> None:
        known = middles_mm or {}
        taken = {field: known[code] for field, code in FROM_MEASURES.items() if code in known}
        super().__init__(data, initial={"name": name, **taken}, **kwargs)
        self.length_unit, self.measured_waist_mm = length_unit, taken.get("waist_girth")
        proposed = None if self.measured_waist_mm is None else proposed_reduction_mm(self.measured_waist_mm)

        def length(
            label: str, initial: float | None = None, *, required: bool = True, most: float = 2500.0
        ) -> LengthField:
            field = LengthField(length_unit=length_unit, label=label, initial=initial, required=required, most_mm=most)
            field.widget.attrs["aria-label"] = label
            return field

        usual = desk_defaults().block
        self.fields["lacing_gap"] = length("Lacing gap", desk_defaults().takeoff.lacing_gap_mm, most=300)
        heights = {
            "bust": usual.bust_height_mm,
            "underbust": usual.underbust_height_mm,
            "high_hip": usual.high_hip_height_mm,
            "bottom": usual.bottom_height_mm,
        }
        for name, words, needed in LEVELS:
            self.fields[f"{name}_girth"] = length(f"{words}: girth", required=needed)
            take_in = proposed if name == "waist" else 0.0
            self.fields[f"{name}_take_in"] = length(f"{words}: taken in", take_in, required=False, most=400)
            if name in heights:
                self.fields[f"{name}_height"] = length(f"{words}: height", heights[name], required=False, most=900)
        for edge, drawn_mm in (("top", usual.top_mm), ("bottom", usual.bottom_mm)):
            for place, initial in zip(("front", "side", "back"), drawn_mm, strict=True):
                self.fields[f"{edge}_{place}"] = length(f"{edge} at {place}", initial, most=900)

    @property
    def proposal(self) -> str:
        """The sentence that marks what is taken in at the waist as a proposal."""
        if self.measured_waist_mm is None:
            return f"Left empty at the waist, {_PROPOSED} of it is proposed; for none write 0."
        reduction, waist = (
            format_length(length, self.length_unit)
            for length in (proposed_reduction_mm(self.measured_waist_mm), self.measured_waist_mm)
        )
        return (
            f"{reduction} at the waist are a proposal, {_PROPOSED} of {waist}: put what the wearer wants in its place."
        )

    def level_rows(self) -> list[LevelRow]:
        """The level fields row by row, for the page's table."""
        return [
            LevelRow(
                words=words,
                height=self[f"{name}_height"] if f"{name}_height" in self.fields else None,
                girth=self[f"{name}_girth"],
                take_in=self[f"{name}_take_in"],
            )
            for name, words, _ in LEVELS
        ]

    def edge_rows(self) -> list[FieldRow]:
        """The style lines row by row."""
        return [
            FieldRow(words=words, fields=[self[f"{edge}_{place}"] for place in ("front", "side", "back")])
            for edge, words in (("top", "Top, above the waist"), ("bottom", "Bottom, below the waist"))
        ]

    @property
    def block(self) -> Block:
        """The block; call after `is_valid`."""
        cleaned = self.cleaned_data
        signs = {"bust": 1, "underbust": 1, "waist": 0, "high_hip": -1, "bottom": -1}
        levels = [
            Level(
                height_mm=signs[name] * (cleaned.get(f"{name}_height") or 0.0),
                girth_mm=cleaned[f"{name}_girth"],
                take_in_mm=cleaned[f"{name}_take_in"] if name == "waist" else cleaned[f"{name}_take_in"] or 0.0,
            )
            for name, _, _ in LEVELS
            if cleaned[f"{name}_girth"]
        ]
        return Block(
            name=cleaned.get("name", ""),
            panels_per_half=cleaned["panels_per_half"],
            lacing_gap_mm=cleaned["lacing_gap"],
            levels=tuple(sorted(levels, key=lambda level: -level.height_mm)),
            top=(cleaned["top_front"], cleaned["top_side"], cleaned["top_back"]),
            bottom=(-cleaned["bottom_front"], -cleaned["bottom_side"], -cleaned["bottom_back"]),
        )
