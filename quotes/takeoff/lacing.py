"""Centre back: how many grommets, closer at the waist, and how much cord lets the wearer in."""

import math
from dataclasses import dataclass

from inventory.ground.findings import Finding, note, warn
from inventory.ground.materials import MaterialKind, StockUnit
from inventory.ground.wording import percent_text
from quotes.construction.construction import Construction, Grommets
from quotes.pattern.fit import child_findings, fit_findings
from quotes.pattern.panels import EdgeName, Panel, Pattern
from quotes.takeoff.amounts import each, metres, rounded_up_mm, whole_up
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import defaults
from quotes.takeoff.losses import Losses, with_use
from quotes.takeoff.needed import needed
from quotes.takeoff.takeoff import GrommetNeed, MaterialLine, Reason

__all__ = ["cord_mm", "gap_and_reduction", "grommet_findings", "grommet_heights_mm", "grommet_need", "lacing_lines"]


def grommet_need(pattern: Pattern, construction: Construction) -> GrommetNeed:
    """Return the grommets of each column; both columns are alike, so the longer back edge counts."""
    most = max(len(grommet_heights_mm(half[-1], construction.grommets)) for half in pattern.halves)
    return GrommetNeed(per_side=most, sets=2 * most)


def grommet_heights_mm(panel: Panel, column: Grommets) -> tuple[float, ...]:
    """Return where the grommets sit, mm above the waist (below it negative), lowest first; evenly within each zone.

    Their number (common practice): 1 + ⌈(t − m − z) ÷ d⌉ + ⌈2z ÷ dw⌉ + ⌈(s − m − z) ÷ d⌉ with t and s the heights above
    and below the waist, m the end margin, z the waist zone, d and dw the pitches outside and inside it. Where the edge
    ends within the zone, so does the zone. Grommets beyond it that would stand closer than at the waist join it, and
    all share its room. An edge without room for two has one in its middle.
    """
    lowest, highest = _room(panel, column)
    if highest - lowest < column.waist_pitch_mm:
        return ((lowest + highest) / 2,)
    zone = column.waist_zone_mm
    low, high = (min(max(end, lowest), highest) for end in (-zone, zone))
    below, at_waist, above = (
        _Run(start=start, end=end, spaces=whole_up(round(end - start, 2) / pitch))
        for start, end, pitch in (
            (lowest, low, column.pitch_mm),
            (low, high, column.waist_pitch_mm),
            (high, highest, column.pitch_mm),
        )
    )
    closest = at_waist.space_mm or column.waist_pitch_mm
    crowded = [run for run in (below, above) if 0 < run.space_mm < closest]
    if crowded and not at_waist.spaces:
        crowded = [below, above]
    if crowded:
        together = [at_waist, *crowded]
        start, end = min(run.start for run in together), max(run.end for run in together)
        spaces = sum(run.spaces for run in together)
        if (low, high) != (-zone, zone):
            # Of a zone that is cut short the trade's count says nothing; the pitch at the waist does.
            spaces = whole_up(round(end - start, 2) / column.waist_pitch_mm)
        at_waist = _Run(start=start, end=end, spaces=spaces)
    runs = [run for run in (below, above) if run not in crowded]
    return tuple(sorted({lowest, *(height for run in (at_waist, *runs) for height in run.heights_mm)}))


def grommet_findings(pattern: Pattern, construction: Construction) -> list[Finding]:
    """Return a warning where a back edge has no room for two grommets, or none at the waist."""
    findings = []
    column = construction.grommets
    margin = column.margin_mm
    for side, half in zip(("left", "right"), pattern.halves[: 2 if pattern.right_panels else 1], strict=False):
        where = f"{side} centre back" if pattern.right_panels else "centre back"
        above, below = _above_and_below(half[-1])
        lowest, highest = _room(half[-1], column)
        if highest - lowest < column.waist_pitch_mm:
            findings.append(
                warn(
                    "takeoff.back-too-short",
                    where,
                    f"The back edge is {above + below:.0f} mm tall: {margin:g} mm from its ends there is room for one "
                    "grommet only.",
                    "Draw centre back taller, set the grommets nearer to its ends, or close it otherwise.",
                )
            )
        elif not lowest <= 0 <= highest:
            ends = f"{above:.0f} mm above" if highest < 0 else f"{below:.0f} mm below"
            findings.append(
                warn(
                    "takeoff.no-grommet-at-waist",
                    where,
                    f"The back edge ends {ends} the waist; {margin:g} mm from its end no grommet lies at the waist.",
                    "Draw centre back taller, or set the grommets nearer to its ends.",
                )
            )
    return findings


def gap_and_reduction(
    pattern: Pattern, gap_mm: float | None, reduction_mm: float | None
) -> tuple[float, float, tuple[Finding, ...]]:
    """Return lacing gap and reduction: those given, else the pattern's, else assumed (and noted); what is doubtful in them.

    Where no reduction is known, the body waist is taken as (closed waist + gap) ÷ 0.9. Of a block, its own findings tell
    what is doubtful.
    """
    gap = gap_mm if gap_mm is not None else pattern.gap_mm
    reduction = reduction_mm if reduction_mm is not None else pattern.reduction_mm
    is_said, is_judged = reduction is not None, reduction_mm is None and pattern.estimating_only
    assumed = []
    if gap is None:
        gap = defaults().lacing_gap_mm
        assumed.append(f"a lacing gap of {gap:g} mm")
    if reduction is None:
        closed = pattern.closed_waist_mm
        reduction = (closed + gap) / (1 - defaults().reduction_share) - closed - gap
        assumed.append(
            f"a reduction of {reduction:.0f} mm, {percent_text(defaults().reduction_share)} of the body waist"
        )
    findings: list[Finding] = []
    if assumed:
        findings.append(
            note(
                "takeoff.fit-assumed",
                "waist",
                f"The pattern knows no fit; {' and '.join(assumed)} are taken as a proposal.",
                "Say gap and body waist beside the pattern file (--gap and --reduction on the command line).",
            )
        )
    if not is_judged:
        body_waist = pattern.closed_waist_mm + gap + reduction
        findings += (
            fit_findings(reduction, body_waist_mm=body_waist, where="waist")
            if is_said
            else child_findings(body_waist, where="waist")
        )
    return gap, reduction, tuple(findings)


def cord_mm(
    pattern: Pattern, construction: Construction, grommets: GrommetNeed, *, gap_mm: float, reduction_mm: float
) -> float:
    """Return the cord that the open corset takes.

    Formula (calc): 2(N − 1)√(g² + p²) + g + 2 × tail, with g = opening + 2 × inset, p = (H − 2m) ÷ (N − 1) and the
    opening = gap + reduction + 50, so that she can get in.
    """
    assumed, column = defaults(), construction.grommets
    height = max(half[-1].edge_mm(EdgeName.BACK) for half in pattern.halves)
    crossings = grommets.per_side - 1
    across = gap_mm + reduction_mm + assumed.lacing_ease_mm + 2 * column.inset_mm
    pitch = (height - 2 * column.margin_mm) / crossings if crossings else 0.0
    return 2 * crossings * math.hypot(across, pitch) + across + 2 * assumed.lacing_tail_mm


def lacing_lines(
    grommets: GrommetNeed,
    cord: float,
    *,
    opening_mm: float,
    centre_front_mm: float,
    shelf: Shelf,
    losses: Losses,
) -> list[MaterialLine]:
    """Return the shopping lines of grommets and cord."""
    assumed, setting = defaults(), losses.grommet_spoilage_share
    spoilt = max(assumed.grommet_least_spoilt, whole_up(grommets.sets * setting.value))
    sets = grommets.sets + spoilt + assumed.grommet_tests
    pack = shelf.material(MaterialKind.GROMMET).pack
    is_tall = centre_front_mm >= assumed.tall_front_mm
    rule = assumed.cord_rule_long_mm if is_tall else assumed.cord_rule_short_mm
    length = rounded_up_mm(max(cord, rule) * losses.cord_use_factor.value, assumed.cord_step_mm)
    lace = shelf.material(MaterialKind.CORD)
    return [
        MaterialLine(
            code="grommet",
            needed=needed("grommet"),
            kind=MaterialKind.GROMMET,
            what="Grommets with washers",
            material=shelf.material(MaterialKind.GROMMET).code,
            quantity=each(sets),
            unit=StockUnit.SET,
            buy_quantity=each(whole_up(sets / pack) * pack),
            reason=Reason(
                counted=f"{grommets.per_side} a side, closer at the waist",
                formula=f"2 × {grommets.per_side} = {grommets.sets}",
                waste=f"{spoilt} spoilt in setting ({percent_text(setting.value)}, {assumed.grommet_least_spoilt} at the least) and {assumed.grommet_tests} for a test piece",
                rounding=f"packs of {pack}" if pack > 1 else "",
                source=setting.source,
            ),
        ),
        MaterialLine(
            code="cord",
            needed=needed("cord"),
            kind=MaterialKind.CORD,
            what="Lacing cord",
            material=lace.code,
            quantity=metres(length),
            unit=StockUnit.METRE,
            buy_quantity=metres(rounded_up_mm(length, lace.step_mm)),
            reason=with_use(
                Reason(
                    counted=f"{grommets.per_side} grommets a side, laced open to {opening_mm:.0f} mm: {cord / 1000:.2f} m",
                    formula=f"the larger of {cord / 1000:.2f} m and the rule of thumb, {rule / 1000:g} m for "
                    f"{'an overbust or longline' if is_tall else 'an underbust'}",
                    rounding=f"up to the next {assumed.cord_step_mm / 1000:g} m, then to the {lace.step_mm:g} mm in which it is sold",
                    source="calculated at the open state; the rule of thumb is common practice",
                ),
                losses.cord_use_factor,
            ),
        ),
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """Grommets evenly spaced from one height to another, mm."""

    start: float
    end: float
    spaces: int

    @property
    def space_mm(self) -> float:
        """How far apart they stand; 0 for none."""
        return (self.end - self.start) / self.spaces if self.spaces else 0.0

    @property
    def heights_mm(self) -> list[float]:
        """All but the lowest, where the run below ends."""
        return [self.start + self.space_mm * space for space in range(1, self.spaces)] + [self.end] * bool(self.spaces)


def _room(panel: Panel, column: Grommets) -> tuple[float, float]:
    """Lowest and highest place for a grommet, mm above the waist; crossed where the margins meet."""
    above, below = _above_and_below(panel)
    return column.margin_mm - below, above - column.margin_mm


def _above_and_below(panel: Panel) -> tuple[float, float]:
    """Height of the centre-back edge above and below the waist."""
    return panel.back[-1][1] - panel.waist_mm, panel.waist_mm - panel.back[0][1]
