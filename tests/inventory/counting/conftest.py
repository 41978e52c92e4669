"""A shelf of three lots, and a blind count of it."""

import pytest
from support_shelf import item, stocked

from inventory.counting.stocktaking import start
from inventory.models import Lot, Stocktake


@pytest.fixture
def cord() -> Lot:
    """10 m of cord worth 10.00, in Drawer 2; 33 g/m."""
    made = item("cord", place="Drawer 2", material__facts={"grams_per_metre": "33"}, material__name="Lacing cord")
    return stocked(made, 10_000, 10_00)


@pytest.fixture
def tips() -> Lot:
    """200 tips worth 20.00, in Drawer 2; 18.4 g a hundred."""
    made = item("tip", place="Drawer 2", material__facts={"grams_per_hundred": "18.4"}, material__name="Tips")
    return stocked(made, 200, 20_00)


@pytest.fixture
def cloth() -> Lot:
    """5 m of cloth in the chest."""
    return stocked(item("cloth", place="Chest", material__name="Coutil"), 5000, 100_00)


@pytest.fixture
def count(cord: Lot, tips: Lot, cloth: Lot) -> Stocktake:
    """A blind count of the whole shelf."""
    return start(place="", is_blind=True, by=None)
