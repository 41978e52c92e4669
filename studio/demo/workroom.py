"""The demo's workroom: where it is, what a year costs, what it charges."""

from inventory.services.shelf import name_workroom, set_currency
from quotes.services.workroom import STARTING_RATES, save_overhead, save_rates, use_overhead_rate, workroom

YEARLY_COSTS = (
    ("Share of the rent", 312_000),
    ("Power and heating", 118_000),
    ("Insurance of contents and products", 46_000),
    ("Service of two machines", 27_000),
    ("Needles, shears, blades", 14_500),
    ("Photographs and site", 61_000),
    ("Bank and accountant", 83_000),
    ("Samples and toiles that nobody ordered", 74_000),
    ("Depreciation of machines and irons", 54_000),
)


def load() -> None:
    """Fill in the settings."""
    room = workroom()
    room.length_unit = "cm"
    room.save()
    name_workroom("Tansy Lane Workroom", "4 Tansy Lane\nMarl-on-the-Weir")
    set_currency("EUR")
    save_overhead(room=room, costs=list(YEARLY_COSTS))
    save_rates(
        room,
        {
            **STARTING_RATES,
            "labour_per_hour": "24.00",
            "minimum_per_hour": "25.00",
            "fee_share": "0.018",
            "fee_fixed": "0.25",
            "tax_share": "0.21",
            "price_step": "5.00",
        },
    )
    use_overhead_rate()
