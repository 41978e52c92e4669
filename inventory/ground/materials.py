"""What a material is, for pricing a piece: its kind, how it is counted, what it costs and the facts its kind needs.

A `Material` comes from the studio's shelf or from a price list in a file; both read alike. Facts that are left out
take the trade's defaults, to be replaced by the maker's own. All that is said of a kind of material stands in its row of
`KINDS`.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from inventory.ground.bone_forms import BoneForm, PricedForm
from inventory.ground.colours import NEUTRAL_TONE, tone_of
from inventory.ground.defaults import shelf_defaults
from inventory.ground.stock_units import StockUnit

__all__ = [
    "BONES",
    "CLOTHS",
    "KINDS",
    "Fact",
    "KindFacts",
    "Material",
    "MaterialKind",
    "StockUnit",
    "UnknownKind",
    "kind_of",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One fact: its name at rest, what people call it, its unit (empty: words), and the most that is believed."""

    name: str
    label: str
    unit: str = ""
    most: Decimal = Decimal(100_000)
    hint: str = ""

    @property
    def is_number(self) -> bool:
        """Whether it is a number."""
        return bool(self.unit)


_CLOTH = (
    Fact(name="weight", label="Weight", unit="g/m²", most=Decimal(2000)),
    Fact(name="shrinkage_across", label="Shrinkage across", unit="%", most=Decimal(50)),
    Fact(name="repeat", label="Repeat of the pattern", unit="mm", most=Decimal(2000)),
    Fact(name="fibre", label="Fibre", hint="As the label must say it."),
    Fact(name="washing", label="Washing before use"),
)
_WEIGHED_LENGTH = (Fact(name="grams_per_metre", label="Weighs", unit="g/m", most=Decimal(5000)),)
_WEIGHED_PIECES = (Fact(name="grams_per_hundred", label="A hundred weigh", unit="g", most=Decimal(100_000)),)
_BONE = (Fact(name="thickness", label="Thickness", unit="mm", most=Decimal(10)), *_WEIGHED_LENGTH)
_TAPE = (Fact(name="width", label="Width", unit="mm", most=Decimal(500)), *_WEIGHED_LENGTH)


class MaterialKind(StrEnum):
    """The kinds that a corset takes. The values are the words of the commission file; the rest is in `KINDS`."""

    CLOTH = "cloth"
    TOILE_CLOTH = "toile-cloth"
    FUSIBLE = "fusible"
    SPIRAL = "spiral"
    FLAT = "flat"
    SYNTHETIC = "synthetic"
    CANE = "cane"
    TIP = "tip"
    BUSK = "busk"
    ZIP = "zip"
    GROMMET = "grommet"
    CORD = "cord"
    BINDING = "binding"
    WAIST_TAPE = "waist-tape"
    CASING = "casing"
    THREAD = "thread"
    NEEDLE = "needle"
    LABEL = "label"
    PARCEL = "parcel"
    FLOSS = "floss"

    @property
    def unit(self) -> StockUnit:
        """The unit in which the takeoff counts it."""
        return KINDS[self].unit


class UnknownKind(ValueError):
    """A row of the books is of a kind that a later version wrote: nothing is known of its unit and its facts."""


def kind_of(written: str) -> MaterialKind:
    """Return the kind that a row of the books is of. Raises UnknownKind."""
    try:
        return MaterialKind(written)
    except ValueError:
        raise UnknownKind(written) from None


@dataclass(frozen=True, slots=True, kw_only=True)
class KindFacts:
    """All that is said of a kind.

    Attributes:
        unit: in which the takeoff counts it.
        words: what other people's tables call it, with commas between; common practice, no source.
        facts: what is asked of a material of the kind beyond its price.
        form: of a bone, the form that it is usually sold in; None for what is no bone.
        is_tipped: of a bone, whether a cut end takes a tip; else it is rounded with shears or a file.
    """

    label: str
    unit: StockUnit
    words: str
    facts: tuple[Fact, ...] = ()
    form: BoneForm | None = None
    is_tipped: bool = False


KINDS: dict[MaterialKind, KindFacts] = {
    MaterialKind.CLOTH: KindFacts(
        label="Cloth",
        unit=StockUnit.METRE,
        words="cloth, fabric, coutil, brocade, satin, silk, dupion, taffeta, jacquard, lining, lawn, "
        "sateen, drill, duck, ticking, denim, mesh, net, leather, vinyl, textile, fashion fabric, "
        "lining fabric, strength cloth",
        facts=_CLOTH,
    ),
    MaterialKind.TOILE_CLOTH: KindFacts(
        label="Toile cloth",
        unit=StockUnit.METRE,
        words="toile cloth, toile, calico, muslin, toile fabric, mock up cloth",
        facts=_CLOTH,
    ),
    MaterialKind.FUSIBLE: KindFacts(
        label="Fusible",
        unit=StockUnit.METRE,
        words="fusible, interfacing, fusible interfacing, interlining, iron on",
        facts=_CLOTH[:1],
    ),
    MaterialKind.SPIRAL: KindFacts(
        label="Spiral steel",
        unit=StockUnit.METRE,
        words="spiral, spiral steel, spiral bone, spiral boning, spiral steel bone, spiral steel boning",
        facts=(
            *_BONE,
            Fact(name="tip", label="Takes the tip"),
            Fact(name="coil", label="Length of a coil", unit="m", most=Decimal(1000)),
        ),
        form=BoneForm.COIL,
        is_tipped=True,
    ),
    MaterialKind.FLAT: KindFacts(
        label="Flat steel",
        unit=StockUnit.EACH,
        words="flat, flat steel, flat bone, flat boning, flat steel bone, flat steel boning, spring steel",
        facts=(
            *_BONE,
            Fact(name="coating", label="Coating"),
            *_WEIGHED_PIECES,
        ),
        form=BoneForm.TIPPED,
        is_tipped=True,
    ),
    MaterialKind.SYNTHETIC: KindFacts(
        label="Synthetic whalebone",
        unit=StockUnit.METRE,
        words="synthetic, synthetic whalebone, plastic whalebone, plastic bone, plastic boning, synthetic bone",
        facts=(*_BONE, Fact(name="coil", label="Length of a coil", unit="m", most=Decimal(1000))),
        form=BoneForm.COIL,
    ),
    MaterialKind.CANE: KindFacts(
        label="Cane",
        unit=StockUnit.METRE,
        words="cane, reed, cane bone, cane boning, reed boning",
        facts=_BONE,
        form=BoneForm.COIL,
    ),
    MaterialKind.TIP: KindFacts(
        label="Bone tip",
        unit=StockUnit.EACH,
        words="tip, bone tip, boning tip, end cap, bone end, u tip",
        facts=(Fact(name="bore", label="Fits bones of", unit="mm", most=Decimal(50)), *_WEIGHED_PIECES),
    ),
    MaterialKind.BUSK: KindFacts(
        label="Busk",
        unit=StockUnit.PAIR,
        words="busk, front busk, spoon busk, straight busk, wide busk",
        facts=(
            Fact(name="width", label="Width a side", unit="mm", most=Decimal(100)),
            Fact(name="loops", label="Loops"),
            Fact(name="nickel", label="Nickel", hint="What the supplier's statement says."),
        ),
    ),
    MaterialKind.ZIP: KindFacts(
        label="Open-ended zip",
        unit=StockUnit.EACH,
        words="zip, zipper, open ended zip, separating zip, separating zipper",
        facts=(Fact(name="size", label="Size of the teeth"),),
    ),
    MaterialKind.GROMMET: KindFacts(
        label="Grommet and washer",
        unit=StockUnit.SET,
        words="grommet, eyelet, grommet and washer, eyelet and washer, two part eyelet",
        facts=(
            Fact(name="bore", label="Bore", unit="mm", most=Decimal(50)),
            Fact(name="barrel", label="Barrel", unit="mm", most=Decimal(50), hint="Longer than the plies are thick."),
            Fact(name="die", label="Die", hint="Dies fit one maker's size."),
            Fact(name="washer", label="Washer"),
            Fact(name="nickel", label="Nickel", hint="What the supplier's statement says."),
            *_WEIGHED_PIECES,
        ),
    ),
    MaterialKind.CORD: KindFacts(
        label="Lacing cord",
        unit=StockUnit.METRE,
        words="cord, lacing, lacing cord, laces, corset lace, corset lacing, corset cord",
        facts=_TAPE,
    ),
    MaterialKind.BINDING: KindFacts(
        label="Binding",
        unit=StockUnit.METRE,
        words="binding, bias binding, bias tape, bias",
        facts=_TAPE,
    ),
    MaterialKind.WAIST_TAPE: KindFacts(
        label="Waist tape",
        unit=StockUnit.METRE,
        words="waist tape, waist stay, waist ribbon, twill tape, grosgrain, petersham",
        facts=_TAPE,
    ),
    MaterialKind.CASING: KindFacts(
        label="Casing tape",
        unit=StockUnit.METRE,
        words="casing, casing tape, bone casing, boning casing, boning channel, channel tape",
        facts=_TAPE,
    ),
    MaterialKind.THREAD: KindFacts(
        label="Thread",
        unit=StockUnit.METRE,
        words="thread, sewing thread, spool",
        facts=(
            Fact(name="spool", label="On a spool", unit="m", most=Decimal(20_000)),
            Fact(name="tex", label="Tex", unit="tex", most=Decimal(1000)),
            *_WEIGHED_LENGTH,
        ),
    ),
    MaterialKind.NEEDLE: KindFacts(
        label="Needle",
        unit=StockUnit.EACH,
        words="needle, machine needle, sewing machine needle",
        facts=(Fact(name="system", label="System and point"),),
    ),
    MaterialKind.LABEL: KindFacts(
        label="Label set",
        unit=StockUnit.SET,
        words="label, label set, care label, woven label",
    ),
    MaterialKind.PARCEL: KindFacts(
        label="Parcel",
        unit=StockUnit.EACH,
        words="parcel, box, boxes, packaging, mailer, packing",
    ),
    MaterialKind.FLOSS: KindFacts(
        label="Flossing silk",
        unit=StockUnit.METRE,
        words="floss, flossing, flossing silk, perle, perle silk, embroidery thread, embroidery silk",
        facts=(Fact(name="spool", label="On a spool", unit="m", most=Decimal(20_000)), *_WEIGHED_LENGTH),
    ),
}

CLOTHS = (MaterialKind.CLOTH, MaterialKind.TOILE_CLOTH, MaterialKind.FUSIBLE)
"""What has a usable width, may be washed and leaves remnants."""


BONES = tuple(kind for kind, facts in KINDS.items() if facts.form is not None)
"""What stands in a boning channel."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One thing on a price list.

    Attributes:
        code: how files and the shelf name it; unique in its list.
        unit: what `unit_cost` pays for.
        unit_cost: >= 0, up to 6 decimals.
        usable_width_mm: cloth, toile cloth and fusible: width less selvedges, > 0.
        shrinkage_share: lost along the length in washing, 0 <= share < 1.
        has_nap: pieces may not be turned end for end.
        repeat_mm: cloth that is matched: after how much along it its stripes or its print begin anew; 0 for none.
        step_mm: kinds sold by length: the step in which it is sold, > 0.
        pack: kinds sold by count: pieces in a pack, >= 1.
        lengths_mm: cut bones and busks: the lengths it comes in, ascending; empty for the trade's own steps.
        forms: bones: what it can be had in and what each costs; empty: as its kind is usually sold, at `unit_cost`.
        width_mm: bones, tips and tapes.
        colour: in the maker's words.
        tone: as `#rrggbb` where the maker has set one or a photograph shows it; empty otherwise.
        swatch: digest of a small square picture of it; empty for none.
        handling: how a cloth handles (satin, matched, mesh, leather), for the standard minutes; empty for plain.
    """

    code: str
    kind: MaterialKind
    unit: StockUnit
    unit_cost: Decimal
    name: str = ""
    usable_width_mm: float = float(shelf_defaults().material.usable_width_mm)
    shrinkage_share: float = 0.0
    has_nap: bool = False
    repeat_mm: float = 0.0
    step_mm: float = float(shelf_defaults().material.step_mm)
    pack: int = shelf_defaults().material.pack
    lengths_mm: tuple[float, ...] = ()
    forms: tuple[PricedForm, ...] = ()
    width_mm: float | None = None
    colour: str = ""
    tone: str = ""
    swatch: str = ""
    handling: str = ""

    @property
    def shown_tone(self) -> str:
        """The tone that it is drawn in: its own, else that of the words of its colour or its name, else a neutral one."""
        return self.tone or tone_of(self.colour) or tone_of(self.title) or NEUTRAL_TONE

    @property
    def is_matched(self) -> bool:
        """Whether pieces are cut so that its stripes or its print meet."""
        return self.handling == "matched"

    @property
    def title(self) -> str:
        """The name that people read."""
        return self.name or self.code
