"""From floats of geometry to decimals of a shopping list, rounding only where it is said."""

import math
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

__all__ = ["each", "metres", "rounded_up_mm", "whole_up"]

_HUNDREDTH = Decimal("0.01")


def metres(length_mm: float) -> Decimal:
    """Return a length in metres to the millimetre."""
    return Decimal(str(round(length_mm, 2))).quantize(Decimal(1), rounding=ROUND_HALF_UP).scaleb(-3)


def each(count: int) -> Decimal:
    """Return a count as a quantity."""
    return Decimal(count)


def whole_up(ratio: float) -> int:
    """Return the least whole number that is not below `ratio`, floating-point dust aside, and at least 0."""
    return max(0, math.ceil(round(ratio, 9)))


def rounded_up_mm(length_mm: float, step_mm: float) -> float:
    """Return the length rounded up to whole steps; lengths are taken to 0.01 mm first."""
    length, step = Decimal(str(length_mm)).quantize(_HUNDREDTH), Decimal(str(step_mm))
    return float((length / step).to_integral_value(ROUND_CEILING) * step)
