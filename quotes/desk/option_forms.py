"""An option of a quote: how the piece is made, from which cloths, with which choices."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms

from inventory.ground.codec import Document
from inventory.ground.materials import BONES, KINDS, Material, MaterialKind
from inventory.ground.wording import coloured_text
from quotes.construction.construction import BindingSource, Construction, FrontKind
from quotes.defaults import desk_defaults
from quotes.documents.option_name import LONGEST_NAME, option_name
from quotes.languages.catalogue import catalogue
from quotes.takeoff.bone_candidates import forms_of
from quotes.takeoff.takeoff import BonePlace

__all__ = ["FRONTS", "MadeForm", "OptionForm"]

FRONTS = [(FrontKind.BUSK, "Busk"), (FrontKind.ZIP, "Zip"), (FrontKind.CLOSED, "Closed")]

PICKED_KINDS = (
    MaterialKind.BUSK,
    MaterialKind.SPIRAL,
    MaterialKind.FLAT,
    MaterialKind.SYNTHETIC,
    MaterialKind.CANE,
    MaterialKind.GROMMET,
    MaterialKind.CORD,
)
"""Kinds of which a workroom often keeps several; a field is shown where the price list has more than one."""


class MadeForm(forms.Form):
    """How a piece is made: its construction, the cloth of each layer, its front, and what the shelf has several of.

    Another construction has other layers: `option_so_far` is what to draw the form anew with.
    """

    front = forms.ChoiceField(label="Front", choices=FRONTS)

    def __init__(
        self,
        data: Any = None,
        *,
        option: Document | None = None,
        constructions: dict[str, Construction],
        materials: Sequence[Material],
    ) -> None:
        """`option` is what the fields begin with."""
        option = option or {}
        code = (data or {}).get("construction") or option.get("construction") or ""
        self.chosen = constructions.get(code) or next(iter(constructions.values()))
        choices = option.get("choices", {})
        initial = {
            "name": option.get("name", ""),
            "front": self.chosen.front,
            "binding": self.chosen.binding,
            "bones_per_seam": self.chosen.channels.bones_per_seam,
            **choices,
            "construction": self.chosen.code,
            **{f"cloth_{role}": cloth for role, cloth in option.get("cloths", {}).items()},
            **{f"material_{kind}": choices[kind] for kind in PICKED_KINDS if kind in choices},
        }
        super().__init__(data, initial=initial)
        self.fields["construction"] = forms.ChoiceField(
            label="Construction",
            choices=[(construction.code, construction.title) for construction in constructions.values()],
        )
        cloths = [material for material in materials if material.kind is MaterialKind.CLOTH]
        self.words_of = {cloth.code: coloured_text(cloth.title, cloth.colour) for cloth in cloths}
        for layer in self.chosen.layers:
            self.fields[f"cloth_{layer.role}"] = forms.ChoiceField(
                label=f"Cloth: {layer.title}", choices=list(self.words_of.items())
            )
        self.picked_kinds = []
        for kind in PICKED_KINDS:
            several = [material for material in materials if material.kind is kind]
            if len(several) > 1:
                self.picked_kinds.append(kind)
                self.fields[f"material_{kind}"] = forms.ChoiceField(
                    label=kind.value.capitalize(), choices=[(m.code, m.title) for m in several]
                )

    def default_name(self, option: Document, language: str, taken: Iterable[str] = ()) -> str:
        """Return what `option` is called until the maker names it."""
        cloth = option["cloths"].get(self.chosen.roles[0], "")
        return option_name(
            self.words_of.get(cloth, cloth),
            FrontKind(option["choices"].get("front", self.chosen.front)),
            catalogue(language),
            taken=frozenset(taken),
        )

    @property
    def made(self) -> Document:
        """The option as far as this form says it; call after `is_valid`."""
        cleaned = self.cleaned_data
        return {
            "construction": cleaned["construction"],
            "cloths": {layer.role: cleaned[f"cloth_{layer.role}"] for layer in self.chosen.layers},
            "choices": {
                "front": cleaned["front"],
                **{kind.value: cleaned[f"material_{kind}"] for kind in self.picked_kinds},
            },
        }

    def option_so_far(self) -> Document:
        """The option as far as it is filled in."""
        data = self.data
        return {
            "construction": self.chosen.code,
            "cloths": {
                layer.role: data[f"cloth_{layer.role}"] for layer in self.chosen.layers if f"cloth_{layer.role}" in data
            },
            "choices": {
                **({"front": data["front"]} if data.get("front") in [*FrontKind] else {}),
                **{kind.value: data[f"material_{kind}"] for kind in self.picked_kinds if f"material_{kind}" in data},
            },
        }


class OptionForm(MadeForm):
    """Hands over an option as a commission file says it (`option`)."""

    name = forms.CharField(max_length=LONGEST_NAME, label="Name", required=False)
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
        option: Document,
        constructions: dict[str, Construction],
        materials: Sequence[Material],
        language: str,
        taken_names: Sequence[str] = (),
    ) -> None:
        """`option` is the one being changed; `taken_names` are those of the others, `language` is the client's."""
        super().__init__(data, option=option, constructions=constructions, materials=materials)
        self.chosen_bones: Document = option.get("choices", {}).get("bones", {})
        self.bone_places = _bone_places(self.chosen) if any(material.forms for material in materials) else {}
        for place, label in self.bone_places.items():
            own = self.chosen_bones.get(place, {})
            self.fields[f"bones_{place}"] = forms.ChoiceField(
                label=label,
                required=False,
                choices=[("", "Whichever costs least"), *_bone_choices(materials)],
                initial="/".join(own[key] for key in ("kind", "form")) if {"kind", "form"} <= own.keys() else "",
            )
        self.language, self.taken_names, self.folded = language, taken_names, option.get("folded", [])
        self.order_fields(["name", "construction"])
        called = self.default_name(option, language, taken_names)
        self.fields["name"].help_text = f"As the client reads it. Left empty, by its cloth and front: “{called}”."
        if option.get("name") == called:
            self.initial["name"] = ""

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        if name in self.taken_names:
            raise forms.ValidationError("Another option has this name.")
        return name

    @property
    def option(self) -> Document:
        """The option as a commission file says it; call after `is_valid`."""
        cleaned, made = self.cleaned_data, self.made
        return {
            "name": cleaned["name"] or self.default_name(made, self.language, self.taken_names),
            **made,
            **_still_folded(self.folded, made["cloths"].values()),
            "choices": {
                **made["choices"],
                "bones_per_seam": cleaned["bones_per_seam"],
                "binding": cleaned["binding"],
                "fittings": cleaned["fittings"],
                "toile": cleaned["toile"],
                "kept_pattern": cleaned["kept_pattern"],
                "flossing": cleaned["flossing"],
                "modesty_panel": cleaned["modesty_panel"],
                **self._bones(cleaned),
            },
        }

    def _bones(self, said: Mapping[str, Any]) -> Document:
        """What is chosen of the bones: as this form asks, and what only a file can say as it was."""
        bones = {name: row for name, row in self.chosen_bones.items() if name not in self.bone_places}
        for place in self.bone_places:
            kind, _, form = (said.get(f"bones_{place}") or "").partition("/")
            if kind:
                bones[place] = {**self.chosen_bones.get(place, {}), "kind": kind, "form": form}
        return {"bones": bones} if bones else {}

    def option_so_far(self) -> Document:
        """The option as far as it is filled in."""
        data, made = self.data, super().option_so_far()
        return {
            "name": data.get("name", ""),
            **made,
            **_still_folded(self.folded, made["cloths"].values()),
            "choices": {
                **made["choices"],
                **{key: data[key] for key in ("binding", "bones_per_seam", "fittings") if key in data},
                **{key: key in data for key in ("toile", "kept_pattern", "flossing", "modesty_panel")},
                **self._bones(data),
            },
        }


def _still_folded(folded: Iterable[str], cloths: Iterable[str]) -> Document:
    """Which cloths are laid folded still, of those that an option had so."""
    kept = [cloth for cloth in folded if cloth in set(cloths)]
    return {"folded": kept} if kept else {}


def _bone_places(construction: Construction) -> dict[str, str]:
    """Where bones stand, by the names of `choices.bones`."""
    return {
        place.value: label
        for place, label, is_there in (
            (BonePlace.SEAM, "Bones on the seams", construction.channels.bones_per_seam > 0),
            (BonePlace.MID_PANEL, "Bones down panels", bool(construction.channels.mid_panel)),
            (BonePlace.CENTRE_BACK, "Bones at centre back", True),
            (BonePlace.BESIDE_FRONT, "Bones beside the front", construction.bones.at_busk > 0),
        )
        if is_there
    }


def _bone_choices(materials: Sequence[Material]) -> list[tuple[str, str]]:
    """What bones the price list has, as kind/form, with words; of each kind in the order of the list."""
    found = {}
    for material in materials:
        if material.kind in BONES:
            for form in forms_of(material):
                words = f"{KINDS[material.kind].label}, {form.form.words}"
                found[f"{material.kind.value}/{form.form.value}"] = words
    return list(found.items())
