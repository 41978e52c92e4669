"""Cards of which few markers are read, and what on the ground is a gap between papers; truth is what was drawn."""

import numpy as np
import pytest
from support_camera import Camera
from support_photographs import photograph, small_scene

from inventory.ground.findings import Refused
from quotes.photograph import pieces, seeing
from quotes.photograph.cards import PrintScale, cards
from quotes.photograph.child import read_here
from quotes.photograph.picture import decode
from quotes.photograph.pieces import FromAbove


def test_a_card_is_read_to_its_far_side_from_markers_on_one_side(monkeypatch: pytest.MonkeyPatch) -> None:
    """From few markers the far corners are foretold so wrongly, through a bent lens, that nothing is found there; those near by lead
    on to them."""
    scene = small_scene(tilt_deg=25, distortion=(0.1, -0.1, 0, 0, 0))
    photo = decode(photograph(scene), "p.jpg")
    read = seeing._markers
    card = cards()[1]
    leftmost = sorted(zip(card.marker_places, card.marker_ids, strict=True))[:4]
    near = {marker for _, marker in leftmost}
    monkeypatch.setattr(
        seeing,
        "_markers",
        lambda grey: {
            marker: at for marker, at in read(grey).items() if marker not in card.marker_ids or marker in near
        },
    )
    found = {one.card: one for one in seeing.see_cards(photo, PrintScale()).cards}
    assert len(found[1].flat) == 24
    laid = scene.laid_cards[1]
    cos, sin = np.cos(laid.angle), np.sin(laid.angle)
    flat = found[1].flat @ np.array([[cos, sin], [-sin, cos]]) + (laid.x, laid.y)
    true = Camera(scene).pixels(np.c_[flat, np.zeros(24)])
    assert np.hypot(*(found[1].pixels - true).T).max() < 0.5


def test_cards_that_are_seen_too_small_to_be_read_are_told_to_be_too_far_away() -> None:
    with pytest.raises(Refused) as refused:
        read_here(photograph(small_scene(size=(410, 550), blur_px=0.4)), "p.jpg", PrintScale(), None)
    assert [found.code for found in refused.value.findings] == ["photograph.too-far"]


@pytest.mark.parametrize("is_ground", [True, False])
def test_only_what_looks_like_ground_is_a_gap(is_ground: bool) -> None:
    """A patch of the paper in a shadow, which the cut did not take for paper, made two papers of one."""
    cells = np.zeros((300, 300), dtype=bool)
    cells[60:200, 80:200] = True
    cells[110:130, 120:150] = False
    above = FromAbove(
        step=1.0,
        origin=(0.0, 0.0),
        colours=np.zeros((300, 300, 3), dtype=np.uint8),
        seen=cells | True,
        on_card=cells & False,
    )
    assert pieces._has_gap(cells, np.full(cells.shape, is_ground), above) == is_ground
