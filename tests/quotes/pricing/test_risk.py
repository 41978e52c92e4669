"""The risk of a price against distributions of scipy, where one thing alone is unsure, and against the price's own rules.

With n draws a share p is known to within √(p × (1 − p) ÷ n); four of those are allowed for.
"""

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from support_commissions import commission

from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from quotes.commission.quote import quote_commission
from quotes.labour.spread import Spread, spread_of
from quotes.pricing.costing import Rates
from quotes.pricing.risk import DRAWS, RiskInputs, risk
from quotes.seal.risks import risk_inputs, risk_of
from quotes.seal.sealing import sealed_quotation

EUR, JPY = currency_of("EUR"), currency_of("JPY")
SURE = Spread(below=0.0, above=0.0)


def d(text: str) -> Decimal:
    return Decimal(text)


RATES = Rates(
    labour_per_hour=d("20"),
    overhead_per_hour=d("8"),
    contingency_share=d("0.05"),
    margin_share=d("0.15"),
    fee_share=d("0.03"),
    fee_fixed=d("0.30"),
    tax_share=d("0.20"),
    tax_included=True,
    deposit_shares=(d("1"),),
    minimum_per_hour=d("18"),
)


def inputs(**changed: object) -> RiskInputs:
    """Twenty-five hours and 126 of materials for 960 net, with nothing unsure unless it is said."""
    plain = RiskInputs(
        likely_min=1500,
        hours=SURE,
        materials=d("126.00"),
        extras=d("12.00"),
        net=d("960.00"),
        fee=d("34.86"),  # 3 % of 1152.00 and 0.30
        rates=RATES,
        currency=EUR,
        price_spread_share=0.0,
        spoiled_share=0.0,
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def close(found: float, expected: float) -> bool:
    return abs(found - expected) <= 4 * math.sqrt(expected * (1 - expected) / DRAWS)


def test_where_nothing_is_unsure_it_is_plain_arithmetic():
    found = risk(inputs(), seed=1)
    # Kept 925.14; passed on 126 + 12 + 200 = 338; profit 925.14 − 338 − 500; earned 587.14 ÷ 25.
    assert (found.profit.low, found.profit.middle, found.profit.high) == (d("87.14"),) * 3
    assert found.per_hour.middle == d("23.49")
    assert found.hours.middle == d("25.00")
    assert (found.chance_of_loss, found.chance_below_floor) == (0, 0)
    # The floor needs 18 × 25 + 338 = 788, and (788 + 0.30) ÷ (1 − 0.036) = 817.7386 rounded up.
    assert found.price_at_ten_percent == d("817.74")
    assert found.gross_at_ten_percent == d("981.29")


@pytest.mark.parametrize(("low", "high"), [(0.75, 1 / 0.75), (0.8, 1.5)])
def test_unsure_hours_alone_follow_the_log_normal_distribution(low: float, high: float):
    found = risk(inputs(hours=spread_of(1500 * low, 1500, 1500 * high)), seed=2)
    slower = stats.lognorm(s=math.log(high) / stats.norm.ppf(0.9), scale=25)
    quicker = stats.lognorm(s=math.log(1 / low) / stats.norm.ppf(0.9), scale=25)
    left = 960 - 34.86 - 138
    assert close(found.chance_of_loss, slower.sf(left / 28))  # 28.1 hours: slower than likely
    assert found.chance_below_floor is not None
    assert close(found.chance_below_floor, slower.sf(left / 26))
    # Nine times in ten it takes at most `high`: 26 an hour for that, and what does not depend on hours.
    expected = (25 * high * 26 + 138 + 0.30) / (1 - 0.036)
    error = 4 * math.sqrt(0.09 / DRAWS) / slower.pdf(25 * high) * 26 / (1 - 0.036)
    assert abs(float(found.price_at_ten_percent) - expected) <= error
    assert abs(float(found.hours.low) - 25 * low) <= 4 * math.sqrt(0.09 / DRAWS) / quicker.pdf(25 * low)
    assert abs(float(found.hours.middle) - 25) <= 0.25


def test_unsure_prices_alone_follow_the_log_normal_distribution():
    found = risk(inputs(price_spread_share=0.30, materials=d("600.00"), net=d("1480.00"), fee=d("53.58")), seed=3)
    prices = stats.lognorm(s=math.log(1.3) / stats.norm.ppf(0.9), scale=600)
    assert close(found.chance_of_loss, prices.sf(1480 - 53.58 - 12 - 700))
    assert abs(float(found.materials.high) - 780) <= 4 * math.sqrt(0.09 / DRAWS) / prices.pdf(780) + 0.01


def test_spoilage_alone_follows_the_beta_distribution():
    found = risk(inputs(spoiled_share=0.10, materials=d("600.00"), net=d("1480.00"), fee=d("53.58")), seed=4)
    spoiled = stats.beta(1, 9)
    assert spoiled.mean() == pytest.approx(0.10)
    assert close(found.chance_of_loss, spoiled.sf((1480 - 53.58 - 12 - 700) / 600 - 1))
    assert abs(float(found.materials.high) - 600 * (1 + spoiled.ppf(0.9))) <= 4


@settings(max_examples=60, deadline=None)
@given(
    nets=st.lists(st.integers(50_000, 140_000), min_size=2, max_size=2, unique=True),
    low=st.floats(0.5, 1),
    high=st.floats(1, 2.5),
    prices=st.floats(0, 0.5),
    spoiled=st.floats(0, 0.3),
    floor=st.sampled_from([None, d("12"), d("25")]),
)
def test_a_higher_price_never_raises_a_chance(
    nets: list[int], low: float, high: float, prices: float, spoiled: float, floor: Decimal | None
):
    offers = [
        inputs(
            net=EUR.from_minor(net),
            fee=fee_on(EUR.from_minor(net)),
            hours=spread_of(1500 * low, 1500, 1500 * high),
            price_spread_share=prices,
            spoiled_share=spoiled,
            rates=replace(RATES, minimum_per_hour=floor),
        )
        for net in sorted(nets)
    ]
    cheap, dear = (risk(offer, seed=5, draws=500) for offer in offers)
    assert dear.chance_of_loss <= cheap.chance_of_loss
    if floor is None:
        assert cheap.chance_below_floor is dear.chance_below_floor is None
    else:
        assert dear.chance_below_floor <= cheap.chance_below_floor  # type: ignore[operator]
    assert dear.price_at_ten_percent == cheap.price_at_ten_percent  # it is the piece's, not the offer's


def fee_on(net: Decimal) -> Decimal:
    return EUR.round(net * d("1.20") * d("0.03") + d("0.30"))


@pytest.mark.parametrize("floor", [None, d("18"), d("30")])
def test_at_the_price_that_is_named_the_chance_is_ten_percent(floor: Decimal | None):
    rates = replace(RATES, minimum_per_hour=floor)
    unsure = inputs(hours=spread_of(1200, 1500, 2100), price_spread_share=0.1, spoiled_share=0.03, rates=rates)
    net = risk(unsure, seed=6).price_at_ten_percent
    there = risk(replace(unsure, net=net, fee=fee_on(net)), seed=6)
    chance = there.chance_of_loss if floor is None else there.chance_below_floor
    assert chance == pytest.approx(0.10, abs=2 / DRAWS)
    below = net - d("1.00")
    worse = risk(replace(unsure, net=below, fee=fee_on(below)), seed=6)
    assert (worse.chance_of_loss if floor is None else worse.chance_below_floor) > 0.10  # type: ignore[operator]


def test_the_same_seed_gives_the_same_risk_and_another_one_a_like():
    unsure = inputs(hours=spread_of(1200, 1500, 2100), price_spread_share=0.1, spoiled_share=0.03)
    first, again, other = (risk(unsure, seed=seed) for seed in (1, 1, 2))
    assert first == again
    assert other != first
    assert other.chance_of_loss == pytest.approx(first.chance_of_loss, abs=0.03)


def test_yen_has_no_decimals():
    rates = replace(
        RATES, labour_per_hour=d("3000"), overhead_per_hour=d("1000"), minimum_per_hour=None, fee_fixed=d("0")
    )
    found = risk(inputs(rates=rates, currency=JPY, materials=d("20001"), net=d("150000"), fee=d("5400")), seed=1)
    assert found.price_at_ten_percent == d("124495")  # (100000 + 20013) ÷ 0.964 = 124494.8
    assert found.gross_at_ten_percent == d("149394")
    assert str(found.profit.middle) == "24587"


def test_an_option_of_a_quotation_is_read_from_its_document():
    asked = commission()
    quotation = quote_commission(asked)
    for option, priced in zip(sealed_quotation(quotation).options, quotation.options, strict=True):
        read = risk_inputs(option, asked.rates, asked.currency)
        costing = priced.costing
        assert (read.materials, read.extras, read.net, read.fee) == (
            costing.materials, costing.extras, costing.net, costing.fee,
        )  # fmt: skip
        assert read.rates == asked.rates
        assert read.likely_min == pytest.approx(priced.labour.total_min, abs=1e-4)
        edges = [
            read.likely_min * math.exp(side * stats.norm.ppf(0.9)) for side in (-read.hours.below, read.hours.above)
        ]
        assert edges == pytest.approx([priced.labour.low_min, priced.labour.high_min], abs=1e-3)
        made = risk_of(option, asked.rates, asked.currency, seed=1)
        # What is unsure varies around the costing: the profit that it shows, with the contingency that it set aside.
        assert made.profit.low < costing.profit + costing.contingency < made.profit.high
        assert made.per_hour.low < costing.per_hour < made.per_hour.high


def test_an_option_without_work_is_refused():
    offered = sealed_quotation(quote_commission(commission())).options[0]
    labour = replace(offered.takeoff.labour, total_min=0.0, low_min=0.0, high_min=0.0)
    option = replace(offered, takeoff=replace(offered.takeoff, labour=labour))
    with pytest.raises(Refused, match="no work in it"):
        risk_of(option, RATES, EUR, seed=1)


def test_slips_are_refused():
    for wrong in ({"likely_min": 0}, {"price_spread_share": -0.1}, {"spoiled_share": 1.0}):
        with pytest.raises(ValueError, match="Minutes are more than zero"):
            inputs(**wrong)
    with pytest.raises(ValueError, match="low <= likely <= high"):
        spread_of(2, 1, 3)
    with pytest.raises(ValueError, match="zero or more"):
        Spread(below=-0.1, above=0.0)
