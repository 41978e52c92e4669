"""The recipes for a cost line and for a group of costs, from the sheet to the account of the delivered piece.

By hand: four garter cords of 250 mm are 1 m; two rides to fittings at 8.40 are 16.80.
"""

from collections.abc import Callable
from typing import Any

from support_recipes import Tree, browser

LINE = '''"""Garter cords: four of them, a quarter of a metre each."""

from inventory.ground.materials import MaterialKind, StockUnit
from quotes.takeoff.amounts import metres
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.takeoff import MaterialLine, Needed, Reason


def garter_line(shelf: Shelf) -> MaterialLine:
    """Return the cord of the garters."""
    return MaterialLine(
        code="garter",
        needed=Needed(family="garter", before="GARTR", stage="Garters"),
        kind=MaterialKind.CORD,
        what="Garter cord",
        material=shelf.material(MaterialKind.CORD).code,
        quantity=metres(1000),
        unit=StockUnit.METRE,
        buy_quantity=metres(1000),
        reason=Reason(counted="4 garters of 250 mm", formula="4 × 250 = 1000 mm"),
    )
'''
RIDES = """(
        CostLine(
            group="travel",
            code="travel",
            what="Two rides to fittings",
            quantity=Decimal(2),
            unit="each",
            rate=Decimal("8.40"),
            amount=Decimal("16.80"),
        ),
    ) + """


def with_the_line() -> dict[str, Any]:
    from django.contrib.auth.models import User
    from django.utils import timezone
    from support_books import agreed, finished, today

    from inventory.models import ReservationLine
    from inventory.reserving.availability import lacks_of_work
    from quotes.models import PatternRevision
    from studio.models import PieceAccount

    maker, site = User.objects.get(), browser()
    revision = agreed(PatternRevision.objects.get(), maker)
    kept = ReservationLine.objects.get(reservation__reference="Q2", operation="Garters")
    lacking = {lack.wish.item.code for lack in lacks_of_work(["Q2"], on=timezone.localdate())["Q2"]}
    shelf = site.get("/quotes/2/1/shelf/").content.decode()
    job = finished(revision, maker, on=today())
    account = PieceAccount.objects.get(job=job).kept.account
    line = next(line for line in revision.snapshot.quotation.options[0].lines if line.code == "garter")
    return {
        "sheet": "Garter cord" in site.get("/quotes/2/1/options/0/sheet/").content.decode(),
        "workbook": site.get("/quotes/2/1/sheet.xlsx").status_code,
        "can it start": "Garters" in shelf,
        "line": [str(line.quantity), line.unit, line.reason and line.reason.formula],
        "kept": [kept.item.code, kept.quantity],
        "lacking": kept.item.code in lacking,
        "account": site.get("/books/pieces/Q2/").status_code,
        "adds up": account.quoted_profit + sum(step.amount for step in account.bridge) == account.profit,
    }


def with_the_group() -> dict[str, Any]:
    import io

    from django.contrib.auth.models import User
    from openpyxl import load_workbook
    from support_books import agreed, finished, today

    from quotes.models import PatternRevision
    from studio.models import PieceAccount

    maker, site = User.objects.get(), browser()
    revision = agreed(PatternRevision.objects.get(), maker)
    option = revision.snapshot.quotation.options[0]
    job = finished(revision, maker, on=today())
    kept = PieceAccount.objects.get(job=job).kept
    workbook = load_workbook(io.BytesIO(site.get("/quotes/2/1/sheet.xlsx").content))
    sheet = site.get("/quotes/2/1/options/0/sheet/").content.decode()
    return {
        "sheet": [words in sheet for words in ("Travel", "Two rides to fittings", "16.80")],
        "workbook": ("travel", "Two rides to fittings") in {row[1:3] for row in workbook["Costs"].values},
        "extras": str(option.extras),
        "cost": option.materials + option.labour + option.overhead + option.contingency + option.extras == option.cost,
        "net": option.cost + option.profit + option.fee == option.net,
        "quoted": [[extra.what, str(extra.amount)] for extra in kept.quoted.extras],
        "actual": [[extra.what, str(extra.amount)] for extra in kept.actual.extras],
        "same profit": kept.account.quoted_profit == option.profit,
        "account": "16.80" in site.get("/books/pieces/Q2/").content.decode(),
    }


def test_a_line_is_quoted_kept_and_settled(copied: Callable[..., Tree]):
    tree = copied("A cost line")
    tree.add("quotes/takeoff/garters.py", LINE)
    taking = "quotes/takeoff/take_off.py"
    tree.put(taking, "from quotes.takeoff.garters import garter_line\n", after="import front_line, front_need\n")
    tree.put(taking, "            garter_line(shelf),\n", after="            *front_line(front, shelf),\n")
    assert tree.is_followed()
    assert tree.run(with_the_line) == {
        "sheet": True,
        "workbook": 200,
        "can it start": True,
        "line": ["1.000", "m", "4 × 250 = 1000 mm"],
        "kept": ["cord-flat-6", 1000],
        "lacking": True,
        "account": 200,
        "adds up": True,
    }


def test_a_group_is_on_the_sheet_and_a_direct_cost_of_the_piece(copied: Callable[..., Tree]):
    tree = copied("A group of costs")
    tree.swap(
        "quotes/pricing/price.py",
        '    return tuple(\n        CostLine(\n            group="extra"',
        f'    return {RIDES}tuple(\n        CostLine(\n            group="extra"',
    )
    assert tree.is_followed()
    assert tree.run(with_the_group) == {
        "sheet": [True, True, True],
        "workbook": True,
        "extras": "16.80",
        "cost": True,
        "net": True,
        "quoted": [["Two rides to fittings", "16.80"]],
        "actual": [["Two rides to fittings", "16.80"]],
        "same profit": True,
        "account": True,
    }
