"""A price list in a commission file: rows to materials, every bad row named."""

from collections.abc import Sequence
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm, PricedForm
from inventory.ground.codec import Document
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.materials import BONES, Material, MaterialKind, StockUnit
from inventory.ground.reading import decimal_at
from inventory.ground.units import LengthUnit
from quotes.pattern.readers.text import length_at

__all__ = ["read_price_list"]

UNIT_COST_DECIMALS = 6


def read_price_list(rows: Sequence[Document], unit: LengthUnit) -> tuple[Material, ...]:
    """Return the materials of a list that keeps to the schema. Raises Refused with every fault."""
    faults: list[Finding] = []
    materials: list[Material] = []
    seen: dict[str, int] = {}
    for index, row in enumerate(rows):
        place = f"price_list[{index}]"
        code = row["material"]
        if code in seen:
            faults.append(
                stop(
                    "commission.material-twice", f"{place}.material", f"{code!r} stands in the list twice.", "Keep one."
                )
            )
            continue
        seen[code] = index
        try:
            materials.append(_material(row, unit, place))
        except Refused as refusal:
            faults += refusal.findings
    if faults:
        raise Refused(faults)
    return tuple(materials)


def _material(row: Document, unit: LengthUnit, place: str) -> Material:
    kind, counted_in = MaterialKind(row["kind"]), StockUnit(row["unit"])
    faults: list[Finding] = []
    forms = _forms(row, kind, place, faults)
    if not forms and (counted_in is StockUnit.METRE) != (kind.unit is StockUnit.METRE):
        faults.append(
            stop(
                "commission.unit",
                f"{place}.unit",
                f"A {kind.value} is counted by {kind.unit.value}, not by {counted_in.value}.",
                f"Give its price per {kind.unit.value}.",
            )
        )
    cost = _cost(row["unit_cost"], f"{place}.unit_cost")
    if isinstance(cost, Finding):
        faults.append(cost)
    shrinkage = decimal_at(row.get("shrinkage_share", "0"), f"{place}.shrinkage_share")
    if isinstance(shrinkage, Finding):
        faults.append(shrinkage)
    elif not 0 <= shrinkage < 1:
        faults.append(
            stop("commission.shrinkage", f"{place}.shrinkage_share", f"A shrinkage of {shrinkage} is outside 0 to 1.")
        )
    if faults or isinstance(cost, Finding) or isinstance(shrinkage, Finding):
        raise Refused(faults)
    lengths_key = "lengths_mm" if "lengths_mm" in row else "lengths"
    lengths_unit = LengthUnit.MM if lengths_key == "lengths_mm" else unit
    assumed = shelf_defaults().material
    return Material(
        code=row["material"],
        kind=kind,
        unit=counted_in,
        unit_cost=cost,
        name=row.get("name", ""),
        colour=row.get("colour", ""),
        handling=row.get("handling", ""),
        usable_width_mm=_size(row, "usable_width", unit, place) or float(assumed.usable_width_mm),
        width_mm=_size(row, "width", unit, place),
        step_mm=_size(row, "step", unit, place) or float(assumed.step_mm),
        lengths_mm=tuple(
            sorted(
                _positive(
                    length_at(item, f"{place}.{lengths_key}[{index}]", lengths_unit), f"{place}.{lengths_key}[{index}]"
                )
                for index, item in enumerate(row.get(lengths_key, []))
            )
        ),
        shrinkage_share=float(Decimal(shrinkage)),
        forms=forms,
        has_nap=row.get("nap", False),
        repeat_mm=_size(row, "repeat", unit, place) or 0.0,
        pack=row.get("pack", assumed.pack),
    )


def _forms(row: Document, kind: MaterialKind, place: str, faults: list[Finding]) -> tuple[PricedForm, ...]:
    """The forms of a bone, each with its own price; faults are added to those that are there."""
    if row.get("forms") and kind not in BONES:
        text = f"A {kind.value} comes in no forms: only {', '.join(bone.value for bone in BONES)} do."
        faults.append(stop("commission.forms", f"{place}.forms", text, "Leave them out."))
        return ()
    found: list[PricedForm] = []
    for index, item in enumerate(row.get("forms", ())):
        where = f"{place}.forms[{index}]"
        cost = _cost(item["unit_cost"], f"{where}.unit_cost")
        if isinstance(cost, Finding):
            faults.append(cost)
            continue
        form = PricedForm(
            form=BoneForm(item["form"]),
            length_mm=_size(item, "length", LengthUnit.MM, where),
            unit_cost=cost,
        )
        if any((other.form, other.length_mm) == (form.form, form.length_mm) for other in found):
            text = f"{form.form.label} stands here twice in the same length."
            faults.append(stop("commission.form-twice", where, text, "Keep one."))
        found.append(form)
    return tuple(found)


def _cost(written: object, place: str) -> Decimal | Finding:
    """A cost of a unit, zero or more, with no more decimals than are kept; else what is wrong with it."""
    cost = decimal_at(written, place)
    if isinstance(cost, Finding):
        return cost
    if cost < 0:
        return stop("commission.unit-cost", place, f"A cost of {cost} is below zero.")
    if cost != round(cost, UNIT_COST_DECIMALS):
        return stop("money.too-many-decimals", place, f"{cost} has more than {UNIT_COST_DECIMALS} decimals.")
    return cost


def _size(row: Document, key: str, unit: LengthUnit, place: str) -> float | None:
    """A fact in the file's unit under its plain name, or in mm under the name with `_mm`."""
    if f"{key}_mm" in row:
        return _positive(length_at(row[f"{key}_mm"], f"{place}.{key}_mm", LengthUnit.MM), f"{place}.{key}_mm")
    if key in row:
        return _positive(length_at(row[key], f"{place}.{key}", unit), f"{place}.{key}")
    return None


def _positive(length: float, place: str) -> float:
    if length <= 0:
        raise Refused([stop("commission.size", place, f"A size of {length:g} mm is not more than zero.")])
    return length
