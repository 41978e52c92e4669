"""Which materials an option takes: one per cloth role, and of each other kind those on the price list."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Finding, stop, warn
from inventory.ground.materials import BONES, KINDS, Material, MaterialKind
from quotes.construction.construction import BindingSource, Choices, Construction, FrontKind

__all__ = ["Shelf", "needed_kinds", "plain_shelf", "shelf_of"]

OFTEN_UNLISTED = frozenset({MaterialKind.ZIP, MaterialKind.FLOSS})
"""Kinds that a price list may lack: the option is then priced without them, and a warning says so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The materials of one option. `cloths` by role, `others` by kind."""

    cloths: dict[str, Material]
    others: dict[MaterialKind, Material] = field(default_factory=dict)

    def material(self, kind: MaterialKind) -> Material:
        """Return the material of a kind. Raises KeyError where the shelf was made without it."""
        return self.others[kind]


def plain_shelf(construction: Construction, *, usable_width_mm: float | None = None) -> Shelf:
    """Return a shelf without prices, for a takeoff that runs without a price list; codes are empty.

    Every cloth is `usable_width_mm` wide, as wide as a cloth is usually where that is None.
    """
    materials = {kind: _unpriced(kind) for kind in MaterialKind}
    if usable_width_mm is not None:
        materials = {kind: replace(row, usable_width_mm=usable_width_mm) for kind, row in materials.items()}
    cloth = materials.pop(MaterialKind.CLOTH)
    return Shelf(cloths=dict.fromkeys(construction.roles, cloth), others=materials)


def _unpriced(kind: MaterialKind) -> Material:
    return Material(code="", kind=kind, unit=kind.unit, unit_cost=Decimal(0))


def needed_kinds(construction: Construction, choices: Choices) -> tuple[MaterialKind, ...]:
    """Return the kinds, cloth aside, that an option cannot do without."""
    kinds = [MaterialKind.FUSIBLE, MaterialKind.GROMMET, MaterialKind.CORD, MaterialKind.THREAD]
    kinds += [MaterialKind.NEEDLE, MaterialKind.LABEL, MaterialKind.PARCEL]
    bones = construction.bones
    bone_kinds = {bones.back_kind}
    if construction.channels.bones_per_seam:
        bone_kinds.add(bones.seam_kind)
    if construction.channels.mid_panel:
        bone_kinds.add(bones.mid_panel_kind)
    if bones.at_busk and construction.front is not FrontKind.CLOSED:
        bone_kinds.add(bones.busk_kind)
    bone_kinds |= {choice.kind.value for choice in choices.bones.values() if choice.kind}
    kinds += [kind for kind in BONES if kind.value in bone_kinds]
    if construction.front is FrontKind.BUSK:
        kinds.append(MaterialKind.BUSK)
    if construction.front is FrontKind.ZIP:
        kinds.append(MaterialKind.ZIP)
    if construction.binding is BindingSource.BOUGHT:
        kinds.append(MaterialKind.BINDING)
    if construction.has_waist_tape:
        kinds.append(MaterialKind.WAIST_TAPE)
    if construction.channels.method.value == "casing":
        kinds.append(MaterialKind.CASING)
    if choices.toile:
        kinds.append(MaterialKind.TOILE_CLOTH)
    if choices.flossing:
        kinds.append(MaterialKind.FLOSS)
    return tuple(kinds)


def shelf_of(
    construction: Construction,
    choices: Choices,
    cloths: Mapping[str, str],
    price_list: Sequence[Material],
    *,
    where: str,
) -> tuple[Shelf | None, tuple[Finding, ...]]:
    """Return the option's shelf, or what its price list lacks.

    Of several materials of a kind the one that the choices name is taken, else the first. `where` is the option's path.
    """
    by_code = {material.code: material for material in price_list}
    findings: list[Finding] = []
    warnings: list[Finding] = []
    chosen_cloths: dict[str, Material] = {}
    for role in construction.roles:
        place = f"{where}.cloths.{role}"
        if role not in cloths:
            findings.append(stop("commission.cloth-missing", place, f"No cloth is named for the role {role!r}."))
        elif cloths[role] not in by_code:
            findings.append(
                stop(
                    "commission.unknown-material",
                    place,
                    f"The price list has no material {cloths[role][:60]!r}.",
                    "Name one of its cloths, or add it to the list.",
                )
            )
        elif by_code[cloths[role]].kind is not MaterialKind.CLOTH:
            findings.append(
                stop(
                    "commission.not-a-cloth",
                    place,
                    f"{cloths[role]!r} is of the kind {by_code[cloths[role]].kind}, no cloth.",
                )
            )
        else:
            chosen_cloths[role] = by_code[cloths[role]]
    findings += [
        stop(
            "commission.unknown-role",
            f"{where}.cloths.{role[:60]}",
            f"The construction {construction.code!r} has no role {role[:60]!r}.",
            f"Its roles are {', '.join(construction.roles)}.",
        )
        for role in cloths
        if role not in construction.roles
    ]
    others: dict[MaterialKind, Material] = {}
    for kind in needed_kinds(construction, choices):
        found = _pick(kind, choices, price_list, by_code, where)
        if isinstance(found, Material):
            others[kind] = found
        elif kind in OFTEN_UNLISTED and kind.value not in choices.materials:
            others[kind] = _unpriced(kind)
            warnings.append(
                warn(
                    "commission.not-priced",
                    where,
                    f"The price list has no {kind.value}; it is counted, but at no cost.",
                    "Add it to the price list, or its cost as an extra.",
                )
            )
        else:
            findings.append(found)
    tip = _pick(MaterialKind.TIP, choices, price_list, by_code, where)
    if isinstance(tip, Material):
        others[MaterialKind.TIP] = tip
    elif any(KINDS[kind].form is BoneForm.COIL and _is_cut_and_tipped(row) for kind, row in others.items()):
        findings.append(tip)
    if findings:
        return None, tuple(findings)
    return Shelf(cloths=chosen_cloths, others=others), tuple(warnings)


def _is_cut_and_tipped(material: Material) -> bool:
    """Whether its bones can only be cut from the coil and tipped: its list says nothing of other forms."""
    return KINDS[material.kind].is_tipped and not material.forms


def _pick(
    kind: MaterialKind,
    choices: Choices,
    price_list: Sequence[Material],
    by_code: Mapping[str, Material],
    where: str,
) -> Material | Finding:
    code = choices.materials.get(kind.value)
    if code is not None:
        material = by_code.get(code)
        if material is None or material.kind is not kind:
            return stop(
                "commission.unknown-material",
                f"{where}.choices.{kind.value}",
                f"The price list has no {kind.value} of the code {code[:60]!r}.",
            )
        return material
    first = next((material for material in price_list if material.kind is kind), None)
    if first is None:
        return stop(
            "commission.kind-missing",
            where,
            f"The price list has no {kind.value}, and this option needs one.",
            "Add one to the price list, or choose otherwise.",
        )
    return first
