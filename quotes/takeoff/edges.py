"""Binding round the edges, the tape at the waist, casings over the seams."""

import math

from inventory.ground.materials import MaterialKind, StockUnit
from quotes.construction.construction import BindingSource, ChannelMethod, Construction
from quotes.pattern.panels import EdgeName, Pattern
from quotes.takeoff.amounts import metres, rounded_up_mm
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import default_source, defaults
from quotes.takeoff.losses import Figure, Losses, with_use
from quotes.takeoff.needed import needed
from quotes.takeoff.takeoff import BonePlace, BoneRun, MaterialLine, Reason

__all__ = ["bias_square_mm", "binding_mm", "cased", "casing_mm", "edge_lines", "waist_tape_mm"]

BINDING_ENDS, TAPE_ENDS = 8, 4


def binding_mm(pattern: Pattern) -> float:
    """Return the binding round top and bottom of both halves, as drawn, with eight turned ends."""
    drawn = math.fsum(
        panel.edge_mm(edge) for half in pattern.halves for panel in half for edge in (EdgeName.TOP, EdgeName.BOTTOM)
    )
    return drawn + BINDING_ENDS * defaults().binding_end_mm


def bias_square_mm(binding: float) -> float:
    """Return the side of the square that a bias strip is cut from: √(length with joins × cut width).

    >>> round(bias_square_mm(1741.8))
    283
    """
    return math.sqrt((1 + defaults().bias_joins_share) * binding * defaults().bias_cut_width_mm)


def waist_tape_mm(pattern: Pattern, construction: Construction) -> float:
    """Return the waist tape: the closed waist and four ends; 0 where the construction has none."""
    if not construction.has_waist_tape:
        return 0.0
    return pattern.closed_waist_mm + TAPE_ENDS * defaults().waist_tape_end_mm


def casing_mm(runs: tuple[BoneRun, ...], construction: Construction) -> float:
    """Return the casing tape over seam and mid-panel channels, with its ends; 0 for channels made otherwise."""
    if construction.channels.method is not ChannelMethod.CASING:
        return 0.0
    return math.fsum(run.count * (run.channel_mm + defaults().casing_end_mm) for run in cased(runs))


def cased(runs: tuple[BoneRun, ...]) -> list[BoneRun]:
    """Return the runs on seams and down panels, whose channels the construction's method makes."""
    return [run for run in runs if run.place in (BonePlace.SEAM, BonePlace.MID_PANEL)]


def edge_lines(
    *,
    binding: float,
    tape: float,
    casing: float,
    runs: tuple[BoneRun, ...],
    construction: Construction,
    shelf: Shelf,
    losses: Losses,
) -> list[MaterialLine]:
    """Return the shopping lines of bought binding, waist tape and casing."""
    assumed = defaults()
    lines = []
    if construction.binding is BindingSource.BOUGHT:
        ends = BINDING_ENDS * assumed.binding_end_mm
        lines.append(
            _by_length(
                "binding",
                MaterialKind.BINDING,
                "Binding",
                binding,
                shelf,
                losses.binding_use_factor,
                counted=f"top and bottom edges of both halves, {binding - ends:.0f} mm as drawn",
                formula=f"{binding - ends:.0f} + {BINDING_ENDS} ends × {assumed.binding_end_mm:g} = {binding:.0f} mm",
                source=default_source("binding_end_mm"),
            )
        )
    if tape:
        ends = TAPE_ENDS * assumed.waist_tape_end_mm
        lines.append(
            _by_length(
                "waist-tape",
                MaterialKind.WAIST_TAPE,
                "Waist tape",
                tape,
                shelf,
                losses.waist_tape_use_factor,
                counted=f"the closed waist, {tape - ends:.0f} mm",
                formula=f"{tape - ends:.0f} + {TAPE_ENDS} ends × {assumed.waist_tape_end_mm:g} = {tape:.0f} mm",
                source=default_source("waist_tape_end_mm"),
            )
        )
    if casing:
        count = sum(run.count for run in cased(runs))
        lines.append(
            _by_length(
                "casing",
                MaterialKind.CASING,
                "Bone casing",
                casing,
                shelf,
                losses.casing_use_factor,
                counted=f"{count} casings over their channels",
                formula=f"Σ channels + {count} × {assumed.casing_end_mm:g} = {casing:.0f} mm",
                source=default_source("casing_end_mm"),
            )
        )
    return lines


def _by_length(
    code: str,
    kind: MaterialKind,
    what: str,
    drawn: float,
    shelf: Shelf,
    use: Figure,
    *,
    counted: str,
    formula: str,
    source: str,
) -> MaterialLine:
    material, length = shelf.material(kind), drawn * use.value
    return MaterialLine(
        code=code,
        needed=needed(code),
        kind=kind,
        what=what,
        material=material.code,
        quantity=metres(length),
        unit=StockUnit.METRE,
        buy_quantity=metres(rounded_up_mm(length, material.step_mm)),
        reason=with_use(
            Reason(counted=counted, formula=formula, rounding=f"up to the next {material.step_mm:g} mm", source=source),
            use,
        ),
    )
