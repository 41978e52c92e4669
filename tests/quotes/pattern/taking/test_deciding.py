"""Which outline becomes which panel where numbers lack, stand twice or are told; drawings of the underbust and of oblongs."""

import pytest
from support_drawings import Drawn, in_mirror, laid_out, moved_by, square_svg, svg, svg_d, svg_text

from inventory.ground.findings import stops
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.child import take_here
from quotes.pattern.taking.taken import Role, Taken

PANELS = laid_out()
WIDE = (-1300, -700, 2700, 1400)


def bare(panel: Drawn, words: str = "") -> str:
    return f'<path d="{svg_d(panel.ring)}"/>' + (svg_text(words, panel.middle) if words else "")


def numbered(*but: int) -> list[str]:
    """The panels with their numbers, but those that lack one."""
    return [bare(panel, "" if panel.number in but else str(panel.number)) for panel in PANELS]


def taken(body: list[str], *panels: int) -> Taken:
    return take_here(svg(body, box=WIDE), ".svg", ReadOptions(panels=panels))


def oblongs(*heights: float) -> list[str]:
    return [f'<rect x="{100 * at}" y="0" width="{60 + 5 * at}" height="{high}"/>' for at, high in enumerate(heights)]


def stop_sentences(found: Taken) -> list[str]:
    return [finding.message for finding in stops(found.findings)]


def whys(found: Taken, role: Role) -> list[str]:
    return [outline.why for outline in found.outlines if outline.role is role]


def test_one_that_lacks_its_number_is_known_by_its_neighbours():
    found = taken(numbered(3))
    assert found.drawing is not None
    assert "its edges true with its neighbours' alone" in whys(found, Role.PANEL)


def test_two_that_fit_one_gap_are_asked_for():
    found = taken([*numbered(3), bare(moved_by(PANELS[2], 0, -330))])
    assert stop_sentences(found) == ["Panel 3 is missing, and 2 outlines have no number."]
    assert found.findings[-1].hint.startswith("Say --panels 3,0 or the like")


def test_a_panel_drawn_once_more_is_left_out():
    found = taken([*numbered(), bare(moved_by(PANELS[1], 0, -330), "2")])
    assert found.drawing is not None
    assert whys(found, Role.LEFT_OUT) == ["panel 2 once more, the same way round"]


@pytest.mark.parametrize(
    ("words", "why"), [("2", "panel 2 in a mirror"), ("", "panel 2 in a mirror, without a number of its own")]
)
def test_the_other_half_of_one_panel(words: str, why: str):
    found = taken([*numbered(), bare(moved_by(in_mirror(PANELS[1]), 0, -330), words)])
    assert found.drawing is not None
    assert whys(found, Role.OTHER_HALF) == [why]


@pytest.mark.parametrize("ends", [("CF", "CB"), ("Centre Front", "6"), ("1", "centre back"), ("C.F.", "C.B.")])
def test_the_ends_may_be_named_instead_of_numbered(ends: tuple[str, str]):
    words = [ends[0], "2", "3", "4", "5", ends[1]]
    for panels in (PANELS, [*reversed(PANELS)]):
        found = taken([bare(panel, words[panel.number - 1]) for panel in panels])
        assert found.drawing is not None
        assert {panel.number for panel in found.drawing.panels} == {1, 2, 3, 4, 5, 6}


@pytest.mark.parametrize(
    ("words", "stopped"),
    [
        (("CF", "1", "2", "3", "4", "CB"), ['named "centre front"', "panel 1"]),
        (("0", "1", "2", "3", "4", "5"), ["numbered 0", "panel 1"]),
    ],
)
def test_a_panel_by_its_words_is_never_left_out_in_silence(words: tuple[str, ...], stopped: list[str]):
    found = taken([bare(panel, words[panel.number - 1]) for panel in PANELS])
    (sentence,) = stop_sentences(found)
    assert all(part in sentence for part in stopped)


def test_a_facing_named_for_its_place_is_left_out():
    found = taken([*numbered(), bare(moved_by(PANELS[0], 0, -330), "facing for CF")])
    assert found.drawing is not None
    assert len(found.drawing.panels) == 6


@pytest.mark.parametrize("words", ["Foxglove 2", "Corset Nr. 4", "Drawing no. 7", "Rev. 7"])
def test_a_title_block_is_no_panel(words: str):
    block = ['<rect x="-700" y="200" width="180" height="70"/>', svg_text(words, (-610, -230))]
    found = taken([*numbered(), *block])
    assert found.drawing is not None
    assert {panel.number for panel in found.drawing.panels} == {1, 2, 3, 4, 5, 6}


def test_an_oblong_as_large_as_a_panel_may_be_one_and_is_not_left_out():
    front = ['<rect x="-700" y="0" width="90" height="310"/>', svg_text("1", (-655, -150))]
    found = taken([*numbered(), *front])
    assert found.drawing is not None
    assert sorted(panel.number for panel in found.drawing.panels) == [1, 1, 2, 3, 4, 5, 6]


def test_what_is_no_neighbour_of_the_last_panel_is_left_out():
    found = taken([*numbered(), '<rect x="-400" y="-100" width="90" height="300"/>'])
    assert found.drawing is not None
    assert whys(found, Role.LEFT_OUT) == ["it has no number, and the others are panels 1 to 6"]


def test_a_square_without_a_length_is_none_of_the_row():
    body = [bare(panel) for panel in PANELS]
    found = taken([*body, '<rect x="-300" y="-100" width="100" height="100"/>'])
    assert found.drawing is not None
    assert whys(found, Role.TEST_SQUARE) == ["a square without a length"]
    assert [finding.code for finding in found.findings] == ["pattern.numbered-by-order"]


@pytest.mark.parametrize(
    ("heights", "words"),
    [
        ((250, 250, 250, 250), "their seams true in several orders"),
        ((250, 270, 290, 310), "in no order do all their seams true"),
    ],
)
def test_oblongs_are_asked_for(heights: tuple[float, ...], words: str):
    found = taken(oblongs(*heights))
    assert stop_sentences(found) == [f"4 outlines could be panels; none has a number, and {words}."]
    assert found.findings[-1].hint.startswith("Say --panels 1,2,3,4 or the like")


def test_a_row_that_trues_from_right_to_left_is_asked_for():
    lefts = [panel.middle[0] for panel in PANELS]
    turned_round = [moved_by(panel, 1000 - 2 * left) for panel, left in zip(PANELS, lefts, strict=True)]
    found = taken([bare(panel) for panel in turned_round])
    assert stop_sentences(found) == [
        "6 outlines could be panels; none has a number, and their seams true from right to left."
    ]
    assert found.findings[-1].hint.startswith("Say --panels 6,5,4,3,2,1 or the like")
    assert taken([bare(panel) for panel in turned_round], 6, 5, 4, 3, 2, 1).drawing is not None


def test_numbers_by_the_maker_for_what_has_its_own():
    found = taken(numbered(), 1, 2)
    assert stop_sentences(found) == ["--panels gives 2 numbers, and 0 outlines have none of their own."]
    assert found.findings[-1].hint == "Leave it out."
    assert taken(numbered(2), 2).drawing is not None
    assert taken([*numbered(2), *square_svg((-300, 0), 50, "5 cm")], 2).drawing is not None
