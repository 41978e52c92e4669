"""Cutting stock with published answers.

A hundred and more orders of paper widths from rolls of 5600 mm: the encyclopaedia article “Cutting stock problem”
(optimum 73 rolls, waste 0.401 %, 308 patterns). Gilmore’s and Gomory’s data of the GAMS model library, CUTSTOCK:
453 rolls of 100. Both are proven anew elsewhere by a constraint solver.
"""

import pytest
from support_cutting import plain

from inventory.cutting import cut_plan
from inventory.cutting.patterns import all_patterns, usable

PAPER = plain(
    5600,
    {
        1380: 22,
        1520: 25,
        1560: 12,
        1710: 14,
        1820: 18,
        1880: 18,
        1930: 20,
        2000: 10,
        2050: 12,
        2100: 14,
        2140: 16,
        2150: 18,
        2200: 20,
    },
)
GAMS = plain(100, {14: 211, 31: 395, 36: 610, 45: 97})


def test_paper_is_cut_from_73_rolls():
    plan = cut_plan(PAPER, seconds=60)
    assert plan.cost == plan.bound == 73
    assert plan.is_optimal
    assert plan.waste / (73 * 5600) == pytest.approx(0.00401, abs=0.000005)


def test_paper_is_cut_by_308_patterns():
    patterns = all_patterns(usable(PAPER), kerf=PAPER.kerf, limit=1000)
    assert patterns is not None
    assert len(patterns) == 308


def test_gilmore_and_gomory_cut_453_rolls():
    plan = cut_plan(GAMS, seconds=60)
    assert plan.cost == plan.bound == 453
    assert plan.is_optimal
