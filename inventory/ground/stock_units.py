"""The units that materials are counted and priced in."""

from enum import StrEnum

__all__ = ["StockUnit"]


class StockUnit(StrEnum):
    """What a price is for; `rec20_code` is its code in UN/CEFACT Recommendation 20."""

    METRE = "m"
    EACH = "each"
    PAIR = "pair"
    SET = "set"

    @property
    def rec20_code(self) -> str:
        """The code that other people's books know the unit by."""
        return {"m": "MTR", "each": "EA", "pair": "PR", "set": "SET"}[self.value]
