"""Patterns and takeoffs that several tests begin with."""

import math
from dataclasses import replace

from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.labour.estimate import estimate_labour
from quotes.labour.operations import LabourEstimate
from quotes.labour.standard import default_times
from quotes.lay.lay_plan import Effort
from quotes.pattern.block import Block, Level, draw_block
from quotes.pattern.geometry import Polyline
from quotes.pattern.panels import Panel, Pattern
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import take_off
from quotes.takeoff.takeoff import Takeoff


def block_a() -> Block:
    """Worked example A, an underbust: six panels, 75 mm reduction, 50 mm lacing gap."""
    return Block(
        panels_per_half=6,
        lacing_gap_mm=50,
        levels=(
            Level(height_mm=130, girth_mm=780, take_in_mm=10),
            Level(height_mm=0, girth_mm=720, take_in_mm=75),
            Level(height_mm=-100, girth_mm=880),
            Level(height_mm=-150, girth_mm=940),
        ),
        top=(130, 110, 130),
        bottom=(-150, -120, -140),
    )


def block_b() -> Block:
    """Worked example B, an overbust: seven panels, 100 mm reduction, 65 mm lacing gap."""
    return Block(
        panels_per_half=7,
        lacing_gap_mm=65,
        levels=(
            Level(height_mm=200, girth_mm=960),
            Level(height_mm=90, girth_mm=840, take_in_mm=15),
            Level(height_mm=0, girth_mm=800, take_in_mm=100),
            Level(height_mm=-100, girth_mm=980),
            Level(height_mm=-160, girth_mm=1040),
        ),
        top=(200, 190, 160),
        bottom=(-180, -120, -150),
    )


def taken_off(block: Block, code: str = "two-layer", **choices: object) -> Takeoff:
    """The takeoff of a block in a shipped construction, without a drawn lay."""
    construction = shipped(code)
    return take_off(
        draw_block(block).pattern,
        construction,
        Choices(**choices),  # type: ignore[arg-type]
        plain_shelf(construction),
        effort=Effort.NONE.value,
    )


def labour_of(takeoff: Takeoff) -> LabourEstimate:
    """Its labour by the default table."""
    return estimate_labour(takeoff.work, takeoff.construction, default_times())


def trapezoid_pattern(*widths: tuple[float, float], height: float = 240.0) -> Pattern:
    """Panels as upright trapezoids of (top, bottom) widths, waist half-way up."""
    panels = []
    for number, (top, bottom) in enumerate(widths, start=1):
        front: Polyline = ((0.0, 0.0), (0.0, height))
        back: Polyline = ((bottom, 0.0), (top, height))
        panels.append(
            Panel(
                number=number,
                front=front,
                back=back,
                top=(front[-1], back[-1]),
                bottom=(front[0], back[0]),
                waist_mm=height / 2,
            )
        )
    return Pattern(name="Trapezoids", panels=tuple(panels))


def scaled(pattern: Pattern, factor: float) -> Pattern:
    """The pattern with every length multiplied."""

    def line(points: Polyline) -> Polyline:
        return tuple((x * factor, y * factor) for x, y in points)

    return replace(
        pattern,
        panels=tuple(
            replace(
                panel,
                front=line(panel.front),
                back=line(panel.back),
                top=line(panel.top),
                bottom=line(panel.bottom),
                waist_mm=panel.waist_mm * factor,
            )
            for panel in pattern.panels
        ),
    )


def ring_of(panel: Panel, *, points_a_side: int = 12) -> Polyline:
    """The panel's outline with many points on its straight legs, as a drawing program writes it."""
    outline = panel.outline
    ring = []
    for index, (x0, y0) in enumerate(outline):
        x1, y1 = outline[(index + 1) % len(outline)]
        ring += [
            (x0 + (x1 - x0) * step / points_a_side, y0 + (y1 - y0) * step / points_a_side)
            for step in range(points_a_side)
        ]
    return tuple(ring)


def turned_ring(ring: Polyline, degrees: float) -> Polyline:
    """The ring turned about the origin."""
    turn = math.radians(degrees)
    return tuple((x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in ring)
