"""Small plans that can be followed by hand, what is refused, and plans tampered with. Common practice, no source."""

from dataclasses import replace
from decimal import Decimal

import pytest
from support_cutting import plain

from inventory.cutting import Cut, CutPlan, CutProblem, Fit, Stock, Want, check_cuts, cut_plan
from inventory.ground.findings import Refused

BONE = Want(code="CF", length=30000, count=2)
SHORT = Want(code="side", length=24000, count=2)
OFFCUT = Stock(code="offcut", length=61000, cost=Decimal("2.00"), rest_worth=Decimal("0.00002"), keep_length=10000)
COIL = Stock(code="coil", length=100000, cost=Decimal("0.00003"), is_bulk=True)
READY = Stock(code="ready 24", length=24000, count=4, cost=Decimal("0.60"))
FITS = (
    Fit(stock="offcut", want="CF", cost=Decimal("0.30"), setup="tips"),
    Fit(stock="offcut", want="side", cost=Decimal("0.30"), setup="tips"),
    Fit(stock="coil", want="CF", cost=Decimal("0.30"), setup="tips"),
    Fit(stock="coil", want="side", cost=Decimal("0.30"), setup="tips"),
    Fit(stock="ready 24", want="side", as_it_is=True),
)


def bones(**changes: object) -> CutProblem:
    values = {
        "stocks": (OFFCUT, COIL, READY),
        "wants": (BONE, SHORT),
        "fits": FITS,
        "kerf": 100,
        "setups": {"tips": Decimal("1.50")},
    }
    return CutProblem(**(values | changes))  # type: ignore[arg-type]


def test_bones_of_a_corset():
    """Two at the front from the coil: 2 × (300 + 1) mm at 0.03 a mm × 0.01 and 0.30 each, tips once; two ready ones."""
    plan = cut_plan(bones(), seconds=10)
    assert plan.cuts == (
        Cut(stock="ready 24", times=2, pieces=(("side", 1),), rest=0, is_as_it_is=True),
        Cut(stock="coil", times=1, pieces=(("CF", 2),), rest=39800),
    )
    assert plan.cost == Decimal("0.00003") * 60200 + 2 * Decimal("0.30") + Decimal("1.50") + 2 * Decimal("0.60")
    assert plan.waste == 200
    assert plan.different_cuts == 1
    assert plan.is_optimal
    assert plan.is_tidiest


def test_a_coil_is_cut_to_its_very_end():
    """The last piece ends where the coil ends: it takes no kerf, and the coil is charged for what was on it."""
    coil = replace(COIL, length=60100)
    plan = cut_plan(bones(stocks=(coil,), wants=(BONE,), fits=FITS[2:3]), seconds=10)
    assert plan.cuts == (Cut(stock="coil", times=1, pieces=(("CF", 2),), rest=0),)
    assert plan.cost == Decimal("0.00003") * 60100 + 2 * Decimal("0.30") + Decimal("1.50")
    with pytest.raises(Refused, match="of 2 × CF"):
        cut_plan(bones(stocks=(replace(coil, length=60099),), wants=(BONE,), fits=FITS[2:3]), seconds=10)


def test_a_kerf_is_saved_at_the_end_of_a_coil_alone():
    """A piece of 60 takes 80 of a coil of 100, at 0.80; ready ones cost 0.70. Without its kerf the coil’s would be 0.60."""
    coil = Stock(code="coil", length=100, cost=Decimal("0.01"), is_bulk=True)
    ready = Stock(code="ready", length=60, count=2, cost=Decimal("0.70"))
    fits = (Fit(stock="coil", want="sixty"), Fit(stock="ready", want="sixty", as_it_is=True))
    wants = (Want(code="sixty", length=60, count=2),)
    plan = cut_plan(CutProblem(stocks=(coil, ready), wants=wants, fits=fits, kerf=20), seconds=10)
    assert plan.cost == Decimal("1.40")


def test_of_equal_cost_the_coil_that_ends_with_the_piece():
    """Both cost nothing more; the second coil is used up by the two pieces and saves a kerf of 2."""
    coils = tuple(Stock(code=str(size), length=size, cost=Decimal(0), is_bulk=True) for size in (130, 122))
    fits = tuple(Fit(stock=coil.code, want="sixty") for coil in coils)
    problem = CutProblem(stocks=coils, wants=(Want(code="sixty", length=60, count=2),), fits=fits, kerf=2)
    plan = cut_plan(problem, seconds=10)
    assert [cut.stock for cut in plan.cuts] == ["122"]
    assert plan.waste == 2


def test_of_equal_cost_the_one_that_wastes_less():
    """Either length costs 1; 12 − 2 × 5 wastes 2, 10 − 2 × 5 none."""
    long, fitting = (Stock(code=str(size), length=size, cost=Decimal(1), keep_length=99) for size in (12, 10))
    fits = tuple(Fit(stock=code, want="five") for code in ("12", "10"))
    plan = cut_plan(
        CutProblem(stocks=(long, fitting), wants=(Want(code="five", length=5, count=2),), fits=fits), seconds=10
    )
    assert [cut.stock for cut in plan.cuts] == ["10"]
    assert plan.waste == 0


def test_nothing_wanted_is_nothing_cut():
    plan = cut_plan(bones(wants=(replace(BONE, count=0),), fits=FITS[:1]), seconds=10)
    assert plan == CutPlan(
        cuts=(), cost=Decimal(0), waste=0, different_cuts=0, bound=Decimal(0), is_optimal=True, is_tidiest=True
    )


def test_each_want_that_nothing_serves_is_named_with_the_longest_there_is():
    wants = (replace(BONE, length=110050), SHORT, Want(code="lace", length=100, count=1))
    with pytest.raises(Refused) as refused:
        cut_plan(bones(wants=wants), seconds=10)
    assert [finding.message for finding in refused.value.findings] == [
        "CF is 1100.5 mm long; the longest that could be had is 1000 mm.",
        "lace is 1 mm long; nothing there may serve it.",
    ]


def test_what_runs_short_is_named():
    """Of rolls of 10 there are two: they hold one of 6 each."""
    with pytest.raises(Refused) as refused:
        cut_plan(plain(10, {6: 3, 4: 2}, count=2), seconds=10)
    assert [finding.message for finding in refused.value.findings] == [
        "What is there runs short: of 3 × 6 (0.06 mm) 1 finds no stock."
    ]


PLAN = cut_plan(bones(), seconds=10)
WHOLE, COILED = PLAN.cuts


@pytest.mark.parametrize(
    ("code", "changes"),
    [
        ("cutting.count", {"cuts": (WHOLE,)}),
        ("cutting.count", {"cuts": (replace(WHOLE, times=3), COILED)}),
        ("cutting.too-many", {"cuts": (replace(WHOLE, times=5), COILED)}),
        ("cutting.bulk-twice", {"cuts": (WHOLE, replace(COILED, times=2))}),
        ("cutting.too-long", {"cuts": (WHOLE, replace(COILED, pieces=(("CF", 4),)))}),
        ("cutting.rest", {"cuts": (WHOLE, replace(COILED, rest=39900))}),
        ("cutting.no-fit", {"cuts": (replace(WHOLE, is_as_it_is=False), COILED)}),
        ("cutting.no-fit", {"cuts": (replace(WHOLE, pieces=(("CF", 1),)), COILED)}),
        ("cutting.not-whole", {"cuts": (replace(WHOLE, times=1, pieces=(("side", 2),)), COILED)}),
        ("cutting.not-whole", {"cuts": (replace(WHOLE, rest=10), COILED)}),
        ("cutting.nothing-cut", {"cuts": (WHOLE, COILED, replace(COILED, times=0))}),
        ("cutting.want-twice", {"cuts": (WHOLE, replace(COILED, pieces=(("CF", 1), ("CF", 1))))}),
        ("cutting.unknown-stock", {"cuts": (replace(WHOLE, stock="gone"), COILED)}),
        ("cutting.cost", {"cost": PLAN.cost - Decimal("0.01"), "bound": PLAN.cost - Decimal("0.01")}),
        ("cutting.waste", {"waste": 0}),
        ("cutting.different-cuts", {"different_cuts": 2}),
        ("cutting.bound", {"bound": PLAN.cost + 1}),
        ("cutting.bound", {"bound": PLAN.cost - 1}),
    ],
)
def test_a_plan_that_was_tampered_with_is_not_one(code: str, changes: dict[str, object]):
    assert not check_cuts(bones(), PLAN)
    assert code in [finding.code for finding in check_cuts(bones(), replace(PLAN, **changes))]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "changes",
    [
        {"stocks": (OFFCUT, OFFCUT, COIL, READY)},
        {"stocks": (OFFCUT, replace(COIL, count=2), READY)},
        {"stocks": (replace(OFFCUT, length=None), COIL, READY)},
        {"stocks": (replace(OFFCUT, cost=Decimal(-1)), COIL, READY)},
        {"wants": (BONE, replace(SHORT, length=0))},
        {"fits": (*FITS, Fit(stock="gone", want="CF"))},
        {"fits": (*FITS, Fit(stock="ready 24", want="CF", setup="gone"))},
        {"fits": (*FITS, Fit(stock="ready 24", want="CF", cost=Decimal(-1)))},
        {"fits": (*FITS, Fit(stock="coil", want="CF", as_it_is=True))},
        {"kerf": -1},
    ],
)
def test_a_problem_that_contradicts_itself_is_none(changes: dict[str, object]):
    with pytest.raises(ValueError, match=r"\w"):
        bones(**changes)
