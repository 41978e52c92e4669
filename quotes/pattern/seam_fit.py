"""Which way round do the seams fit? The back edge of each panel is as long as the front edge of the next.

Words: the drawing is *plain* where centre front lies to the left, *mirrored* where it lies to the right; a single piece
may besides be *upside down*, for a grain line has no arrow. Both swap the edges that meet in a seam, so the seams tell
them from plain, and never from each other; pieces that stand upright are then taken to be mirrored.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from inventory.ground.findings import Finding, note, stop, warn
from quotes.pattern.orientation import half_turned_panel, mirrored_panel
from quotes.pattern.panels import EdgeName, Panel
from quotes.pattern.truing import SEAM_STOP_MM, SEAM_TOLERANCE_MM, length_below_mm

__all__ = ["ToldPanel", "misfit_mm", "right_way_round"]

ALIKE_MM = 0.5
"""Two ways round whose misfits are this close fit equally well."""
DECIDED_SHARE = 0.5
"""The better way misfits by less than this share of the other, or the seams contradict each other."""
_FREE_NOTCH_MM = 1.0
"""What a notch on the centre-front or centre-back edge, where it meets no other, counts against a way round."""
_TURN_COST_MM = 0.01
"""Keeps neighbours turned alike where the seams do not care."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldPanel:
    """A panel whose edges are told apart, with its centre front taken to lie to the left as drawn.

    Attributes:
        named: the file or the maker names the edges, so front is front.
        drawn_right: named, and drawn with its front edge to the right; `panel` is flipped already.
        lying: it lay on its side and was turned counter-clockwise; clockwise is as likely.
        waist_known: the waist was marked or given.
    """

    panel: Panel
    where: str
    named: bool = False
    drawn_right: bool = False
    lying: bool = False
    waist_known: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class _Edge:
    """What a seam compares: lengths from the bottom up; None for a waist that is only proposed."""

    length_mm: float
    below_mm: float | None
    notches_mm: tuple[float, ...]

    def upside_down(self) -> "_Edge":
        return _Edge(
            length_mm=self.length_mm,
            below_mm=None if self.below_mm is None else self.length_mm - self.below_mm,
            notches_mm=tuple(self.length_mm - along for along in reversed(self.notches_mm)),
        )

    def misfit_mm(self, other: "_Edge") -> float:
        """Σ of the differences in length, at the waist and at the notches; a notch without partner counts 3 mm."""
        misfit = abs(self.length_mm - other.length_mm)
        if self.below_mm is not None and other.below_mm is not None:
            misfit += abs(self.below_mm - other.below_mm)
        if len(self.notches_mm) == len(other.notches_mm):
            return misfit + sum(abs(a - b) for a, b in zip(self.notches_mm, other.notches_mm, strict=True))
        return misfit + SEAM_STOP_MM * abs(len(self.notches_mm) - len(other.notches_mm))

    def trues(self, other: "_Edge", within_mm: float) -> bool:
        """Tell whether lengths and waists agree."""
        waists = 0.0 if self.below_mm is None or other.below_mm is None else self.below_mm - other.below_mm
        return max(abs(self.length_mm - other.length_mm), abs(waists)) <= within_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sides:
    """The front and back edge of one piece, and whether the seams may rename them."""

    number: int
    front: _Edge
    back: _Edge
    named: bool
    lying: bool

    def laid(self, *, mirrored: bool, upside_down: bool) -> "_Sides":
        sides = self
        if upside_down:
            sides = replace(sides, front=self.back.upside_down(), back=self.front.upside_down())
        return replace(sides, front=sides.back, back=sides.front) if mirrored and not self.named else sides


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """One way to lay all the pieces, and how badly their seams then fit."""

    mirrored: bool
    upside_down: tuple[bool, ...]
    misfit_mm: float
    laid: tuple[_Sides, ...]

    def fitting_seams(self, within_mm: float) -> set[int]:
        return {
            a.number for a, b in pairwise(self.laid) if b.number == a.number + 1 and a.back.trues(b.front, within_mm)
        }

    def fits(self, within_mm: float, *, apart_from: frozenset[int]) -> bool:
        seams = {a.number for a, b in pairwise(self.laid) if b.number == a.number + 1}
        return seams - apart_from <= self.fitting_seams(within_mm)


def misfit_mm(panel: ToldPanel, following: ToldPanel) -> float:
    """Return how badly two neighbours fit as they are."""
    return _sides(panel).back.misfit_mm(_sides(following).front)


def right_way_round(
    told: Sequence[ToldPanel], centre_front: str | None, ease: frozenset[int]
) -> tuple[tuple[Panel, ...], list[Finding]]:
    """Return the panels of one half, in order of number, laid so that their seams fit, and what was assumed.

    `centre_front` is the side of the drawing where the maker says centre front lies, "left" or "right"; seams in
    `ease` may differ.
    """
    told = sorted(told, key=lambda one: one.panel.number)
    if all(one.named for one in told):
        return tuple(one.panel for one in told), _named_otherwise(told, centre_front)
    sides = [_sides(one) for one in told]
    plain, mirrored = _best(sides, mirrored=False), _best(sides, mirrored=True)
    findings: list[Finding] = []
    if centre_front is not None:
        way = mirrored if centre_front == "right" else plain
    else:
        way, findings = _chosen(plain, mirrored, told)
    if not way.fits(SEAM_STOP_MM, apart_from=ease):
        ways = [_best(sides, mirrored=mirror, all_may_turn=True) for mirror in (False, True)]
        ways = [one for one in ways if one.fits(SEAM_TOLERANCE_MM, apart_from=ease)]
        if centre_front is not None:
            ways = [one for one in ways if one.mirrored == way.mirrored]
        if ways:
            # Fewest pieces upside down; as many either way, and the drawing is taken as it stands.
            way = min(ways, key=lambda one: len(_turned_notes(told, one)))
            findings = [*(_mirrored_note(way) if centre_front is None else ()), *_turned_notes(told, way)]
    panels = []
    for one, upside_down in zip(told, way.upside_down, strict=True):
        panel = half_turned_panel(one.panel) if upside_down else one.panel
        panels.append(mirrored_panel(panel) if way.mirrored and not one.named else panel)
    return tuple(panels), findings


def _sides(told: ToldPanel) -> _Sides:
    panel = told.panel

    def edge(name: EdgeName) -> _Edge:
        return _Edge(
            length_mm=panel.edge_mm(name),
            below_mm=length_below_mm(panel.edge(name), panel.waist_mm) if told.waist_known else None,
            notches_mm=tuple(sorted(notch.along_mm for notch in panel.notches if notch.edge is name)),
        )

    return _Sides(
        number=panel.number,
        front=edge(EdgeName.FRONT),
        back=edge(EdgeName.BACK),
        named=told.named,
        lying=told.lying,
    )


def _best(sides: Sequence[_Sides], *, mirrored: bool, all_may_turn: bool = False) -> _Way:
    """The way with the least misfit, found panel by panel over the two states that each piece may be in."""
    ways = [_Way(mirrored=mirrored, upside_down=(), misfit_mm=0.0, laid=())]
    for one in sides:
        states = (False, True) if one.lying or (all_may_turn and not one.named) else (False,)
        following = []
        for state in states:
            laid = one.laid(mirrored=mirrored, upside_down=state)
            grown = [_grown(way, laid, state) for way in ways]
            following.append(min(grown, key=lambda way: way.misfit_mm))
        ways = following
    return min((_ended(way) for way in ways), key=lambda way: way.misfit_mm)


def _ended(way: _Way) -> _Way:
    """The way with its free edges counted: notches are made to meet others."""
    free = [*way.laid[0].front.notches_mm, *way.laid[-1].back.notches_mm] if way.laid else []
    return replace(way, misfit_mm=way.misfit_mm + _FREE_NOTCH_MM * len(free))


def _grown(way: _Way, laid: _Sides, upside_down: bool) -> _Way:
    added = 0.0
    if way.laid:
        before = way.laid[-1]
        added += before.back.misfit_mm(laid.front) if laid.number == before.number + 1 else 0.0
        added += _TURN_COST_MM if way.upside_down[-1] != upside_down else 0.0
    return _Way(
        mirrored=way.mirrored,
        upside_down=(*way.upside_down, upside_down),
        misfit_mm=way.misfit_mm + added,
        laid=(*way.laid, laid),
    )


def _chosen(plain: _Way, mirrored: _Way, told: Sequence[ToldPanel]) -> tuple[_Way, list[Finding]]:
    if abs(plain.misfit_mm - mirrored.misfit_mm) <= ALIKE_MM:
        named_right = [one.drawn_right for one in told if one.named]
        if named_right:
            return (mirrored if all(named_right) else plain), []
        if any(one.lying for one in told):
            return plain, [
                note(
                    "pattern.turned-upright",
                    "file",
                    "The pieces lie on their side and were turned upright; which end is the top, the seams do not say.",
                    "Draw them upright if top and bottom are exchanged.",
                )
            ]
        return plain, [
            note(
                "pattern.centre-front-assumed",
                "file",
                "The seams fit either way round; centre front is taken to lie to the left.",
                "Say --centre-front right if it lies to the right.",
            )
        ]
    better, other = (mirrored, plain) if mirrored.misfit_mm < plain.misfit_mm else (plain, mirrored)
    findings = []
    only_better = better.fitting_seams(SEAM_STOP_MM) - other.fitting_seams(SEAM_STOP_MM)
    only_other = other.fitting_seams(SEAM_STOP_MM) - better.fitting_seams(SEAM_STOP_MM)
    if only_better and only_other and better.misfit_mm > DECIDED_SHARE * other.misfit_mm:
        left, right = (only_other, only_better) if better.mirrored else (only_better, only_other)
        findings.append(
            stop(
                "pattern.centre-front-unclear",
                "file",
                f"Seams fit one way only, yet not all the same way: with centre front to the left {_listed(left)}, with it "
                f"to the right {_listed(right)}.",
                "Draw all panels the same way round, or say --centre-front left|right.",
            )
        )
    else:
        findings += _mirrored_note(better)
    return better, findings


def _mirrored_note(way: _Way) -> list[Finding]:
    if not way.mirrored:
        return []
    return [
        note(
            "pattern.drawn-mirrored",
            "file",
            "The panels are drawn with centre front to the right; they were mirrored, as their seams show.",
            "Say --centre-front left if they are not.",
        )
    ]


def _listed(numbers: set[int]) -> str:
    return f"seam {', '.join(map(str, sorted(numbers)))}"


def _turned_notes(told: Sequence[ToldPanel], way: _Way) -> list[Finding]:
    return [
        note(
            "pattern.drawn-upside-down",
            one.where,
            f"Panel {one.panel.number} was turned upside down: its seams fit only so.",
        )
        for one, upside_down in zip(told, way.upside_down, strict=True)
        if upside_down and not one.lying
    ]


def _named_otherwise(told: Sequence[ToldPanel], centre_front: str | None) -> list[Finding]:
    """A maker who says one side where the names say the other is told that the names count."""
    sides = {one.drawn_right for one in told}
    if centre_front is None or sides != {centre_front == "left"}:
        return []
    drawn = "right" if centre_front == "left" else "left"
    return [
        warn(
            "pattern.centre-front-named",
            "centre front",
            f"The edges or corners as named put centre front to the {drawn}, not to the {centre_front}; "
            "the names are followed.",
            "Leave --centre-front out, or name the edges anew.",
        )
    ]
