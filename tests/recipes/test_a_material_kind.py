"""The recipe for a material kind: a workroom that has none yet quotes on, and one that keeps it buys, issues and settles it.

By hand: four clips at 0.65 are 2.60.
"""

from collections.abc import Callable
from typing import Any

from support_recipes import Tree, browser

ROW = """    MaterialKind.GARTER_CLIP: KindFacts(
        label="Garter clip",
        unit=StockUnit.EACH,
        words="garter clip, suspender clip",
        facts=(Fact(name="width", label="Takes a strap of", unit="mm", most=Decimal(100)),),
    ),
"""
LINE = '''"""Garter clips: four of them."""

from inventory.ground.materials import MaterialKind
from quotes.takeoff.amounts import each
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.takeoff import MaterialLine, Needed, Reason

GARTERS = 4


def garter_line(shelf: Shelf) -> MaterialLine:
    """Return the clips."""
    clip = shelf.material(MaterialKind.GARTER_CLIP)
    return MaterialLine(
        code="garter-clip",
        needed=Needed(family="garter-clip", before="FIN", stage="Finishing"),
        kind=MaterialKind.GARTER_CLIP,
        what="Garter clips",
        material=clip.code,
        quantity=each(GARTERS),
        unit=clip.unit,
        buy_quantity=each(GARTERS),
        reason=Reason(counted="two at the front, two at the back"),
    )
'''


def use() -> dict[str, Any]:
    from django.contrib.auth.models import User
    from support_books import agreed, finished, today
    from support_commissions import commission, plain

    from inventory.models import StockMaterial
    from inventory.spreadsheet.words import kind_of
    from quotes.desk.figures import work_out
    from quotes.models import PatternRevision, QuoteRevision
    from studio.models import PieceAccount

    maker, site = User.objects.get(), browser()
    draft = QuoteRevision.objects.get()
    without = work_out(draft.inputs, draft.pattern).quotation
    said = {"name": "Clip 20 mm", "code": "clip-20", "kind": "garter-clip", "unit_cost": "0.65", "pack": "1"}
    said |= {"usable_width_mm": "1340", "step_mm": "100", "shrinkage": "0"}
    added = site.post("/shelf/materials/new/", said)
    StockMaterial.objects.filter(code="clip-20").update(facts={"width": "20"})
    row = {"material": "clip", "kind": "garter-clip", "unit": "each", "unit_cost": "0.65"}
    revision = agreed(PatternRevision.objects.get(), maker)
    amounts = {line.code: str(line.amount) for line in revision.snapshot.quotation.options[0].lines}
    finished(revision, maker, on=today())
    kept = PieceAccount.objects.get().kept
    return {
        "without": [found.code for found in without.findings if "garter-clip" in found.message],
        "added": added.status_code,
        "fact": "Takes a strap of" in site.get("/shelf/items/clip-20/").content.decode(),
        "listed": "Garter clip" in site.get("/shelf/?kind=garter-clip").content.decode(),
        "import": str(kind_of("Suspender clips")),
        "file": commission({"price_list": [*plain()["price_list"], row]}).price_list[-1].kind.value,
        "amount": amounts["garter-clip"],
        "used": [str(used.quantity) for used in kept.actual.materials if used.code == "clip-20"],
    }


def test_it_is_quoted_without_and_with_it_and_settled(copied: Callable[..., Tree]):
    tree = copied("A material kind")
    kinds, chosen = "inventory/ground/materials.py", "quotes/takeoff/chosen_materials.py"
    tree.put(kinds, '    GARTER_CLIP = "garter-clip"\n', after='    FLOSS = "floss"\n')
    tree.put(kinds, ROW, after="KINDS: dict[MaterialKind, KindFacts] = {\n")
    tree.put("quotes/commission/commission.schema.json", ', "garter-clip"', after='"parcel", "floss"')
    tree.put(chosen, ", MaterialKind.GARTER_CLIP", after="frozenset({MaterialKind.ZIP, MaterialKind.FLOSS")
    tree.put(chosen, ", MaterialKind.GARTER_CLIP", after="MaterialKind.LABEL, MaterialKind.PARCEL")
    tree.add("quotes/takeoff/garters.py", LINE)
    taking = "quotes/takeoff/take_off.py"
    tree.put(taking, "from quotes.takeoff.garters import garter_line\n", after="import front_line, front_need\n")
    tree.put(taking, "            garter_line(shelf),\n", after="            *front_line(front, shelf),\n")
    assert tree.is_followed()
    tree.manage("makemigrations", "inventory")
    assert tree.run(use) == {
        "without": ["commission.not-priced"],
        "added": 302,
        "fact": True,
        "listed": True,
        "import": "garter-clip",
        "file": "garter-clip",
        "amount": "2.60",
        "used": ["4"],
    }
