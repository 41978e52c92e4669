"""From printed cards and photographs of paper pieces to a kept pattern, on a phone. The photographs are rendered."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect
from support_hand import PHONE, Hand
from support_phone import must_fit
from support_photographs import cards_at_the_corners, laid_panels, photograph, small_scene

from quotes.construction.construction import Choices
from quotes.construction.shipped import DEFAULT, shipped
from quotes.models import PatternPhotograph, PatternRevision, PhotographInSet
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.panels import Panel, Pattern
from quotes.pattern.readers import read_pattern
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import take_off

PATTERNS = Path(__file__).parents[2] / "fixtures" / "patterns"
BY_PAIRS = ("grommet", "cord")
MEASURING_MS = 240_000
"""Whatever else the machine does."""


def photographed(panels: Sequence[Panel], path: Path, *, width: float, height: float, size: tuple[int, int]) -> Path:
    """Panels cut out of paper, each a little askew, in one picture with a card at each corner."""
    scene = small_scene(
        pieces=laid_panels(panels, left=45, top=130, gap=22, seed=panels[0].number),
        laid_cards=cards_at_the_corners(width, height, bend=0.3),
        width=width,
        height=height,
        size=size,
        tilt_deg=6,
        seed=panels[0].number,
    )
    path.write_bytes(photograph(scene))
    return path


def taken_off(pattern: Pattern) -> dict[str, float]:
    """What the pattern takes, by what it is: mm, mm², pieces, lines of the list in their own units.

    Grommets and their cord are left out: they go by whole pairs, so that a tenth of a millimetre may add one.
    """
    construction = shipped(DEFAULT)
    found = take_off(pattern, construction, Choices(), plain_shelf(construction), plans={}, effort="none")
    return {
        "pieces": found.work.pieces,
        "seam mm": found.work.seam_mm,
        **{f"area of panel {number}": area for number, area in enumerate(found.cut_areas_mm2, start=1)},
        **{f"{line.code}, {line.what}": float(line.quantity) for line in found.lines if line.code not in BY_PAIRS},
    }


def cards_are_measured(phone: Hand) -> None:
    phone.come_in()
    phone.open("/patterns/")
    phone.press("link", "Photograph paper pieces")
    phone.sees("Asked once for each printed sheet")
    must_fit(phone)
    phone.write("The bar along the sheet", "25")
    phone.write("The bar across the sheet", "18")
    phone.press("button", "Keep what they measure")
    phone.sees("What the cards measure is kept")


def is_on_the_table(phone: Hand) -> None:
    expect(phone.page.get_by_role("heading", level=1, name="The pattern table")).to_be_visible(timeout=MEASURING_MS)
    must_fit(phone)


def keep(phone: Hand) -> Pattern:
    """The pattern that is kept of what lies on the table."""
    phone.page.get_by_label("In every photograph the outlines lie on the edges of the paper").check()
    phone.press("button", "Keep this pattern")
    expect(phone.page.get_by_role("heading", level=1, name="From photographs")).to_be_visible()
    must_fit(phone)
    return PatternRevision.objects.get().panels


def test_six_paper_pieces_in_two_photographs_are_taken_off_as_their_file_is(
    maker: User, new_hand: Callable[..., Hand], tmp_path: Path
):
    drawn = read_pattern(PATTERNS / "underbust.svg", ReadOptions()).pattern
    room = {"width": 360, "height": 540, "size": (880, 1320)}
    one = photographed(drawn.panels[:3], tmp_path / "one.jpg", **room)
    two = photographed(drawn.panels[3:], tmp_path / "two.jpg", **room)
    phone = new_hand(PHONE)
    cards_are_measured(phone)
    chooser = phone.page.get_by_label("Photographs", exact=True)
    # As a camera hands them over, one after another.
    chooser.set_input_files(one)
    chooser.set_input_files(two)
    expect(phone.page.get_by_role("list", name="Chosen").get_by_role("listitem")).to_have_count(2)
    must_fit(phone)
    phone.press("button", "Measure them")
    phone.sees(re.compile("photograph [12] of 2: (one|two).jpg"))
    must_fit(phone)
    is_on_the_table(phone)
    assert not PhotographInSet.objects.exists()
    expect(phone.page.locator(".drawing-photographed .measured")).to_have_count(6)
    assert (
        phone.page.locator(".drawing-photographed image").first.evaluate(
            "async (picture) => (await fetch(picture.href.baseVal)).headers.get('Content-Type')"
        )
        == "image/jpeg"
    )
    phone.page.locator("#outline-6").tap()
    phone.sees(re.compile("5 panels a half"))
    expect(phone.page.locator(".measured-left-out")).to_have_count(1)
    phone.page.locator("#outline-6").tap()
    phone.sees(re.compile("6 panels a half"))
    kept = keep(phone)
    assert PatternRevision.objects.get().source_name == "photograph: one.jpg, two.jpg"
    assert not PatternPhotograph.objects.exists()
    assert kept.closed_waist_mm == pytest.approx(drawn.closed_waist_mm, rel=0.005)
    for mine, true in zip(kept.panels, drawn.panels, strict=True):
        assert mine.waist_mm - mine.bounds[0][1] == pytest.approx(true.waist_mm - true.bounds[0][1], abs=0.4)
    assert taken_off(kept) == pytest.approx(taken_off(drawn), rel=0.005)


def test_what_is_too_much_is_told_before_it_is_sent(maker: User, new_hand: Callable[..., Hand], tmp_path: Path):
    files = []
    for number in range(5):
        files.append(tmp_path / f"IMG_{number}.jpg")
        with files[-1].open("wb") as file:
            file.truncate(14_000_000 + number)
    phone = new_hand(PHONE)
    cards_are_measured(phone)
    chooser = phone.page.get_by_label("Photographs", exact=True)
    chooser.set_input_files(files)
    phone.sees("These are 5 photographs; there is room for 4. Lay more pieces into each.")
    must_fit(phone)
    phone.press("button", "Measure them")
    for number in (4, 3):
        phone.press("button", f"Take IMG_{number}.jpg away")
    expect(phone.page.locator("[data-chosen-fault]")).to_be_hidden()
    chooser.set_input_files([files[3], files[4]])
    phone.press("button", "Take IMG_0.jpg away")
    expect(phone.page.locator("[data-chosen-fault]")).to_be_hidden()
    assert chooser.evaluate("input => [...input.files].map(file => file.name)") == [
        f"IMG_{n}.jpg" for n in (1, 2, 3, 4)
    ]
    files[0].write_bytes(b"")
    with files[0].open("wb") as file:
        file.truncate(25_000_000)
    phone.press("button", "Take IMG_1.jpg away")
    chooser.set_input_files(files[0])
    phone.sees("These photographs take 68 MB together; 60 MB are the most.")
    assert not PhotographInSet.objects.exists()


def test_what_cannot_be_measured_is_named_and_may_be_gone_on_without(
    maker: User, new_hand: Callable[..., Hand], tmp_path: Path
):
    (tmp_path / "notes.jpg").write_bytes(b"no picture")
    phone = new_hand(PHONE)
    cards_are_measured(phone)
    phone.page.get_by_label("Photographs", exact=True).set_input_files(tmp_path / "notes.jpg")
    phone.press("button", "Measure them")
    heading = phone.page.get_by_role("heading", level=1, name="The photograph cannot be used")
    expect(heading).to_be_visible(timeout=MEASURING_MS)
    phone.sees("The file is no picture that can be read, or is broken off.")
    must_fit(phone)
    phone.press("button", "Throw it away")
    phone.sees("nothing of it is kept")
    assert not PhotographInSet.objects.exists()
