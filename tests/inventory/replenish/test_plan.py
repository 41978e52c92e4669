"""The joint order against every possible order on small cases, and against textbook lot sizing.

Sources: brute force over all packs with scipy's linear programs for who serves whom; all-units quantity discounts and
lot sizing as special cases (textbook arithmetic, worked here by hand).
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_commands import run, stop_codes
from support_replenish import brute_force, checked, day, document

from inventory.ground.codec import plain
from inventory.ground.findings import Refused
from inventory.replenish import make_plan, printed_plan, read_plan_file


def planned(file: dict[str, Any]) -> dict[str, Any]:
    problem = read_plan_file(file).problem
    printed: dict[str, Any] = plain(printed_plan(make_plan(problem)))
    checked(problem, printed)
    return printed


def lines(printed: dict[str, Any]) -> dict[tuple[str, str], int]:
    return {
        (order["supplier"], line["material"]): line["packs"] for order in printed["orders"] for line in order["lines"]
    }


@st.composite
def files(draw: st.DrawFn, *, with_substitutes: bool) -> dict[str, Any]:
    """Two or three materials, two suppliers, up to three offers: few enough to try every order."""
    codes = ["BONE", "TAPE", "CORD"][: draw(st.integers(2, 3))]
    materials = []
    for place, code in enumerate(codes):
        row = {
            "code": code,
            "unit": "m",
            "on_hand": str(draw(st.integers(0, 4))),
            "safety": str(draw(st.integers(0, 2))),
            "unit_value": str(draw(st.integers(1, 9))),
        }
        if with_substitutes and place:
            row["substitutes"] = [codes[0]]
        materials.append(row)
    pairs = draw(
        st.lists(st.tuples(st.sampled_from(["A", "B"]), st.sampled_from(codes)), min_size=2, max_size=3, unique=True)
    )
    offers = []
    for supplier, code in pairs:
        price = draw(st.integers(4, 12))
        breaks = [{"from_packs": 1, "price": str(price)}]
        if draw(st.booleans()):
            breaks.append({"from_packs": draw(st.integers(2, 3)), "price": str(price - draw(st.integers(1, 3)))})
        offers.append(
            {
                "supplier": supplier,
                "material": code,
                "pack": str(draw(st.integers(1, 4))),
                "breaks": breaks,
                "minimum_packs": draw(st.integers(1, 2)),
            }
        )
    suppliers: list[dict[str, Any]] = [
        {"code": code, "lead_days": draw(st.integers(0, 9)), "postage": str(draw(st.integers(0, 7)))}
        for code in ("A", "B")
    ]
    if draw(st.booleans()):
        suppliers[0]["postage_free_from"] = str(draw(st.integers(5, 20)))
    if draw(st.booleans()):
        suppliers[1]["minimum_order"] = str(draw(st.integers(5, 20)))
    needs = draw(
        st.lists(st.tuples(st.sampled_from(codes), st.integers(1, 4), st.integers(0, 12)), min_size=1, max_size=4)
    )
    coming = draw(st.lists(st.tuples(st.sampled_from(codes), st.integers(1, 3), st.integers(0, 12)), max_size=2))
    return {
        "currency": "EUR",
        "as_of": day(0),
        "holding_share_per_year": "0" if with_substitutes else draw(st.sampled_from(["0", "0.18", "0.9"])),
        "materials": materials,
        "needs": [
            {"material": code, "quantity": str(quantity), "date": day(after), "job": f"K{place}"}
            for place, (code, quantity, after) in enumerate(needs)
        ],
        "open_orders": [
            {"material": code, "quantity": str(quantity), "date": day(after)} for code, quantity, after in coming
        ],
        "offers": offers,
        "suppliers": suppliers,
    }


def agrees_with_brute_force(file: dict[str, Any]) -> None:
    best = brute_force(read_plan_file(file).problem)
    if best is None:
        with pytest.raises(Refused):
            planned(file)
        return
    printed = planned(file)
    late = sum(Decimal(row["quantity"]) * row["late_days"] for row in printed["shortages"])
    assert (round(float(late), 6), Decimal(printed["total"])) == best
    assert printed["optimal"]


@settings(max_examples=40, deadline=None)
@given(files(with_substitutes=False))
def test_the_joint_order_is_the_best_of_all(file: dict[str, Any]):
    agrees_with_brute_force(file)


@settings(max_examples=25, deadline=None)
@given(files(with_substitutes=True))
def test_the_joint_order_with_substitutes_is_the_best_of_all(file: dict[str, Any]):
    agrees_with_brute_force(file)


def test_nothing_is_bought_where_stock_is_enough():
    file = document(needs=[{"material": "STEEL", "quantity": "1", "date": "2027-01-20", "job": "K1"}])
    printed = planned(file)
    assert (printed["orders"], printed["total"], printed["saving"]) == ([], "0.00", "0.00")


def test_a_need_on_the_day_of_arrival_is_in_time():
    needs = [{"material": "TAPE", "quantity": "2", "date": "2027-01-14", "job": "K1"}]
    printed = planned(document(needs=needs))
    assert printed["shortages"] == []
    assert printed["orders"][0]["order_by"] == "2027-01-04"


def test_a_need_before_any_arrival_is_met_as_early_as_can_be():
    needs = [{"material": "TAPE", "quantity": "2", "date": "2027-01-12", "job": "K1"}]
    printed = planned(document(needs=needs))
    expected = {"material": "TAPE", "quantity": "2", "date": "2027-01-12", "job": "K1", "late_days": 2}
    assert printed["shortages"] == [expected]


def test_the_last_day_to_order_is_the_need_less_the_lead():
    printed = planned(document())
    order_by = {order["supplier"]: order["order_by"] for order in printed["orders"]}
    assert order_by["B"] == "2027-01-08"


def test_a_break_is_taken_where_more_is_cheaper():
    """All-units discount: 3 at 4.00 cost 12.00, 4 at 2.50 cost 10.00."""
    offer = {
        "supplier": "A",
        "material": "TAPE",
        "pack": "1",
        "breaks": [{"from_packs": 1, "price": "4.00"}, {"from_packs": 4, "price": "2.50"}],
    }
    needs = [{"material": "TAPE", "quantity": "3", "date": "2027-01-20", "job": "K1"}]
    materials = [{"code": "TAPE", "unit": "m", "on_hand": "0", "safety": "0", "unit_value": "0"}]
    printed = planned(document(offers=[offer], needs=needs, materials=materials, open_orders=[]))
    assert lines(printed) == {("A", "TAPE"): 4}
    assert printed["total"] == "16.00"


def test_an_order_is_filled_up_to_free_postage_where_that_is_cheaper():
    """38.00 of goods and 6.00 of postage against 40.50 of goods: a tape that nobody needs is worth taking."""
    materials = [
        {"code": "BUSK", "unit": "pair", "on_hand": "0", "safety": "0", "unit_value": "38"},
        {"code": "TAPE", "unit": "m", "on_hand": "0", "safety": "0", "unit_value": "0.25"},
    ]
    offers = [
        {"supplier": "A", "material": "BUSK", "pack": "1", "breaks": [{"from_packs": 1, "price": "38.00"}]},
        {"supplier": "A", "material": "TAPE", "pack": "10", "breaks": [{"from_packs": 1, "price": "2.50"}]},
    ]
    needs = [{"material": "BUSK", "quantity": "1", "date": "2027-01-20", "job": "K1"}]
    printed = planned(document(materials=materials, offers=offers, needs=needs, open_orders=[]))
    assert lines(printed) == {("A", "BUSK"): 1, ("A", "TAPE"): 1}
    # 0.18 × 180 ÷ 365 × 0.25 × 10 = 0.2219
    assert (printed["holding"], printed["total"]) == ("0.22", "40.72")
    assert printed["line_by_line_total"] == "44.00"


def test_stock_of_a_substitute_serves_before_anything_is_bought():
    materials = [
        {
            "code": "BUSK10",
            "unit": "pair",
            "on_hand": "0",
            "safety": "0",
            "unit_value": "11",
            "substitutes": ["BUSK11"],
        },
        {"code": "BUSK11", "unit": "pair", "on_hand": "1", "safety": "0", "unit_value": "12"},
    ]
    needs = [{"material": "BUSK10", "quantity": "1", "date": "2027-01-05", "job": "K1"}]
    printed = planned(document(materials=materials, offers=[], needs=needs, open_orders=[]))
    assert printed["orders"] == []
    assert printed["line_by_line_total"] is None


def test_a_need_that_nothing_can_ever_meet_is_named():
    file = document(offers=[])
    with pytest.raises(Refused) as caught:
        planned(file)
    places = {(found.code, found.where) for found in caught.value.findings}
    assert ("plan.need-cannot-be-met", "need of TAPE for K1") in places


def test_a_safety_that_cannot_be_kept_is_named():
    materials = [{"code": "STEEL", "unit": "m", "on_hand": "1", "safety": "2", "unit_value": "1"}]
    with pytest.raises(Refused) as caught:
        planned(document(materials=materials, needs=[], open_orders=[], offers=[]))
    assert [found.code for found in caught.value.findings] == ["plan.safety-cannot-be-kept"]


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"currency": "XQZ"}, "currency"),
        ({"as_of": "2027-02-30"}, "as_of"),
        ({"wings": 1}, "wings"),
        ({"holding_share_per_year": "-1"}, "holding_share_per_year"),
        ({"needs": [{"material": "MOON", "quantity": "1", "date": "2027-01-20", "job": ""}]}, "needs[0].material"),
        ({"needs": [{"material": "TAPE", "quantity": "-1", "date": "2027-01-20", "job": ""}]}, "needs[0].quantity"),
        ({"needs": [{"material": "TAPE", "quantity": "x", "date": "soon", "job": ""}]}, "needs[0].date"),
        ({"suppliers": [{"code": "A", "lead_days": -1, "postage": "0"}]}, "suppliers[0].lead_days"),
        ({"suppliers": [{"code": "A", "lead_days": 1, "postage": "0.001"}]}, "suppliers[0].postage"),
        ({"suppliers": []}, "offers[0].supplier"),
        ({"materials": document()["materials"] * 2}, "materials[2].code"),
        (
            {
                "offers": [
                    {"supplier": "A", "material": "TAPE", "pack": "0", "breaks": [{"from_packs": 1, "price": "1"}]}
                ]
            },
            "offers[0].pack",
        ),
        ({"offers": [{"supplier": "A", "material": "TAPE", "pack": "1", "breaks": []}]}, "offers[0].breaks"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_faults_are_named_with_their_places(changes: dict[str, Any], place: str):
    with pytest.raises(Refused) as caught:
        read_plan_file(document(**changes))
    assert place in {found.where for found in caught.value.findings}


def test_the_command_prints_one_document(tmp_path, capfd):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(document()), encoding="utf-8")
    code, printed = run("reorder", "--plan", path, "--as-of", "2027-01-05")
    assert code == 0
    assert printed["as_of"] == "2027-01-05"
    assert capfd.readouterr().out == ""


def test_the_command_refuses_in_a_sentence(tmp_path):
    path = tmp_path / "plan.json"
    path.write_text("{}", encoding="utf-8")
    for arguments in (["--plan", path], ["--plan", tmp_path / "none.json"], ["--as-of", "soon"], []):
        code, printed = run("reorder", *arguments)
        assert code == 1
        assert stop_codes(printed)


def test_the_orders_as_a_workbook(tmp_path):
    path, book = tmp_path / "plan.json", tmp_path / "orders.xlsx"
    path.write_text(json.dumps(document()), encoding="utf-8")
    code, printed = run("reorder", "--plan", path, "--xlsx", book)
    assert code == 0
    rows = list(openpyxl.load_workbook(book)["Orders"].iter_rows(min_row=2, values_only=True))
    said = [
        (order["supplier"], line["material"], line["packs"]) for order in printed["orders"] for line in order["lines"]
    ]
    assert [(row[0], row[2], row[3]) for row in rows] == said
    *suppliers, together = openpyxl.load_workbook(book)["Suppliers"].iter_rows(min_row=2, values_only=True)
    assert together[1:] == tuple(sum(row[place] for row in suppliers) for place in (1, 2, 3))
    code, printed = run("reorder", "--plan", path, "--xlsx", tmp_path / "nowhere" / "orders.xlsx")
    assert (code, stop_codes(printed)) == (1, {"option.xlsx"})


def test_the_example_plan_is_planned():
    """A late delivery, a break, a substitute and postage worth filling up for, in one invented week."""
    path = Path(__file__).parents[3] / "fixtures" / "plans" / "two-suppliers.json"
    printed = planned(json.loads(path.read_text(encoding="utf-8")))
    assert printed["optimal"]
    assert Decimal(printed["saving"] or 0) >= 0


def test_waiting_for_an_open_order_is_a_way_line_by_line_too():
    """Every offer comes after the open order, so that nothing is bought either way, and nothing is saved."""
    needs = [{"material": "TAPE", "quantity": "2", "date": "2027-01-05", "job": "K1"}]
    coming = [{"material": "TAPE", "quantity": "2", "date": "2027-01-08"}]
    materials = [{"code": "TAPE", "unit": "m", "on_hand": "0", "safety": "0", "unit_value": "1"}]
    offers = [{"supplier": "B", "material": "TAPE", "pack": "10", "breaks": [{"from_packs": 1, "price": "7.00"}]}]
    printed = planned(document(needs=needs, open_orders=coming, materials=materials, offers=offers))
    assert (printed["orders"], printed["saving"]) == ([], "0.00")
    assert printed["shortages"][0]["late_days"] == 3


@pytest.mark.parametrize("needs", [[], [{"material": "TAPE", "quantity": "0", "date": day(3), "job": "x"}]])
def test_where_nothing_is_needed_nothing_is_bought(needs: list[dict[str, Any]]):
    materials = [{"code": "TAPE", "unit": "m", "on_hand": "5", "safety": "0", "unit_value": "1"}]
    printed = planned(
        {**document(), "materials": materials, "needs": needs, "open_orders": [], "offers": [], "suppliers": []}
    )
    assert (printed["orders"], printed["total"], printed["optimal"]) == ([], "0.00", True)
