"""What an option holds, in the client's words: each named thing is that of the option's own lines."""

from dataclasses import dataclass

from inventory.ground.wording import coloured_text
from quotes.construction.construction import FrontKind, Layer
from quotes.construction.construction_json import read_construction
from quotes.languages.catalogue import Catalogue
from quotes.seal.offered import Offer, OfferedMaterial
from quotes.seal.sealed import SealedOption
from quotes.seal.snapshot import Snapshot

__all__ = ["OfferedFact", "offered_facts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedFact:
    """One line of what is offered: what it is about, and what it is."""

    about: str
    words: str


def offered_facts(option: SealedOption, snapshot: Snapshot, offer: Offer, say: Catalogue) -> list[OfferedFact]:
    """Return what an option's price holds, and what it does not where that matters."""
    takeoff, choices = option.takeoff, option.takeoff.choices
    layers = read_construction(snapshot.constructions[option.name]).layers
    families = {line.needed.family: line.material for line in takeoff.lines}

    def named(family: str) -> str:
        return _title(offer.material(families[family]))

    facts = [
        *_cloths(option, layers, offer, say),
        (
            say.text("Made of"),
            say.count(
                "{panels} panels in one layer",
                "{panels} panels in {number} layers",
                takeoff.construction.cloth_layers,
                panels=2 * takeoff.pattern.panels_per_half,
            ),
        ),
        (say.text("Front"), _front(option, families, offer, say)),
        (say.text("Lacing"), _lacing(option, families, offer, say)),
        (say.text("Bones"), _bones(option, families, offer, say)),
        (
            say.text("Edges"),
            named("binding") if "binding" in families else say.text("bound with bias strips of the cloth outside"),
        ),
        (say.text("Flossing"), named("floss") if choices.flossing and "floss" in families else ""),
        (
            say.text("Pattern"),
            say.text("from a pattern that is there, checked for you")
            if choices.kept_pattern
            else say.text("drafted for you"),
        ),
        (say.text("Fittings"), _fittings(option, say)),
        (say.text("Behind the lacing"), say.text("a modesty panel") if choices.modesty_panel else ""),
        (say.text("Post"), say.text("packed for the post; postage is not included")),
    ]
    return [OfferedFact(about=about, words=words) for about, words in facts if words]


def _cloths(option: SealedOption, layers: tuple[Layer, ...], offer: Offer, say: Catalogue) -> list[tuple[str, str]]:
    """The cloth of each layer by what shows: cloths that show first, then the others, each once."""
    of_role = {
        role: line.material for line in option.takeoff.lines for role in line.roles if line.needed.family == "cloth"
    }
    shown = [layer.role for layer in layers if layer.is_visible] or [layers[0].role]
    hidden = [layer.role for layer in layers if layer.role not in shown]

    def titles(roles: list[str]) -> str:
        return "; ".join(dict.fromkeys(_title(offer.material(of_role[role])) for role in roles if role in of_role))

    return [(say.text("Cloth outside"), titles(shown)), (say.text("Cloth inside"), titles(hidden))]


def _front(option: SealedOption, families: dict[str, str], offer: Offer, say: Catalogue) -> str:
    front = option.takeoff.front.kind
    if front is FrontKind.CLOSED:
        return say.text("closed")
    named = _title(offer.material(families[front.value]))
    if front is FrontKind.ZIP:
        return say.text("open-ended zip: {zip}", zip=named)
    return say.text("steel busk: {busk}", busk=named)


def _lacing(option: SealedOption, families: dict[str, str], offer: Offer, say: Catalogue) -> str:
    sets = option.takeoff.grommets.sets
    if not sets or "grommet" not in families or "cord" not in families:
        return say.text("none")
    return say.count(
        "{number} grommet ({grommet}), {cord}",
        "{number} grommets ({grommet}), {cord}",
        sets,
        grommet=_title(offer.material(families["grommet"])),
        cord=_title(offer.material(families["cord"])),
    )


def _bones(option: SealedOption, families: dict[str, str], offer: Offer, say: Catalogue) -> str:
    counts: dict[str, int] = {}
    for run in option.takeoff.bones:
        # What was sealed before bones named their material has a line of the kind.
        material = run.material or families.get(run.kind, "")
        counts[material] = counts.get(material, 0) + run.count
    return "; ".join(
        say.text("{number} of {bone}", number=count, bone=_title(offer.material(material)))
        for material, count in counts.items()
        if material
    )


def _fittings(option: SealedOption, say: Catalogue) -> str:
    choices = option.takeoff.choices
    if not choices.fittings:
        return say.text("none, with a toile") if choices.toile else say.text("none")
    if choices.toile:
        return say.count("one, with a toile", "{number}, with a toile", choices.fittings)
    return say.count("one", "{number}", choices.fittings)


def _title(material: OfferedMaterial) -> str:
    return coloured_text(material.name, material.colour)
