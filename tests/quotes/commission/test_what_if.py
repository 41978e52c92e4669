"""What reaches a lower price: each way is a real price of the changed commission."""

from decimal import Decimal

from support_commissions import commission

from quotes.commission.quote import quote_commission
from quotes.commission.what_if import ways_to_less

TENTH = Decimal("0.10")


def test_each_way_costs_what_the_changed_option_costs():
    asked = commission()
    ways = {(way.option, way.words): way for way in ways_to_less(asked, TENTH)}
    without = commission({"options.2.choices": {"modesty_panel": True, "bones_per_seam": 2}})
    price = quote_commission(without).options[2].costing.gross
    assert ways["Three layers, flossed", "no flossing"].price == price


def test_a_way_says_whether_it_reaches_the_target():
    for way in ways_to_less(commission(), TENTH):
        assert way.reaches == (way.price <= way.target)
        assert way.saved > 0


def test_a_lower_margin_that_reaches_the_target_keeps_the_wage_floor():
    asked = commission()
    words = [way.words for way in ways_to_less(asked, Decimal("0.5"))]
    assert not any(word.startswith("a margin") for word in words)
    gentle = [way for way in ways_to_less(asked, Decimal("0.05")) if way.words.startswith("a margin")]
    assert gentle
    for way in gentle:
        margin = Decimal(way.words.split()[3].rstrip("%")) / 100
        lowered = commission({"rates.margin_share": f"{margin:f}", "rates.price_step": ...})
        option = next(row for row in quote_commission(lowered).options if row.name == way.option)
        assert abs(option.costing.gross - way.target) < way.target * Decimal("0.002")


def test_options_that_cannot_be_priced_are_no_way():
    """Without a zip in the list the busk cannot become one."""
    asked = commission(
        {"price_list.9": {"material": "extra-needle", "kind": "needle", "unit": "each", "unit_cost": "1"}}
    )
    assert asked.price_list[9].code == "extra-needle"
    assert all(way.price > 0 for way in ways_to_less(asked, TENTH))


def test_a_change_that_saves_nothing_is_no_way():
    """At 900 a metre no bought binding is cheaper than the cloth that it would be cut from."""
    words = {(way.option, way.words) for way in ways_to_less(commission(), TENTH)}
    dear = commission({"price_list.12.unit_cost": "900"})
    assert ("Three layers, flossed", "bought binding") in words
    assert "bought binding" not in {way.words for way in ways_to_less(dear, TENTH)}


def test_without_a_toile_none_can_be_left_out():
    words = {
        (way.option, way.words) for way in ways_to_less(commission({"options.0.choices": {"toile": False}}), TENTH)
    }
    assert ("Two layers, busk", "no toile") not in words
    assert ("One layer, zip", "no toile") in words


def test_two_changes_of_which_one_cannot_be_had_are_no_way_together():
    """Half the price is beyond any one change, so pairs are tried; without binding on the list none of them has it."""
    asked = commission({"options.1": ..., "price_list.12": ...})
    assert "binding" not in {row.code for row in asked.price_list}
    words = {way.words for way in ways_to_less(asked, Decimal("0.30"))}
    assert words
    assert not any("binding" in way for way in words)
