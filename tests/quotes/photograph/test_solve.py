"""Lens and table against OpenCV’s own projection and calibration, which share nothing with the solve."""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from quotes.photograph.cards import cards
from quotes.photograph.photographs import lens_by_others
from quotes.photograph.reading import Look
from quotes.photograph.solve import (
    LENS,
    POSE,
    LensPrior,
    SeenCard,
    Solved,
    is_before_lens_folds,
    project,
    solve,
    table_of_pixels,
)

Array = NDArray[np.float64]
WIDTH, HEIGHT, FOCAL = 4000, 3000, 3100.0
K1, K2 = 0.04, -0.06
PLACES = [(0.0, 0.0, 0.0), (320.0, 6.0, 0.05), (-4.0, 290.0, -0.03), (318.0, 300.0, 1.57)]
VIEWS = [(0.0, 0.0), (0.25, 0.1), (-0.2, 0.25), (0.15, -0.3), (-0.3, -0.1), (0.1, 0.35)]
"""Tilts about the picture’s own axes, radians."""


def prior(focal: float = FOCAL) -> LensPrior:
    spread = np.array([0.15, 60.0, 60.0, 0.1, 0.1])
    return LensPrior(
        mean=np.zeros(LENS), covariance=np.diag(spread**2), focal_px=focal, middle=((WIDTH - 1) / 2, (HEIGHT - 1) / 2)
    )


def on_table(place: tuple[float, float, float], flat: Array) -> Array:
    x, y, angle = place
    cos, sin = np.cos(angle), np.sin(angle)
    return flat @ np.array([[cos, sin], [-sin, cos]]) + (x, y)


def seen(view: tuple[float, float], noise: float, seed: int = 1) -> list[SeenCard]:
    """The four cards on a table as OpenCV projects them."""
    random = np.random.default_rng(seed)
    turn = cv2.Rodrigues(np.array([view[0], 0, 0]))[0] @ cv2.Rodrigues(np.array([0, view[1], 0]))[0]
    shift = np.array([0, 0, 620.0]) - turn @ np.array([160.0, 150.0, 0.0])
    matrix = np.array([[FOCAL, 0, (WIDTH - 1) / 2 + 20], [0, FOCAL, (HEIGHT - 1) / 2 - 12], [0, 0, 1]])
    found = []
    for card, place in zip(cards(), PLACES, strict=True):
        flat = card.inner_corners()
        points = np.c_[on_table(place, flat), np.zeros(len(flat))]
        pixels, _ = cv2.projectPoints(points, turn, shift, matrix, np.array([K1, K2, 0, 0, 0]))
        noisy = pixels.reshape(-1, 2) + random.normal(0, noise, (len(flat), 2))
        found.append(SeenCard(card=len(found), flat=flat, pixels=noisy, half=(card.width / 2, card.height / 2)))
    return found


def solved(view: tuple[float, float], noise: float = 0.03, seed: int = 1, lens: LensPrior | None = None) -> Solved:
    return solve(seen(view, noise, seed), lens or prior(), bend_sigma_mm=0.7, corner_sigma_px=0.03)


def test_points_are_projected_as_opencv_projects_them() -> None:
    values = np.zeros(LENS + POSE)
    values[:LENS] = (np.log(1.02), 14.0, -9.0, K1, K2)
    values[LENS:] = (0.2, -0.1, 0.3, -90.0, 40.0, 650.0)
    points = np.random.default_rng(2).uniform(-200, 200, (50, 3))
    matrix = np.array([[FOCAL * 1.02, 0, (WIDTH - 1) / 2 + 14], [0, FOCAL * 1.02, (HEIGHT - 1) / 2 - 9], [0, 0, 1]])
    theirs, _ = cv2.projectPoints(points, values[5:8], values[8:11], matrix, np.array([K1, K2, 0, 0, 0]))
    assert np.abs(project(values, points, prior()) - theirs.reshape(-1, 2)).max() < 1e-6


def test_rays_meet_the_table_where_they_came_from() -> None:
    found = solved(VIEWS[3])
    points = np.random.default_rng(3).uniform(0, 300, (40, 2))
    pixels = project(found.values, np.c_[points, np.zeros(40)], found.prior)
    assert np.abs(table_of_pixels(found.values, pixels, found.prior) - points).max() < 1e-6


@pytest.mark.parametrize("view", VIEWS)
def test_distances_on_the_table_come_out_true(view: tuple[float, float]) -> None:
    """Middles of the cards, 300 mm and more apart, within what the solve itself says of them."""
    found = solved(view)
    middles = {number: place[:2] for number, place, _ in found.places()}
    for number in (1, 2, 3):
        true = np.hypot(PLACES[number][0], PLACES[number][1])
        assert np.hypot(*(middles[number] - middles[0])) == pytest.approx(true, abs=0.25)


def test_a_lens_is_learnt_from_other_photographs_as_opencv_calibrates_it_from_all() -> None:
    """Six views together, by OpenCV on flat points; the lens of the last by what the five others say of it."""
    flat = [
        np.concatenate([on_table(place, card.inner_corners()) for card, place in zip(cards(), PLACES, strict=True)])
    ]
    flat = [np.c_[points, np.zeros(len(points))].astype(np.float32) for points in flat] * len(VIEWS)
    corners = [
        np.concatenate([card.pixels for card in seen(view, 0.03, number)]).astype(np.float32)[:, None]
        for number, view in enumerate(VIEWS)
    ]
    flags = cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_ZERO_TANGENT_DIST | cv2.CALIB_FIX_K3
    start = np.array([[FOCAL, 0, WIDTH / 2], [0, FOCAL, HEIGHT / 2], [0, 0, 1]])
    _, matrix, theirs, _, _ = cv2.calibrateCamera(flat, corners, (WIDTH, HEIGHT), start, None, flags=flags)
    looks = []
    for number, view in enumerate(VIEWS):
        one = solved(view, seed=number, lens=prior(FOCAL * 1.05))
        after = LensPrior(
            mean=one.values[:LENS],
            covariance=one.covariance[:LENS, :LENS],
            focal_px=one.prior.focal_px,
            middle=one.prior.middle,
        )
        looks.append(Look(camera=(WIDTH, HEIGHT, FOCAL), before=one.prior, after=after))
    learnt = lens_by_others(looks, 5)
    assert np.exp(learnt.mean[0]) * learnt.focal_px == pytest.approx(matrix[0, 0], rel=0.006)
    assert learnt.mean[1:3] + np.array(learnt.middle) == pytest.approx(matrix[:2, 2], abs=12.0)
    assert learnt.mean[3:] == pytest.approx(theirs.ravel()[:2], abs=0.03)
    assert learnt.covariance[0, 0] < looks[5].after.covariance[0, 0]


def test_other_cameras_say_nothing_of_a_lens() -> None:
    one = solved(VIEWS[1])
    look = Look(camera=(WIDTH, HEIGHT, FOCAL), before=one.prior, after=one.prior)
    other = Look(camera=(HEIGHT, WIDTH, FOCAL), before=one.prior, after=one.prior)
    assert lens_by_others([look, other], 0).covariance == pytest.approx(one.prior.covariance)


def test_a_corner_that_is_covered_does_not_move_the_rest() -> None:
    found = seen(VIEWS[1], 0.03)
    found[2].pixels[5] += (6.0, -4.0)
    odd = solve(found, prior(), bend_sigma_mm=0.7, corner_sigma_px=0.03)
    plain = solved(VIEWS[1])
    for (_, one, _), (_, two, _) in zip(odd.places(), plain.places(), strict=True):
        assert np.abs(one[:2] - two[:2]).max() < 0.1


def test_a_lens_is_believed_as_far_as_its_terms_lead_outward() -> None:
    """Where OpenCV sees points on one ray farther and farther out come back, nothing is believed any more."""
    values = np.zeros(LENS + POSE)
    values[3:5] = (-0.1, -0.1)
    values[LENS + 5] = 500.0
    points = np.c_[np.arange(1.0, 1500.0, 5.0), np.zeros(300), np.zeros(300)]
    matrix = np.array([[FOCAL, 0, 0], [0, FOCAL, 0], [0, 0, 1]])
    pixels, _ = cv2.projectPoints(points, values[5:8], values[8:11], matrix, np.array([-0.1, -0.1, 0, 0, 0]))
    leads_outward = np.diff(pixels[:, 0, 0]) > 0
    assert not leads_outward.all()
    assert is_before_lens_folds(values, points).sum() == pytest.approx(leads_outward.sum(), abs=1)
    values[3:5] = 0.0
    assert is_before_lens_folds(values, points).all()
