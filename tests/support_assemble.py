"""Drawings assembled for tests, and what is looked at in the pattern or the refusal that comes of it."""

from dataclasses import replace

import pytest
from support_panels import curved_pattern, drawn

from inventory.ground.findings import Finding, Refused, Severity
from quotes.pattern.assemble import assemble
from quotes.pattern.cutline import EdgeAllowances, cut_outline
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.panels import EdgeName, Panel, Pattern

CURVES = curved_pattern()
NAN, INFINITY = float("nan"), float("inf")


def read(drawing: Drawing, **options: object) -> Reading:
    return assemble(drawing, ReadOptions(**options))  # type: ignore[arg-type]


def findings(drawing: Drawing, **options: object) -> tuple[Finding, ...]:
    """What refuses a drawing, or what is said beside its pattern."""
    try:
        return read(drawing, **options).findings
    except Refused as refusal:
        return refusal.findings


def codes(drawing: Drawing, **options: object) -> list[str]:
    """The codes of a refusal's stops."""
    with pytest.raises(Refused) as refusal:
        read(drawing, **options)
    return [finding.code for finding in refusal.value.findings if finding.severity is Severity.STOP]


def figures(pattern: Pattern) -> list[float]:
    """Edges, areas and waists, to the micrometre."""
    return [
        round(figure, 3)
        for panel in pattern.panels
        for figure in (
            *(panel.edge_mm(name) for name in EdgeName),
            panel.net_area_mm2,
            panel.waist_width_mm,
            panel.waist_mm - panel.front[0][1],
        )
    ]


def edge_lengths(pattern: Pattern) -> list[float]:
    return [panel.edge_mm(name) for panel in pattern.panels for name in EdgeName]


def with_longer_back(panel: Panel, by_mm: float) -> Panel:
    """The panel with the top of its back edge drawn higher."""
    x, y = panel.back[-1]
    return replace(panel, back=(*panel.back[:-1], (x, y + by_mm)), top=(*panel.top[:-1], (x, y + by_mm)))


def cut_only(pattern: Pattern, allowance: float) -> Drawing:
    even = EdgeAllowances(front_mm=allowance, back_mm=allowance, top_mm=allowance, bottom_mm=allowance)
    panels = zip(drawn(pattern).panels, pattern.panels, strict=True)
    return replace(
        drawn(pattern),
        panels=tuple(replace(one, stitching=None, cut=cut_outline(panel, even)) for one, panel in panels),
    )
