"""The picture of a piece, read back as XML and as the colours that its cloths have.

Sources: SVG 1.1 for what stands where; WCAG 2.2, 1.1.1: a picture says in words what it shows.
"""

from collections.abc import Mapping
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from support_patterns import block_a, taken_off

from quotes.construction.construction import FrontKind
from quotes.drawings.garment import Look, Looks, garment_drawings
from quotes.drawings.painting import mixed
from quotes.drawings.worn import worn_garment
from quotes.takeoff.takeoff import FrontNeed

SVG = "{http://www.w3.org/2000/svg}"
GREEN, RED, GOLD = "#0b5d3b", "#8a1c2b", "#b08d57"
PICTURE = "data:image/png;base64,AAAA"


def drawn(front: str = "busk", *, look: Look | None = None, **changes: Look | None) -> tuple[ElementTree.Element, ...]:
    taken = taken_off(block_a(), front=FrontKind(front))
    garment = worn_garment(taken, option="First")
    cloths: Mapping[str, Look] = {panel.cloth: look or Look(tone=GREEN) for panel in garment.front.panels}
    looks = replace(Looks(cloths=cloths, binding=Look(tone=RED), cord=Look(tone=GOLD)), **changes)  # type: ignore[arg-type]
    made = garment_drawings(
        garment, taken.front, looks, titles=("From the front", "Behind"), about="Six panels", key="a"
    )
    assert made == garment_drawings(
        garment, taken.front, looks, titles=("From the front", "Behind"), about="Six panels", key="a"
    )
    return tuple(ElementTree.fromstring(markup) for markup in made)


def fills(picture: ElementTree.Element) -> list[str | None]:
    return [shape.get("fill") for shape in picture.iter()]


def strokes(picture: ElementTree.Element) -> list[str | None]:
    return [shape.get("stroke") for shape in picture.iter()]


def test_panels_have_the_tone_of_their_cloth_and_lacing_that_of_its_cord():
    front, back = drawn()
    assert fills(front).count(GREEN) >= 6
    assert mixed(RED, "#15110e", 0.08) in strokes(front)
    assert GOLD in strokes(back)
    assert GOLD not in strokes(front)


def test_a_picture_says_in_words_what_it_shows():
    for picture, title in zip(drawn(), ("From the front", "Behind"), strict=True):
        assert picture.get("role") == "img"
        named = {element.get("id"): element.text for element in picture if element.get("id")}
        assert [named[key] for key in str(picture.get("aria-labelledby")).split()] == [title, "Six panels"]


def test_both_views_have_one_scale_and_names_of_their_own():
    front, back = drawn()
    assert front.get("viewBox") == back.get("viewBox")
    names = [[shape.get("id") for shape in picture.iter() if shape.get("id")] for picture in (front, back)]
    assert len(set(names[0]) | set(names[1])) == len(names[0]) + len(names[1])


@pytest.mark.parametrize("loops", [4, 5, 6])
def test_a_busk_has_its_loops_and_a_closed_front_none(loops: int):
    taken = taken_off(block_a())
    garment = worn_garment(taken, option="")
    looks = Looks(
        cloths={panel.cloth: Look(tone=GREEN) for panel in garment.front.panels},
        binding=Look(tone=GREEN),
        cord=Look(tone=GOLD),
    )
    for kind, pins in ((FrontKind.BUSK, loops), (FrontKind.CLOSED, 0)):
        need = FrontNeed(kind=kind, length_mm=200.0, loops=loops)
        front, _ = garment_drawings(garment, need, looks, titles=("", ""), about="", key="a")
        assert front.count("<circle") == pins


def test_each_grommet_is_a_ring_around_a_hole():
    taken = taken_off(block_a())
    _, back = drawn()
    # Two discs each, and the knot of the bow.
    assert len(list(back.iter(f"{SVG}circle"))) == 2 * taken.grommets.sets + 1


def test_a_photograph_fills_the_panels_in_place_of_the_tone():
    front, _ = drawn(look=Look(tone=GREEN, picture=PICTURE))
    assert GREEN not in fills(front)
    pattern = next(front.iter(f"{SVG}pattern"))
    assert [image.get("href") for image in pattern.iter(f"{SVG}image")] == [PICTURE]
    assert fills(front).count(f"url(#{pattern.get('id')})") >= 6


def test_a_modesty_panel_shows_between_the_lacing():
    blue = "#10206f"
    _, without = drawn()
    _, behind = drawn(modesty=Look(tone=blue))
    assert blue in fills(behind)
    assert blue not in fills(without)


def test_colours_mix_by_their_share():
    assert mixed("#000000", "#ffffff", 0.5) == "#808080"
    assert mixed("#102030", "#ffffff", 0.0) == "#102030"
