"""The bridge: each part keeps to itself, nothing looks like what it is not, every line has its words.

Sources: the parts are the differences of quote and account; the rest worked by hand (common practice, no source).
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from support_profit import EUR, JPY, KWD, actual, bridge_of, d, done, jobs, op, planned, quoted, used

from inventory.ground.materials import StockUnit
from inventory.ground.money import Currency
from studio.profit.account import account
from studio.profit.bridge import bridge_groups
from studio.profit.piece import (
    Actual,
    Amount,
    Quoted,
    QuotedMaterial,
    Rework,
    Spoiled,
)
from studio.profit.reasons import reason_of


def test_what_went_as_quoted_leaves_only_the_contingency():
    plan = quoted(
        net=d("500"),
        fee=d("10"),
        materials=(planned("coutil", "1.333", "23.80"),),
        operations=(op("CUT", "2.5", "50"), op("SEW", "4.25", "85")),
        labour_rate=d("20"),
        overhead=d("54"),
        overhead_rate=d("8"),
        contingency=d("12.34"),
        extras=(Amount(what="Courier", amount=d("9")),),
    )
    said = actual(
        net=d("500"),
        fee=d("10"),
        materials=(used("coutil", "1", "20.00"), used("coutil", "0.333", "11.73")),
        hours=(done("SEW", "4.25"), done("CUT", "1"), done("CUT", "1.5")),
        labour_rate=d("20"),
        overhead_rate=d("8"),
        extras=plan.extras,
    )
    assert bridge_of(account(plan, said)) == {"contingency": d("12.34")}


@settings(max_examples=150, deadline=None)
@given(jobs())
def test_each_part_of_the_bridge_is_the_difference_of_that_part(job: tuple[Quoted, Actual]):
    """Materials, labour and overhead keep to themselves, and equal rates leave no rate variance."""
    plan, said = job
    found = account(plan, said)
    lines = bridge_of(found)

    def part(*starts: str) -> Decimal:
        return sum((amount for code, amount in lines.items() if code.startswith(starts)), Decimal(0))

    assert part("material.", "spoiled.") == sum(row.amount for row in plan.materials) - found.materials - found.spoiled
    assert part("labour.", "rework.") == sum(row.amount for row in plan.operations) - found.labour
    assert part("overhead.") == plan.overhead - found.overhead
    assert part("change.", "discount", "invoice") == said.net - plan.net
    if said.labour_rate == plan.labour_rate:
        assert "labour.rate" not in lines
    if said.overhead_rate == plan.overhead_rate:
        assert "overhead.rate" not in lines


@settings(max_examples=100, deadline=None)
@given(jobs())
def test_lines_stand_in_the_order_of_their_groups(job: tuple[Quoted, Actual]):
    order = [
        "change",
        "discount",
        "invoice",
        "fee",
        "material",
        "spoiled",
        "labour",
        "rework",
        "labour.rate",
        "overhead",
        "contingency",
        "extra",
    ]
    groups = [line.code if line.code == "labour.rate" else line.code.partition(".")[0] for line in account(*job).bridge]
    places = [order.index(group) for group in groups]
    assert places == sorted(places)


@pytest.mark.parametrize(("currency", "rate"), [(EUR, "23.80"), (JPY, "3808"), (KWD, "7.125")])
def test_more_of_a_material_at_the_quoted_price_is_quantity_alone(currency: Currency, rate: str):
    """A rounded price must not look like a change of price."""
    plan = quoted(
        currency=currency,
        materials=(
            QuotedMaterial(
                code="m",
                what="coutil",
                quantity=d("1.333"),
                unit=StockUnit.METRE,
                rate=d(rate),
                amount=currency.round(d("1.333") * d(rate)),
            ),
        ),
    )
    said = actual(materials=(used("m", "1.667", str(currency.round(d("1.667") * d(rate)))),))
    assert set(bridge_of(account(plan, said))) == {"material.m.quantity"}


def test_as_much_as_quoted_differs_in_price_alone():
    """0.15 m and 0.15 m at 0.30 were quoted as 0.05 and 0.05; together they would be 0.09."""
    material = replace(planned("m", "0.30", "0.30"), amount=d("0.10"))
    assert bridge_of(account(quoted(materials=(material,)), actual(materials=(used("m", "0.3", "0.12"),)))) == {
        "material.m.price": d("-0.02")
    }


def test_what_was_done_again_is_told_by_cause():
    """Common practice: 1.5 hours at 20 after an own slip, and the cloth of it."""
    said = actual(
        spoiled=(Spoiled(cause="own-slip", value=d("9.00")), Spoiled(cause="cloth-fault", value=d("4.00"))),
        rework=(Rework(cause="own-slip", hours=d("1")), Rework(cause="own-slip", hours=d("0.5"))),
        labour_rate=d("20"),
    )
    lines = account(quoted(labour_rate=d("20")), said).bridge
    assert [(line.code, line.what, line.amount) for line in lines] == [
        ("spoiled.own-slip", "Material was spoiled by an own slip", d("-9.00")),
        ("spoiled.cloth-fault", "Material was spoiled by a fault in the cloth", d("-4.00")),
        ("rework.own-slip", "Work was done again for 1.5 hours after an own slip", d("-30.00")),
    ]


def test_every_kind_of_difference_has_its_words():
    plan = quoted(
        net=d("500"),
        fee=d("10"),
        materials=(
            planned("satin", "1", "40", what="Satin, bottle green"),
            planned("tip", "4", "1", unit=StockUnit.EACH),
        ),
        operations=(op("CUT", "2", "40", name="Cutting"), op("FLOSS", "1", "20", name="Flossing")),
        labour_rate=d("20"),
        overhead=d("24"),
        overhead_rate=d("8"),
        extras=(Amount(what="Courier", amount=d("9")), Amount(what="Model", amount=d("5"))),
    )
    said = actual(
        net=d("519"),
        fee=d("11"),
        change_orders=(Amount(what="longer busk", amount=d("40")),),
        discount=d("20"),
        materials=(used("satin", "1.2", "50", what="Satin, bottle green"), used("pearl", "3", "6", what="Pearls")),
        hours=(done("CUT", "2.25", name="Cutting"), done("LACE", "1", name="Lace")),
        labour_rate=d("21"),
        overhead_rate=d("7"),
        extras=(Amount(what="Courier", amount=d("8")), Amount(what="Parking", amount=d("2"))),
    )
    assert [line.what for line in account(plan, said).bridge] == [
        "Change agreed: longer busk",
        "A discount was given",
        "The invoices say less than was agreed",
        "Fees were higher",
        "0.2 m more “Satin, bottle green” went in",
        "“Satin, bottle green” cost more",
        "tip went unused",
        "Pearls came on top of the quote",
        "Cutting took 15 minutes longer",
        "No time was logged for flossing",
        "Lace was not quoted and took 1 hour",
        "An hour of work cost more",
        "15 minutes more carried overhead",
        "An hour carried less overhead",
        "Courier cost less",
        "Model cost nothing",
        "Parking came on top of the quote",
    ]


def test_what_went_better_says_so():
    """0.5 of a fee, 0.2 m of cloth at 40, what is left of it 2 cheaper, four tips, a quarter of an hour at 20 and 8."""
    plan = quoted(
        net=d("500"),
        fee=d("10"),
        materials=(planned("satin", "1", "40", what="Satin"), planned("tip", "4", "1", unit=StockUnit.EACH)),
        operations=(op("CUT", "2", "40", name="Cutting"),),
        labour_rate=d("20"),
        overhead=d("16"),
        overhead_rate=d("8"),
        contingency=d("3"),
        extras=(Amount(what="Courier", amount=d("9")), Amount(what="Model", amount=d("0.50"))),
    )
    said = actual(
        net=d("519"),
        fee=d("9.50"),
        materials=(used("satin", "0.8", "30", what="Satin"), used("pearl", "3", "6", what="Pearls")),
        hours=(done("CUT", "1.75", name="Cutting"),),
        labour_rate=d("20"),
        overhead_rate=d("8"),
        extras=(Amount(what="Courier", amount=d("10")),),
    )
    assert [(line.code, line.what, line.amount) for line in account(plan, said).bridge] == [
        ("invoice", "The invoices say more than was agreed", d("19")),
        ("fee", "Fees were lower", d("0.50")),
        ("material.satin.quantity", "0.2 m less satin went in", d("8")),
        ("material.satin.price", "Satin cost less", d("2")),
        ("material.tip.unused", "tip went unused", d("4")),
        ("material.pearl.unquoted", "Pearls came on top of the quote", d("-6")),
        ("labour.CUT.hours", "Cutting took 15 minutes less", d("5")),
        ("overhead.hours", "15 minutes less carried overhead", d("2")),
        ("contingency", "Contingency was not needed", d("3")),
        ("extra.1", "Courier cost more", d("-1")),
        ("extra.2", "Model cost nothing", d("0.50")),
    ]


def test_lines_are_told_by_what_they_speak_of():
    """Groups keep their order whatever that of the lines is; spoilt cloth goes with materials; no group is empty."""
    plan = quoted(net=d("100"), materials=(planned("satin", "1", "40"),), extras=(Amount(what="Model", amount=d("5")),))
    said = actual(net=d("100"), fee=d("1"), spoiled=(Spoiled(cause="own-slip", value=d("9")),))
    lines = account(plan, said).bridge
    groups = bridge_groups(tuple(reversed(lines)))
    assert [(group.title, [line.code for line in group.lines], group.amount) for group in groups] == [
        ("Price and fees", ["fee"], d("-1")),
        ("Materials", ["spoiled.own-slip", "material.satin.unused"], d("31")),
        ("Overhead and the rest", ["extra.1"], d("5")),
    ]


def test_bones_by_the_metre_and_by_the_piece_are_two_materials():
    """1.5 m at 3.10 and four ready ones at 0.90; a ready one more, at the quoted price, took the place of 0.3 m."""
    plan = quoted(
        net=d("100"),
        materials=(planned("spiral", "1.5", "3.10"), planned("spiral", "4", "0.90", unit=StockUnit.EACH)),
    )
    ready = used("spiral", "5", "4.50", what="Spiral, by the piece", unit=StockUnit.EACH)
    said = actual(net=d("100"), materials=(used("spiral", "1.2", "3.72"), ready))
    found = account(plan, said)
    assert bridge_of(found) == {"material.spiral.m.quantity": d("0.93"), "material.spiral.each.quantity": d("-0.90")}
    assert found.bridge[1].what == "1 more “Spiral, by the piece” went in"
    assert ("Quoted", "4 at €0.90, €3.60 in all.") in reason_of(found.bridge[1], plan, said, found)
