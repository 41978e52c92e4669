"""Use cases of reordering: the question that the books put, the joint order that answers it, and orders made from it once."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.buying.purchasing import OrderWish, draft_order
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, refuse, warn
from inventory.ground.materials import BONES
from inventory.ground.measures import amount_of, pack_text, quantity_of, quantity_text
from inventory.ground.money import currency_of
from inventory.ground.wording import late_text
from inventory.models import (
    KeptPlan,
    Offer,
    PurchaseOrder,
    Shelf,
    StockItem,
    Substitute,
    Supplier,
)
from inventory.replenish import plan_review, printed_plan
from inventory.replenish.explain import toppings_up, waiting_without
from inventory.replenish.explained_plan import EXPLAINED_PLAN, ExplainedLine, ExplainedOrder, ExplainedPlan
from inventory.replenish.one_lot import stranded
from inventory.replenish.plan_json import PrintedLine, PrintedOrder, PrintedPlan, problem_fingerprint
from inventory.replenish.possible import without_the_impossible
from inventory.replenish.problem import Demand, OpenOrder, OrderLine, Plan, Problem, Stocked, Tier
from inventory.replenish.problem import Offer as PlannedOffer
from inventory.replenish.problem import Supplier as PlannedSupplier
from inventory.replenish.watch import Watch
from inventory.reserving.availability import Arriving, on_order
from inventory.reserving.lying import Lying, lying
from inventory.reserving.reservations import firm_lines, starts_on
from inventory.shelf.settings import shelf
from inventory.suppliers.terms import expected_on, home_amount, late_on, offers_on, ready_pack
from inventory.use.expected_use import watch_of

__all__ = ["Question", "make_orders", "plan_reorder", "plan_to_keep", "planned", "question"]

Told = TypeVar("Told", ExplainedPlan, ExplainedOrder, ExplainedLine)

EXPLAIN_SECONDS = 4.0  # for all orders of a plan together


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the books ask to be bought: the problem, how the shelf is watched, and what cannot be asked."""

    problem: Problem
    watch: Watch
    offers: Mapping[PlannedOffer, int]  # the kept offer that each one of the problem is
    findings: tuple[Finding, ...]

    @property
    def fingerprint(self) -> str:
        """The same as long as stock, needs, open orders, offers and past use are the same."""
        return problem_fingerprint(self.problem, self.watch)


def question(*, on: date) -> Question:
    """Return what stock, firm reservations, open orders, offers and policies ask for on a day."""
    bought_still = StockItem.objects.filter(material__is_retired=False).select_related("material")
    items = {item.pk: item for item in bought_still.defer("material__lengths_tenths_mm", "material__facts")}
    kept_offers = _offers(items, on)
    offers = list(kept_offers)
    watch = watch_of(items.values(), on=on)
    needs = _needs(items, on)
    substitutes = _substitutes(items)
    ordered = on_order(on=on)
    arriving = [arrival for arrival in ordered.coming if arrival.item in items]
    asked = {need.material for need in needs}
    asked |= {item.code for item in items.values() if _own_reserve(item)}
    # Offers of what nobody needs may fill an order up; of the rest, only what is asked for matters.
    sold = {offer.material for offer in offers}
    stand_ins = {code for own, others in substitutes.items() if own in asked for code in others}
    used = {use.material for use in watch.history}
    through_stand_ins = {own for own, others in substitutes.items() if own in used and not sold.isdisjoint(others)}
    codes = asked | stand_ins | sold | through_stand_ins
    relevant = {pk: item for pk, item in items.items() if item.code in codes}
    settings, there = shelf(), lying(relevant)
    odd = _stranded(relevant, needs, there)
    problem = Problem(
        currency=currency_of(settings.currency),
        as_of=on,
        holding_share_per_year=Decimal(settings.holding_percent_per_year) / 100,
        surplus_days=Decimal(settings.surplus_days),
        materials=tuple(
            Stocked(
                code=item.code,
                unit=unit.value,
                on_hand=amount_of(max(0, there[pk].usable - odd.get(pk, 0)), unit),
                safety=amount_of(_own_reserve(item), unit),
                unit_value=_unit_value(item, settings.currency),
                substitutes=tuple(code for code in substitutes.get(item.code, ()) if code != item.code),
            )
            for pk, item in relevant.items()
            for unit in [item.unit]
        ),
        needs=tuple(needs),
        open_orders=tuple(
            OpenOrder(
                material=items[arrival.item].code,
                quantity=items[arrival.item].material.once_washed(
                    amount_of(arrival.quantity, items[arrival.item].unit)
                ),
                day=arrival.expected_on,
            )
            for arrival in arriving
            if arrival.item in relevant
        ),
        offers=tuple(offers),
        suppliers=_suppliers(on, {offer.supplier for offer in offers}),
    )
    problem, findings = without_the_impossible(problem)
    return Question(
        problem=problem,
        watch=watch,
        offers=kept_offers,
        findings=(*findings, *_of_odd_lots(relevant, odd), *_of_overdue(relevant, ordered.overdue), *_of_retired()),
    )


def planned(*, on: date, seconds: float) -> tuple[Question, Plan]:
    """Return the joint order of a day and the question that it answers; nothing is kept. Raises Refused."""
    asked = question(on=on)
    plan = plan_review(asked.problem, asked.watch, seconds=seconds)
    return asked, replace(plan, findings=(*asked.findings, *plan.findings))


def plan_to_keep(*, on: date, user: User | None, seconds: float) -> KeptPlan:
    """Return the joint order with its reasons, not saved yet. Raises Refused where no plan is found in time."""
    asked, plan = planned(on=on, seconds=seconds)
    document = EXPLAINED_PLAN.written(_explained(plan, asked))
    return KeptPlan(made_at=timezone.now(), question=asked.fingerprint, document=document, made_by=user)


def plan_reorder(*, on: date, user: User | None, seconds: float) -> KeptPlan:
    """Work the joint order out and keep it with its reasons. Raises Refused where no plan is found in time."""
    kept = plan_to_keep(on=on, user=user, seconds=seconds)
    kept.save()
    return kept


@transaction.atomic
def make_orders(kept: KeptPlan, *, user: User | None, on: date) -> list[PurchaseOrder]:
    """Draft the plan's orders, one a supplier; a second click finds them made.

    Raises:
        Refused: stock, needs, orders or offers have changed since the plan was made; it has no orders.
    """
    # One at a time: two plans of the same books are not both ordered.
    Shelf.objects.select_for_update().get(pk=1)
    kept = KeptPlan.objects.select_for_update().get(pk=kept.pk)
    if kept.ordered_at is not None:
        raise refuse("reorder.ordered", str(kept), "The orders of this plan were made already.", "Plan anew.")
    if question(on=on).fingerprint != kept.question:
        raise refuse(
            "reorder.books-moved",
            str(kept),
            "Stock, needs, orders or offers have changed since this plan was made.",
            "Plan anew: nothing is ordered twice.",
        )
    if not kept.plan.orders:
        raise refuse("reorder.empty", str(kept), "The plan orders nothing.")
    keys = [line.offer for order in kept.plan.orders for line in order.lines]
    offers = Offer.objects.select_related("supplier", "item__material").in_bulk(keys)
    orders = []
    for order in kept.plan.orders:
        wishes = [OrderWish(offer=offers[line.offer], packs=line.packs, why=line.why[:300]) for line in order.lines]
        orders.append(draft_order(wishes[0].offer.supplier, wishes, user=user, on=on))
    KeptPlan.objects.filter(pk=kept.pk).update(ordered_at=timezone.now())
    return orders


def _needs(items: Mapping[int, StockItem], on: date) -> list[Demand]:
    """What firm work still needs, dated."""
    lines = firm_lines().filter(item__material__is_retired=False).select_related("reservation")
    return [
        Demand(
            material=items[line.item_id].code,
            quantity=amount_of(line.remaining, items[line.item_id].unit),
            day=starts_on(line.reservation, on=on),
            job=line.reservation.reference,
        )
        for line in lines
    ]


def _own_reserve(item: StockItem) -> int:
    """The reserve that the maker set, in base units."""
    return item.safety if item.policy == StockItem.Policy.SAFETY else 0


def _stranded(items: Mapping[int, StockItem], needs: Sequence[Demand], there: Mapping[int, Lying]) -> dict[int, int]:
    """What lies in lots too small for firm work that is taken from one lot, and that nothing else needs, by item."""
    whole: dict[int, list[int]] = defaultdict(list)
    for line in firm_lines().filter(needs_one_lot=True, item__in=items):
        whole[line.item_id].append(line.remaining)
    wanted: dict[str, Decimal] = defaultdict(Decimal)
    for need in needs:
        wanted[need.material] += need.quantity
    in_small_lots = {}
    for pk, needed in whole.items():
        loose = quantity_of(wanted[items[pk].code], items[pk].unit) - sum(needed) + _own_reserve(items[pk])
        in_small_lots[pk] = stranded(list(there[pk].lots.values()), needed, loose)
    return {pk: amount for pk, amount in in_small_lots.items() if amount}


def _of_odd_lots(items: Mapping[int, StockItem], odd: Mapping[int, int]) -> list[Finding]:
    return [
        warn(
            "reorder.odd-lots",
            items[pk].code,
            f"{quantity_text(amount, items[pk].unit)} of {items[pk]} lie in lots too small for what is taken from one lot.",
            "They are not counted on; use them where it does not show.",
        )
        for pk, amount in odd.items()
    ]


def _of_overdue(items: Mapping[int, StockItem], overdue: Iterable[Arriving]) -> list[Finding]:
    """What is too late to be counted on may be bought a second time: that is said."""
    return [
        warn(
            "reorder.overdue",
            items[arrival.item].code,
            f"{quantity_text(arrival.quantity, items[arrival.item].unit)} of {items[arrival.item]} in order {arrival.order}, "
            f"{late_text(arrival.late_days)}, are not counted on and may be ordered a second time.",
            "Write a new day for the order, or cancel it, and plan anew.",
        )
        for arrival in overdue
        if arrival.item in items
    ]


def _offers(items: Mapping[int, StockItem], on: date) -> dict[PlannedOffer, int]:
    """Offers in the studio's money with their keys."""
    home = currency_of(shelf().currency)
    offers = list(offers_on(on).select_related(None))
    suppliers = {supplier.pk: supplier for supplier in Supplier.objects.all()}
    kept_offers: dict[PlannedOffer, int] = {}
    for offer in offers:
        item, supplier = items.get(offer.item_id), suppliers[offer.supplier_id]
        if item is None:
            continue
        kept_offers.setdefault(
            PlannedOffer(
                supplier=supplier.code,
                material=item.code,
                pack=ready_pack(offer, item),
                minimum_packs=offer.minimum_packs,
                tiers=tuple(
                    Tier(
                        from_packs=tier.from_packs,
                        price=home_amount(
                            tier.price_minor, supplier.rate_millionths, theirs=currency_of(supplier.currency), home=home
                        ),
                    )
                    for tier in offer.tiers
                ),
            ),
            offer.pk,
        )
    return kept_offers


def _suppliers(on: date, codes: set[str]) -> tuple[PlannedSupplier, ...]:
    home = currency_of(shelf().currency)

    def at_home(supplier: Supplier, amount: int | None) -> Decimal | None:
        if amount is None:
            return None
        return home_amount(amount, supplier.rate_millionths, theirs=currency_of(supplier.currency), home=home)

    return tuple(
        PlannedSupplier(
            code=supplier.code,
            lead_days=(expected_on(supplier, ordered_on=on) - on).days,
            late_days=(late_on(supplier, ordered_on=on) - on).days,
            postage=at_home(supplier, supplier.postage_minor) or Decimal(0),
            postage_free_from=at_home(supplier, supplier.postage_free_from_minor),
            minimum_order=at_home(supplier, supplier.minimum_order_minor),
        )
        for supplier in Supplier.objects.filter(code__in=codes).order_by("code")
    )


def _substitutes(items: Mapping[int, StockItem]) -> dict[str, list[str]]:
    """What may stand in for what: as the maker allows it unasked, and bones of one form a little shorter."""
    allowed: dict[str, list[str]] = defaultdict(list)
    for own, stand_in in Substitute.objects.filter(ask=False).values_list("item", "stand_in"):
        if own in items and stand_in in items:
            allowed[items[own].code].append(items[stand_in].code)
    alike: dict[tuple[int, str], list[StockItem]] = defaultdict(list)
    for item in items.values():
        if item.material.kind in BONES and item.size_tenths_mm:
            alike[item.material_id, item.form].append(item)
    freely_shorter_tenths = 10 * shelf_defaults().buying.freely_shorter_mm
    for sizes in alike.values():
        for longer in sizes:
            for shorter in sizes:
                if 0 < longer.size_tenths_mm - shorter.size_tenths_mm <= freely_shorter_tenths:
                    allowed[longer.code].append(shorter.code)
    return {code: list(dict.fromkeys(others)) for code, others in allowed.items()}


def _unit_value(item: StockItem, currency: str) -> Decimal:
    """What a stock unit is worth: the ledger's average, or the price of the list where nothing is left."""
    if not item.there or not item.value_minor:
        return round(item.unit_cost or Decimal(0), 6)
    return round(item.average_cost(currency), 6)


def _of_retired() -> list[Finding]:
    """Firm work that needs a material which is no longer used: it is not bought, and that is said."""
    lines = firm_lines().filter(item__material__is_retired=True).select_related("item__material", "reservation")
    return [
        warn(
            "reorder.retired",
            line.item.code,
            f"{line.reservation.reference} needs {quantity_text(line.remaining, line.item.unit)} of {line.item}, "
            "which is no longer used.",
            "Use it again, or change the quote.",
        )
        for line in lines
    ]


def _explained(plan: Plan, asked: Question) -> ExplainedPlan:
    """The plan as the command prints it, and beside it what a page says more."""
    printed = printed_plan(plan)
    waiting = waiting_without(plan)
    toppings = toppings_up(plan, seconds=EXPLAIN_SECONDS)
    sold = Offer.objects.in_bulk(asked.offers.values())

    def line_of(row: PrintedLine, line: OrderLine) -> ExplainedLine:
        offer = sold[asked.offers[line.offer]]
        pack = pack_text(offer.pack_thousandths, offer.pack_unit)
        return _more(ExplainedLine, row, offer=offer.pk, pack=pack, waiting=waiting[line])

    orders = tuple(
        _more(
            ExplainedOrder,
            row,
            lines=tuple(line_of(*both) for both in zip(row.lines, order.lines, strict=True)),
            topping_up=toppings.get(row.supplier),
        )
        for row, order in zip(printed.orders, plan.orders, strict=True)
    )
    assert plan.watched is not None
    return _more(
        ExplainedPlan,
        printed,
        orders=orders,
        rules={row.material: row.rule for row in plan.watched.expected},
        next_orders=plan.watched.next_orders,
        waiting=plan.watched.waiting,
    )


def _more(kind: type[Told], printed: PrintedPlan | PrintedOrder | PrintedLine, **more: object) -> Told:
    """What is printed, with more of it told."""
    return kind(**{**{entry.name: getattr(printed, entry.name) for entry in fields(printed)}, **more})
