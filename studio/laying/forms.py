"""Forms of joint lays: which jobs on which roll, remnants, flaws, off the grain; and what was cut."""

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from inventory.ground.measures import quantity_text
from inventory.ground.site.fields import FieldRow, LengthField, QuantityField
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.sure_forms import SureForm
from inventory.ground.stock_units import StockUnit
from inventory.ground.units import LengthUnit, format_length
from inventory.reckoning.slips import issue_doubts
from inventory.reserving.free_lots import FreeLot
from quotes.defaults import desk_defaults
from quotes.lay.lay_plan import Box
from studio.laying.asking import LayWishes
from studio.laying.wanting import ClothWanted, JobWants

__all__ = ["AllCutForm", "LayForm"]

MOST_FLAWS = 4
MOST_ROLL_MM = 100_000.0
_SIDES = ("from", "to", "low", "high")
_SIDE_WORDS = ("along, from", "along, to", "across, from", "across, to")


class LayForm(forms.Form):
    """What is laid; fields of flaws in the maker's unit, linings off the grain where one is among the jobs."""

    jobs = forms.MultipleChoiceField(widget=forms.CheckboxSelectMultiple, label="Jobs")
    lot = forms.ChoiceField(label="Cut from", required=False)
    uses_remnants = forms.BooleanField(
        required=False,
        label="Use remnants first, where that costs less",
        help_text="Rests that are large enough go back.",
    )

    def __init__(
        self, *args: Any, cloth: ClothWanted, rolls: Sequence[FreeLot], unit: LengthUnit, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.cloth, self.rolls = cloth, rolls
        stock_unit = cloth.item.unit
        jobs, lot = self.fields["jobs"], self.fields["lot"]
        assert isinstance(jobs, forms.MultipleChoiceField)
        assert isinstance(lot, forms.ChoiceField)
        jobs.choices = [(wants.job.reference, _wants_words(wants, unit)) for wants in cloth.jobs]
        jobs.initial = [wants.job.reference for wants in cloth.jobs]
        jobs.error_messages["required"] = "Tick a job at least."
        lot.choices = [
            *((str(row.lot.pk), f"{row.lot}: {quantity_text(row.free, stock_unit)} free") for row in rolls),
            *([] if rolls else [("", "No roll lies there: draw it all the same")]),
        ]
        lot.initial = _likely_lot(cloth, rolls)
        if any(wants.is_lining for wants in cloth.jobs):
            assumed = desk_defaults().lay
            self.fields["off_grain"] = forms.FloatField(
                min_value=0.0,
                max_value=assumed.off_grain_most_deg,
                initial=assumed.off_grain_deg,
                label="Linings may lie off the grain by",
                help_text=f"Degrees to either side, {assumed.off_grain_most_deg:g} at the most.",
            )
            self.fields["off_grain"].widget.attrs.update(step="0.5", **{"data-unit": "°"})
        for number in range(MOST_FLAWS):
            for side, words in zip(_SIDES, _SIDE_WORDS, strict=True):
                self.fields[f"flaw-{number}-{side}"] = LengthField(
                    length_unit=unit, most_mm=MOST_ROLL_MM, required=False, label=words.capitalize()
                )

    @property
    def flaw_rows(self) -> list[FieldRow]:
        """The fields of each flaw."""
        return [
            FieldRow(words=f"Place {number + 1}", fields=[self[f"flaw-{number}-{side}"] for side in _SIDES])
            for number in range(MOST_FLAWS)
        ]

    @property
    def has_flaws(self) -> bool:
        """Whether something is said of a flaw, or is wrong with it."""
        return any(bound.errors or bound.value() for row in self.flaw_rows for bound in row.fields)

    def clean(self) -> Cleaned:
        """A flaw has four sides, the first of each two before the second."""
        cleaned = super().clean() or {}
        flaws: list[Box] = []
        for number in range(MOST_FLAWS):
            sides = [cleaned.get(f"flaw-{number}-{side}") for side in _SIDES]
            if all(side is None for side in sides):
                continue
            x0, x1, y0, y1 = sides
            if x0 is None or x1 is None or y0 is None or y1 is None:
                if not any(self.errors.get(f"flaw-{number}-{side}") for side in _SIDES):
                    self.add_error(f"flaw-{number}-from", "Say all four: from and to, along the roll and across it.")
            elif x0 >= x1 or y0 >= y1:
                self.add_error(f"flaw-{number}-from", "Where it ends lies before where it begins; turn them over.")
            else:
                flaws.append((x0, y0, x1, y1))
        cleaned["flaws"] = tuple(flaws)
        return cleaned

    def ticked(self) -> list[JobWants]:
        """The jobs of a form that is valid, in the order of work."""
        return [wants for wants in self.cloth.jobs if wants.job.reference in self.cleaned_data["jobs"]]

    def wishes(self) -> LayWishes:
        """How the cloth is to be laid, of a form that is valid."""
        said = self.cleaned_data
        return LayWishes(
            lot=next((row.lot for row in self.rolls if str(row.lot.pk) == said["lot"]), None),
            uses_remnants=said["uses_remnants"],
            flaws=said["flaws"],
            off_grain_deg=said.get("off_grain") or 0.0,
        )


class AllCutForm(SureForm):
    """What came off the roll; what was drawn stands there, and far more is asked about."""

    def __init__(self, *args: Any, roll_mm: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.roll_mm = roll_mm
        self.fields["roll"] = QuantityField(
            stock_unit=StockUnit.METRE, least=0, initial=roll_mm, label="Cut off the roll"
        )

    def clean(self) -> Cleaned:
        """What may have a digit too many is asked about."""
        cleaned = super().clean() or {}
        if not self.errors:
            self.ask_unless_sure(
                issue_doubts(cleaned["roll"], self.roll_mm, StockUnit.METRE), words="Yes, so much was cut"
            )
        return cleaned


def _wants_words(wants: JobWants, unit: LengthUnit) -> str:
    roles = " and ".join(wants.roles)
    return f"{wants.job}, {roles}: {format_length(wants.quoted_mm, unit)} as quoted"


def _likely_lot(cloth: ClothWanted, rolls: Sequence[FreeLot]) -> str:
    """The roll that what shows is kept from, else the first with enough for all, else the longest."""
    free: Mapping[int, int] = {row.lot.pk: row.free for row in rolls}
    bound = [line.lot_id for wants in cloth.jobs for line in wants.lines if line.lot_id in free]
    wanted = sum(line.remaining for wants in cloth.jobs for line in wants.lines)
    enough = [pk for pk, amount in free.items() if amount >= wanted]
    return str(next(iter([*bound, *enough, *sorted(free, key=lambda pk: -free[pk])]), ""))
