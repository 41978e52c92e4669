"""What is said of an outline, by its figures: the borders are those of `defaults.json` and of the trade's tolerances."""

import math

import numpy as np
import pytest
from shapely import Polygon, box

from inventory.ground.findings import Finding
from quotes.photograph.judging import (
    cut_in_faults,
    inner_line_faults,
    kept_pieces,
    laid_faults,
    left_over_faults,
    piece_faults,
)
from quotes.photograph.lower_edges import InnerLine
from quotes.photograph.notches import Notch
from quotes.photograph.outline import Rebuilt
from quotes.photograph.pieces import Found


def shape(*, believed: float = 1.0, gap: float = 0.0, inner: int = 0, step: float = 0.0) -> Rebuilt:
    return Rebuilt(
        ring=np.zeros((4, 2)),
        scatter_mm=0.05,
        believed_share=believed,
        longest_gap_mm=gap,
        corners=np.zeros((0, 2)),
        inner_corners=inner,
        step_mm=step,
    )


def told(faults: list[Finding]) -> list[tuple[str, str]]:
    for found in faults:
        assert found.where == "p.jpg"
        assert found.message.endswith(".")
        assert found.hint.endswith(".")
    return [(found.code.removeprefix("photograph."), found.severity.value) for found in faults]


@pytest.mark.parametrize(
    ("outline", "plus_minus", "said"),
    [
        (shape(), 0.3, []),
        (shape(), 0.6, [("inexact", "warn")]),
        (shape(), 1.2, [("uncertain", "stop")]),
        (shape(believed=0.8), 0.3, [("ground-like-paper", "stop")]),
        (shape(believed=0.95, gap=18.0), 0.3, [("ground-like-paper", "stop")]),
        (shape(inner=1), 0.3, []),
        (shape(inner=2), 0.3, [("touching", "stop")]),
        (shape(step=0.8), 0.3, []),
        (shape(step=1.2), 0.3, [("touching", "stop")]),
    ],
)
def test_an_outline_is_judged_by_what_was_seen_of_it(
    outline: Rebuilt, plus_minus: float, said: list[tuple[str, str]]
) -> None:
    assert told(piece_faults(1, shape(), outline, plus_minus, "p.jpg")) == said


def cut(x: float, depth: float) -> Notch:
    return Notch(middle=np.array([x, 0.0]), mouth=4.0, depth=depth, scatter=0.1)


@pytest.mark.parametrize(
    ("cuts", "notches", "inner", "said"),
    [
        ([cut(0, 5)], [cut(2, 5)], 0, []),
        ([cut(0, 5)], [], 0, [("cut-in", "warn")]),
        ([cut(0, 5)], [], 1, [("touching", "stop")]),
        ([cut(0, 5), cut(50, 5)], [], 0, [("touching", "stop")]),
        ([cut(0, 14)], [], 0, [("touching", "stop")]),
        ([], [cut(0, 5)], 1, []),
    ],
)
def test_a_cut_that_is_no_notch_may_be_a_tear_and_several_are_two_papers(
    cuts: list[Notch], notches: list[Notch], inner: int, said: list[tuple[str, str]]
) -> None:
    assert told(cut_in_faults(1, cuts, notches, inner, "p.jpg")) == said


@pytest.mark.parametrize(
    ("mouth", "depth", "notches", "said"),
    [
        (11.7, 4.3, [], [("touching", "stop")]),
        (11.7, 4.3, [cut(2, 5)], []),
        (41.5, 2.8, [], []),
        (4.6, 4.3, [], []),
    ],
)
def test_a_wide_place_that_the_outline_runs_across_is_where_one_paper_ends_upon_another(
    mouth: float, depth: float, notches: list[Notch], said: list[tuple[str, str]]
) -> None:
    """Two panels alike, one upon the other, pushed by a finger's width: rendered, and read as one that was 10 mm wrong."""
    across = Notch(middle=np.zeros(2), mouth=mouth, depth=depth, scatter=0.1)
    assert told(cut_in_faults(1, [], notches, 0, "p.jpg", run_across=[across])) == said


def line(
    *,
    turns: tuple[float, float] = (0.0, 0.0),
    notch: tuple[bool, bool] = (False, False),
    follows: bool = False,
    length: float = 90.0,
    reaches: tuple[bool, bool] = (True, True),
) -> InnerLine:
    degrees = (math.radians(turns[0]), math.radians(turns[1]))
    return InnerLine(
        ends=np.zeros((2, 2)), length=length, reaches=reaches, turns=degrees, at_notch=notch, follows=follows
    )


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ([], []),
        ([line(turns=(30, 0))], [("touching", "stop")]),
        ([line(turns=(0, 20))], [("touching", "stop")]),
        ([line()], [("line-across", "warn")]),
        ([line(follows=True)], []),
        ([line(follows=True, length=228.0)], [("line-across", "warn")]),
        ([line(follows=True, length=228.0, reaches=(True, False))], []),
        ([line(reaches=(True, False))], []),
        ([line(turns=(30, 0), reaches=(True, False))], [("touching", "stop")]),
        ([line(turns=(15, 15), notch=(True, True))], []),
        ([line(turns=(15, 15), notch=(True, False))], [("line-across", "warn")]),
        ([line(turns=(16, 12))], [("line-across", "warn")]),
        ([line(turns=(40, 40))], [("touching", "stop")]),
    ],
)
def test_a_faint_line_is_an_edge_of_paper_where_the_outline_turns_inward(
    lines: list[InnerLine], said: list[tuple[str, str]]
) -> None:
    """A seam line follows the edge; a waist line ends at both notches, where a panel is narrowest."""
    assert told(inner_line_faults(1, lines, "p.jpg")) == said


class NoCards:
    """A view whose cards lie far away."""

    def card_outlines(self) -> list[np.ndarray]:
        return [np.array([(900.0, 900.0), (1000.0, 900.0), (1000.0, 1000.0), (900.0, 1000.0)])]


def found(area: Polygon, *, at_rim: bool = False, has_gap: bool = False, colour: float = 200.0) -> Found:
    return Found(area=area, at_rim=at_rim, has_gap=has_gap, colour=np.array([colour, 128.0, 128.0]))


SHEET, OTHER = box(0, 0, 80, 200), box(120, 0, 200, 200)


@pytest.mark.parametrize(
    ("pieces", "said"),
    [
        ([found(SHEET), found(OTHER)], []),
        ([], [("no-piece", "stop")]),
        ([found(SHEET), found(box(83, 0, 160, 200))], [("touching", "stop")]),
        ([found(SHEET, has_gap=True)], [("touching", "stop")]),
        ([found(box(0, 0, 80, 100).union(box(36, 100, 44, 120)).union(box(0, 120, 80, 220)))], [("touching", "stop")]),
        ([found(SHEET), found(OTHER, at_rim=True)], [("cut-off", "stop")]),
        ([found(SHEET), found(OTHER, at_rim=True, colour=40.0)], [("at-the-rim", "warn")]),
        ([found(SHEET, at_rim=True)], [("cut-off", "stop")]),
        ([found(box(860, 860, 950, 950))], [("on-a-card", "stop")]),
    ],
)
def test_how_pieces_lie_is_judged_by_the_ground_between_them(pieces: list[Found], said: list[tuple[str, str]]) -> None:
    assert told(laid_faults(pieces, NoCards(), "p.jpg")) == said
    assert all(not piece.at_rim for piece in kept_pieces(pieces))


def test_what_was_neither_ground_nor_piece_is_told() -> None:
    assert told(left_over_faults(0, "p.jpg")) == []
    assert told(left_over_faults(1, "p.jpg")) == [("something-left-out", "warn")]
    assert "2 places on the ground look unlike" in left_over_faults(2, "p.jpg")[0].message
