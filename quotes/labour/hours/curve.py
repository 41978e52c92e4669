"""The learning curve of repeat work: Crawford's unit model.

The time of the n-th piece of a style is that of the first × n^(log2 rate): each time the count doubles, a *piece* takes
`rate` of what it took (Crawford, 1944). It is not Wright's model, in which the *average* of all pieces falls so; with
the same rate the two differ by a quarter at four pieces. Source: Heizer and Render, Operations Management, Module E.
"""

import math

__all__ = ["total", "unit_factor"]


def unit_factor(n: float, rate: float) -> float:
    """Return what share of the first piece's time the n-th takes.

    Args:
        n: 1 for the first piece of its style, >= 1.
        rate: share of the time that is left at each doubling, > 0; 1 where nothing is learnt.

    >>> round(unit_factor(4, 0.8), 12)
    0.64

    Raises:
        ValueError: n below 1, or a rate that is not positive.
    """
    if n < 1 or rate <= 0:
        raise ValueError(f"A learning curve needs n >= 1 and a rate above 0, not {n} and {rate}.")
    return float(n ** math.log2(rate))


def total(n: int, rate: float, first: float) -> float:
    """Return the time of the first n pieces together, in the unit of `first`, summed piece by piece.

    >>> round(total(4, 0.8, 100.0), 2)
    314.21
    """
    return first * math.fsum(unit_factor(unit, rate) for unit in range(1, n + 1))
