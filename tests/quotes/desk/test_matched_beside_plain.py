"""Pieces that are to be had matched and not: every matched lay is a plain one too, so the plain lay is never the longer one."""

from dataclasses import replace

import pytest

from quotes.desk.kept_lays import keep, kept_lays, lay_key, with_numbers
from quotes.lay.check import lay_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Repeat
from quotes.lay.laying import laid, unmatched

TRIANGLE = ((0.0, 0.0), (40.0, 0.0), (0.0, 40.0))
PLAIN = LayProblem(width=41.0, spacing=0.0, pieces=(LayPiece(label="a", outline=TRIANGLE, copies=2),))
FROM_WAIST = tuple((x - 12.5, y) for x, y in TRIANGLE)
"""As on matched cloth, where outlines begin at the waist."""
MATCHED = replace(PLAIN, repeat=Repeat(along=1.0), pieces=(LayPiece(label="b", outline=FROM_WAIST, copies=2),))


@pytest.fixture
def found(db: None) -> dict[str, LayPlan]:
    """Two triangles as one square on matched cloth, 40 or 41 long; in rows, one box after another, on plain cloth."""
    for problem in (PLAIN, MATCHED):
        keep(lay_key(problem), laid(with_numbers(problem), Effort.NONE), problem)
    return kept_lays({"plain": PLAIN, "matched": MATCHED})


def test_pieces_are_the_same_whether_they_are_matched_or_not():
    assert lay_key(unmatched(MATCHED)) == lay_key(PLAIN) != lay_key(MATCHED)


def test_the_plain_lay_is_never_the_longer_one(found: dict[str, LayPlan]):
    assert laid(PLAIN, Effort.NONE).length > 79
    assert found["plain"].length == found["matched"].length < 42
    assert lay_faults(PLAIN, found["plain"]) == ()
    assert {row.label for row in found["plain"].placements} == {"a"}
    assert {row.label for row in found["matched"].placements} == {"b"}


def test_nor_is_it_in_another_quote_that_has_the_pieces_plain_only(found: dict[str, LayPlan]):
    """How long it was searched for stays its own, so that it is searched longer as any other is."""
    assert kept_lays({"plain": PLAIN})["plain"] == found["plain"]
    searched = replace(laid(with_numbers(MATCHED), Effort.NONE), effort=Effort.THOROUGH)
    keep(lay_key(MATCHED), replace(searched, length=searched.length - 0.5), MATCHED)
    plain = kept_lays({"plain": PLAIN})["plain"]
    assert plain.length == searched.length - 0.5
    assert plain.effort is Effort.NONE


def test_a_plain_lay_that_is_shorter_stands(found: dict[str, LayPlan]):
    keep(lay_key(PLAIN), replace(laid(with_numbers(PLAIN), Effort.NONE), length=39.0), PLAIN)
    both = kept_lays({"plain": PLAIN, "matched": MATCHED})
    assert both["plain"].length == 39.0 < both["matched"].length
