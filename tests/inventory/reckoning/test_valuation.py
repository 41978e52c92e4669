"""Cost of what is taken, against worked examples of accounting courses.

Sources: US CPA review text, Financial 4, inventory example (moving average and FIFO of the same purchases); Kieso,
Weygandt and Warfield, Intermediate Accounting, ch. 8; a course text on the perpetual average (the trap of rounding the
average first); IAS 2 paragraphs 23 to 27.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.reckoning.valuation import Layer, Moved, layers_after, take


def averaged(*steps: tuple[int, int | None]) -> tuple[list[int], Layer]:
    """Buy (quantity, value) or use (quantity, None) in turn; return the costs of use and what is left."""
    stock, costs = Layer(0, 0), []
    for quantity, value in steps:
        if value is not None:
            stock = Layer(stock.quantity + quantity, stock.value + value)
            continue
        cost, rest = take([stock], quantity)
        costs.append(cost)
        stock = rest[0] if rest else Layer(0, 0)
    return costs, stock


def test_moving_average_of_three_purchases():
    """4000 at 4.25, 3000 used, 2000 at 4.50, 1000 used, 3000 at 4.75: use 17,166.67, stock 23,083.33, sum 40,250."""
    costs, left = averaged((4000, 17_000_00), (3000, None), (2000, 9_000_00), (1000, None), (3000, 14_250_00))
    assert costs == [12_750_00, 4_416_67]
    assert left == Layer(5000, 23_083_33)
    assert sum(costs) + left.value == 40_250_00


def test_first_in_first_out_of_the_same_purchases():
    """4000 used at 4.25 are 17,000.00; 2000 at 4.50 and 3000 at 4.75 stay, 23,250.00."""
    history = [Moved(4000, 17_000_00), Moved(-3000, -12_750_00), Moved(2000, 9_000_00)]
    cost, _ = take(layers_after(history), 1000)
    assert cost == 4_250_00
    left = layers_after([*history, Moved(-1000, -cost), Moved(3000, 14_250_00)])
    assert left == (Layer(2000, 9_000_00), Layer(3000, 14_250_00))


def test_moving_average_with_two_lots():
    """9200 at 9.71, 6300 at 10.23, 7400 used, 8200 at 10.69, 11,100 used: 5200 stay worth 53,601.78."""
    _, left = averaged((9200, 89_332_00), (6300, 64_449_00), (7400, None), (8200, 87_658_00), (11_100, None))
    assert left.quantity == 5200
    assert left.value == pytest.approx(53_601_78, abs=1)


def test_the_average_is_not_rounded_before_it_is_multiplied():
    """500 worth 1200, 300 sold, 100 at 3.50, 250 sold: 691.67; with the average rounded to 2.77 first it would be 692.50."""
    costs, _ = averaged((500, 1200_00), (300, None), (100, 350_00), (250, None))
    assert costs[1] == 691_67


def test_what_is_washed_keeps_its_age():
    """Common practice: cloth that shrank in the wash is issued before cloth that came later."""
    layers = layers_after([Moved(5000, 100_00), Moved(4000, 120_00), Moved(-5000, -100_00), Moved(4850, 100_00, True)])
    assert layers == (Layer(4850, 100_00), Layer(4000, 120_00))


def test_what_is_begun_is_used_up_first():
    """10 at 1.00 and 10 at 2.00, 4 taken and 8 more: 4.00, then 6 at 1.00 and 2 at 2.00."""
    first, begun = take((Layer(10, 10_00), Layer(10, 20_00)), 4)
    second, left = take(begun, 8)
    assert (first, second, left) == (4_00, 10_00, (Layer(8, 16_00),))


def test_more_than_there_is_cannot_be_taken():
    with pytest.raises(ValueError, match="2 too few"):
        take([Layer(3, 100)], 5)
    with pytest.raises(ValueError, match="cannot be taken"):
        take([Layer(3, 100)], -1)


@given(
    st.lists(st.tuples(st.integers(1, 10**7), st.integers(0, 10**9)), min_size=1, max_size=6),
    st.lists(st.integers(1, 10**7), max_size=8),
)
def test_value_neither_vanishes_nor_appears(bought: list[tuple[int, int]], wishes: list[int]):
    layers: tuple[Layer, ...] = tuple(Layer(*layer) for layer in bought)
    total, taken = sum(value for _, value in bought), 0
    for wish in wishes:
        cost, layers = take(layers, min(wish, sum(layer.quantity for layer in layers)))
        taken += cost
        assert cost >= 0
        assert all(layer.quantity > 0 and layer.value >= 0 for layer in layers)
    rest, none = take(layers, sum(layer.quantity for layer in layers))
    assert none == ()
    assert taken + rest == total
