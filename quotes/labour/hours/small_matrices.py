"""Products and inverses of small matrices on one thread: threads that share so little work wait longer than they work."""

import numpy as np

from quotes.labour.hours.columns import Floats

__all__ = ["inverse", "product", "summed_products"]

SMALL = 200_000
"""Multiplications in one go that OpenBLAS does not spread (its limit is 262,144)."""
SIDE = 90
"""Rows up to which an inverse is left to LAPACK."""


def product(left: Floats, right: Floats) -> Floats:
    """Return left × right, a few rows of `left` at a time."""
    at_once = max(1, SMALL // max(1, right.size))
    if at_once >= len(left):
        return np.asarray(left @ right, dtype=np.float64)
    return np.concatenate([left[first : first + at_once] @ right for first in range(0, len(left), at_once)])


def summed_products(left: Floats, right: Floats) -> Floats:
    """Return left\u2032 × right, summed over a few rows at a time."""
    at_once = max(1, SMALL // max(1, left.shape[1] * right.shape[1]))
    found = np.zeros((left.shape[1], right.shape[1]))
    for first in range(0, len(left), at_once):
        found += left[first : first + at_once].T @ right[first : first + at_once]
    return found


def inverse(matrix: Floats) -> Floats:
    """Return the inverse of a symmetric positive definite matrix, by quarters where it is large.

    Source: Banachiewicz\u2019s formula of the inverse by the Schur complement.
    """
    side = len(matrix)
    if side <= SIDE:
        return np.asarray(np.linalg.inv(matrix), dtype=np.float64)
    half = side // 2
    first = inverse(matrix[:half, :half])
    across = matrix[:half, half:]
    lean = product(first, across)
    last = inverse(matrix[half:, half:] - product(np.ascontiguousarray(across.T), lean))
    between = -product(lean, last)
    found = np.empty_like(matrix)
    found[:half, :half] = first - product(between, np.ascontiguousarray(lean.T))
    found[:half, half:], found[half:, :half], found[half:, half:] = between, between.T, last
    return found
