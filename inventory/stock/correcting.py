"""The use case that corrects what receipts cost: an invoice that comes after the goods, a credit, freight told later.

Nothing that was posted changes. What the receipt cost more or less is added to its lot; what of it was used already leaves
again, as a cost of those who used it, so that the books stand as if the cost had been known from the start
(`inventory.reckoning.price_known`). All of it is booked on the day of the correction: a month that is closed keeps its
figures, and what belongs to it comes to light in the open one under the reason of the correction.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import uuid5

from django.db import transaction
from django.db.models import F, Q, Sum
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.measures import amount_of
from inventory.ground.money import currency_of
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.reckoning.price_known import Way, replayed
from inventory.reckoning.valuation import Method
from inventory.stock.posting import MOST, Act, Change, fingerprint_of, post
from inventory.stock.valuing import history_of, kin_of

__all__ = ["CorrectedCost", "LandedReceipt", "correct_costs", "landed_receipts", "paid_minor"]

Kind = Posting.Kind
_PAID = (Kind.RECEIPT, Kind.CORRECTION)


@dataclass(frozen=True, slots=True, kw_only=True)
class LandedReceipt:
    """A receipt with its item, material and lot, and what it cost with all corrections, in minor units."""

    receipt: Movement
    paid_minor: int

    def unit_cost(self, currency: str) -> Decimal:
        """What one stock unit of it cost, in the studio's currency."""
        return currency_of(currency).from_minor(self.paid_minor) / amount_of(
            self.receipt.quantity, self.receipt.item.unit
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedCost:
    """What the receipt of a lot cost in the end, and what it was seen to have cost in the books; minor units."""

    lot: Lot
    seen_minor: int
    paid_minor: int

    @property
    def difference(self) -> int:
        """What it cost more, below zero for a credit."""
        return self.paid_minor - self.seen_minor


@dataclass(frozen=True, slots=True, order=True)
class _Whose:
    """Which earlier acts came to cost something else."""

    kind: str
    job: str = ""
    purpose: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Difference:
    whose: _Whose
    item: int
    lot: int
    value: int


def paid_minor(lots: Iterable[int]) -> dict[int, int]:
    """Return by lot what its receipt cost with all corrections, in minor units; none for lots made from other lots."""
    receipts = Movement.objects.filter(lot__in=lots, posting__kind__in=_PAID)
    return dict(receipts.order_by().values_list("lot").annotate(paid=Sum("value_minor")))


def landed_receipts(*, last: int | None = None, **narrowed: Any) -> list[LandedReceipt]:
    """Return receipts, the last first, at most `last` of them; `narrowed` by fields of their movements."""
    receipts = Movement.objects.filter(posting__kind=Kind.RECEIPT, **narrowed)
    receipts = receipts.select_related("item__material", "lot__supplier").order_by("-id")
    paid = Sum("lot__movements__value_minor", filter=Q(lot__movements__posting__kind__in=_PAID))
    return [LandedReceipt(receipt=row, paid_minor=row.paid) for row in receipts.annotate(paid=paid)[:last]]


def correct_costs(act: Act, costs: Sequence[CorrectedCost]) -> Posting:
    """Post what the receipts of lots cost beyond what the books say; the reason stands in `act.why`.

    Args:
        costs: each lot once, in the studio's currency; those that cost what the books say are left out.

    Returns:
        The posting that says what the receipts cost more; its `consequences` are what those cost more who used of them.

    Raises:
        Refused: no reason, no difference, a lot that was made from another one, a receipt that would cost less than
            nothing or was corrected since it was seen, a day of a closed month.
    """
    if not act.why.strip():
        raise refuse("ledger.no-cause", "why", "A cost is corrected for a reason.", "Say why.")
    told = [cost for cost in costs if cost.difference]
    if not told:
        raise refuse("ledger.nothing-corrected", "what it cost", "It costs what the books say.", "Say what it cost.")
    found: list[_Difference] = []

    def changes(method: Method) -> Iterable[Change]:
        _must_be_believable(told)
        more = {cost.lot.pk: cost.difference for cost in told}
        # What was cut while this waited for its items is kin of them now, and grows no more.
        kin = kin_of(touched)
        list(StockItem.objects.select_for_update().filter(pk__in=kin - touched).order_by("pk"))
        found.extend(_differences(method, kin, more))
        return ()

    with transaction.atomic():
        figures = [[cost.lot.pk, cost.seen_minor, cost.paid_minor] for cost in told]
        touched = kin_of({cost.lot.item_id for cost in told})
        posting = post(act, Kind.CORRECTION, touched, figures, changes)
        if found:
            _keep(posting, act, found)
    return posting


def _must_be_believable(told: Sequence[CorrectedCost]) -> None:
    paid = paid_minor(cost.lot.pk for cost in told)
    for cost in told:
        where = f"{cost.lot.item}, {cost.lot}"
        if cost.lot.pk not in paid:
            raise refuse(
                "ledger.not-received",
                where,
                "This lot was made from another one.",
                "Correct what the lot cost that came from the supplier.",
            )
        if paid[cost.lot.pk] != cost.seen_minor:
            raise refuse("ledger.cost-changed", where, "Its cost was corrected since.", "Open it again and look.")
        if cost.paid_minor < 0:
            raise refuse("ledger.below-nothing", where, "It would have cost less than nothing.", "Check the amount.")
        if cost.paid_minor > MOST:
            raise refuse("ledger.too-much", where, "That is more than can be kept.", "Check the amount.")


def _differences(method: Method, items: Collection[int], told: dict[int, int]) -> Iterator[_Difference]:
    """What each act came to cost beyond what it did with the corrections so far, by whose it was, item and lot."""
    steps, before = history_of(items)
    after = {lot: before.get(lot, 0) + told.get(lot, 0) for lot in before.keys() | told}
    was, now = (replayed(steps.values(), more, method).values for more in (before, after))
    whose = {
        pk: _Whose(*facts)
        for pk, *facts in Movement.objects.filter(item__in=items).values_list(
            "pk", "posting__kind", "posting__job", "posting__purpose", "posting__cause"
        )
    }
    sums: dict[tuple[_Whose, int, int], int] = defaultdict(int)
    for (pk, step), old, new in zip(steps.items(), was, now, strict=True):
        sums[_Whose(Kind.CORRECTION) if step.way is Way.RECEIPT else whose[pk], step.item, step.lot] += new - old
    for (acts, item, lot), value in sums.items():
        if value:
            yield _Difference(whose=acts, item=item, lot=lot, value=value)


def _keep(correction: Posting, act: Act, found: Sequence[_Difference]) -> None:
    """Add the movements, and their sum to each item: a credit may be more than what is left is worth before it is shared."""
    day, now = act.day or timezone.localdate(), timezone.now()
    by_whose: dict[_Whose, list[_Difference]] = defaultdict(list)
    for difference in found:
        by_whose[difference.whose].append(difference)
    postings = {_Whose(Kind.CORRECTION): correction}
    for whose in sorted(by_whose.keys() - postings.keys()):
        figures = [[difference.lot, difference.value] for difference in by_whose[whose]]
        postings[whose] = Posting.objects.create(
            key=uuid5(act.key, "/".join((whose.kind, whose.job, whose.purpose, whose.cause))),
            fingerprint=fingerprint_of(Kind(whose.kind), figures, job=whose.job),
            kind=whose.kind,
            job=whose.job,
            purpose=whose.purpose,
            why=act.why,
            cause=whose.cause,
            at=now,
            by=act.by,
            corrected_by=correction,
        )
    Movement.objects.bulk_create(
        Movement(
            posting=posting,
            item_id=difference.item,
            lot_id=difference.lot,
            day=day,
            quantity=0,
            value_minor=difference.value,
        )
        for whose, posting in postings.items()
        for difference in by_whose[whose]
    )
    for item in sorted({difference.item for difference in found}):
        net = sum(difference.value for difference in found if difference.item == item)
        StockItem.objects.filter(pk=item).update(value_minor=F("value_minor") + net)
