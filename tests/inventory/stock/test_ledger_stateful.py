"""Random acts at the shelf against a plain model: quantities and values are equal after every step.

The model is a handful of dictionaries and the definition of each method of valuation (IAS 2 paragraphs 23 to 27), with
no database, lock or cache. Where a receipt turns out to have cost something else, the model forgets all that it reckoned and
goes through what was done once more, with that cost from the beginning.
"""

from fractions import Fraction
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db.models import Sum
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

from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Reservation, ReservationLine, StockItem
from inventory.reckoning.valuation import Method
from inventory.shelf.settings import set_method
from inventory.stock.audit import audit
from inventory.stock.correcting import CorrectedCost, correct_costs
from inventory.stock.ledger import Arrival, Remnant, count, give_back, issue, receive, scrap, split_off, wash

WIDTH = 1340
SMALL = st.integers(1, 3000)


class Shelf(RolledBack):
    """One cloth, its lots, two jobs."""

    method = Method.AVERAGE

    @initialize()
    def begin(self) -> None:
        set_method(self.method)
        self.item = item("cloth")
        self.pool = Pool(self.method)
        self.remnants: set[int] = set()
        self.raw: set[int] = set()
        self.jobs: dict[str, list[int]] = {"Q1": [0, 0], "Q2": [0, 0]}
        self.gone = self.found = 0
        self.paid: dict[int, int] = {}  # what the receipt of a lot cost in the end
        self.log: list[tuple[Any, ...]] = []
        self.last: tuple[UUID, Any] | None = None
        reservation = Reservation.objects.create(reference="Q1", title="x", is_firm=True, needed_by="2027-01-04")
        self.line = reservation.lines.create(item=self.item, quantity=0, operation="cutting")
        self.wanted = self.served = 0
        self.is_kept = True

    @property
    def lots(self) -> dict[int, list[int]]:
        """Quantity and value by lot."""
        return self.pool.lots

    def did(self, act: str, *figures: Any) -> None:
        self.log.append((act, *figures))
        getattr(self, f"model_{act}")(*figures)

    def model_receive(self, lot: int, quantity: int) -> None:
        self.pool.put(lot, quantity, self.paid[lot])

    def model_issue(self, lot: int, quantity: int, job: str) -> None:
        cost = self.pool.take(lot, quantity)
        self.jobs[job] = [self.jobs[job][0] + quantity, self.jobs[job][1] + cost]

    def model_return(self, lot: int, quantity: int, job: str) -> None:
        held, worth = self.jobs[job]
        value = worth if quantity == held else half_up(Fraction(worth * quantity, held))
        self.pool.put(lot, quantity, value)
        self.jobs[job] = [held - quantity, worth - value]

    def model_transfer(self, lot: int, quantity: int, part: int, came: int) -> None:
        self.pool.put(part, came, self.pool.take(lot, quantity), first=True)

    def model_lose(self, lot: int, quantity: int) -> None:
        self.gone += self.pool.take(lot, quantity)

    def model_find(self, lot: int, quantity: int) -> None:
        there = sum(held for held, _ in self.lots.values())
        worth = sum(value for _, value in self.lots.values())
        # Where none is left the price list says: 1.15 a metre.
        value = half_up(Fraction(worth * quantity, there) if there else Fraction(115 * quantity, 1000))
        self.pool.put(lot, quantity, value)
        self.found += value

    def some(self, data: st.DataObject, *, raw: bool = False) -> int:
        return data.draw(st.sampled_from(sorted(self.raw if raw else self.lots)))

    def lot(self, pk: int) -> Lot:
        return Lot.objects.select_related("item__material").get(pk=pk)

    @rule(quantity=SMALL, value=st.integers(0, 90_000), raw=st.booleans())
    def receives(self, quantity: int, value: int, raw: bool) -> None:
        facts = {"state": "raw" if raw else "ready"}
        key = uuid4()

        def doing() -> Any:
            return receive(act(key=key), [Arrival(item=self.item, quantity=quantity, value_minor=value, facts=facts)])

        lot = doing().movements.get().lot_id
        self.last = (key, doing)
        self.paid[lot] = value
        self.did("receive", lot, quantity)
        if raw:
            self.raw.add(lot)

    @precondition(lambda self: self.last)
    @rule()
    def sends_the_last_form_again(self) -> None:
        assert self.last is not None
        assert self.last[1]().key == self.last[0]

    @precondition(lambda self: self.lots)
    @rule(data=st.data(), quantity=SMALL, job=st.sampled_from(["Q1", "Q2"]))
    def issues(self, data: st.DataObject, quantity: int, job: str) -> None:
        lot = self.some(data)
        if lot in self.remnants and data.draw(st.booleans()):
            quantity = self.lots[lot][0] or quantity
        whole = sum(there for pk, (there, _) in self.lots.items() if pk not in self.remnants)
        is_kept_from = job != "Q1" and self.is_kept and lot not in self.remnants
        kept = max(0, self.wanted - self.served) if is_kept_from else 0
        # A remnant is none of the whole cloth that kept work could take instead.
        elsewhere = whole if lot in self.remnants else whole - self.lots[lot][0]
        free = self.lots[lot][0] - max(0, kept - elsewhere)
        cut_up = lot in self.remnants and quantity != self.lots[lot][0]
        if quantity > free or cut_up or lot in self.raw:
            with pytest.raises(Refused):
                issue(act(), lot=self.lot(lot), quantity=quantity, job=job)
            return
        issue(act(), lot=self.lot(lot), quantity=quantity, job=job)
        self.did("issue", lot, quantity, job)
        if job == "Q1" and self.is_kept:
            self.served += min(quantity, max(0, self.wanted - self.served))
            self.is_kept = self.served < self.wanted

    @precondition(lambda self: any(held for held, _ in self.jobs.values()))
    @rule(data=st.data(), quantity=SMALL, again=st.booleans())
    def returns(self, data: st.DataObject, quantity: int, again: bool) -> None:
        job = data.draw(st.sampled_from(sorted(name for name, (held, _) in self.jobs.items() if held)))
        lot = self.some(data)
        held = self.jobs[job][0]
        line = self.line if job == "Q1" and again else None
        if quantity > held:
            with pytest.raises(Refused):
                give_back(act(), lot=self.lot(lot), quantity=quantity, job=job, line=line)
            return
        give_back(act(), lot=self.lot(lot), quantity=quantity, job=job, line=line)
        self.did("return", lot, quantity, job)
        if job == "Q1":
            lowered = min(self.served, max(0, quantity - (held - self.served)))
            self.served -= lowered
            self.wanted = max(0, self.wanted - (0 if line else lowered))
            self.is_kept = self.is_kept or line is not None

    @precondition(lambda self: self.raw)
    @rule(data=st.data(), quantity=SMALL, share=st.integers(90, 100))
    def washes(self, data: st.DataObject, quantity: int, share: int) -> None:
        lot = self.some(data, raw=True)
        ready = max(1, quantity * share // 100)
        if lot in self.remnants:
            with pytest.raises(Refused):
                wash(act(), lot=self.lot(lot), quantity=quantity, ready_quantity=ready)
            return
        if quantity > self.lots[lot][0]:
            with pytest.raises(Refused):
                wash(act(), lot=self.lot(lot), quantity=quantity, ready_quantity=ready)
            return
        posting = wash(act(), lot=self.lot(lot), quantity=quantity, ready_quantity=ready)
        self.did("transfer", lot, quantity, posting.movements.get(quantity__gt=0).lot_id, ready)

    @precondition(lambda self: self.lots)
    @rule(data=st.data(), width=st.integers(100, 700), length=st.integers(250, 900))
    def splits(self, data: st.DataObject, width: int, length: int) -> None:
        lot = self.some(data)
        there = self.lot(lot)
        quantity = max(1, width * length // WIDTH)
        fits = lot not in self.remnants and length <= self.lots[lot][0]
        if width < 120 or length < 300 or not fits or quantity > self.lots[lot][0]:
            with pytest.raises(Refused):
                split_off(act(), lot=there, remnant=Remnant(width_mm=width, length_mm=length))
            return
        posting = split_off(act(), lot=there, remnant=Remnant(width_mm=width, length_mm=length))
        part = posting.movements.get(quantity__gt=0).lot_id
        self.did("transfer", lot, quantity, part, quantity)
        self.remnants.add(part)
        if lot in self.raw:
            self.raw.add(part)

    @precondition(lambda self: self.lots)
    @rule(data=st.data(), difference=st.integers(-900, 900).filter(bool))
    def counts(self, data: st.DataObject, difference: int) -> None:
        lot = self.some(data)
        if self.lots[lot][0] + difference < 0:
            with pytest.raises(Refused):
                count(act("counted"), [(self.lot(lot), difference)])
            return
        count(act("counted"), [(self.lot(lot), difference)])
        if difference < 0:
            self.did("lose", lot, -difference)
        else:
            self.did("find", lot, difference)

    @precondition(lambda self: self.lots)
    @rule(data=st.data(), quantity=SMALL)
    def scraps(self, data: st.DataObject, quantity: int) -> None:
        lot = self.some(data)
        if quantity > self.lots[lot][0] or (lot in self.remnants and quantity != self.lots[lot][0]):
            with pytest.raises(Refused):
                scrap(act("scorched"), lot=self.lot(lot), quantity=quantity)
            return
        scrap(act("scorched"), lot=self.lot(lot), quantity=quantity)
        self.did("lose", lot, quantity)

    @precondition(lambda self: self.paid)
    @rule(data=st.data(), difference=st.integers(-60_000, 90_000).filter(bool))
    def learns_what_a_receipt_cost(self, data: st.DataObject, difference: int) -> None:
        lot = data.draw(st.sampled_from(sorted(self.paid)))
        seen, paid = self.paid[lot], self.paid[lot] + difference
        cost = CorrectedCost(lot=self.lot(lot), seen_minor=seen, paid_minor=paid)
        if paid < 0:
            with pytest.raises(Refused):
                correct_costs(act("credit"), [cost])
            return
        correct_costs(act("invoice"), [cost])
        self.paid[lot] += difference
        self.pool, self.jobs = Pool(self.method), {"Q1": [0, 0], "Q2": [0, 0]}
        self.gone = self.found = 0
        for done, *figures in self.log:
            getattr(self, f"model_{done}")(*figures)

    @rule(quantity=st.integers(0, 2500))
    def reserves(self, quantity: int) -> None:
        self.wanted, self.is_kept = quantity, True
        ReservationLine.objects.filter(pk=self.line.pk).update(quantity=quantity)
        Reservation.objects.update(state="open")

    @rule()
    def rebuilds(self) -> None:
        assert audit().differences == ()

    @invariant()
    def books_say_what_the_model_says(self) -> None:
        if not hasattr(self, "item"):
            return
        row = StockItem.objects.get(pk=self.item.pk)
        whole = sum(there for pk, (there, _) in self.lots.items() if pk not in self.remnants)
        pieces = sum(there for pk, (there, _) in self.lots.items() if pk in self.remnants)
        worth = sum(value for _, value in self.lots.values())
        assert (row.on_hand, row.in_remnants, row.value_minor) == (whole, pieces, worth)
        kept = dict(Lot.objects.filter(item=row).values_list("pk", "on_hand"))
        assert kept == {pk: there for pk, (there, _) in self.lots.items()}
        for job, (_, cost) in self.jobs.items():
            booked = Movement.objects.filter(posting__job=job).aggregate(value=Sum("value_minor"))["value"]
            assert -(booked or 0) == cost
        assert worth == sum(self.paid.values()) + self.found - self.gone - sum(cost for _, cost in self.jobs.values())
        if self.method is Method.LOT:
            values = Movement.objects.filter(item=row).values_list("lot").annotate(value=Sum("value_minor"))
            assert dict(values) == {pk: value for pk, (_, value) in self.lots.items()}
        line = ReservationLine.objects.get(pk=self.line.pk)
        assert (line.issued, line.quantity) == (self.served, self.wanted)


@pytest.mark.django_db
@pytest.mark.parametrize("method", list(Method))
def test_random_acts_leave_the_books_as_a_plain_model_has_them(method: Method):
    machine = type(f"Shelf_{method}", (Shelf,), {"method": method})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=12, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )
