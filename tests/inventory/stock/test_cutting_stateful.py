"""Random acts at a drawer of bones against a plain model: what is cut takes its value along, whatever it turns out to cost.

The model is a dictionary of pools and the definition of each method of valuation (IAS 2 paragraphs 23 to 27). Where a coil
turns out to have cost something else, the model forgets all that it reckoned and goes through what was done once more, with
that cost from the beginning.
"""

from fractions import Fraction
from math import ceil
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from support_pools import Pool, RolledBack, half_up
from support_shelf import act, item

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, StockItem
from inventory.reckoning.valuation import Method
from inventory.shelf.settings import set_method
from inventory.stock.audit import audit
from inventory.stock.correcting import CorrectedCost, correct_costs
from inventory.stock.cutting import cut_to_length, put_back_offcuts
from inventory.stock.ledger import Arrival, give_back, issue, receive, scrap

COIL = ("", 0)
FORMS = st.sampled_from([BoneForm.CUT, BoneForm.TIPPED])


class HeldPool(Pool):
    """What lies there of one item, and what the job holds of it: quantity and value."""

    def __init__(self, method: Method) -> None:
        super().__init__(method)
        self.held = [0, 0]


class Drawer(RolledBack):
    """One spiral: its coils, and the bones that are cut from them and from one another."""

    method = Method.AVERAGE

    @initialize()
    def begin(self) -> None:
        set_method(self.method)
        self.item = item("spiral")
        self.paid: dict[int, int] = {}
        self.log: list[tuple[Any, ...]] = []
        self.of: dict[int, tuple[str, int]] = {}  # by lot, its form and size
        self.last: tuple[UUID, Any] | None = None
        self.forget()

    def forget(self) -> None:
        self.pools: dict[tuple[str, int], HeldPool] = {}
        self.gone = 0

    def did(self, done: str, *figures: Any) -> None:
        self.log.append((done, *figures))
        getattr(self, f"model_{done}")(*figures)

    def pool(self, lot: int) -> HeldPool:
        return self.pools.setdefault(self.of[lot], HeldPool(self.method))

    def model_receive(self, lot: int, quantity: int) -> None:
        self.pool(lot).put(lot, quantity, self.paid[lot])

    def model_cut(self, lot: int, out: int, made: list[tuple[int, int, int]]) -> None:
        value, weights = self.pool(lot).take(lot, out), sum(weight for *_, weight in made)
        for part, count, weight in made:
            share = half_up(Fraction(value * weight, weights))
            self.pool(part).put(part, count, share, first=True)
            value, weights = value - share, weights - weight

    def model_issue(self, lot: int, quantity: int) -> None:
        pool = self.pool(lot)
        pool.held = [pool.held[0] + quantity, pool.held[1] + pool.take(lot, quantity)]

    def model_return(self, lot: int, quantity: int) -> None:
        pool = self.pool(lot)
        held, worth = pool.held
        value = half_up(Fraction(worth * quantity, held))
        pool.held = [held - quantity, worth - value]
        pool.put(lot, quantity, value)

    def model_lose(self, lot: int, quantity: int) -> None:
        self.gone += self.pool(lot).take(lot, quantity)

    def some(self, data: st.DataObject) -> Lot:
        pk = data.draw(st.sampled_from(sorted(self.of)))
        return Lot.objects.select_related("item__material").get(pk=pk)

    def holds(self, lot: Lot) -> int:
        return self.pool(lot.pk).lots[lot.pk][0]

    @rule(quantity=st.integers(100, 5000), value=st.integers(0, 9_000))
    def receives(self, quantity: int, value: int) -> None:
        posting = receive(act(), [Arrival(item=self.item, quantity=quantity, value_minor=value)])
        lot = posting.movements.get().lot_id
        self.paid[lot], self.of[lot] = value, COIL
        self.did("receive", lot, quantity)

    @precondition(lambda self: self.of)
    @rule(
        data=st.data(),
        lengths=st.lists(st.integers(300, 4500), min_size=1, max_size=3),
        count=st.integers(1, 6),
        form=FORMS,
    )
    def cuts(self, data: st.DataObject, lengths: list[int], count: int, form: BoneForm) -> None:
        lot, key = self.some(data), uuid4()
        own_form, size = self.of[lot.pk]
        out = count if size else ceil(Fraction(sum(lengths) * count, 10))
        cannot = size and (sum(lengths) > size or (lengths == [size] and form == own_form))

        def doing() -> Any:
            return cut_to_length(act(key=key), lot=lot, lengths=lengths, form=form, count=count)

        if cannot or out > self.holds(lot):
            with pytest.raises(Refused):
                doing()
            return
        self.last = (key, doing)
        self.made(lot.pk, out, doing(), form)

    def made(self, lot: int, out: int, posting: Any, form: BoneForm) -> None:
        made = []
        for movement in posting.movements.filter(quantity__gt=0).order_by("pk").select_related("item"):
            self.of[movement.lot_id] = (form.value, movement.item.size_tenths_mm)
            made.append((movement.lot_id, movement.quantity, movement.quantity * movement.item.size_tenths_mm))
        self.did("cut", lot, out, made)

    @precondition(lambda self: self.of)
    @rule(data=st.data(), length=st.integers(1400, 4500))
    def puts_a_rest_back(self, data: st.DataObject, length: int) -> None:
        lot = self.some(data)
        own_form, size = self.of[lot.pk]
        out = 1 if size else ceil(Fraction(length, 10))
        fits = length <= size and not (length == size and own_form == "cut") if size else True
        if length < 1500 or not fits or out > self.holds(lot):
            with pytest.raises(Refused):
                put_back_offcuts(act(), lot=lot, lengths=[length])
            return
        self.made(lot.pk, out, put_back_offcuts(act(), lot=lot, lengths=[length]), BoneForm.CUT)

    @precondition(lambda self: self.last)
    @rule()
    def sends_the_last_form_again(self) -> None:
        assert self.last is not None
        assert self.last[1]().key == self.last[0]

    @precondition(lambda self: self.of)
    @rule(data=st.data(), share=st.integers(1, 5), loses=st.booleans())
    def takes(self, data: st.DataObject, share: int, loses: bool) -> None:
        lot = self.some(data)
        quantity = self.holds(lot) // share
        if not quantity:
            return
        if loses:
            scrap(act("bent"), lot=lot, quantity=quantity)
        else:
            issue(act(), lot=lot, quantity=quantity, job="Q1")
        self.did("lose" if loses else "issue", lot.pk, quantity)

    @precondition(lambda self: any(pool.held[0] for pool in self.pools.values()))
    @rule(data=st.data(), share=st.integers(1, 3))
    def returns(self, data: st.DataObject, share: int) -> None:
        lot = self.some(data)
        quantity = self.pool(lot.pk).held[0] // share
        if quantity:
            give_back(act(), lot=lot, quantity=quantity, job="Q1")
            self.did("return", lot.pk, quantity)

    @precondition(lambda self: self.paid)
    @rule(data=st.data(), difference=st.integers(-3_000, 9_000).filter(bool))
    def learns_what_a_coil_cost(self, data: st.DataObject, difference: int) -> None:
        pk = data.draw(st.sampled_from(sorted(self.paid)))
        seen, paid = self.paid[pk], self.paid[pk] + difference
        if paid < 0:
            return
        lot = Lot.objects.select_related("item__material").get(pk=pk)
        correct_costs(act("invoice"), [CorrectedCost(lot=lot, seen_minor=seen, paid_minor=paid)])
        self.paid[pk] = paid
        self.forget()
        for done, *figures in self.log:
            getattr(self, f"model_{done}")(*figures)

    @rule()
    def rebuilds(self) -> None:
        assert audit().differences == ()

    @invariant()
    def books_say_what_the_model_says(self) -> None:
        if not hasattr(self, "item"):
            return
        rows = {(row.form, row.size_tenths_mm): row for row in StockItem.objects.filter(material=self.item.material)}
        for key, pool in self.pools.items():
            sums = tuple(sum(figures) for figures in zip(*pool.lots.values(), strict=True)) or (0, 0)
            assert (rows[key].on_hand, rows[key].value_minor) == sums
        there = sum(row.value_minor for row in rows.values())
        assert there == sum(self.paid.values()) - self.gone - sum(pool.held[1] for pool in self.pools.values())
        used = Movement.objects.filter(posting__job="Q1").values_list("value_minor", flat=True)
        assert -sum(used) == sum(pool.held[1] for pool in self.pools.values())


@pytest.mark.django_db
@pytest.mark.parametrize("method", list(Method))
def test_random_cuts_leave_the_books_as_a_plain_model_has_them(method: Method):
    machine = type(f"Drawer_{method}", (Drawer,), {"method": method})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=12, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )
