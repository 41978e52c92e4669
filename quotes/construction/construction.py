"""The recipe of a garment, and the choices a client has within it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import MaterialKind
from quotes.defaults import desk_defaults

__all__ = [
    "CODE",
    "Allowances",
    "BindingSource",
    "BoneChoice",
    "Bones",
    "ChannelMethod",
    "Channels",
    "Choices",
    "Construction",
    "FrontKind",
    "Grommets",
    "Layer",
    "OperationUse",
    "Pass",
    "Shell",
    "layers_at",
]

_ASSUMED = desk_defaults().construction

CODE = r"^[a-z0-9][a-z0-9-]{0,59}$"
"""What a construction's code is written with, as its schema says it."""


class ChannelMethod(StrEnum):
    """How a bone's channel is made."""

    BETWEEN_LAYERS = "between-layers"
    CASING = "casing"
    WELT = "welt"


class FrontKind(StrEnum):
    """How centre front closes."""

    BUSK = "busk"
    ZIP = "zip"
    CLOSED = "closed"


class BindingSource(StrEnum):
    """Where the binding comes from: cut on the bias from the outer cloth, or bought by the metre."""

    CUT = "cut"
    BOUGHT = "bought"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """A cloth in a role. `panels` names the panels that have this layer; empty for all. Each is cut once per half."""

    role: str
    title: str
    panels: tuple[int, ...] = ()
    is_visible: bool = False

    def has_panel(self, number: int) -> bool:
        """Tell whether this layer is cut for a panel."""
        return not self.panels or number in self.panels


def layers_at(layers: Sequence[Layer], number: int) -> int:
    """Return how many of these layers a panel has."""
    return sum(layer.has_panel(number) for layer in layers)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One run of the machine: stitch length in mm, and how often it back-tacks."""

    stitch_mm: float
    back_tacks: int = _ASSUMED.back_tacks


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """Layers (by role) whose seams are sewn as one, whatever cloth each of their panels is cut of."""

    title: str
    roles: tuple[str, ...]
    passes: tuple[Pass, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowances:
    """Seam allowance beyond the stitching line, mm, per edge."""

    seam_mm: float = _ASSUMED.seam_allowance_mm
    centre_front_mm: float = _ASSUMED.centre_front_allowance_mm
    centre_back_mm: float = _ASSUMED.centre_back_allowance_mm
    top_mm: float = _ASSUMED.trimming_mm
    bottom_mm: float = _ASSUMED.trimming_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Channels:
    """Where bones run and what makes their channels.

    Attributes:
        bones_per_seam: channels on each seam line, 0, 1 or 2.
        mid_panel: numbers of panels with one more channel down their middle.
        stitch_mm: stitch length of channel lines.
    """

    method: ChannelMethod
    bones_per_seam: int = _ASSUMED.bones_per_seam
    mid_panel: tuple[int, ...] = ()
    stitch_mm: float = _ASSUMED.channel_stitch_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Bones:
    """Which bone goes where (a kind of `BONES`), and how long. `at_busk` bones stand beside each busk half."""

    seam_kind: str = "spiral"
    mid_panel_kind: str = "spiral"
    back_kind: str = "flat"
    busk_kind: str = "flat"
    at_busk: int = _ASSUMED.bones_at_busk
    shorter_by_mm: float = _ASSUMED.bone_shorter_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Grommets:
    """The lacing column: end margin, waist zone above and below the waist, pitches outside and inside it, mm."""

    margin_mm: float = _ASSUMED.grommet_margin_mm
    waist_zone_mm: float = _ASSUMED.grommet_waist_zone_mm
    pitch_mm: float = _ASSUMED.grommet_pitch_mm
    waist_pitch_mm: float = _ASSUMED.grommet_waist_pitch_mm
    inset_mm: float = _ASSUMED.grommet_inset_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationUse:
    """An operation that this construction needs; `minutes` overrides unit minutes by driver."""

    code: str
    minutes: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Construction:
    """A recipe.

    Attributes:
        code: the name that commands and files use (`two-layer`).
        layers: outermost first; their roles are the cloth roles that an option must fill.
        shells: every role stands in exactly one.
        ply_thickness_mm: thickness of one ply, replaces the flat thread rule by 2 + 2TS; None keeps the rule.
        source: where it comes from, for whoever asks.
    """

    code: str
    title: str
    layers: tuple[Layer, ...]
    shells: tuple[Shell, ...]
    channels: Channels
    allowances: Allowances = field(default_factory=Allowances)
    bones: Bones = field(default_factory=Bones)
    grommets: Grommets = field(default_factory=Grommets)
    front: FrontKind = FrontKind.BUSK
    binding: BindingSource = BindingSource.CUT
    has_waist_tape: bool = True
    operations: tuple[OperationUse, ...] = ()
    ply_thickness_mm: float | None = None
    source: str = ""

    @property
    def roles(self) -> tuple[str, ...]:
        """The cloth roles, outermost first."""
        return tuple(layer.role for layer in self.layers)

    @property
    def thicknesses(self) -> int:
        """Layers that lie over each other where they are most; cloths side by side are one."""
        named = {number for layer in self.layers for number in layer.panels}
        return max(layers_at(self.layers, number) for number in (0, *named))

    def layers_of(self, shell: Shell) -> tuple[Layer, ...]:
        """The layers that are sewn in a shell, outermost first."""
        return tuple(layer for layer in self.layers if layer.role in shell.roles)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneChoice:
    """What an option says of the bones in a channel. None leaves it to the construction, or to what costs least.

    `stacked` bones lie over each other in the one channel.
    """

    kind: MaterialKind | None = None
    form: BoneForm | None = None
    stacked: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What an option of a quote may change in its construction. None keeps what the construction says.

    `kept_pattern` says that the pattern is there already and only checked; `materials` picks a material by its code
    where the price list has several of a kind; `bones` chooses by place ("seam", "centre-back") or channel ("seam 3").
    """

    front: FrontKind | None = None
    bones_per_seam: int | None = None
    binding: BindingSource | None = None
    flossing: bool = False
    modesty_panel: bool = False
    toile: bool = True
    fittings: int = _ASSUMED.fittings
    kept_pattern: bool = False
    materials: dict[str, str] = field(default_factory=dict)
    bones: dict[str, BoneChoice] = field(default_factory=dict)
