"""The demo's shelf, from `materials.json`."""

import json
from decimal import Decimal
from pathlib import Path

from inventory.models import StockMaterial
from inventory.models.materials import MILLIONTHS
from inventory.services.materials import keep_material


def load() -> None:
    """Put the demo's materials on the shelf."""
    rows = json.loads(Path(__file__).with_name("materials.json").read_text(encoding="utf-8"))["materials"]
    for place, row in enumerate(rows):
        material = StockMaterial(
            code=row["code"],
            name=row["name"],
            kind=row["kind"],
            unit_cost_millionths=int(Decimal(row["unit_cost"]) * MILLIONTHS),
            usable_width_mm=row.get("usable_width_mm", 1340),
            shrinkage_permille=row.get("shrinkage_permille", 0),
            has_nap=row.get("has_nap", False),
            step_mm=row.get("step_mm", 100),
            pack=row.get("pack", 1),
            width_tenths_mm=int(Decimal(row["width_mm"]) * 10) if "width_mm" in row else None,
            colour=row.get("colour", ""),
            facts=row.get("facts", {}),
            sort_order=place,
        )
        keep_material(material, price_source="price of the day the shelf was set up")


def raise_price() -> None:
    """The mill's new list, which came when quotes were out already."""
    satin = StockMaterial.objects.get(code="coutil-satin-bottle")
    satin.unit_cost_millionths = int(Decimal("44.90") * MILLIONTHS)
    keep_material(satin, price_source="the mill's new list")
