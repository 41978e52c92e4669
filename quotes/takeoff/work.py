"""How much there is to do: pieces, seams, passes and every driver of labour, from the geometry."""

import math
from collections.abc import Sequence

from quotes.construction.construction import BindingSource, ChannelMethod, Choices, Construction, FrontKind, layers_at
from quotes.pattern.panels import Pattern
from quotes.pattern.truing import seams
from quotes.takeoff.bone_work import BONE_DRIVERS, driver_of
from quotes.takeoff.defaults import defaults
from quotes.takeoff.drivers import Driver
from quotes.takeoff.edges import BINDING_ENDS, cased
from quotes.takeoff.pieces import pieces_to_cut
from quotes.takeoff.stitching import StitchRun
from quotes.takeoff.sundries import flossed_ends
from quotes.takeoff.takeoff import BoneRun, FrontNeed, GrommetNeed, Work

__all__ = ["work_content"]

BINDING_EDGES = 4


def work_content(
    pattern: Pattern,
    construction: Construction,
    choices: Choices,
    *,
    cloths: int,
    places: tuple[BoneRun, ...],
    bones: tuple[BoneRun, ...],
    front: FrontNeed,
    grommets: GrommetNeed,
    binding_mm: float,
    sewing: Sequence[StitchRun],
    channels: Sequence[StitchRun],
    grommet_panels: StitchRun,
) -> Work:
    """Return the work in a garment.

    Args:
        cloths: different cloths to prepare and lay.
        places, bones: the boning channels, and the bones as they were planned.
        sewing, channels, grommet_panels: the stitching, as `quotes.takeoff.stitching` lists it.
    """
    firsts = [run for run in sewing if run.order == 1]
    seconds = [run for run in sewing if run.order == 2]
    sewn_seams = sum(run.lines for run in firsts)
    sewn_mm = math.fsum(run.length_mm for run in firsts)
    per_layer = [seam.mean_mm for half in pattern.halves for seam in seams(half)]
    pieces = len(pieces_to_cut(pattern, construction))
    panels = sum(len(half) for half in pattern.halves)
    is_casing = construction.channels.method is ChannelMethod.CASING
    joined_lines = sum(
        max(layers_at(construction.layers, seam.number), layers_at(construction.layers, seam.number + 1)) > 1
        for half in pattern.halves
        for seam in seams(half)
    )
    flatlined = sum(
        layers_at(construction.layers_of(shell), panel.number) > 1
        for shell in construction.shells
        for half in pattern.halves
        for panel in half
    )
    bias = binding_mm / 1000 if construction.binding is BindingSource.CUT else 0.0
    is_busk = front.kind is FrontKind.BUSK
    drivers: dict[Driver, float] = {
        Driver.JOB: 1,
        Driver.NEW_PATTERN: 0 if choices.kept_pattern else 1,
        Driver.KEPT_PATTERN: 1 if choices.kept_pattern else 0,
        Driver.NEW_PANEL: 0 if choices.kept_pattern else pattern.panels_per_half,
        Driver.TOILE_PIECE: panels if choices.toile else 0,
        Driver.TOILE_SEAM: len(per_layer) if choices.toile else 0,
        Driver.TOILE_STITCH: math.fsum(per_layer) / defaults().toile_stitch_mm if choices.toile else 0,
        Driver.FITTING: choices.fittings,
        Driver.CLOTH: cloths,
        Driver.PIECE: pieces,
        Driver.FLATLINED_PAIR: flatlined,
        Driver.SEAM: sewn_seams,
        Driver.SEAM_METRE: sewn_mm / 1000,
        Driver.FIRST_PASS: _handled(firsts),
        Driver.FIRST_PASS_STITCH: _stitches(firsts),
        Driver.SECOND_PASS: _handled(seconds),
        Driver.SECOND_PASS_STITCH: _stitches(seconds),
        Driver.TAPE_SEAM_LINE: len(per_layer) if construction.has_waist_tape else 0,
        Driver.BUSK: 1 if is_busk else 0,
        Driver.BUSK_PART: 2 * front.loops,
        Driver.ZIP: 1 if front.kind is FrontKind.ZIP else 0,
        Driver.JOIN_SEAM_LINE: joined_lines,
        Driver.CHANNEL_LINE: sum(run.lines for run in channels),
        Driver.CHANNEL_STITCH: math.fsum(run.length_mm / run.stitch_mm for run in channels),
        Driver.CASING: sum(run.count for run in cased(places)) if is_casing else 0,
        Driver.GROMMET_SIDE: 2,
        Driver.GROMMET_LINE: 2 * defaults().grommet_lines,
        Driver.GROMMET_LINE_STITCH: grommet_panels.length_mm / grommet_panels.stitch_mm,
        **{driver: sum(run.count for run in bones if driver_of(run) is driver) for driver in BONE_DRIVERS},
        Driver.BONE: sum(run.count for run in bones),
        Driver.GROMMET_SET: grommets.sets,
        Driver.BIAS_METRE: bias,
        Driver.BINDING_EDGE: BINDING_EDGES,
        Driver.BINDING_METRE: binding_mm / 1000,
        Driver.BINDING_END: BINDING_ENDS,
        Driver.FLOSSED_END: flossed_ends(places) if choices.flossing else 0,
        Driver.MODESTY_PANEL: 1 if choices.modesty_panel else 0,
    }
    return Work(
        pieces=pieces,
        seams=sewn_seams,
        seam_passes=sum(run.lines for run in sewing),
        seam_mm=sewn_mm,
        pass_mm=math.fsum(run.length_mm for run in sewing),
        drivers={driver.value: float(quantity) for driver, quantity in drivers.items()},
    )


def _handled(runs: Sequence[StitchRun]) -> float:
    """Passes, each counted more than once where it goes through four plies."""
    return math.fsum(run.lines * _ply_factor(run) for run in runs)


def _stitches(runs: Sequence[StitchRun]) -> float:
    """Stitches, with the same factor for four plies."""
    return math.fsum(run.length_mm / run.stitch_mm * _ply_factor(run) for run in runs)


def _ply_factor(run: StitchRun) -> float:
    """What a pass counts for: more where it goes through four plies or more."""
    return defaults().four_ply_factor if run.plies >= 4 else 1.0
