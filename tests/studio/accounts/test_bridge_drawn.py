"""A kept bridge drawn and explained: every step has its reason, and the drawing leads from the quote to what was earned.

Properties over random jobs: what is drawn adds up to what is told (common practice, no source); SVG is read by the
standard library's XML parser.
"""

import json
from decimal import Decimal
from io import BytesIO
from xml.etree import ElementTree

from hypothesis import given, settings
from openpyxl import load_workbook
from support_profit import actual, bridge_of, d, done, jobs, op, planned, quoted, used

from inventory.ground.sheets import Formula, SheetBook
from studio.profit.account import account
from studio.profit.kept_account import KEPT_ACCOUNT, KeptAccount
from studio.profit.piece import Actual, Amount, Quoted
from studio.profit.reasons import reason_of
from studio.profit.waterfall import steps, waterfall

SVG = "{http://www.w3.org/2000/svg}"


@settings(max_examples=60, deadline=None)
@given(made=jobs())
def test_what_is_kept_as_json_is_read_back_whole(made: tuple[Quoted, Actual]):
    found = account(*made)
    quoted, actual = made
    kept = KeptAccount(account=found, quoted=quoted, actual=actual)
    assert KEPT_ACCOUNT.read(json.loads(json.dumps(KEPT_ACCOUNT.written(kept)))) == kept


@settings(max_examples=60, deadline=None)
@given(made=jobs())
def test_the_drawing_leads_from_the_quote_to_what_was_earned(made: tuple[Quoted, Actual]):
    found = account(*made)
    drawn = steps(found.bridge)
    assert found.quoted_profit + sum((step.amount for step in drawn), Decimal(0)) == found.profit
    root = ElementTree.fromstring(waterfall(found))
    bars = [path for path in root.iter(f"{SVG}path") if "bar-" in path.attrib["class"]]
    assert len(bars) == len(drawn) + 2
    left, _, width, _ = map(float, root.attrib["viewBox"].split())
    for bar in bars:
        for point in bar.attrib["d"].strip("MZ").split("L"):
            assert left <= float(point.split()[0]) <= left + width
    assert not [name for element in root.iter() for name in element.attrib if name in ("style", "fill", "stroke")]


@settings(max_examples=60, deadline=None)
@given(made=jobs())
def test_every_step_has_its_reason(made: tuple[Quoted, Actual]):
    found = account(*made)
    for line in found.bridge:
        rows = reason_of(line, *made, found)
        assert rows
        assert all(label and words for label, words in rows)


def test_reasons_hold_the_figures_that_a_step_is_made_of():
    """1.2 m of coutil at 20 quoted, 1.5 m for 33 used: 24 − 30 and 30 − 33; an hour at 20 quoted, 90 minutes worked."""
    plan = quoted(
        net=d("100"),
        materials=(planned("coutil", "1.2", "20"),),
        operations=(op("CUT", "1", "20.00"),),
        labour_rate=d("20"),
        extras=(Amount(what="Post", amount=d("5")),),
    )
    said = actual(
        net=d("110"),
        materials=(used("coutil", "1.5", "33"),),
        hours=(done("CUT", "1.5"),),
        labour_rate=d("20"),
        change_orders=(Amount(what="Loops", amount=d("10")),),
        extras=(Amount(what="Post", amount=d("7")),),
    )
    found = account(plan, said)
    told = {line.code: dict(reason_of(line, plan, said, found)) for line in found.bridge}
    assert bridge_of(found)["material.coutil.quantity"] == -6
    assert told["material.coutil.quantity"]["Formula"] == "€24.00 − 1.5 m at the quoted €20.00 (€30.00)"
    assert told["material.coutil.price"]["Formula"] == "1.5 m at the quoted €20.00 (€30.00) − €33.00"
    assert told["labour.CUT.hours"] == {
        "Quoted": "1 h, €20.00.",
        "Worked": "1 h 30, without what was done again.",
        "Formula": "quoted amount − time worked at the quoted €20.00 an hour",
    }
    assert told["extra.1"] == {"Quoted": "€5.00", "Paid": "€7.00"}
    assert told["change.1"] == {"Agreed": "€10.00 without tax, after the quote was accepted."}


def test_a_formula_is_one_and_a_text_that_looks_like_one_is_not():
    """Read back by openpyxl: type f is a formula, s a text."""
    book = SheetBook()
    book.sheet("Sums", ["What", "Amount"], [["=1+1", d("2.50")], ["Together", Formula("=SUM(B2:B2)", "0.00")]])
    sheet = load_workbook(BytesIO(book.data())).active
    assert [(sheet[cell].value, sheet[cell].data_type) for cell in ("A2", "B3")] == [
        ("=1+1", "s"),
        ("=SUM(B2:B2)", "f"),
    ]
    assert sheet["B3"].number_format == "0.00"
