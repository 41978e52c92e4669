"""An option of a quote: how the piece is made, from which cloths, with which choices."""

from typing import Any

from django import forms

from inventory.ground.codec import Document
from inventory.ground.materials import Material, MaterialKind
from quotes.construction.construction import BindingSource, Construction, FrontKind
from quotes.defaults import desk_defaults

__all__ = ["FRONTS", "OptionForm"]

FRONTS = [(FrontKind.BUSK, "Busk"), (FrontKind.ZIP, "Zip"), (FrontKind.CLOSED, "Closed")]

PICKED_KINDS = (
    MaterialKind.BUSK,
    MaterialKind.SPIRAL,
    MaterialKind.FLAT,
    MaterialKind.GROMMET,
    MaterialKind.CORD,
)
"""Kinds of which a workroom often keeps several; a field is shown where the price list has more than one."""


class OptionForm(forms.Form):
    """Hands over an option as a commission file says it (`option`)."""

    name = forms.CharField(max_length=80, label="Name", help_text="As the client reads it: “Two layers, busk”.")
    front = forms.ChoiceField(label="Front", choices=FRONTS)
    bones_per_seam = forms.TypedChoiceField(label="Bones on each seam", coerce=int, choices=[(1, "One"), (2, "Two")])
    binding = forms.ChoiceField(
        label="Binding",
        choices=[(BindingSource.CUT, "Cut on the bias from the outer cloth"), (BindingSource.BOUGHT, "Bought")],
    )
    fittings = forms.IntegerField(
        label="Fittings", min_value=0, max_value=9, initial=desk_defaults().construction.fittings
    )
    toile = forms.BooleanField(label="Toile", required=False, initial=True)
    kept_pattern = forms.BooleanField(
        label="Pattern is there already, only checked",
        required=False,
        help_text="Without it, drafting is charged.",
    )
    flossing = forms.BooleanField(label="Flossed bone ends", required=False)
    modesty_panel = forms.BooleanField(label="Modesty panel", required=False)

    def __init__(
        self,
        data: Any = None,
        *,
        option: Document | None = None,
        constructions: dict[str, Construction],
        materials: tuple[Material, ...],
        taken_names: frozenset[str] = frozenset(),
    ) -> None:
        """`option` is the one being changed; `taken_names` are those of the others."""
        self.constructions, self.taken_names = constructions, taken_names
        option = option or {}
        code = (data or {}).get("construction") or option.get("construction") or next(iter(constructions))
        self.chosen = constructions.get(code) or next(iter(constructions.values()))
        choices = option.get("choices", {})
        initial = {
            "name": option.get("name", ""),
            "construction": self.chosen.code,
            "front": self.chosen.front,
            "binding": self.chosen.binding,
            "bones_per_seam": self.chosen.channels.bones_per_seam,
            **choices,
            **{f"cloth_{role}": cloth for role, cloth in option.get("cloths", {}).items()},
            **{f"material_{kind}": choices[kind] for kind in PICKED_KINDS if kind in choices},
        }
        super().__init__(data, initial=initial)
        self.fields["construction"] = forms.ChoiceField(
            label="Construction",
            choices=[(construction.code, construction.title) for construction in constructions.values()],
        )
        self.order_fields(["name", "construction"])
        cloths = [material for material in materials if material.kind is MaterialKind.CLOTH]
        for layer in self.chosen.layers:
            self.fields[f"cloth_{layer.role}"] = forms.ChoiceField(
                label=f"Cloth: {layer.title}", choices=[(m.code, m.title) for m in cloths]
            )
        self.picked_kinds = []
        for kind in PICKED_KINDS:
            several = [material for material in materials if material.kind is kind]
            if len(several) > 1:
                self.picked_kinds.append(kind)
                self.fields[f"material_{kind}"] = forms.ChoiceField(
                    label=kind.value.capitalize(), choices=[(m.code, m.title) for m in several]
                )

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        if name in self.taken_names:
            raise forms.ValidationError("Another option has this name.")
        return name

    @property
    def option(self) -> Document:
        """The option as a commission file says it; call after `is_valid`."""
        cleaned = self.cleaned_data
        return {
            "name": cleaned["name"],
            "construction": cleaned["construction"],
            "cloths": {layer.role: cleaned[f"cloth_{layer.role}"] for layer in self.chosen.layers},
            "choices": {
                "front": cleaned["front"],
                "bones_per_seam": cleaned["bones_per_seam"],
                "binding": cleaned["binding"],
                "fittings": cleaned["fittings"],
                "toile": cleaned["toile"],
                "kept_pattern": cleaned["kept_pattern"],
                "flossing": cleaned["flossing"],
                "modesty_panel": cleaned["modesty_panel"],
                **{kind.value: cleaned[f"material_{kind}"] for kind in self.picked_kinds},
            },
        }

    def option_so_far(self) -> Document:
        """The option as far as it is filled in, for drawing the form anew with another construction."""
        data = self.data
        return {
            "name": data.get("name", ""),
            "construction": self.chosen.code,
            "cloths": {
                layer.role: data[f"cloth_{layer.role}"] for layer in self.chosen.layers if f"cloth_{layer.role}" in data
            },
            "choices": {
                **{key: data[key] for key in ("front", "binding", "bones_per_seam", "fittings") if key in data},
                **{key: key in data for key in ("toile", "kept_pattern", "flossing", "modesty_panel")},
                **{kind.value: data[f"material_{kind}"] for kind in self.picked_kinds if f"material_{kind}" in data},
            },
        }
