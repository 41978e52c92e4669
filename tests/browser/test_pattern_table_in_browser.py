"""Drawings as people make them become patterns on the pattern table, in few presses: by pointer, by keyboard, on a phone.

Presses are counted from the page of patterns to the kept pattern; choosing a file is none.
"""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Locator, expect
from support_hand import PHONE, Hand
from support_panels import curved_pattern
from support_phone import must_fit
from support_table import natural_svg

from quotes.models import PatternRevision

WAIST_MM = curved_pattern().closed_waist_mm


def lay_down(hand: Hand, data: bytes, folder: Path) -> None:
    """Hand in a drawing from the page of patterns: two presses."""
    file = folder / "drawing.svg"
    file.write_bytes(data)
    hand.open("/patterns/")
    hand.press("link", "Hand in a file")
    hand.page.get_by_label("Your drawing").set_input_files(file)
    hand.press("button", "Lay it on the table")
    expect(hand.page.get_by_role("heading", level=1, name="The pattern table")).to_be_visible()


def keep(hand: Hand) -> PatternRevision:
    hand.press("button", "Keep this pattern")
    expect(hand.page.get_by_role("heading", level=1, name="drawing")).to_be_visible()
    return PatternRevision.objects.get()


def outline(hand: Hand, number: int) -> Locator:
    return hand.page.locator(f"#outline-{number}")


def number(hand: Hand, index: int) -> Locator:
    return hand.page.locator(f"#id_number_{index}")


def test_a_natural_drawing_needs_one_press_more(hand: Hand, tmp_path: Path):
    lay_down(hand, natural_svg(square="5 cm"), tmp_path)
    hand.sees(re.compile(r"closed waist 66\.0 cm"))
    revision = keep(hand)
    assert hand.presses == 3
    assert revision.panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)
    assert revision.source_name == "drawing.svg"


def test_a_wrong_unit_is_caught_and_chosen(hand: Hand, tmp_path: Path):
    """Points saved as millimetres: 25.4 / 72 of what the file says."""
    lay_down(hand, natural_svg(mm_per_unit=25.4 / 72), tmp_path)
    hand.sees(re.compile("which is likelier"))
    expect(hand.page.get_by_role("button", name="Keep this pattern")).to_be_disabled()
    hand.page.get_by_role("radio", name=re.compile("points")).click()
    hand.sees("This is what will be kept.")
    revision = keep(hand)
    assert hand.presses + 1 == 4
    assert revision.panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)


def test_pieces_are_numbered_by_pressing_them(hand: Hand, tmp_path: Path):
    """From the right: six presses on the pieces, and one that takes their numbers away before."""
    lay_down(hand, natural_svg(numbers=lambda number: ""), tmp_path)
    hand.press("button", "Number them anew")
    with hand.page.expect_response(lambda answer: answer.request.method == "POST" and answer.ok):
        for index in (6, 5, 4, 3, 2, 1):
            outline(hand, index).click()
            hand.presses += 1
    expect(number(hand, 6)).to_have_value("1")
    expect(number(hand, 1)).to_have_value("6")
    hand.sees("This is what will be kept.")
    hand.sees(re.compile(r"closed waist 66\.0 cm"))
    revision = keep(hand)
    assert hand.presses == 10
    assert revision.panels.panels_per_half == 6
    # What is panel 6 in the drawing is the first now: its height at centre back, 305 mm, is that of the front edge.
    first = revision.panels.panels[0]
    assert first.front[-1][1] - first.front[0][1] == pytest.approx(165.0 + 140.0, abs=0.1)


def test_the_keyboard_alone_is_enough(hand: Hand, tmp_path: Path):
    lay_down(hand, natural_svg(), tmp_path)
    hand.tab_to(outline(hand, 1))
    with hand.settled():
        hand.page.keyboard.press("2")
    expect(number(hand, 1)).to_have_value("2")
    expect(number(hand, 2)).to_have_value("1")
    expect(outline(hand, 1)).to_be_focused()
    with hand.settled():
        hand.page.keyboard.press("1")
    expect(number(hand, 2)).to_have_value("2")
    slider = hand.page.get_by_label("Move the waist of panel 1, in mm above its bottom")
    hand.tab_to(slider)
    waist = hand.page.locator("#id_waist_1")
    before = float(waist.input_value())
    with hand.settled():
        for _ in range(4):
            hand.page.keyboard.press("ArrowUp")
    moved = float(waist.input_value())
    assert moved == pytest.approx(before + 0.2, abs=0.05)
    hand.tab_to(hand.page.get_by_role("button", name="Keep this pattern"))
    hand.page.keyboard.press("Enter")
    expect(hand.page.get_by_role("heading", level=1, name="drawing")).to_be_visible()
    first = PatternRevision.objects.get().panels.panels[0]
    assert first.waist_mm - first.bounds[0][1] == pytest.approx(10 * moved)


def test_corners_are_picked_at_their_piece(hand: Hand, tmp_path: Path):
    """Panel 1 turns six times about alike. Two presses to the table, four on its corners, a tick, and Keep."""
    odd = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
    <path id="panel-1" d="M20 20 L80 20 L100 60 L90 150 L95 240 L70 270 L20 270 Z"/>
    <path id="panel-2" d="M150 20 L240 20 L230 150 L245 270 L150 270 L160 150 Z"/></svg>"""
    lay_down(hand, odd.encode(), tmp_path)
    for x, y in ((20, -270), (70, -270), (80, -20), (20, -20)):
        hand.page.locator(f'.corner-mark[data-x="{x}.000"][data-y="{y}.000"]').first.click()
        hand.presses += 1
    hand.sees("Do the seams true?")
    hand.page.get_by_label("it is meant").check()
    hand.presses += 1
    hand.sees("This is what will be kept.")
    first = keep(hand).panels.panels[0]
    assert hand.presses == 8
    assert (first.bottom[0], first.bottom[-1]) == ((20.0, -270.0), (70.0, -270.0))


def test_it_fits_on_a_phone(maker: User, new_hand: Callable[..., Hand], tmp_path: Path):
    phone = new_hand(PHONE)
    phone.come_in()
    phone.presses = 0
    lay_down(phone, natural_svg(square="5 cm"), tmp_path)
    must_fit(phone)
    outline(phone, 6).tap()
    expect(number(phone, 6)).to_have_value("0")
    phone.sees(re.compile("5 panels a half"))
    must_fit(phone)
    outline(phone, 6).tap()
    phone.sees(re.compile("6 panels a half"))
    assert keep(phone).panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)


def test_without_scripts_the_fields_do(maker: User, new_hand: Callable[..., Hand], tmp_path: Path):
    plain = new_hand({"java_script_enabled": False})
    plain.come_in()
    lay_down(plain, natural_svg(mm_per_unit=25.4 / 72), tmp_path)
    plain.page.get_by_role("radio", name=re.compile("points")).click()
    plain.press("button", "Look again")
    plain.sees("This is what will be kept.")
    # Enter in a field looks again, and neither keeps nor begins anew.
    waist = plain.page.locator("#id_waist_1")
    waist.fill("16.8")
    waist.press("Enter")
    plain.sees("This is what will be kept.")
    expect(waist).to_have_value("16.8")
    expect(plain.page.get_by_role("heading", level=1, name="The pattern table")).to_be_visible()
    assert keep(plain).panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)
