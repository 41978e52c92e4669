"""Every line of stitching in the garment, once: what thread and machine time are counted from.

Words: a *run* is one kind of stitching: how many lines, their length together, the stitch and the plies under it.
"""

import math
from dataclasses import dataclass

from inventory.ground.findings import Finding, warn
from inventory.ground.materials import MaterialKind, StockUnit
from inventory.ground.wording import percent_text
from quotes.construction.construction import ChannelMethod, Choices, Construction, Shell, layers_at
from quotes.pattern.panels import EdgeName, Pattern
from quotes.pattern.truing import seams
from quotes.takeoff.amounts import metres, rounded_up_mm
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import default_source, defaults
from quotes.takeoff.edges import cased
from quotes.takeoff.losses import Losses
from quotes.takeoff.needed import needed
from quotes.takeoff.takeoff import BonePlace, BoneRun, MaterialLine, Reason

__all__ = [
    "SeamLine",
    "StitchRun",
    "channel_runs",
    "grommet_run",
    "lockstitch_ratio",
    "seam_lines",
    "seam_runs",
    "thread_line",
    "thread_mm",
    "unjoined_findings",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class StitchRun:
    """`lines` lines of stitching, `length_mm` long together, `order` 1 for first passes, 2 for second, 0 for others."""

    what: str
    lines: int
    length_mm: float
    stitch_mm: float
    plies: int
    order: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamLine:
    """A seam of one half in one shell; `stitches_mm` has the stitch length of each pass, in order."""

    shell: str
    half: str
    seam: int
    length_mm: float
    plies: int
    stitches_mm: tuple[float, ...]


def seam_lines(pattern: Pattern, construction: Construction) -> tuple[SeamLine, ...]:
    """Return every seam that is sewn, shell by shell, half by half.

    A shell is sewn wherever it has both panels of a seam, of one cloth or of two.
    """
    return tuple(line for shell in construction.shells for line in _sewn_in(shell, pattern, construction))


def seam_runs(pattern: Pattern, construction: Construction) -> tuple[StitchRun, ...]:
    """Return the seam passes of both halves, shell by shell and pass by pass; a run for each number of plies."""
    runs = []
    for shell in construction.shells:
        lines = _sewn_in(shell, pattern, construction)
        for order, step in enumerate(shell.passes, start=1):
            for plies in dict.fromkeys(line.plies for line in lines):
                lengths = [line.length_mm for line in lines if line.plies == plies]
                runs.append(
                    StitchRun(
                        what=f"{shell.title}, pass {order}",
                        lines=len(lengths),
                        length_mm=math.fsum(lengths),
                        stitch_mm=step.stitch_mm,
                        plies=plies,
                        order=min(order, 2),
                    )
                )
    return tuple(runs)


def unjoined_findings(pattern: Pattern, construction: Construction) -> list[Finding]:
    """Return a warning for each seam line where one shell ends and another begins: nothing joins the two."""
    findings = []
    for number in range(1, pattern.panels_per_half):
        here, there = (
            [shell.title for shell in construction.shells if _ends_between(shell, construction, number, beyond)]
            for number, beyond in ((number, number + 1), (number + 1, number))
        )
        if here and there:
            findings.append(
                warn(
                    "takeoff.shell-not-joined",
                    f"seam {number}",
                    f"No seam joins panel {number} of the {' and '.join(here)} to panel {number + 1} of the "
                    f"{' and '.join(there)}: they are different shells.",
                    "Layers whose panels are sewn side by side stand in one shell, whatever their cloth.",
                )
            )
    return findings


def channel_runs(runs: tuple[BoneRun, ...], construction: Construction) -> tuple[StitchRun, ...]:
    """Return the lines that make channels: b + 1 on a seam between layers, two for each casing or welt."""
    channels = construction.channels
    lines, length = 0, 0.0
    for run in cased(runs):
        on_seam = run.place is BonePlace.SEAM
        per_seam = channels.bones_per_seam if on_seam else 1
        places = run.count // per_seam
        if channels.method is ChannelMethod.CASING:
            each_place = 2 * per_seam
        elif channels.method is ChannelMethod.WELT:
            each_place = 2 if on_seam else 2 * per_seam
        else:
            each_place = per_seam + 1
        lines += places * each_place
        length += places * each_place * run.channel_mm
    if not lines:
        return ()
    return (
        StitchRun(
            what="channel lines",
            lines=lines,
            length_mm=length,
            stitch_mm=channels.stitch_mm,
            plies=max(construction.thicknesses, 2),
        ),
    )


def grommet_run(pattern: Pattern, construction: Construction) -> StitchRun:
    """Return the lines of both grommet panels: bone, grommets, bone."""
    per_side = defaults().grommet_lines
    length = per_side * math.fsum(half[-1].edge_mm(EdgeName.BACK) for half in pattern.halves)
    return StitchRun(
        what="grommet panels",
        lines=2 * per_side,
        length_mm=length,
        stitch_mm=construction.channels.stitch_mm,
        plies=2 * layers_at(construction.layers, pattern.panels_per_half),
    )


def thread_mm(runs: tuple[StitchRun, ...], binding: float, construction: Construction) -> float:
    """Return the thread in the stitching, both threads together, before waste.

    Ratio 3.5, or with a ply thickness t the geometry of stitch type 301: 2 + 2·T·s, T = plies × t, s stitches per mm.
    """
    thickness = construction.ply_thickness_mm
    if thickness is None:
        return defaults().thread_ratio * (math.fsum(run.length_mm for run in runs) + binding)
    edge = StitchRun(
        what="binding",
        lines=1,
        length_mm=binding,
        stitch_mm=construction.channels.stitch_mm,
        plies=construction.thicknesses + 2,
    )
    return math.fsum(run.length_mm * lockstitch_ratio(run.plies * thickness, run.stitch_mm) for run in (*runs, edge))


def lockstitch_ratio(thickness_mm: float, stitch_mm: float) -> float:
    """Return the thread per length of a 301 seam, both threads: each stitch takes 2 × (length + thickness).

    Source: textile-engineering teaching pages, C = 2 + 2·T·S; stitch class 301 of ISO 4915.

    >>> round(lockstitch_ratio(1.2, 2.5), 9)
    2.96
    """
    return 2 + 2 * thickness_mm / stitch_mm


def thread_line(thread: float, choices: Choices, shelf: Shelf, losses: Losses) -> MaterialLine:
    """Return the shopping line of thread: stitching with waste, a toile, hand sewing."""
    assumed, wasted = defaults(), losses.thread_waste_share.value
    toile = assumed.toile_thread_mm if choices.toile else 0.0
    total = thread * (1 + wasted) + toile + assumed.hand_thread_mm
    material = shelf.material(MaterialKind.THREAD)
    toile_words = f" + {toile / 1000:.0f} m for the toile" if toile else ""
    return MaterialLine(
        code="thread",
        needed=needed("thread"),
        kind=MaterialKind.THREAD,
        what="Thread",
        material=material.code,
        quantity=metres(total),
        unit=StockUnit.METRE,
        buy_quantity=metres(rounded_up_mm(total, material.step_mm)),
        reason=Reason(
            counted="seam passes, channel and grommet lines, binding",
            formula=f"{thread / 1000:.1f} m with waste{toile_words} + {assumed.hand_thread_mm / 1000:.0f} m for hand sewing",
            waste=f"{percent_text(wasted)} lost in ends and starts",
            rounding=f"up to the next {material.step_mm / 1000:g} m",
            source=losses.source_beside(default_source("thread_ratio"), "thread_waste_share"),
        ),
    )


def _sewn_in(shell: Shell, pattern: Pattern, construction: Construction) -> list[SeamLine]:
    """The seams of one shell; under the needle lie the layers of both panels."""
    layers = construction.layers_of(shell)
    lines = []
    for side, half in zip(("left", "right"), pattern.halves, strict=True):
        for seam in seams(half):
            first, second = layers_at(layers, seam.number), layers_at(layers, seam.number + 1)
            if first and second:
                lines.append(
                    SeamLine(
                        shell=shell.title,
                        half=side,
                        seam=seam.number,
                        length_mm=seam.mean_mm,
                        plies=first + second,
                        stitches_mm=tuple(step.stitch_mm for step in shell.passes),
                    )
                )
    return lines


def _ends_between(shell: Shell, construction: Construction, panel: int, beyond: int) -> bool:
    """Whether a shell has a panel and lacks the one beyond its edge."""
    layers = construction.layers_of(shell)
    return layers_at(layers, panel) > 0 and layers_at(layers, beyond) == 0
