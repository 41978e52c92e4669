"""Forms of paper pieces in photographs: what the printed cards measure, and the photographs."""

import math
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from inventory.ground.findings import Refused
from inventory.ground.site.fields import LengthField
from inventory.ground.units import LengthUnit, format_length
from quotes.defaults import desk_defaults
from quotes.models import Workroom
from quotes.photograph.cards import check_bars
from quotes.photograph.photographs import must_be_photograph
from quotes.photograph.ruler import LONGEST_MM, SHORTEST_MM

__all__ = ["FEWER", "MOST_BYTES", "MOST_PHOTOGRAPHS", "CardsForm", "PhotographsForm", "RulerForm"]

MOST_PHOTOGRAPHS = desk_defaults().photograph.most_photographs
MOST_MB = desk_defaults().photograph.most_mb
MOST_BYTES = MOST_MB * 1_000_000
FEWER = "Hand in fewer, or let the camera save them at 12 million pixels."
"""What to do where photographs are too large together."""
READS_HEIC = find_spec("pi_heif") is not None


class CardsForm(forms.Form):
    """What the two bars of the printed sheet measure by a ruler, mm below the form."""

    def __init__(self, data: Any = None, *, room: Workroom) -> None:
        unit = LengthUnit(room.length_unit)
        super().__init__(data, initial={"along": room.cards_along_mm, "across": room.cards_across_mm})
        for bar in check_bars():
            self.fields[bar.name] = LengthField(
                length_unit=unit,
                least_mm=1.0,
                most_mm=1000.0,
                label=f"The bar {bar.name} the sheet",
                help_text=f"{format_length(bar.nominal_mm, unit)} if it was printed true; measure it with a ruler, to half a millimetre.",
            )


class RulerForm(forms.Form):
    """How long a ruler is that lies among the pieces, mm below the form; nothing where none does."""

    def __init__(self, data: Any = None, *, room: Workroom, ruler_mm: float | None = None) -> None:
        super().__init__(data, initial={"ruler": ruler_mm})
        self.fields["ruler"] = LengthField(
            required=False,
            length_unit=LengthUnit(room.length_unit),
            least_mm=SHORTEST_MM,
            most_mm=LONGEST_MM,
            label="A ruler among them, from end to end",
            help_text="As a check of the cards: a light one, on the ground beside the pieces, all of it in the picture. Leave this empty where none lies there.",
        )


class _Photographs(forms.FileField):
    """One file or several; hands over a list."""

    widget = forms.ClearableFileInput

    def clean(self, data: Any, initial: Any = None) -> "list[UploadedFile[bytes]]":
        files = data if isinstance(data, list | tuple) else [data]
        return [super(_Photographs, self).clean(file, initial) for file in files or [None]]


class _SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class PhotographsForm(forms.Form):
    """The photographs, as many as a set has room for."""

    photographs = _Photographs(
        label="Photographs",
        # What is wrong with a file is said with its name, below.
        allow_empty_file=True,
        error_messages={"required": "Choose a photograph, or take one."},
    )

    def __init__(self, data: Any = None, files: Any = None, *, room_for: int = MOST_PHOTOGRAPHS) -> None:
        super().__init__(data, files)
        self.room_for = room_for
        kinds = "JPEG, PNG or HEIC" if READS_HEIC else "JPEG or PNG"
        how_many = f"One to {room_for}" if room_for > 1 else "One"
        field = self.fields["photographs"]
        field.help_text = f"{how_many}, {kinds}, together up to {MOST_MB} MB."
        # Telephones that keep HEIC hand over JPEG where no other kind is asked for.
        accept = "image/jpeg,image/png,.heic" if READS_HEIC else "image/jpeg,image/png"
        field.widget = _SeveralFiles(
            attrs={
                "accept": accept,
                "multiple": True,
                "data-most": room_for,
                "data-most-bytes": MOST_BYTES,
                "data-too-many": too_many("{count}", room_for),
                "data-too-large": too_large("{megabytes}"),
            }
        )
        field.widget.is_required = field.required

    def clean_photographs(self) -> "list[UploadedFile[bytes]]":
        found: list[UploadedFile[bytes]] = self.cleaned_data["photographs"]
        faults = []
        if len(found) > self.room_for:
            faults.append(too_many(str(len(found)), self.room_for))
        if (together := sum(file.size or 0 for file in found)) > MOST_BYTES:
            faults.append(too_large(str(math.ceil(together / 1e6))))
        faults += [fault for file in found if (fault := _kind_fault(file))]
        if faults:
            raise forms.ValidationError(faults)
        return found


def too_many(count: str, room_for: int) -> str:
    """Return what is said of more photographs than are taken."""
    return f"These are {count} photographs; there is room for {room_for}. Lay more pieces into each."


def too_large(megabytes: str) -> str:
    """Return what is said of photographs that are too large together."""
    return f"These photographs take {megabytes} MB together; {MOST_MB} MB are the most. {FEWER}"


def _kind_fault(file: "UploadedFile[bytes]") -> str:
    name = Path(file.name or "photograph").name[:80]
    ending = Path(name).suffix.lower()
    if ending == ".heic" and not READS_HEIC:
        return f"{name}: HEIC is not read on this machine. Set the camera to its most compatible format, or save the picture as JPEG."
    try:
        must_be_photograph(name)
    except Refused as refusal:
        return " ".join(f"{found.message} {found.hint}" for found in refusal.findings)
    return "" if file.size else f"{name}: The file is empty. Hand in the photograph itself."
