"""Lens, table and cards from where the cards' corners are seen: one least-squares solve with what is known beforehand.

Camera frame: x right, y down, z away from the eye. Table frame: x right, y down, z into the table, its origin and axes those of
the first card that was seen. Cards may be bent; the lowest place of a card lies on the table.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "BEND",
    "LENS",
    "POSE",
    "LensPrior",
    "SeenCard",
    "Solved",
    "is_before_lens_folds",
    "project",
    "solve",
    "table_of_pixels",
]

Array = NDArray[np.float64]

LENS, POSE, CARD, BEND = 5, 6, 3, 3
"""How many numbers describe the lens (log of focal share, axis x, y, k1, k2), the table's pose (turn, shift), the place of a card
on the table (x, y, angle), and its bend."""
_STEPS = 25
_SOFTNESS_MM = (1.0, 0.2, 0.05)
_HOPEFUL = 10.0
"""A start whose cost is this many times the least is not followed to its end."""
_SAME = 0.1
"""Ends whose residuals differ by no more standard deviations than this are one."""
_HUBER = 3.0
"""Residuals beyond so many standard deviations count linearly."""
_GRID = np.stack(np.meshgrid(np.linspace(-1, 1, 5), np.linspace(-1, 1, 5)), axis=-1).reshape(-1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenCard:
    """Corners of one card: `flat` (N, 2) mm from its middle as printed, `pixels` (N, 2) where they are seen; `half` of its size."""

    card: int
    flat: Array
    pixels: Array
    half: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class LensPrior:
    """What is known of a lens beforehand: (5,) numbers, see `LENS`, and their covariance (5, 5).

    `focal_px` is what the log of the focal share counts from, `middle` (x, y) what the axis counts from.
    """

    mean: Array
    covariance: Array
    focal_px: float
    middle: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The solve of one photograph.

    Attributes:
        values: lens, pose, then place and bend of each card but for the place of the first.
        covariance: of `values`, by how far corners lie off.
        residual_px: root mean square of the distance from where corners are seen to where the solve has them.
    """

    values: Array
    covariance: Array
    residual_px: float
    sigma_px: float
    prior: LensPrior
    cards: tuple[SeenCard, ...]

    def places(self) -> list[tuple[int, Array, Array]]:
        """Each card with its place (x, y, angle) on the table and its bend (three terms, mm)."""
        return [(card.card, *_card(self.values, number)) for number, card in enumerate(self.cards)]


def _card(values: Array, number: int) -> tuple[Array, Array]:
    """Place and bend of a card, with leading axes as `values` has."""
    start = LENS + POSE
    if number == 0:
        return np.zeros((*values.shape[:-1], CARD)), values[..., start : start + BEND]
    start += BEND + (number - 1) * (CARD + BEND)
    return values[..., start : start + CARD], values[..., start + CARD : start + CARD + BEND]


def height_above_table(bend: Array, u: Array, softness_mm: float) -> Array:
    """How high a bent card stands at `u` (N, 2), shares of its half sizes; `bend` has leading axes of its own.

    Its lowest place lies on the table; which place that is changes with the bend, more gently the larger `softness_mm`.
    """

    def profile(at: Array) -> Array:
        x, y = at[:, 0], at[:, 1]
        return np.asarray(bend[..., 0:1] * x * x + bend[..., 1:2] * x * y + bend[..., 2:3] * y * y)

    heights = profile(_GRID)
    least = heights.min(axis=-1, keepdims=True)
    gently = np.log(np.exp((least - heights) / softness_mm).mean(axis=-1, keepdims=True))
    return np.asarray(profile(u) - least + softness_mm * gently)


def turned(vector: Array) -> Array:
    """Rotation matrices (…, 3, 3) of rotation vectors (…, 3), by Rodrigues' formula."""
    angle = np.linalg.norm(vector, axis=-1)[..., None, None]
    safe = np.maximum(angle, 1e-12)
    x, y, z = (vector[..., i] for i in range(3))
    zero = np.zeros_like(x)
    cross = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1).reshape(*vector.shape[:-1], 3, 3)
    return np.asarray(np.eye(3) + np.sin(angle) / safe * cross + (1 - np.cos(angle)) / safe**2 * (cross @ cross))


def project(values: Array, points: Array, prior: LensPrior) -> Array:
    """Return the pixels (…, N, 2) at which points of the table (…, N, 3) are seen."""
    a, b = _seen_from_eye(values, points)
    square = a * a + b * b
    radial = 1 + square * (values[..., 3:4] + square * values[..., 4:5])
    focal = prior.focal_px * np.exp(values[..., 0:1])
    middle_x, middle_y = prior.middle
    return np.stack(
        [a * radial * focal + values[..., 1:2] + middle_x, b * radial * focal + values[..., 2:3] + middle_y], axis=-1
    )


def _seen_from_eye(values: Array, points: Array) -> tuple[Array, Array]:
    """How far right and down of the axis points of the table are seen, before the lens bends that."""
    seen = points @ np.swapaxes(turned(values[..., LENS : LENS + 3]), -1, -2) + values[..., None, LENS + 3 : LENS + 6]
    return seen[..., 0] / seen[..., 2], seen[..., 1] / seen[..., 2]


def is_before_lens_folds(values: Array, points: Array) -> NDArray[np.bool_]:
    """Return which points of the table (N, 3) are seen where the terms of the lens still lead outward; far out they turn back, and
    would have a second place there that is none."""
    a, b = _seen_from_eye(values, points)
    k1, k2 = values[3], values[4]
    # Where r + k1 r³ + k2 r⁵ is steepest no more.
    turns = [root.real for root in np.roots([5 * k2, 3 * k1, 1.0]) if abs(root.imag) < 1e-12 and root.real > 0]
    return np.asarray(a * a + b * b < min(turns, default=math.inf))


def table_of_pixels(values: Array, pixels: Array, prior: LensPrior) -> Array:
    """Return where rays through pixels (N, 2) meet the table, as (…, N, 2) mm; the reverse of `project`."""
    focal = prior.focal_px * np.exp(values[..., 0:1])
    wanted_a = (pixels[..., 0] - values[..., 1:2] - prior.middle[0]) / focal
    wanted_b = (pixels[..., 1] - values[..., 2:3] - prior.middle[1]) / focal
    a, b = wanted_a, wanted_b
    for _ in range(12):
        square = a * a + b * b
        radial = 1 + square * (values[..., 3:4] + square * values[..., 4:5])
        a, b = wanted_a / radial, wanted_b / radial
    back = np.swapaxes(turned(values[..., LENS : LENS + 3]), -1, -2)
    rays = np.stack([a, b, np.ones_like(a)], axis=-1) @ np.swapaxes(back, -1, -2)
    eye = -(back @ values[..., LENS + 3 : LENS + 6, None])[..., 0]
    far = -eye[..., None, 2] / rays[..., 2]
    return np.stack([eye[..., None, i] + far * rays[..., i] for i in (0, 1)], axis=-1)


def _on_table(values: Array, cards: Sequence[SeenCard], softness_mm: float) -> Array:
    """Where the corners of all cards are, in the table's frame, (…, N, 3)."""
    placed = []
    for number, card in enumerate(cards):
        place, bend = _card(values, number)
        cos, sin = np.cos(place[..., 2:3]), np.sin(place[..., 2:3])
        x, y = card.flat[:, 0], card.flat[:, 1]
        height = height_above_table(bend, card.flat / card.half, softness_mm)
        placed.append(
            np.stack([place[..., 0:1] + x * cos - y * sin, place[..., 1:2] + x * sin + y * cos, -height], axis=-1)
        )
    return np.concatenate(placed, axis=-2)


def solve(cards: Sequence[SeenCard], prior: LensPrior, *, bend_sigma_mm: float, corner_sigma_px: float) -> Solved:
    """Return lens, table and cards that explain best where the corners are seen, started from each card in turn.

    Args:
        cards: three or more; the first gives the table's frame.
        bend_sigma_mm: how far cards usually stand up.
        corner_sigma_px: how exactly corners are found at best.
    """
    spread = _Spread(cards, prior, bend_sigma_mm, corner_sigma_px)
    starts = [values for start in range(len(cards)) for values in _starts(cards, prior, start)]
    begun = [spread.least(values, _SOFTNESS_MM[:1]) for values in starts]
    least = min(cost for cost, _ in begun)
    # A start that took the table for tilted the other way is far off by now.
    hopeful = spread.told_apart([values for cost, values in begun if cost <= _HOPEFUL * least])
    ended = [spread.least(values, _SOFTNESS_MM[1:]) for values in hopeful]
    return spread.solved(min(ended, key=lambda end: end[0])[1])


class _Spread:
    """The sum of squares that is made least: corners by their exactness, values by what is known beforehand."""

    def __init__(self, cards: Sequence[SeenCard], prior: LensPrior, bend_sigma_mm: float, sigma_px: float) -> None:
        self.cards, self.prior, self.sigma_px = tuple(cards), prior, sigma_px
        self.pixels = np.concatenate([card.pixels for card in cards])
        self.lens = np.linalg.cholesky(np.linalg.inv(prior.covariance)).T
        starts = [LENS + POSE] + [LENS + POSE + BEND + n * (CARD + BEND) + CARD for n in range(len(cards) - 1)]
        self.bends = [start + term for start in starts for term in range(BEND)]
        self.bend_sigma_mm = bend_sigma_mm
        self.softness_mm = _SOFTNESS_MM[-1]

    def residuals(self, values: Array) -> Array:
        """Corners first, (…, 2 N) in standard deviations, then what was known beforehand."""
        off = (
            project(values, _on_table(values, self.cards, self.softness_mm), self.prior) - self.pixels
        ) / self.sigma_px
        lens = (values[..., :LENS] - self.prior.mean) @ self.lens.T
        return np.concatenate(
            [off.reshape(*values.shape[:-1], -1), lens, values[..., self.bends] / self.bend_sigma_mm], axis=-1
        )

    def told_apart(self, ends: Sequence[Array]) -> list[Array]:
        """One each of those ends that came to the same place."""
        kept: list[tuple[Array, Array]] = []
        for values in ends:
            left = self.residuals(values)
            if all(np.abs(left - other).max() > _SAME for _, other in kept):
                kept.append((values, left))
        return [values for values, _ in kept]

    def weights(self, residuals: Array) -> Array:
        """Square roots of Huber's weights, by the distance of each corner; 1 for what was known beforehand."""
        corners = 2 * len(self.pixels)
        off = np.hypot(residuals[0:corners:2], residuals[1:corners:2])
        scale = max(1.0, 1.4826 * float(np.median(off)) / 1.1774)
        weight = np.sqrt(np.minimum(1.0, _HUBER * scale / np.maximum(off, 1e-9)))
        return np.concatenate([np.repeat(weight, 2), np.ones(len(residuals) - corners)])

    def jacobian(self, values: Array) -> Array:
        steps = np.full(len(values), 1e-4)
        steps[0] = steps[3] = steps[4] = steps[5] = steps[6] = steps[7] = 1e-6
        for number in range(1, len(self.cards)):
            steps[LENS + POSE + BEND + (number - 1) * (CARD + BEND) + 2] = 1e-6
        shifted = np.diag(steps)
        both = self.residuals(np.concatenate([values + shifted, values - shifted]))
        count = len(values)
        return np.asarray(((both[:count] - both[count:]) / (2 * steps[:, None])).T)

    def least(self, values: Array, softness_mm: Sequence[float]) -> tuple[float, Array]:
        """The least cost from `values` on: first with cards that come down gently, so that either side of flat can be reached."""
        cost = math.inf
        for self.softness_mm in softness_mm:
            cost, values = self._stepped(values)
        return cost, values

    def _stepped(self, values: Array) -> tuple[float, Array]:
        """Levenberg and Marquardt's steps from `values`, reweighted at each."""
        damping = 1e-3
        residuals = self.residuals(values)
        weights = self.weights(residuals)
        cost = float(((residuals * weights) ** 2).sum())
        for _ in range(_STEPS):
            jacobian = self.jacobian(values) * weights[:, None]
            normal = jacobian.T @ jacobian
            gradient = jacobian.T @ (residuals * weights)
            for _ in range(8):
                step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -gradient)
                tried = self.residuals(values + step)
                new = float(((tried * weights) ** 2).sum())
                if math.isfinite(new) and new < cost:
                    break
                damping *= 10
            else:
                break
            values, residuals, damping = values + step, tried, max(damping / 10, 1e-9)
            gain = cost - new
            weights = self.weights(residuals)
            cost = float(((residuals * weights) ** 2).sum())
            if gain < 1e-6 * cost:
                break
        return cost, values

    def solved(self, values: Array) -> Solved:
        residuals = self.residuals(values)
        weights = self.weights(residuals)
        count = 2 * len(self.pixels)
        jacobian = self.jacobian(values) * weights[:, None]
        off = residuals[:count] * self.sigma_px
        free = max(count - len(values) + LENS + len(self.bends), 1)
        variance = max(1.0, float(((residuals[:count] * weights[:count]) ** 2).sum()) / free)
        jacobian[:count] /= math.sqrt(variance)
        return Solved(
            values=values,
            covariance=np.asarray(np.linalg.inv(jacobian.T @ jacobian), dtype=np.float64),
            residual_px=float(np.sqrt((off**2).sum() / len(self.pixels))),
            sigma_px=self.sigma_px * math.sqrt(variance),
            prior=self.prior,
            cards=self.cards,
        )


def _starts(cards: Sequence[SeenCard], prior: LensPrior, start: int) -> list[Array]:
    """First values: the table’s pose from one card taken as flat, the others laid on that table."""
    focal = prior.focal_px * math.exp(prior.mean[0])
    middle = np.array(prior.middle) + prior.mean[1:3]
    seen = cards[start]
    homography = _homography(seen.flat, (seen.pixels - middle) / focal)
    found = []
    for turn, shift in _poses(homography):
        values = np.zeros(LENS + POSE + BEND + (len(cards) - 1) * (CARD + BEND))
        values[:LENS] = prior.mean
        values[LENS : LENS + 3], values[LENS + 3 : LENS + 6] = turn, shift
        flat = [table_of_pixels(values, card.pixels, prior) for card in cards]
        places = [_rigid(card.flat, there) for card, there in zip(cards, flat, strict=True)]
        # The first card gives the frame: the pose is brought there.
        x, y, angle = places[0]
        matrix = turned(values[LENS : LENS + 3])
        values[LENS + 3 : LENS + 6] += matrix @ np.array([x, y, 0.0])
        values[LENS : LENS + 3] = _vector(matrix @ turned(np.array([0.0, 0.0, angle])))
        cos, sin = math.cos(angle), math.sin(angle)
        for number, place in enumerate(places[1:]):
            at = LENS + POSE + BEND + number * (CARD + BEND)
            dx, dy = place[0] - x, place[1] - y
            values[at : at + CARD] = (dx * cos + dy * sin, -dx * sin + dy * cos, place[2] - angle)
        found.append(values)
    return found


def _homography(flat: Array, seen: Array) -> Array:
    """The plane-to-plane map that fits best, by the direct linear transform; both sides are near the size of 1 there."""
    size = float(np.abs(flat).max())
    x, y = (flat / size).T
    a, b = seen.T
    zero, one = np.zeros_like(x), np.ones_like(x)
    rows = np.concatenate(
        [
            np.stack([x, y, one, zero, zero, zero, -a * x, -a * y, -a], axis=-1),
            np.stack([zero, zero, zero, x, y, one, -b * x, -b * y, -b], axis=-1),
        ]
    )
    solution = np.linalg.svd(rows)[2][-1].reshape(3, 3)
    return np.asarray(solution @ np.diag([1 / size, 1 / size, 1.0]))


def _poses(homography: Array) -> list[tuple[Array, Array]]:
    """Turn and shift of a plane by its map onto the picture, and that of its twin, tilted the other way."""
    scale = 2 / (np.linalg.norm(homography[:, 0]) + np.linalg.norm(homography[:, 1]))
    scale *= np.sign(homography[2, 2])
    first, second, shift = (homography * scale).T
    u, _, v = np.linalg.svd(np.stack([first, second, np.cross(first, second)], axis=-1))
    matrix = u @ np.diag([1, 1, np.linalg.det(u @ v)]) @ v
    ray = shift / np.linalg.norm(shift)
    normal = matrix[:, 2]
    twin = 2 * (normal @ ray) * ray - normal
    turn = np.cross(normal, twin)
    sine = float(np.linalg.norm(turn))
    poses = [(_vector(matrix), shift)]
    if sine > 1e-3:
        poses.append((_vector(turned(turn / sine * math.atan2(sine, float(normal @ twin))) @ matrix), shift))
    return poses


def _vector(matrix: Array) -> Array:
    """The rotation vector of a rotation matrix (angle below half a turn)."""
    axis = np.array([matrix[2, 1] - matrix[1, 2], matrix[0, 2] - matrix[2, 0], matrix[1, 0] - matrix[0, 1]])
    sine = float(np.linalg.norm(axis))
    angle = math.atan2(sine, float(np.trace(matrix)) - 1)
    if sine > 1e-9:
        return axis / sine * angle
    if angle < 1:
        return np.zeros(3)
    column = int(np.argmax(np.diag(matrix)))
    direction = matrix[:, column] + np.eye(3)[:, column]
    direction = direction / np.linalg.norm(direction)
    return np.asarray(direction * math.pi, dtype=np.float64)


def _rigid(flat: Array, there: Array) -> tuple[float, float, float]:
    """Shift and angle that lay `flat` onto `there` best."""
    middle, to = flat.mean(axis=0), there.mean(axis=0)
    one, two = flat - middle, there - to
    angle = math.atan2(float((one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum()), float((one * two).sum()))
    cos, sin = math.cos(angle), math.sin(angle)
    return float(to[0] - middle[0] * cos + middle[1] * sin), float(to[1] - middle[0] * sin - middle[1] * cos), angle
