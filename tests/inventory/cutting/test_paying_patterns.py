"""Patterns made as they pay, or tried few at first: against all of them at once, and where the answer is known."""

import pytest
from support_cutting import bones_of_a_quote, drawn, sliced
from test_published_cutting import GAMS, PAPER

from inventory.cutting import CutProblem, check_cuts, cut_plan
from inventory.cutting.patterns import all_patterns, usable
from inventory.cutting.paying import paying_patterns
from inventory.cutting.whole import Whole
from inventory.ground.findings import Refused


@pytest.fixture
def _as_they_pay(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.cutting.plan.MOST_PATTERNS", 0)


@pytest.mark.usefixtures("_as_they_pay")
@pytest.mark.parametrize(("problem", "rolls"), [(PAPER, 73), (GAMS, 453)])
def test_published_answers_are_found_as_patterns_pay(problem: CutProblem, rolls: int):
    plan = cut_plan(problem, seconds=60)
    assert plan.cost == plan.bound == rolls
    assert plan.is_optimal


@pytest.mark.parametrize("problem", [*map(drawn, range(80)), *map(bones_of_a_quote, range(8))])
def test_what_is_made_as_it_pays_is_bounded_by_the_best(problem: CutProblem, monkeypatch: pytest.MonkeyPatch):
    try:
        best = cut_plan(problem, seconds=30)
    except Refused:
        best = None
    monkeypatch.setattr("inventory.cutting.plan.MOST_PATTERNS", 0)
    if best is None:
        with pytest.raises(Refused):
            cut_plan(problem, seconds=30)
        return
    plan = cut_plan(problem, seconds=30)
    assert plan.bound <= best.cost <= plan.cost
    assert plan.cost == best.cost or not plan.is_optimal
    assert plan == best or not plan.is_tidiest


@pytest.mark.parametrize("problem", [PAPER, GAMS, *map(bones_of_a_quote, range(8))])
def test_the_bound_is_that_of_all_patterns(problem: CutProblem):
    """The relaxation over all patterns, written down at once, costs what the patterns that pay come to."""
    stocks = usable(problem)
    patterns = all_patterns(stocks, kerf=problem.kerf, limit=20_000)
    assert patterns is not None
    whole = Whole(problem, stocks, patterns)
    prices = whole.prices(seconds=30)
    paying = paying_patterns(problem, stocks, seconds=30)
    assert prices is not None
    assert not paying.is_short
    assert paying.bound == pytest.approx(whole.raised(prices.cost), rel=1e-6)
    assert len(paying.patterns) < len(patterns)


@pytest.mark.parametrize("seed", range(6))
def test_few_patterns_tried_first_change_nothing(seed: int, monkeypatch: pytest.MonkeyPatch):
    problem = bones_of_a_quote(seed)
    best = cut_plan(problem, seconds=30)
    monkeypatch.setattr("inventory.cutting.whole.FEW_PATTERNS", 15)
    plan = cut_plan(problem, seconds=30)
    assert (plan.cost, plan.waste, plan.different_cuts) == (best.cost, best.waste, best.different_cuts)
    assert plan.is_optimal
    assert plan.is_tidiest


@pytest.mark.parametrize("most_patterns", [0, 20_000])
def test_without_time_nothing_is_claimed(most_patterns: int, monkeypatch: pytest.MonkeyPatch):
    problem = bones_of_a_quote(1)
    best = cut_plan(problem, seconds=30)
    monkeypatch.setattr("inventory.cutting.plan.MOST_PATTERNS", most_patterns)
    plan = cut_plan(problem, seconds=0)
    assert not check_cuts(problem, plan)
    assert plan.bound <= best.cost <= plan.cost
    assert plan.cost == best.cost or not plan.is_optimal


@pytest.mark.parametrize("seed", range(3))
def test_bars_that_were_cut_up_whole_come_back(seed: int):
    """Closed form: as many bars as were cut up hold all pieces, and no fewer have that length."""
    problem = sliced(seed, bars=12, length=2400)
    assert all_patterns(usable(problem), kerf=0, limit=20_000) is None
    plan = cut_plan(problem, seconds=30)
    assert plan.bound == 12
    assert 12 <= plan.cost <= 13
    assert not check_cuts(problem, plan)
