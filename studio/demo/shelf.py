"""The demo's list of materials, from `materials.json`, and how its prices moved."""

from decimal import Decimal

from inventory.ground.reading import data_beside
from inventory.models import StockMaterial
from inventory.models.materials import MILLIONTHS
from inventory.stock.price_list import keep_material

__all__ = ["load", "new_list", "raise_price"]

_AS_THEY_STAND = ("usable_width_mm", "shrinkage_permille", "has_nap", "step_mm", "pack", "colour", "facts")


def load() -> None:
    """Put the demo's materials on the shelf, at the prices that stood at first."""
    for place, row in enumerate(data_beside(__file__, "materials.json")["materials"]):
        material = StockMaterial(
            code=row["code"],
            name=row["name"],
            kind=row["kind"],
            unit_cost_millionths=_millionths(row.get("unit_cost_before", row["unit_cost"])),
            width_tenths_mm=int(Decimal(row["width_mm"]) * 10) if "width_mm" in row else None,
            sort_order=place,
            **{name: row[name] for name in _AS_THEY_STAND if name in row},
        )
        keep_material(material, price_source="price of the day the shelf was set up")


def new_list() -> None:
    """The suppliers' lists of a year ago, which moved some prices to today's."""
    for row in data_beside(__file__, "materials.json")["materials"]:
        if "unit_cost_before" in row:
            _reprice(row["code"], row["unit_cost"], "the suppliers' new lists")


def raise_price() -> None:
    """The mill's new list, which came when quotes were out already."""
    _reprice("coutil-satin-bottle", "44.90", "the mill's new list")


def _reprice(code: str, unit_cost: str, source: str) -> None:
    material = StockMaterial.objects.get(code=code)
    material.unit_cost_millionths = _millionths(unit_cost)
    keep_material(material, price_source=source)


def _millionths(unit_cost: str) -> int:
    return int(Decimal(unit_cost) * MILLIONTHS)
