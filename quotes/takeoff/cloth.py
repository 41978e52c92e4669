"""Cloth: what each role takes, from a drawn lay where there is one, else from the quick length.

A lay belongs to one cloth: roles that share a cloth are laid together and split its length by cut area. The square
for bias binding and a modesty panel come from the outer cloth, so that they match it.
"""

import math
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from inventory.ground.findings import Finding, stop
from inventory.ground.materials import Material, MaterialKind, StockUnit
from inventory.ground.wording import percent_text
from quotes.construction.construction import BindingSource, Choices, Construction, Layer
from quotes.lay.lay_plan import LayPiece, LayPlan, LayProblem, Repeat
from quotes.pattern.panels import Panel, Pattern
from quotes.takeoff.amounts import metres, rounded_up_mm
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.cut_pieces import piece_outline, waist_along
from quotes.takeoff.defaults import default_source, defaults
from quotes.takeoff.losses import Figure, with_use
from quotes.takeoff.needed import needed
from quotes.takeoff.pieces import cut_areas_mm2, drawn_areas_mm2, edge_allowances, pieces_to_cut
from quotes.takeoff.takeoff import ClothNeed, MaterialLine, Reason

__all__ = ["ClothGroup", "cloth_faults", "cloth_groups", "cloth_needs", "lay_problem"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClothGroup:
    """Roles cut from one cloth.

    `areas_mm2` is the cut area by role, `modesty_mm` the size of its modesty pieces; `drawn_mm2` the area of all pieces as
    they are cut, corners and modesty pieces included.
    """

    key: str
    material: Material
    roles: tuple[str, ...]
    areas_mm2: dict[str, float]
    drawn_mm2: float
    piece_counts: dict[str, int]
    tallest_mm: float
    modesty_mm: tuple[float, float] | None
    bias_side_mm: float
    is_outermost: bool

    @property
    def area_mm2(self) -> float:
        """All that is laid, modesty pieces included."""
        return math.fsum(self.areas_mm2.values()) + _modesty_mm2(self.modesty_mm)


def cloth_groups(
    pattern: Pattern, construction: Construction, choices: Choices, shelf: Shelf, *, bias_side_mm: float, back_mm: float
) -> tuple[ClothGroup, ...]:
    """Return the cloths of an option, in the order of their roles."""
    by_cloth: dict[str, list[str]] = defaultdict(list)
    for role in construction.roles:
        by_cloth[shelf.cloths[role].code or role].append(role)
    halves_areas = [cut_areas_mm2(half, pattern, construction.allowances) for half in pattern.halves]
    halves_drawn = [drawn_areas_mm2(half, pattern, construction.allowances) for half in pattern.halves]
    trims = construction.allowances.top_mm + construction.allowances.bottom_mm
    tallest = max(_height_mm(panel) for half in pattern.halves for panel in half) + trims
    pieces = pieces_to_cut(pattern, construction)
    outer = construction.roles[0]
    modesty = None
    if choices.modesty_panel:
        modesty = (defaults().modesty_width_mm, max(back_mm - defaults().modesty_shorter_mm, 0.0))
    groups = []
    for key, roles in by_cloth.items():
        layers = [layer for layer in construction.layers if layer.role in roles]
        areas = {layer.role: _of_layer(layer, halves_areas) for layer in layers}
        own_modesty = modesty if outer in roles else None
        groups.append(
            ClothGroup(
                key=key,
                material=shelf.cloths[roles[0]],
                roles=tuple(roles),
                areas_mm2=areas,
                drawn_mm2=math.fsum(_of_layer(layer, halves_drawn) for layer in layers) + _modesty_mm2(own_modesty),
                piece_counts={role: sum(piece.cloth == role for piece in pieces) for role in roles},
                tallest_mm=tallest,
                modesty_mm=own_modesty,
                is_outermost=outer in roles,
                bias_side_mm=bias_side_mm if outer in roles and construction.binding is BindingSource.CUT else 0.0,
            )
        )
    return tuple(groups)


def cloth_faults(group: ClothGroup, pattern: Pattern, construction: Construction) -> list[Finding]:
    """Name the pieces that no turning makes fit the width of their cloth."""
    width = group.material.usable_width_mm
    faults = []
    for half in pattern.halves[: 2 if pattern.right_panels else 1]:
        for panel in half:
            allowances = edge_allowances(panel, pattern, construction.allowances)
            (left, _), (right, _) = panel.bounds
            across = right - left + allowances.front_mm + allowances.back_mm
            if across > width:
                faults.append(
                    stop(
                        "takeoff.piece-wider-than-cloth",
                        f"panel {panel.number}",
                        f"A piece of panel {panel.number} is {across:.0f} mm wide with its allowances; "
                        f"the {' and '.join(group.roles)} cloth is {width:.0f} mm wide.",
                        "Take a wider cloth or more panels.",
                    )
                )
    return faults


def lay_problem(group: ClothGroup, pattern: Pattern, construction: Construction) -> LayProblem:
    """Return the lay of one cloth: the true cut outline of every piece, its warp along the cloth.

    On cloth that is matched the waists of all panels lie at whole repeats, so that its motif meets there at every seam.
    """
    rotations = (0.0,) if group.material.has_nap else (0.0, 180.0)
    repeat = group.material.repeat_mm if group.material.is_matched else 0.0
    panels = {
        (half, panel.number): panel
        for half, side in zip(("left", "right"), pattern.halves, strict=True)
        for panel in side
    }
    pieces = []
    for piece in pieces_to_cut(pattern, construction):
        if piece.cloth in group.roles:
            panel = panels[piece.half, piece.panel]
            outline = piece_outline(panel, piece.half, pattern, construction.allowances)
            if repeat:
                waist = waist_along(panel, piece.half, pattern, construction.allowances)
                outline = tuple((x - waist, y) for x, y in outline)
            pieces.append(LayPiece(label=piece.label, outline=outline, rotations=rotations))
    if group.modesty_mm:
        across, along = group.modesty_mm
        rectangle = ((0.0, 0.0), (along, 0.0), (along, across), (0.0, across))
        pieces.append(LayPiece(label="modesty panel", outline=rectangle, copies=2, rotations=rotations))
    return LayProblem(
        width=group.material.usable_width_mm,
        pieces=tuple(pieces),
        repeat=Repeat(along=repeat) if repeat else None,
    )


def quick_length_mm(group: ClothGroup) -> tuple[float, float]:
    """Return the quick length of a cloth and the fill share that it assumes.

    Formula (common practice): max(tallest piece + trimming + 5, cut area ÷ (usable width × fill share)); where stripes or a
    print are matched, one repeat more for each row of panels.
    """
    assumed = defaults()
    material = group.material
    share = assumed.fill_share_nap if material.has_nap else assumed.fill_share_plain
    if material.is_matched:
        share = assumed.fill_share_matched
    elif len(group.roles) > 1 and not material.has_nap:
        share = assumed.fill_share_shared
    row = group.tallest_mm + assumed.lay_end_mm
    length = max(row, group.area_mm2 / (material.usable_width_mm * share))
    return length + _repeats_mm(group, length), share


def _repeats_mm(group: ClothGroup, length: float) -> float:
    """What matching takes beyond a plain lay of that length: a repeat for each row of panels in it."""
    if not group.material.is_matched:
        return 0.0
    return group.material.repeat_mm * math.ceil(length / (group.tallest_mm + defaults().lay_end_mm))


def cloth_needs(
    groups: tuple[ClothGroup, ...], plans: Mapping[str, LayPlan], use: Figure, *, folded: Collection[str] = ()
) -> tuple[tuple[ClothNeed, ...], tuple[MaterialLine, ...]]:
    """Return what each role takes and one shopping line per cloth (and one for its bias square).

    Args:
        use: the factor of cloth used of what its lay takes.
        folded: the keys of the cloths whose plan is of one thickness on half the width; as long as what is cut off the roll.
    """
    needs: list[ClothNeed] = []
    lines: list[MaterialLine] = []
    for group in groups:
        plan = plans.get(group.key)
        quick, fill_share = quick_length_mm(group)
        length = plan.length if plan else quick
        material, width = group.material, group.material.usable_width_mm
        keep = 1.0 - material.shrinkage_share
        buy = rounded_up_mm((length + group.bias_side_mm) * use.value / keep, material.step_mm)
        whole = math.fsum(group.areas_mm2.values())
        for role in group.roles:
            share = group.areas_mm2[role] / whole
            needs.append(
                ClothNeed(
                    role=role,
                    material=material.code,
                    pieces=group.piece_counts[role],
                    area_mm2=group.areas_mm2[role],
                    usable_width_mm=width,
                    lay_mm=length * share,
                    utilisation_share=min(1.0, group.area_mm2 / (length * width)),
                    buy_mm=buy * share,
                    lay=plan,
                    is_folded=group.key in folded,
                )
            )
        fold = " on the fold, through two thicknesses," if group.key in folded else ""
        lines += _cloth_lines(group, plan, length, fill_share, buy, use, fold=fold)
    return tuple(needs), tuple(lines)


def _cloth_lines(
    group: ClothGroup,
    plan: LayPlan | None,
    length: float,
    fill_share: float,
    buy: float,
    use: Figure,
    *,
    fold: str = "",
) -> list[MaterialLine]:
    material, width = group.material, group.material.usable_width_mm
    roles = " and ".join(group.roles)
    count = sum(group.piece_counts.values())
    keep = 1.0 - material.shrinkage_share
    laid = (
        f"{count} pieces, drawn in a lay{fold} {length:.0f} mm long that fills {percent_text(plan.density_share)} of the cloth"
        if plan
        else f"{count} pieces of {group.drawn_mm2 / 1e6:.3f} m² together, the tallest {group.tallest_mm:.0f} mm; no lay is drawn yet"
    )
    formula = (
        f"lay {length:.0f} mm"
        if plan
        else f"max({group.tallest_mm:.0f} + {defaults().lay_end_mm:g}, "
        f"{group.area_mm2 / 1e6:.3f} m² without corners ÷ ({width:.0f} mm × {fill_share:g}))"
        f"{_matching_text(group)} = {length:.0f} mm"
    )
    shrinking = f"{percent_text(material.shrinkage_share)} shrinkage: ÷ {keep:g}" if material.shrinkage_share else ""
    bias = f" + {group.bias_side_mm:.0f} for the bias square" if group.bias_side_mm else ""
    cloth = MaterialLine(
        code="cloth." + "+".join(group.roles),
        needed=replace(needed("cloth"), is_visible=group.is_outermost),
        roles=group.roles,
        kind=MaterialKind.CLOTH,
        what=f"Cloth for {roles}" + (", with the modesty panel" if group.modesty_mm else ""),
        material=material.code,
        quantity=metres(length * use.value / keep),
        unit=StockUnit.METRE,
        buy_quantity=metres(buy),
        reason=with_use(
            Reason(
                counted=laid,
                formula=formula,
                waste=shrinking,
                rounding=f"{length:.0f}{bias}, up to the next {material.step_mm:g} mm: {buy:.0f} mm at {width:.0f} mm usable width",
                source="the lay" if plan else default_source("fill_share_plain"),
            ),
            use,
        ),
    )
    if not group.bias_side_mm:
        return [cloth]
    side = group.bias_side_mm
    return [
        cloth,
        MaterialLine(
            code="bias",
            needed=needed("bias"),
            kind=MaterialKind.CLOTH,
            what="Bias square for the binding",
            material=material.code,
            quantity=metres(side * side / width * use.value / keep),
            unit=StockUnit.METRE,
            buy_quantity=metres(0.0),
            reason=with_use(
                Reason(
                    counted=f"a square of {side:.0f} mm from the outer cloth",
                    formula=f"{side:.0f} × {side:.0f} ÷ {width:.0f} mm of cloth length",
                    waste=shrinking,
                    rounding="bought with the outer cloth, whose length holds the whole square; the rest stays stock",
                    source="published sewing tutorials: side = √(length × cut width), and common practice for the joins",
                ),
                use,
            ),
        ),
    ]


def _matching_text(group: ClothGroup) -> str:
    if not (group.material.is_matched and group.material.repeat_mm):
        return ""
    return f" + {group.material.repeat_mm:g} mm of repeat for each row of panels"


def _of_layer(layer: Layer, halves_mm2: Sequence[tuple[float, ...]]) -> float:
    """The areas of both halves' panels that a layer is cut for, together."""
    return math.fsum(
        area for half in halves_mm2 for number, area in enumerate(half, start=1) if layer.has_panel(number)
    )


def _modesty_mm2(size_mm: tuple[float, float] | None) -> float:
    """The area of both modesty pieces; 0 for none."""
    return 2 * size_mm[0] * size_mm[1] if size_mm else 0.0


def _height_mm(panel: Panel) -> float:
    (_, low), (_, high) = panel.bounds
    return high - low
