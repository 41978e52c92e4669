"""The takeoff's result: plain facts, each with its reason. What the labour and pricing rooms take."""

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Finding
from inventory.ground.materials import KINDS, MaterialKind, StockUnit
from quotes.construction.construction import Choices, Construction, FrontKind
from quotes.lay.lay_plan import LayPlan
from quotes.pattern.panels import Pattern, Seam

__all__ = [
    "BonePlace",
    "BoneRun",
    "ClothNeed",
    "FrontNeed",
    "GrommetNeed",
    "MaterialLine",
    "Needed",
    "Piece",
    "Reason",
    "Takeoff",
    "Work",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why a figure is what it is, for the maker who presses it.

    Attributes:
        counted: what was counted or measured, in words with its numbers.
        formula: the formula with the numbers put in.
        waste: what is added for waste or spoilage; empty for none.
        rounding: how the use became what is bought; empty for none.
        source: published source, or "common practice".
    """

    counted: str
    formula: str = ""
    waste: str = ""
    rounding: str = ""
    source: str = "common practice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece to cut. `half` is "left" or "right"; `layer` the layer's title; `cloth` the role."""

    label: str
    panel: int
    half: str
    layer: str
    cloth: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClothNeed:
    """What a role takes of its cloth. `lay_mm` is the lay alone; `buy_mm` has own use, shrinkage, bias square and step in it.

    Where it is folded, `lay` is of one thickness, on half the width.
    """

    role: str
    material: str
    pieces: int
    area_mm2: float
    usable_width_mm: float
    lay_mm: float
    utilisation_share: float
    buy_mm: float
    lay: LayPlan | None = None
    is_folded: bool = False


class BonePlace(StrEnum):
    """Where in the garment a channel runs."""

    SEAM = "seam"
    MID_PANEL = "mid-panel"
    CENTRE_BACK = "centre-back"
    BESIDE_FRONT = "beside-front"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneRun:
    """`count` like bones at one place, each in a channel. `ideal_mm` before stepping down to what there is.

    `where` says the place in words; `number` is its seam's or its panel's, 0 elsewhere. `material` is its code on the price
    list, empty without one and in what was sealed before bones named it; `form` is that in which the bone
    lies in the drawer or is sold, empty for the usual one of its kind; `cut_from_mm` the length of the piece that it is
    cut from, 0 where it is not cut or comes off the coil; `why` it is this one, in words.
    """

    where: str
    kind: str
    channel_mm: float
    ideal_mm: float
    length_mm: float
    count: int
    place: BonePlace
    number: int = 0
    material: str = ""
    form: str = ""
    cut_from_mm: float = 0.0
    why: str = ""

    @property
    def drawer_form(self) -> BoneForm:
        """The form in which it lies in the drawer."""
        usual = KINDS[MaterialKind(self.kind)].form
        assert usual is not None
        return BoneForm(self.form) if self.form else usual

    @property
    def is_cut(self) -> bool:
        """Whether it is cut to its length, from the coil or from a longer one."""
        return self.drawer_form is BoneForm.COIL or self.cut_from_mm > 0

    @property
    def tips(self) -> int:
        """How many tips are crimped on it: none on one that is used as it is bought with tips, or that takes none."""
        has_raw_ends = self.is_cut or self.drawer_form is BoneForm.CUT
        return 2 if has_raw_ends and KINDS[MaterialKind(self.kind)].is_tipped else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontNeed:
    """The closure at centre front; `loops` is 0 unless it is a busk, `length_mm` 0 where it is closed."""

    kind: FrontKind
    length_mm: float
    loops: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GrommetNeed:
    """Grommets down one side, and sets in the whole garment (spoilage and test pieces stand in the line)."""

    per_side: int
    sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """What kind of line a material stands in, when it is there and whether it shows.

    Attributes:
        family: which kind of line it is, whatever it is of: all cloths are `cloth`, all flats `flat`.
        before: code of the operation before which it is there.
        stage: what that is called where the construction has no such operation.
        is_visible: seen on the finished piece, so that all of it must be of one lot.
    """

    family: str
    before: str
    stage: str
    is_visible: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialLine:
    """What goes in of one material.

    `material` is a code of the price list, empty where the takeoff runs without one; `quantity` the use with waste,
    `buy_quantity` what must be bought, both in `unit`. `overruled` holds the computed quantity where the maker set
    another, with `overrule_reason`. `roles` are those of the cloths that it is for, outermost first; `size_mm` the length
    that it must have on the shelf, 0 for what comes in no lengths; `form` that of a bone, empty for its material's own.
    """

    code: str
    kind: MaterialKind
    what: str
    material: str
    quantity: Decimal
    unit: StockUnit
    buy_quantity: Decimal
    reason: Reason
    needed: Needed
    roles: tuple[str, ...] = ()
    size_mm: float = 0.0
    form: str = ""
    overruled: Decimal | None = None
    overrule_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """How much there is to do. `drivers` are the quantities that operations are timed by, by name (drivers.py)."""

    pieces: int
    seams: int
    seam_passes: int
    seam_mm: float
    pass_mm: float
    drivers: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Takeoff:
    """All of it. `pattern` and `construction` are what it was taken from; `effort` is the lay effort that was used."""

    pattern: Pattern
    construction: Construction
    choices: Choices
    seams: tuple[Seam, ...]
    worn_waist_mm: float
    cut_areas_mm2: tuple[float, ...]
    pieces: tuple[Piece, ...]
    cloths: tuple[ClothNeed, ...]
    bones: tuple[BoneRun, ...]
    front: FrontNeed
    grommets: GrommetNeed
    tape_mm: float
    binding_mm: float
    casing_mm: float
    cord_mm: float
    thread_mm: float
    lines: tuple[MaterialLine, ...]
    work: Work
    effort: str
    findings: tuple[Finding, ...] = ()
