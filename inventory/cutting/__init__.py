"""Bones, tapes and cords cut from what lies there and what is sold: exact, with its bound, counted again.

One piece of stock is cut by a pattern; how often each is cut is an integer program (Kantorovich, Management Science
6, 1960; Gilmore and Gomory, Operations Research 9, 1961, and 11, 1963; all three from memory). Where patterns are too
many to be written down, those that pay are made as the program prices them, as Gilmore and Gomory do.
"""

from inventory.cutting.checking import check_cuts
from inventory.cutting.plan import cut_plan
from inventory.cutting.problem import Cut, CutPlan, CutProblem, Fit, Stock, Want

__all__ = ["Cut", "CutPlan", "CutProblem", "Fit", "Stock", "Want", "check_cuts", "cut_plan"]
