"""The piece as an offer shows it: drawn from what was sealed of it, with what each view is in the client's language."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from inventory.ground.pictures import Picture
from quotes.drawings.garment import Look, Looks, garment_drawings
from quotes.languages.catalogue import Catalogue
from quotes.seal.offered import Offer
from quotes.seal.sealed import SealedOption

__all__ = ["NO_PICTURES", "OfferedView", "offered_views"]


NO_PICTURES: Mapping[str, Picture] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedView:
    """One view: what stands under it, what it shows for who cannot see it, and the SVG."""

    caption: str
    shows: str
    svg: str


def offered_views(
    option: SealedOption,
    offer: Offer,
    say: Catalogue,
    *,
    key: str,
    pictures: Mapping[str, Picture] = NO_PICTURES,
) -> list[OfferedView]:
    """Return an option's views from the front and from the back; none where the offer was put before there were any.

    Args:
        key: a name that no other drawing on the page has.
        pictures: of cloths, by their digests; a cloth without one shows in its tone.
    """
    garment = offer.worn_as(option.name)
    if garment is None:
        return []
    looks = _looks(option, offer, pictures)
    shows = (
        say.text("{option}, seen from the front", option=option.name),
        say.text("{option}, seen from the back", option=option.name),
    )
    cloths = "; ".join(dict.fromkeys(offer.material(code).name for code in looks.cloths))
    about = say.text(
        "Drawn from its {panels} panels as it is worn, in {cloths}.",
        panels=2 * option.takeoff.pattern.panels_per_half,
        cloths=cloths,
    )
    drawn = garment_drawings(garment, option.takeoff.front, looks, titles=shows, about=about, key=key)
    captions = (say.text("front"), say.text("back"))
    return [
        OfferedView(caption=caption, shows=f"{words}. {about}", svg=svg)
        for caption, words, svg in zip(captions, shows, drawn, strict=True)
    ]


def _looks(option: SealedOption, offer: Offer, pictures: Mapping[str, Picture]) -> Looks:
    garment = offer.worn_as(option.name)
    panels = () if garment is None else (*garment.front.panels, *garment.back.panels)
    cloths = {code: _look(offer, code, pictures) for code in dict.fromkeys(panel.cloth for panel in panels)}
    outside = next(iter(cloths.values()))
    families = {line.needed.family: line.material for line in option.takeoff.lines}

    def of_family(family: str) -> Look:
        return _look(offer, families[family], pictures) if family in families else outside

    return Looks(
        cloths=cloths,
        binding=of_family("binding"),
        cord=of_family("cord"),
        modesty=outside if option.takeoff.choices.modesty_panel else None,
    )


def _look(offer: Offer, code: str, pictures: Mapping[str, Picture]) -> Look:
    material = offer.material(code)
    picture = pictures.get(material.swatch)
    return Look(tone=material.tone, picture=picture.address if picture is not None else "")
