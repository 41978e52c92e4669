"""The takeoff of one option: every material and all the work, from pattern, construction and choices."""

from collections.abc import Collection, Mapping
from dataclasses import replace
from decimal import Decimal

from inventory.ground.findings import Finding, Refused, refuse, stop, stops, warn
from quotes.construction.choices import apply_choices
from quotes.construction.construction import Choices, Construction
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.pattern.panels import EdgeName, Pattern
from quotes.pattern.truing import seams
from quotes.takeoff.bone_plan import plan_bones
from quotes.takeoff.bone_work import BoneWork
from quotes.takeoff.bones import bone_lines
from quotes.takeoff.channels import bone_channels
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.cloth import ClothGroup, cloth_faults, cloth_groups, cloth_needs, lay_problem
from quotes.takeoff.defaults import defaults
from quotes.takeoff.edges import bias_square_mm, binding_mm, casing_mm, edge_lines, waist_tape_mm
from quotes.takeoff.folds import can_be_folded, fold_findings
from quotes.takeoff.front import front_line, front_need
from quotes.takeoff.lacing import cord_mm, gap_and_reduction, grommet_findings, grommet_need, lacing_lines
from quotes.takeoff.losses import Losses, default_losses
from quotes.takeoff.pieces import cut_areas_mm2, pieces_to_cut
from quotes.takeoff.stitching import channel_runs, grommet_run, seam_runs, thread_line, thread_mm, unjoined_findings
from quotes.takeoff.sundries import fusible_need, small_lines, toile_need
from quotes.takeoff.takeoff import MaterialLine, Takeoff
from quotes.takeoff.work import work_content

__all__ = ["lay_problems", "overruled", "take_off"]


def lay_problems(pattern: Pattern, construction: Construction, choices: Choices, shelf: Shelf) -> dict[str, LayProblem]:
    """Return the lay of each cloth of an option, laid open, by the key that `take_off` looks plans up with."""
    applied = apply_choices(construction, choices)
    groups = cloth_groups(pattern, applied, choices, shelf, bias_side_mm=0.0, back_mm=_back_mm(pattern))
    faults = [
        *stops(_panel_faults(pattern, applied)),
        *(fault for group in groups for fault in cloth_faults(group, pattern, applied)),
    ]
    if faults:
        raise Refused(faults)
    return {group.key: lay_problem(group, pattern, applied) for group in groups}


def take_off(
    pattern: Pattern,
    construction: Construction,
    choices: Choices,
    shelf: Shelf,
    *,
    plans: Mapping[str, LayPlan] | None = None,
    effort: str = "none",
    folded: Collection[str] = (),
    reduction_mm: float | None = None,
    gap_mm: float | None = None,
    losses: Losses | None = None,
    bench: BoneWork | None = None,
) -> Takeoff:
    """Return what the garment takes.

    Args:
        plans: drawn lays by the keys of `lay_problems`; a cloth without one, or with one that failed, takes the quick length.
        effort: how the lays were searched for, for the record.
        folded: the keys of cloths that are laid folded, where they can be.
        reduction_mm, gap_mm: the fit, where the pattern does not know it.
        losses: what the workroom uses beyond the drawing; the defaults where it has not said.
        bench: what bones cost at the bench, so that the cheapest are taken; None weighs materials alone.

    Raises:
        Refused: pieces wider than their cloth, bones or busks that cannot be had, a construction for more panels.
    """
    applied, lost = apply_choices(construction, choices), losses or default_losses()
    back, front_edge = _back_mm(pattern), min(half[0].edge_mm(EdgeName.FRONT) for half in pattern.halves)
    binding = binding_mm(pattern)
    groups = cloth_groups(pattern, applied, choices, shelf, bias_side_mm=bias_square_mm(binding), back_mm=back)
    places, channel_findings = bone_channels(pattern, applied, choices.bones)
    plan = plan_bones(places, shelf, chosen=choices.bones, bench=bench or BoneWork(), losses=lost)
    front, front_findings = front_need(pattern, applied, shelf)
    gap, reduction, fit_findings = gap_and_reduction(pattern, gap_mm, reduction_mm)
    on_fold = {group.key: lay_problem(group, pattern, applied) for group in groups if group.key in folded}
    drawn = {key: plan for key, plan in (plans or {}).items() if not plan.has_failed}
    findings = (
        *_fit_faults(gap_mm, reduction_mm),
        *_panel_faults(pattern, applied),
        *unjoined_findings(pattern, applied),
        *(fault for group in groups for fault in cloth_faults(group, pattern, applied)),
        *channel_findings,
        *plan.findings,
        *front_findings,
        *grommet_findings(pattern, applied),
        *fit_findings,
        *_quantity_findings(pattern, applied),
        *_lay_findings(groups, plans or {}),
        *fold_findings(on_fold, folded),
    )
    if stops(findings):
        raise Refused(findings)

    grommets = grommet_need(pattern, applied)
    cord = cord_mm(pattern, applied, grommets, gap_mm=gap, reduction_mm=reduction)
    tape, casing = waist_tape_mm(pattern, applied), casing_mm(places, applied)
    sewing, channels, columns = (
        seam_runs(pattern, applied),
        channel_runs(places, applied),
        grommet_run(pattern, applied),
    )
    thread = thread_mm((*sewing, *channels, columns), binding, applied)
    cloths, cloth_lines = cloth_needs(
        groups,
        drawn,
        lost.cloth_use_factor,
        folded={key for key, problem in on_fold.items() if can_be_folded(problem)},
    )
    fusible, fusible_line = fusible_need(pattern, choices, shelf, lost.fusible_use_factor, back_mm=back)
    toile = []
    if choices.toile:
        toile.append(toile_need(pattern, applied, shelf, lost.toile_use_factor, tallest_mm=groups[0].tallest_mm))
    opening = gap + reduction + defaults().lacing_ease_mm
    return Takeoff(
        pattern=pattern,
        construction=applied,
        choices=choices,
        seams=seams(pattern.panels),
        worn_waist_mm=pattern.closed_waist_mm + gap,
        cut_areas_mm2=cut_areas_mm2(pattern.panels, pattern, applied.allowances),
        pieces=pieces_to_cut(pattern, applied),
        cloths=(*cloths, *(need for need, _ in toile), fusible),
        bones=plan.bones,
        front=front,
        grommets=grommets,
        tape_mm=tape,
        binding_mm=binding,
        casing_mm=casing,
        cord_mm=cord,
        thread_mm=thread,
        lines=(
            *cloth_lines,
            *(line for _, line in toile),
            fusible_line,
            *bone_lines(plan, shelf, lost),
            *front_line(front, shelf),
            *lacing_lines(grommets, cord, opening_mm=opening, centre_front_mm=front_edge, shelf=shelf, losses=lost),
            *edge_lines(
                binding=binding, tape=tape, casing=casing, runs=places, construction=applied, shelf=shelf, losses=lost
            ),
            thread_line(thread, choices, shelf, lost),
            *small_lines(places, choices, shelf),
        ),
        work=work_content(
            pattern,
            applied,
            choices,
            cloths=len(groups),
            places=places,
            bones=plan.bones,
            front=front,
            grommets=grommets,
            binding_mm=binding,
            sewing=sewing,
            channels=channels,
            grommet_panels=columns,
        ),
        effort=effort,
        findings=findings,
    )


def overruled(takeoff: Takeoff, line_code: str, quantity: Decimal, reason: str) -> Takeoff:
    """Return the takeoff with the maker's own quantity in one line; the computed one stays beside it.

    Raises:
        Refused: no such line, a quantity below zero, or no reason.
    """
    line = next((line for line in takeoff.lines if line.code == line_code), None)
    if line is None:
        raise refuse("overrule.no-such-line", line_code[:60], f"This takeoff has no line {line_code[:60]!r}.")
    if not quantity.is_finite() or quantity < 0:
        raise refuse("overrule.quantity", line_code, f"A quantity of {quantity} cannot be used.", "Write zero or more.")
    if not reason.strip():
        raise refuse("overrule.no-reason", line_code, "An overruled figure needs a reason.", "Say why in a few words.")
    own: MaterialLine = replace(
        line,
        quantity=quantity,
        buy_quantity=max(quantity, line.buy_quantity) if quantity > line.quantity else line.buy_quantity,
        overruled=line.quantity,
        overrule_reason=reason.strip(),
    )
    return replace(takeoff, lines=tuple(own if row.code == line_code else row for row in takeoff.lines))


def _back_mm(pattern: Pattern) -> float:
    return max(half[-1].edge_mm(EdgeName.BACK) for half in pattern.halves)


def _fit_faults(gap: float | None, reduction: float | None) -> list[Finding]:
    """Faults of a fit that was said; an assumed one is a share of the pattern's own waist."""
    faults = []
    if gap is not None and not 0 <= gap <= 300:
        faults.append(stop("takeoff.gap", "gap", f"A lacing gap of {gap:g} mm is outside 0 to 300 mm."))
    if reduction is not None and not 0 <= reduction <= 400:
        faults.append(
            stop("takeoff.reduction", "reduction", f"A reduction of {reduction:g} mm is outside 0 to 400 mm.")
        )
    return faults


def _panel_faults(pattern: Pattern, construction: Construction) -> list[Finding]:
    named = {number for layer in construction.layers for number in layer.panels}
    named |= set(construction.channels.mid_panel)
    empty = [
        stop(
            "takeoff.layer-without-panels",
            f"layer {layer.role}",
            f"The {layer.title} is for panels {', '.join(map(str, layer.panels))} only, and the pattern has none of them.",
            "Name panels that the pattern has, or take the layer out.",
        )
        for layer in construction.layers
        if layer.panels and min(layer.panels) > pattern.panels_per_half
    ]
    return empty + [
        warn(
            "takeoff.panel-not-there",
            f"panel {number}",
            f"The construction names panel {number}, but the pattern has {pattern.panels_per_half} panels a half.",
        )
        for number in sorted(named)
        if number > pattern.panels_per_half
    ]


def _quantity_findings(pattern: Pattern, construction: Construction) -> list[Finding]:
    """Where the file says how many to cut, compare it with what the construction needs."""
    findings = []
    pieces = pieces_to_cut(pattern, construction)
    for panel in pattern.panels:
        needed = sum(piece.panel == panel.number for piece in pieces)
        if panel.quantity is not None and panel.quantity not in (needed, needed // 2):
            findings.append(
                warn(
                    "takeoff.quantity-differs",
                    f"panel {panel.number}",
                    f"The file wants {panel.quantity} pieces cut; this construction needs {needed}.",
                )
            )
    return findings


def _lay_findings(groups: tuple[ClothGroup, ...], plans: Mapping[str, LayPlan]) -> list[Finding]:
    """Where the packing engine failed, say what counts instead."""
    return [
        warn(
            "lay.failed",
            " and ".join(group.roles),
            "The lay could not be drawn; the quick length counts.",
            "Draw it again.",
        )
        for group in groups
        if group.key in plans and plans[group.key].has_failed
    ]
