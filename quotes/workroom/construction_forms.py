"""A construction in the site: its layers, how they are sewn, its measures and which operations it needs."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.ground.codec import Document
from inventory.ground.materials import BONES, KINDS
from quotes.construction.construction import CODE, Construction
from quotes.defaults import desk_defaults
from quotes.labour.operations import StandardTimes
from quotes.models.workroom import CODE_IN_WORDS

__all__ = ["ConstructionEditor", "CopyForm"]

_BONE_KINDS = [(kind.value, KINDS[kind].label) for kind in BONES]
_ROLE = r"^[a-z][a-z-]{0,30}$"
MOST_LAYERS = 6


class CopyForm(forms.Form):
    """What a copied construction is called."""

    title = forms.CharField(max_length=120, label="Title")
    code = forms.RegexField(
        CODE,
        strip=True,
        max_length=60,
        label="Short name",
        help_text="Small letters, digits and hyphens: my-two-layer.",
        error_messages={"invalid": CODE_IN_WORDS},
    )


class LayerForm(forms.Form):
    """One layer of cloth; a row without a role is left out."""

    role = forms.RegexField(_ROLE, required=False, max_length=31, label="Role")
    title = forms.CharField(required=False, max_length=60, label="In words")
    panels = forms.CharField(required=False, max_length=60, label="Panels")
    shell = forms.IntegerField(required=False, min_value=1, max_value=MOST_LAYERS, label="Sewn in shell")
    is_visible = forms.BooleanField(required=False, label="Seen outside")

    def clean_panels(self) -> list[int]:
        return _whole_numbers(self.cleaned_data["panels"])

    @property
    def layer(self) -> Document:
        """The layer as the construction's document has it."""
        cleaned = self.cleaned_data
        return {
            "role": cleaned["role"],
            "title": cleaned["title"] or cleaned["role"],
            "panels": cleaned["panels"],
            "is_visible": cleaned["is_visible"],
        }


class ShellForm(forms.Form):
    """Layers whose seams are sewn as one; a row without a name is left out."""

    title = forms.CharField(required=False, max_length=60, label="Name")
    passes = forms.CharField(required=False, max_length=40, label="Stitch length of each pass, mm")
    back_tacks = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=10,
        initial=desk_defaults().construction.back_tacks,
        label="Back-tacks a pass",
    )

    def shell(self, *, roles: list[str]) -> Document:
        """The shell of these layers as the document has it.

        A stitch length that is no number is left for the construction's own check to name.
        """
        tacks = self.cleaned_data["back_tacks"]
        return {
            "title": self.cleaned_data["title"],
            "roles": roles,
            "passes": [
                {"stitch_mm": _number(stitch), "back_tacks": 2 if tacks is None else tacks}
                for stitch in self.cleaned_data["passes"].replace(",", ".").split()
            ],
        }


class MeasuresForm(forms.Form):
    """Front, channels, bones, grommets, binding: everything that is one word or one number."""

    title = forms.CharField(max_length=120, label="Title")
    front = forms.ChoiceField(label="Front", choices=[("busk", "Busk"), ("zip", "Zip"), ("closed", "Closed")])
    binding = forms.ChoiceField(label="Binding", choices=[("cut", "Cut on the bias"), ("bought", "Bought")])
    has_waist_tape = forms.BooleanField(required=False, label="Waist tape")
    method = forms.ChoiceField(
        label="Channels",
        choices=[("between-layers", "Between the layers"), ("casing", "Under casing tape"), ("welt", "In the welt")],
    )
    bones_per_seam = forms.TypedChoiceField(
        coerce=int, choices=[(0, "None"), (1, "One"), (2, "Two")], label="Bones on a seam"
    )
    mid_panel = forms.CharField(
        required=False, max_length=60, label="Bones down panels", help_text="Panel numbers: 3 4."
    )
    at_busk = forms.TypedChoiceField(
        coerce=int, choices=[(0, "None"), (1, "One each side")], label="Bones beside the front"
    )
    seam_kind = forms.ChoiceField(choices=_BONE_KINDS, label="Bones on the seams are")
    mid_panel_kind = forms.ChoiceField(choices=_BONE_KINDS, label="Bones down panels are")
    back_kind = forms.ChoiceField(choices=_BONE_KINDS, label="Bones at the lacing are")
    busk_kind = forms.ChoiceField(choices=_BONE_KINDS, label="Bones beside the front are")
    ply_thickness_mm = forms.FloatField(
        required=False,
        min_value=0.05,
        max_value=5,
        label="Thickness of one ply",
        help_text="For thread reckoned from thickness instead of by rule.",
        widget=forms.NumberInput(attrs={"data-unit": "mm"}),
    )

    BONES = ("at_busk", "seam_kind", "mid_panel_kind", "back_kind", "busk_kind")
    SIZES = (
        ("allowances", "seam_mm", "Seam allowance"),
        ("allowances", "centre_front_mm", "Allowance at centre front"),
        ("allowances", "centre_back_mm", "Allowance at centre back"),
        ("allowances", "top_mm", "Trimming at the top"),
        ("allowances", "bottom_mm", "Trimming at the bottom"),
        ("channels", "stitch_mm", "Stitch length of channels"),
        ("bones", "shorter_by_mm", "Bone shorter than its channel"),
        ("grommets", "margin_mm", "Grommets from the ends"),
        ("grommets", "inset_mm", "Grommets from the edge"),
        ("grommets", "pitch_mm", "Grommets apart"),
        ("grommets", "waist_pitch_mm", "Grommets apart at the waist"),
        ("grommets", "waist_zone_mm", "Closer that far from the waist"),
    )

    def __init__(self, data: Any = None, *, construction: Construction) -> None:
        channels, bones = construction.channels, construction.bones
        super().__init__(
            data,
            initial={
                "title": construction.title,
                "front": construction.front,
                "binding": construction.binding,
                "has_waist_tape": construction.has_waist_tape,
                "method": channels.method,
                "bones_per_seam": channels.bones_per_seam,
                "mid_panel": " ".join(map(str, channels.mid_panel)),
                "ply_thickness_mm": construction.ply_thickness_mm,
                **{name: getattr(bones, name) for name in self.BONES},
            },
        )
        for part, name, words in self.SIZES:
            value = getattr(getattr(construction, part), name)
            self.fields[f"{part}.{name}"] = forms.FloatField(min_value=0, max_value=150, label=words, initial=value)
            self.fields[f"{part}.{name}"].widget.attrs["data-unit"] = "mm"

    def clean_mid_panel(self) -> list[int]:
        return _whole_numbers(self.cleaned_data["mid_panel"])

    def document(self, document: Document) -> Document:
        """The construction's document with what was said put in."""
        cleaned = self.cleaned_data
        changed = {
            **document,
            **{name: cleaned[name] for name in ("title", "front", "binding", "has_waist_tape", "ply_thickness_mm")},
            "channels": {
                **document["channels"],
                **{name: cleaned[name] for name in ("method", "bones_per_seam", "mid_panel")},
            },
            "bones": {**document["bones"], **{name: cleaned[name] for name in self.BONES}},
        }
        for part, name, _ in self.SIZES:
            changed[part] = {**changed[part], name: cleaned[f"{part}.{name}"]}
        return changed


class OperationsForm(forms.Form):
    """Which operations of the table of standard minutes the construction needs."""

    def __init__(self, data: Any = None, *, construction: Construction, times: StandardTimes) -> None:
        super().__init__(data, initial={"operations": [use.code for use in construction.operations]})
        self.fields["operations"] = forms.MultipleChoiceField(
            widget=forms.CheckboxSelectMultiple,
            label="Operations",
            choices=[(operation.code, operation.name) for operation in times.operations],
        )

    def uses(self, kept: Sequence[Document]) -> Sequence[Document]:
        """The operations as the document has them; minutes of the construction's own stay."""
        known = {use["code"]: use for use in kept}
        return [known.get(code, {"code": code}) for code in self.cleaned_data["operations"]]


LayerSet = forms.formset_factory(LayerForm, extra=1, max_num=MOST_LAYERS)
ShellSet = forms.formset_factory(ShellForm, extra=1, max_num=MOST_LAYERS)


class ConstructionEditor:
    """The forms of one construction, sent as one."""

    def __init__(self, data: Any = None, *, construction: Construction, times: StandardTimes) -> None:
        shell_of = {role: number for number, shell in enumerate(construction.shells, 1) for role in shell.roles}
        self.is_bound = data is not None
        self.measures = MeasuresForm(data, construction=construction)
        self.layers = LayerSet(
            data,
            prefix="layer",
            initial=[
                {
                    "role": layer.role,
                    "title": layer.title,
                    "panels": " ".join(map(str, layer.panels)),
                    "shell": shell_of[layer.role],
                    "is_visible": layer.is_visible,
                }
                for layer in construction.layers
            ],
        )
        self.shells = ShellSet(
            data,
            prefix="shell",
            initial=[
                {
                    "title": shell.title,
                    "passes": " ".join(f"{step.stitch_mm:g}" for step in shell.passes),
                    "back_tacks": shell.passes[0].back_tacks,
                }
                for shell in construction.shells
            ],
        )
        self.operations = OperationsForm(data, construction=construction, times=times)

    def is_valid(self) -> bool:
        """Whether every part can be read; whether they fit together is the construction's own check."""
        parts = (self.measures, self.layers, self.shells, self.operations)
        return self.is_bound and all(part.is_valid() for part in parts)

    def document(self, document: Document) -> Document:
        """The construction's document with all that was said; call after `is_valid`."""
        layers = [form for form in self.layers if form.cleaned_data.get("role")]
        return {
            **self.measures.document(document),
            "layers": [form.layer for form in layers],
            "shells": [
                form.shell(
                    roles=[layer.cleaned_data["role"] for layer in layers if layer.cleaned_data["shell"] == number]
                )
                for number, form in enumerate(self.shells, 1)
                if form.cleaned_data.get("title")
            ],
            "operations": self.operations.uses(document["operations"]),
        }


def _whole_numbers(text: str) -> list[int]:
    try:
        return sorted({int(part) for part in text.replace(",", " ").split()})
    except ValueError:
        raise forms.ValidationError("Write whole numbers with spaces between: 3 4.") from None


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
