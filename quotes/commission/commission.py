"""A commission going in, priced options coming out."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from inventory.ground.findings import Finding
from inventory.ground.materials import Material
from inventory.ground.money import Currency
from quotes.construction.choices import apply_choices
from quotes.construction.construction import Choices, Construction
from quotes.labour.operations import LabourEstimate, StandardTimes
from quotes.pattern.panels import Pattern
from quotes.pricing.costing import Costing, Extra, Rates
from quotes.takeoff.losses import Losses
from quotes.takeoff.takeoff import Takeoff

__all__ = ["Commission", "Option", "OptionFinding", "Overrule", "PricedOption", "Quotation"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Overrule:
    """The maker's own figure for one takeoff line (by its code), in the line's unit, and why."""

    line: str
    quantity: Decimal
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way to make the piece. `cloths` maps each role to a material code; `folded` are those of them that are laid folded."""

    name: str
    construction: Construction
    cloths: dict[str, str]
    choices: Choices = field(default_factory=Choices)
    folded: frozenset[str] = frozenset()
    overrules: tuple[Overrule, ...] = ()

    @property
    def applied(self) -> Construction:
        """The construction as this option's choices make it."""
        return apply_choices(self.construction, self.choices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Commission:
    """What is quoted. `pattern_findings` is what reading the pattern noticed."""

    title: str
    currency: Currency
    pattern: Pattern
    options: tuple[Option, ...]
    rates: Rates
    price_list: tuple[Material, ...]
    times: StandardTimes
    losses: Losses
    client: str = ""
    due: date | None = None
    extras: tuple[Extra, ...] = ()
    pattern_findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedOption:
    """An option with its takeoff, its hours and its price."""

    name: str
    takeoff: Takeoff
    labour: LabourEstimate
    costing: Costing


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionFinding(Finding):
    """A finding of one option: its name, empty for all, and the place within it; `where` says both in words."""

    option: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quotation:
    """All options, priced. No stop among `findings`."""

    currency: Currency
    options: tuple[PricedOption, ...]
    findings: tuple[OptionFinding, ...] = ()
