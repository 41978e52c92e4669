"""The facts that matter to a kind of material beyond its price: asked for on its page, shown, kept as decimal text."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.materials import MaterialKind

__all__ = ["Fact", "facts_of"]


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

_FACTS: dict[MaterialKind, tuple[Fact, ...]] = {
    MaterialKind.CLOTH: _CLOTH,
    MaterialKind.TOILE_CLOTH: _CLOTH,
    MaterialKind.FUSIBLE: _CLOTH[:1],
    MaterialKind.SPIRAL: (
        *_BONE,
        Fact(name="tip", label="Takes the tip"),
        Fact(name="coil", label="Length of a coil", unit="m", most=Decimal(1000)),
    ),
    MaterialKind.FLAT: (
        *_BONE,
        Fact(name="coating", label="Coating"),
        *_WEIGHED_PIECES,
    ),
    MaterialKind.TIP: (Fact(name="bore", label="Fits bones of", unit="mm", most=Decimal(50)), *_WEIGHED_PIECES),
    MaterialKind.BUSK: (
        Fact(name="width", label="Width a side", unit="mm", most=Decimal(100)),
        Fact(name="loops", label="Loops"),
        Fact(name="nickel", label="Nickel", hint="What the supplier's statement says."),
    ),
    MaterialKind.ZIP: (Fact(name="size", label="Size of the teeth"),),
    MaterialKind.GROMMET: (
        Fact(name="bore", label="Bore", unit="mm", most=Decimal(50)),
        Fact(name="barrel", label="Barrel", unit="mm", most=Decimal(50), hint="Longer than the plies are thick."),
        Fact(name="die", label="Die", hint="Dies fit one maker's size."),
        Fact(name="washer", label="Washer"),
        Fact(name="nickel", label="Nickel", hint="What the supplier's statement says."),
        *_WEIGHED_PIECES,
    ),
    MaterialKind.CORD: _TAPE,
    MaterialKind.BINDING: _TAPE,
    MaterialKind.WAIST_TAPE: _TAPE,
    MaterialKind.CASING: _TAPE,
    MaterialKind.THREAD: (
        Fact(name="spool", label="On a spool", unit="m", most=Decimal(20_000)),
        Fact(name="tex", label="Tex", unit="tex", most=Decimal(1000)),
        *_WEIGHED_LENGTH,
    ),
    MaterialKind.NEEDLE: (Fact(name="system", label="System and point"),),
    MaterialKind.FLOSS: (Fact(name="spool", label="On a spool", unit="m", most=Decimal(20_000)), *_WEIGHED_LENGTH),
}


def facts_of(kind: MaterialKind) -> tuple[Fact, ...]:
    """Return what is asked of a kind; nothing for labels and parcels."""
    return _FACTS.get(kind, ())
