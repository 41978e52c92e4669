"""The recipe for a kind of movement: samples given away, in the books and in the plain model that random acts are held to."""

from collections.abc import Callable
from typing import Any

from support_recipes import Tree, browser

USE_CASE = '''def give_sample(act: Act, *, lot: Lot, quantity: int) -> Posting:
    """Give some away as a sample, at what it cost. Raises Refused where less is there."""

    def changes(method: Method) -> Iterable[Change]:
        there = lot_now(lot)
        must_go_whole(there, quantity)
        yield Change(there, -quantity, -cost_of(method, there, quantity))

    return post(act, Posting.Kind.SAMPLE, {lot.item_id}, [lot.pk, quantity], changes)


'''
RULE = """    @precondition(lambda self: self.lots)
    @rule(data=st.data(), quantity=SMALL)
    def gives_a_sample(self, data: st.DataObject, quantity: int) -> None:
        lot = self.some(data)
        if quantity > self.lots[lot][0] or (lot in self.remnants and quantity != self.lots[lot][0]):
            with pytest.raises(Refused):
                give_sample(act(), lot=self.lot(lot), quantity=quantity)
            return
        give_sample(act(), lot=self.lot(lot), quantity=quantity)
        self.did("lose", lot, quantity)

"""


def use() -> dict[str, Any]:
    from support_shelf import act, stocked

    from inventory.models import StockItem
    from inventory.stock import ledger
    from inventory.stock.audit import audit

    item = StockItem.objects.get(code="coutil-white")
    lot = stocked(item, 3000, 7140)
    posting = ledger.give_sample(act("for the fair"), lot=lot, quantity=300)
    item.refresh_from_db()
    return {
        "left": [item.on_hand, item.value_minor],
        "audit": list(map(str, audit().differences)),
        "page": "Given as a sample" in browser().get("/shelf/movements/?kind=sample").content.decode(),
        "name": posting.get_kind_display(),
    }


def test_it_is_valued_shown_audited_and_held_to_the_plain_model(copied: Callable[..., Tree]):
    tree = copied("A kind of movement")
    ledger, stateful = "inventory/stock/ledger.py", "tests/inventory/stock/test_ledger_stateful.py"
    tree.put("inventory/models/ledger.py", '        SAMPLE = "sample", "Given as a sample"\n', after='"Split off"\n')
    tree.swap(ledger, "def split_off(", f"{USE_CASE}def split_off(")
    tree.swap(stateful, "import Arrival, Remnant, count,", "import Arrival, Remnant, count, give_sample,")
    tree.swap(
        stateful, "    @rule(quantity=st.integers(0, 2500))\n", f"{RULE}    @rule(quantity=st.integers(0, 2500))\n"
    )
    # A few acts are enough to show that the rule is followed.
    tree.swap(stateful, "max_examples=12, stateful_step_count=30", "max_examples=3, stateful_step_count=10")
    assert tree.is_followed()
    tree.manage("makemigrations", "inventory")
    assert tree.run(use) == {"left": [2700, 6426], "audit": [], "page": True, "name": "Given as a sample"}
    tree.test(stateful, "-k", "average")
