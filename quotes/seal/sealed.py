"""Sealed figures: an option's takeoff, hours and price as they are printed and kept, rounded as they are shown."""

from dataclasses import dataclass, field
from decimal import Decimal

from inventory.ground.findings import Finding
from quotes.commission.commission import OptionFinding
from quotes.labour.operations import LabourEstimate
from quotes.pricing.costing import CostLine
from quotes.takeoff.takeoff import BoneRun, FrontNeed, GrommetNeed, Needed, Piece, Reason

__all__ = [
    "SealedChoices",
    "SealedCloth",
    "SealedConstruction",
    "SealedLine",
    "SealedOption",
    "SealedPanel",
    "SealedPattern",
    "SealedQuotation",
    "SealedSeam",
    "SealedTakeoff",
    "SealedWork",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedPanel:
    """A panel's edges on the stitching line as drawn, and its areas."""

    number: int
    net_area_mm2: float
    cut_area_mm2: float
    front_mm: float
    back_mm: float
    top_mm: float
    bottom_mm: float
    waist_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedSeam:
    """Both edges of a seam: the back edge of its panel, the front edge of the next, first less second."""

    number: int
    length_mm: float
    other_length_mm: float
    difference_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedPattern:
    """The pattern in figures. `worn_waist_mm` is the closed waist with the lacing gap."""

    name: str
    panels_per_half: int
    closed_waist_mm: float
    worn_waist_mm: float
    estimating_only: bool
    panels: tuple[SealedPanel, ...]
    seams: tuple[SealedSeam, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedConstruction:
    """The construction by its code and its title."""

    name: str
    title: str
    cloth_layers: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedChoices:
    """What was chosen within the construction; the words are those of a commission's `choices`."""

    front: str
    bones_per_seam: int
    binding: str
    flossing: bool
    modesty_panel: bool
    toile: bool
    kept_pattern: bool
    fittings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedWork:
    """The sewing of the whole garment; topstitching and channels are no seam passes."""

    pieces: int
    seams: int
    seam_passes: int
    seam_mm: float
    pass_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedCloth:
    """What a role takes of its cloth; `buy_mm` after shrinkage, bias square and step.

    `lay_above_share` is how much longer its lay is than what no lay can beat, `lay_effort` how long that was searched for;
    None and empty where none is drawn, and in what was sealed before lays said so. `is_folded` is whether it is cut through
    two thicknesses.
    """

    role: str
    material: str
    pieces: int
    area_mm2: float
    usable_width_mm: float
    lay_mm: float
    utilisation_share: float
    buy_mm: float
    lay_above_share: float | None = None
    lay_effort: str = ""
    is_folded: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedLine:
    """What goes in of one material: the takeoff’s `MaterialLine` as printed. `basis` is its reason as a sentence."""

    code: str
    what: str
    material: str
    quantity: Decimal
    unit: str
    buy_quantity: Decimal
    basis: str
    reason: Reason
    needed: Needed
    roles: tuple[str, ...] = ()
    size_mm: float = 0.0
    form: str = ""
    overruled: Decimal | None = None
    overrule_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedTakeoff:
    """All that a garment takes, with its labour."""

    pattern: SealedPattern
    construction: SealedConstruction
    choices: SealedChoices
    work: SealedWork
    pieces: tuple[Piece, ...]
    cloths: tuple[SealedCloth, ...]
    bones: tuple[BoneRun, ...]
    front: FrontNeed
    grommets: GrommetNeed
    tape_mm: float
    binding_mm: float
    casing_mm: float
    cord_mm: float
    thread_mm: float
    lines: tuple[SealedLine, ...]
    labour: LabourEstimate
    effort: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedOption:
    """An option with its price; the amounts and their identities are those of `quotes.pricing.costing.Costing`."""

    # What is kept must not change with what is reckoned, so its form is said here again.
    # pylint: disable=duplicate-code
    name: str
    takeoff: SealedTakeoff
    lines: tuple[CostLine, ...]
    materials: Decimal
    labour: Decimal
    overhead: Decimal
    contingency: Decimal
    extras: Decimal
    cost: Decimal
    profit: Decimal
    discount: Decimal
    rush: Decimal
    fee: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    deposit: tuple[Decimal, ...]
    per_hour: Decimal
    binding_rule: str

    def lines_of(self, group: str) -> tuple[CostLine, ...]:
        """The cost lines of a group, in their order."""
        return tuple(line for line in self.lines if line.group == group)


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedQuotation:
    """All options, priced. No stop among `findings`."""

    currency: str
    options: tuple[SealedOption, ...]
    findings: tuple[OptionFinding, ...] = field(default_factory=tuple)

    def option(self, name: str) -> SealedOption:
        """The option of that name. Raises KeyError where there is none."""
        for option in self.options:
            if option.name == name:
                return option
        raise KeyError(name)
