"""Which pieces are cut: panel × half × layer, labelled so that no two can be mixed up."""

from string import ascii_uppercase

from quotes.construction.construction import Allowances, Construction
from quotes.pattern.cutline import EdgeAllowances, cut_area_mm2, cut_outline_area_mm2
from quotes.pattern.panels import Panel, Pattern
from quotes.takeoff.takeoff import Piece

__all__ = ["cut_areas_mm2", "drawn_areas_mm2", "edge_allowances", "pieces_to_cut"]


def pieces_to_cut(pattern: Pattern, construction: Construction) -> tuple[Piece, ...]:
    """Return every piece, panel by panel: 1A right outer, 1B left outer, 1C right of the next layer, and so on."""
    return tuple(
        Piece(
            label=f"{panel.number}{ascii_uppercase[2 * depth + side]}",
            panel=panel.number,
            half=half,
            layer=layer.title,
            cloth=layer.role,
        )
        for panel in pattern.panels
        for depth, layer in enumerate(construction.layers)
        if layer.has_panel(panel.number)
        for side, half in enumerate(("right", "left"))
    )


def edge_allowances(panel: Panel, pattern: Pattern, allowances: Allowances) -> EdgeAllowances:
    """Return what each edge of a panel is cut larger by; a pattern's own seam allowance goes before the construction's."""
    own = pattern.seam_allowance_mm
    seam = allowances.seam_mm if own is None else own
    centre_front = allowances.centre_front_mm if own is None else own
    return EdgeAllowances(
        front_mm=centre_front if panel.number == 1 else seam,
        back_mm=allowances.centre_back_mm if panel.number == pattern.panels_per_half else seam,
        top_mm=allowances.top_mm,
        bottom_mm=allowances.bottom_mm,
    )


def cut_areas_mm2(panels: tuple[Panel, ...], pattern: Pattern, allowances: Allowances) -> tuple[float, ...]:
    """Return the cut area of one piece of each panel by the trade's formula, which leaves corners out."""
    return tuple(cut_area_mm2(panel, edge_allowances(panel, pattern, allowances)) for panel in panels)


def drawn_areas_mm2(panels: tuple[Panel, ...], pattern: Pattern, allowances: Allowances) -> tuple[float, ...]:
    """Return the area of one piece of each panel as it is cut, corners and all."""
    return tuple(cut_outline_area_mm2(panel, edge_allowances(panel, pattern, allowances)) for panel in panels)
