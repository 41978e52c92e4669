"""The price: identities that always hold, rules worked by hand, textbooks for cost and margin."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.money import Currency, RoundingRule, currency_of
from quotes.labour.operations import LabourEstimate, OperationMinutes
from quotes.pricing.costing import Costing, CostLine, Extra, Rates
from quotes.pricing.price import price
from quotes.pricing.rates import overhead_per_hour

EUR, JPY, KWD = currency_of("EUR"), currency_of("JPY"), currency_of("KWD")


def d(text: str) -> Decimal:
    return Decimal(text)


def labour(hours: float) -> LabourEstimate:
    """Labour of so many hours in two operations."""
    rows = tuple(
        OperationMinutes(
            code=code,
            name=code,
            group="making",
            driver="jobs",
            driver_quantity=1,
            minutes=hours * share * 60,
            formula="",
        )
        for code, share in (("SEW", 0.3), ("CUT", 0.7))
    )
    return LabourEstimate(
        operations=rows, allowance_share=0.0, total_min=hours * 60, low_min=0, high_min=hours * 90, range_rule=""
    )


def material(amount: str) -> CostLine:
    return CostLine(
        group="material", code="m", what="cloth", quantity=d("1"), unit="m", rate=d(amount), amount=d(amount)
    )


def rates(**changed: object) -> Rates:
    plain = Rates(
        labour_per_hour=d("20"),
        overhead_per_hour=d("8"),
        contingency_share=d("0"),
        margin_share=d("0.15"),
        fee_share=d("0.03"),
        fee_fixed=d("0"),
        tax_share=d("0"),
        tax_included=False,
        deposit_shares=(d("0.5"), d("0.5")),
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def assert_identities(costing: Costing, currency: Currency) -> None:
    by_group = {
        group: sum((line.amount for line in costing.lines if line.group == group), Decimal(0))
        for group in ("material", "labour", "overhead", "contingency", "extra")
    }
    assert by_group["material"] == costing.materials
    assert by_group["labour"] == costing.labour
    assert by_group["overhead"] == costing.overhead
    assert by_group["contingency"] == costing.contingency
    assert by_group["extra"] == costing.extras
    assert sum(by_group.values()) == costing.cost
    assert costing.cost + costing.profit + costing.fee == costing.net
    assert costing.net + costing.tax == costing.gross
    assert sum(costing.deposit) == costing.gross
    for amount in (costing.net, costing.tax, costing.gross, costing.fee, costing.profit, *costing.deposit):
        assert currency.is_exact(amount)


def test_worked_price_of_a_currency_free_example():
    """Common practice: M 120 + 5 %, 25.7 h at 20 + 8, margin 15 %, fee 3 %: cost 845.60, price 1031.22."""
    costing = price([material("126.00")], labour(25.7), [], rates(), EUR)
    assert (costing.cost, costing.net, costing.binding_rule) == (d("845.60"), d("1031.22"), "margin")
    # If it took 30 h, what is left for an hour is 21.14.
    assert round((d("1031.22") * d("0.97") - 126 - 30 * 8) / 30, 2) == d("21.14")


@pytest.mark.parametrize(
    ("fixed", "variable", "hours", "rate"),
    [
        ("218400", "2.80", 84000, "5.40"),
        ("531050", "4.80", 55900, "14.30"),
        ("390000", "2.00", 60000, "8.50"),
        ("500000", "3.75", 80000, "10.00"),
    ],
)
def test_cst_04_and_06_overhead_rate_per_hour(fixed: str, variable: str, hours: int, rate: str):
    """Garrison, Managerial Accounting (pottery works: moulding, painting; Job 407: milling, assembly): fixed costs and
    variable ones for so many hours, here by our rule of yearly cost over productive hours."""
    total = d(fixed) + d(variable) * hours
    found = overhead_per_hour(total, weeks=1, hours_per_week=hours, productive_share=d("1"), currency=EUR)
    assert found == d(rate)


def test_overhead_per_hour_of_a_small_workroom():
    """By hand: 7,728 a year over 46 weeks of 35 hours, of which 60 % are worked on pieces. Common practice, no source."""
    assert overhead_per_hour(d("7728"), weeks=46, hours_per_week=35, productive_share=d("0.6"), currency=EUR) == d(
        "8.00"
    )


def test_cst_05_job_cost_sheet():
    """Garrison, Job 205: materials 2,122, labour 1,710, overhead 3,587: 7,419, and 337.23 a unit of 22."""
    materials, extras = (
        [material("942"), material("1180")],
        [Extra(what="overhead of both departments", amount=d("3587"))],
    )
    costing = price(
        materials, labour(85.5), extras, rates(overhead_per_hour=d("0"), margin_share=d("0"), fee_share=d("0")), EUR
    )
    assert costing.cost == d("7419.00")
    assert EUR.round(costing.cost / 22) == d("337.23")


def test_cst_06_price_by_markup_is_the_margin_that_goes_with_it():
    """Garrison, Job 407: cost 2,485, markup 75 %: 4,348.75; margin = markup ÷ (1 + markup)."""
    margin = d("0.75") / d("1.75")
    bare = rates(labour_per_hour=d("35"), overhead_per_hour=d("0"), margin_share=margin, fee_share=d("0"))
    costing = price([material("1170"), material("965")], labour(10), [], bare, EUR)
    assert (costing.cost, costing.net) == (d("2485.00"), d("4348.75"))


def test_cst_07_simple_job():
    """Garrison-style solution: materials 800, labour 1,200 (100 h at 12), overhead 20 an hour: 4,000."""
    plain = rates(labour_per_hour=d("12"), overhead_per_hour=d("20"), margin_share=d("0"), fee_share=d("0"))
    costing = price([material("800")], labour(100), [], plain, EUR)
    assert (costing.overhead, costing.cost, costing.net) == (d("2000.00"), d("4000.00"), d("4000.00"))


@pytest.mark.parametrize(
    ("markup", "margin"), [("0.25", "0.2"), ("0.5", "1/3"), ("1", "0.5"), ("1.5", "0.6"), ("2", "2/3")]
)
def test_cst_14_markup_and_margin(markup: str, margin: str):
    """Definition: margin = m ÷ (1 + m)."""
    over, _, under = margin.partition("/")
    share = Decimal(over) / Decimal(under or "1")
    costing = price([material("100")], labour(1e-9), [], rates(margin_share=share, fee_share=d("0")), EUR)
    assert costing.net == EUR.round(d("100") * (1 + d(markup)))


def test_cst_23_and_28_tax_on_the_total():
    """Bookkeeping example 704.88 at 20 %; EN 16931 worked file 10.00 at 19 %: 1.90 and 11.90."""
    plain = rates(margin_share=d("0"), fee_share=d("0"), overhead_per_hour=d("0"))
    nearest = price([material("704.88")], labour(1e-9), [], replace(plain, tax_share=d("0.20")), EUR)
    assert (nearest.tax, nearest.gross) == (d("140.98"), d("845.86"))
    down = replace(plain, tax_share=d("0.20"), rounding=RoundingRule.DOWN)
    assert price([material("704.88")], labour(1e-9), [], down, EUR).tax == d("140.97")
    small = price([material("10.00")], labour(1e-9), [], replace(plain, tax_share=d("0.19")), EUR)
    assert (small.tax, small.gross) == (d("1.90"), d("11.90"))


@pytest.mark.parametrize(("gross", "tax"), [("120.00", "20.00"), ("99.99", "16.67")])
def test_cst_32_tax_inside_a_gross_price(gross: str, tax: str):
    """VAT fraction 1/6 at 20 %: 16.665 goes up."""
    plain = rates(
        margin_share=d("0"), fee_share=d("0"), overhead_per_hour=d("0"), tax_included=True, tax_share=d("0.2")
    )
    costing = price([material("1.00")], labour(1e-9), [], replace(plain, price_step=d(gross)), EUR)
    assert (costing.gross, costing.tax, costing.binding_rule) == (d(gross), d(tax), "price-step")


@pytest.mark.parametrize(
    ("net", "share", "fixed", "charge"),
    [
        ("100.00", "0.029", "0.30", "103.30"),
        ("100.00", "0.015", "0.20", "101.73"),
        ("650.00", "0.029", "0.30", "669.72"),
    ],
)
def test_cst_44_card_fee_grossed_up(net: str, share: str, fixed: str, charge: str):
    """g = (n + f) ÷ (1 − p); charge less fee returns the net exactly."""
    plain = rates(margin_share=d("0"), overhead_per_hour=d("0"), fee_share=d(share), fee_fixed=d(fixed))
    costing = price([material(net)], labour(1e-9), [], plain, EUR)
    assert costing.net == d(charge)
    assert costing.net - costing.fee == d(net)


def test_the_wage_floor_binds_where_it_asks_for_more():
    costing = price([material("50.00")], labour(30), [], rates(minimum_per_hour=d("40")), EUR)
    assert costing.binding_rule == "minimum-per-hour"
    assert costing.per_hour == d("40.00")


def test_a_discount_below_the_floor_is_warned_of_with_the_amount():
    costing = price([material("50.00")], labour(30), [], rates(minimum_per_hour=d("40"), discount_share=d("0.1")), EUR)
    found = [finding for finding in costing.findings if finding.code == "price.below-floor"]
    missing = d("40") * 30 - (costing.net - costing.fee - 50 - 240)
    assert str(EUR.round(missing)) in found[0].message


def test_discount_and_rush_are_shares_of_the_target():
    plain = price([material("126.00")], labour(25.7), [], rates(), EUR)
    both = price([material("126.00")], labour(25.7), [], rates(discount_share=d("0.1"), rush_share=d("0.25")), EUR)
    assert both.discount == EUR.round(plain.net * d("0.1"))
    assert abs(both.net - (plain.net - both.discount + both.rush)) <= d("0.01")


def test_a_first_payment_below_the_materials_is_warned_of():
    costing = price([material("600.00")], labour(2), [], rates(deposit_shares=(d("0.1"), d("0.9"))), EUR)
    assert "price.deposit-below-materials" in [finding.code for finding in costing.findings]


share = st.decimals(0, "0.4", places=3)


@given(
    currency=st.sampled_from([EUR, JPY, KWD]),
    amounts=st.lists(st.integers(0, 10**6), min_size=1, max_size=6),
    hours=st.floats(0.1, 200),
    margin=share,
    fee=share,
    tax=share,
    contingency=share,
    discount=share,
    rush=share,
    included=st.booleans(),
    floor=st.none() | st.integers(0, 90),
    step=st.none() | st.integers(1, 5000),
    rule=st.sampled_from(list(RoundingRule)),
)
def test_identities_hold_for_any_rates(
    currency, amounts, hours, margin, fee, tax, contingency, discount, rush, included, floor, step, rule
):
    lines = [
        replace(material("0"), amount=currency.from_minor(amount), rate=currency.from_minor(amount))
        for amount in amounts
    ]
    said = rates(
        margin_share=margin,
        fee_share=fee,
        tax_share=tax,
        contingency_share=contingency,
        discount_share=discount,
        rush_share=rush,
        tax_included=included,
        minimum_per_hour=None if floor is None else Decimal(floor),
        price_step=None if step is None else currency.from_minor(step),
        rounding=rule,
        deposit_shares=(d("0.3"), d("0.3"), d("0.4")),
    )
    costing = price(lines, labour(hours), [Extra(what="x", amount=currency.from_minor(123))], said, currency)
    assert_identities(costing, currency)
    if step is not None:
        anchor = costing.gross if included else costing.net
        assert anchor % currency.from_minor(step) == 0


@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_dearer_materials_never_lower_the_price(minor: int, more: int):
    first = price([material(str(EUR.from_minor(minor)))], labour(10), [], rates(), EUR)
    second = price([material(str(EUR.from_minor(minor + more)))], labour(10), [], rates(), EUR)
    assert second.gross >= first.gross
