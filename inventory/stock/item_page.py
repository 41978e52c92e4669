"""An item's page: what is there and for whom, where each figure comes from, what is coming, what it cost."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import BONES, KINDS, kind_of
from inventory.ground.measures import BASES_PER_UNIT, quantity_text, signed_quantity_text
from inventory.ground.wording import day_text, late_text, minor_text, unit_cost_text
from inventory.models import KeptPlan, Lot, Movement, Offer, ReservationLine, StockItem, Substitute
from inventory.reckoning.balance_drawing import balance_plot
from inventory.reckoning.projection import Change, projected
from inventory.replenish.forecast import told_per_week
from inventory.reserving.availability import Arriving, Availability, availability
from inventory.reserving.page import largest_text
from inventory.reserving.reservations import active_lines
from inventory.stock.correcting import landed_receipts
from inventory.suppliers.terms import offer_words
from inventory.use.running_out import changes_of, expected_use, run_out

__all__ = [
    "ItemPage",
    "LotRow",
    "item_page",
    "lot_row",
]

LAST = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot as a row."""

    pk: int
    words: str
    size: str
    on_hand: str
    state: str
    supplier: str
    place: str
    kept_for: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemPage:
    """All that an item's page shows, as text."""

    reserve: str
    figures: list[tuple[str, str, list[tuple[str, str]]]]  # what, how much, where it comes from
    facts: list[tuple[str, str]]
    lots: list[LotRow]
    remnants: list[LotRow]
    kept: list[tuple[ReservationLine, str]]
    arriving: list[tuple[Arriving, str, str]]
    plot: str
    offers: list[tuple[Offer, str, str]]
    prices: list[tuple[str, str, str]]
    movements: list[tuple[Movement, str, str]]
    substitutes: list[Substitute]
    freely_shorter: str


def item_page(item: StockItem, *, on: date, currency: str) -> ItemPage:
    """Return an item's page as it stands on a day."""
    standing = availability([item.pk], on=on)[item.pk]
    lines = list(active_lines(on=on).filter(item=item).select_related("reservation").order_by("reservation__needed_by"))
    arriving = standing.arriving
    kept_from: dict[int, list[str]] = defaultdict(list)
    for line in lines:
        if line.lot_id:
            kept_from[line.lot_id].append(line.reservation.reference)
    there = item.lots.filter(on_hand__gt=0).select_related("supplier", "item__material")
    lots = [lot_row(lot, kept_for=kept_from[lot.pk]) for lot in there]
    movements = item.movements.select_related("posting__by", "lot").order_by("-id")[:LAST]
    return ItemPage(
        reserve=quantity_text(item.safety, item.unit),
        figures=[
            *_figures(item, standing, lines, arriving, currency, lots=sum(not row.size for row in lots)),
            *_runs_out(item, standing, lines, on),
            *_ordered_again(item),
        ],
        facts=_facts(item),
        lots=[row for row in lots if not row.size],
        remnants=[row for row in lots if row.size],
        kept=[(line, quantity_text(line.remaining, item.unit)) for line in lines],
        arriving=[
            *((arrival, quantity_text(arrival.quantity, item.unit), _expected_words(arrival)) for arrival in arriving),
            *(
                (arrival, quantity_text(arrival.quantity, item.unit), _overdue_words(arrival))
                for arrival in standing.overdue
            ),
        ],
        plot=_plot(item, changes_of(lines, arriving, on=on), on),
        offers=[(offer, *offer_words(offer)) for offer in item.offers.select_related("supplier", "item__material")],
        prices=_prices(item, currency),
        movements=[
            (
                movement,
                signed_quantity_text(movement.quantity, item.unit),
                minor_text(movement.value_minor, currency),
            )
            for movement in movements
        ],
        substitutes=list(item.substitutes.select_related("stand_in__material")),
        freely_shorter=_freely_shorter(item),
    )


def lot_row(lot: Lot, *, kept_for: Sequence[str] = ()) -> LotRow:
    """Return a lot as a row; its item and material are loaded."""
    return LotRow(
        pk=lot.pk,
        words=str(lot),
        size=lot.remnant_size,
        on_hand=quantity_text(lot.on_hand, lot.item.unit),
        state=lot.get_state_display() if lot.item.material.is_cloth else "Begun" if lot.is_open else "",
        supplier=str(lot.supplier or ""),
        place=lot.place or lot.item.place,
        kept_for=", ".join(kept_for),
    )


def _figures(
    item: StockItem,
    standing: Availability,
    lines: Sequence[ReservationLine],
    arriving: Sequence[Arriving],
    currency: str,
    *,
    lots: int,
) -> list[tuple[str, str, list[tuple[str, str]]]]:
    unit = item.unit

    def amount(quantity: int) -> str:
        return quantity_text(quantity, unit)

    average = _average(item, currency)
    crumbs = f" − {amount(standing.crumbs)} in crumbs that no job can use" if standing.crumbs else ""
    washed = f" − {amount(standing.washes_off)} that raw cloth loses in the wash" if standing.washes_off else ""
    largest = largest_text(standing, item)
    worth = minor_text(item.value_minor, currency)
    figures = [
        (
            "On hand",
            f"{amount(item.on_hand)}, {largest}" if largest else amount(item.on_hand),
            [
                ("Counted", f"What the ledger says lies there whole, in {lots} lots."),
                *([("Crumbs", f"{amount(standing.crumbs)} of it in rests that no job can use.")] if crumbs else []),
            ],
        ),
        (
            "Free",
            amount(standing.free),
            [
                (
                    "Formula",
                    f"{amount(standing.on_hand)} on hand{washed}{crumbs} − {amount(standing.firm)} for accepted work "
                    f"− {amount(standing.soft)} for quotes that are out",
                ),
                *(
                    (line.reservation.reference, f"{amount(line.remaining)}, by {day_text(line.reservation.needed_by)}")
                    for line in lines
                ),
            ],
        ),
        (
            "On order",
            amount(standing.on_order),
            [
                *(
                    (f"Order {arrival.order}", f"{amount(arrival.quantity)}, expected {_expected_words(arrival)}")
                    for arrival in arriving
                ),
                *(
                    (f"Order {arrival.order}", f"{amount(arrival.quantity)} not counted: {_overdue_words(arrival)}")
                    for arrival in standing.overdue
                ),
            ]
            or [("Counted", "No order is open.")],
        ),
        ("Worth", worth, [("Formula", "The sum of all movements' values; " + average)]),
    ]
    if item.in_remnants:
        figures.insert(
            1,
            (
                "In remnants",
                amount(item.in_remnants),
                [
                    (
                        "Counted",
                        "The area of the remnants as a length of the full usable width; not part of what is on hand.",
                    )
                ],
            ),
        )
    return figures


def _runs_out(
    item: StockItem, standing: Availability, lines: Sequence[ReservationLine], on: date
) -> list[tuple[str, str, list[tuple[str, str]]]]:
    """What is expected to be used of it, and when it runs out; neither for what is bought for the job and not short."""
    still_used = StockItem.objects.filter(material__is_retired=False).values_list("pk", flat=True)
    per_week = expected_use(still_used, on=on).get(item.pk, 0.0)
    found = run_out(standing.usable, lines, standing.arriving, per_week=per_week, on=on)
    told = _amount(told_per_week(per_week / BASES_PER_UNIT[item.unit]), item)
    figures = []
    if per_week:
        forecast = "What was used in the last two years tells it, as it does when orders are planned."
        figures.append(("Expected a week", told, [("Forecast", forecast)]))
    if per_week or found.day is not None:
        formula = (
            f"{quantity_text(standing.usable, item.unit)} that can be used, plus what is on order and counted on, less what "
            f"accepted work takes until then, or {told} a week where more than that is expected to be used."
        )
        when = "today" if found.day == on else day_text(found.day) or "not within a year"
        figures.append(("Runs out", when, [("Formula", formula)]))
    return figures


def _ordered_again(item: StockItem) -> list[tuple[str, str, list[tuple[str, str]]]]:
    """What must be there beyond accepted work, by the last look at the shelf."""
    kept = KeptPlan.objects.first()
    row = next((row for row in kept.plan.expected if row.material == item.code), None) if kept else None
    if kept is None or row is None:
        return []
    looked = f"Looked at on {day_text(timezone.localdate(kept.made_at))}. {kept.plan.rules.get(item.code, '')}"
    reasons = [("Counted", "Beyond what accepted work needs."), ("Forecast", looked)]
    return [("Ordered again at", _amount(row.reserve, item), reasons)]


def _amount(amount: Decimal, item: StockItem) -> str:
    return f"{amount.normalize():f} {item.unit.value}"


def _expected_words(arriving: Arriving) -> str:
    late = late_text(arriving.late_days)
    return f"{day_text(arriving.expected_on)}{f', {late}' if late else ''}"


def _overdue_words(arriving: Arriving) -> str:
    """The order is too late to be counted on."""
    return f"{late_text(arriving.late_days)}: it should have come on {day_text(arriving.expected_on)}"


def _average(item: StockItem, currency: str) -> str:
    if not item.there:
        return "none is left."
    return f"{unit_cost_text(round(item.average_cost(currency), 4), currency)} a {item.unit.value} on average."


def _facts(item: StockItem) -> list[tuple[str, str]]:
    material = item.material
    facts = [("Kind", str(material.get_kind_display())), ("Colour", material.colour)]
    if material.is_cloth:
        facts.append(("Usable width", f"{material.usable_width_mm} mm"))
        facts.append(
            ("Shrinkage along", f"{material.shrinkage_permille / 10:g} %" if material.shrinkage_permille else "")
        )
        facts.append(("Nap", "One way only" if material.has_nap else ""))
    if material.width_tenths_mm:
        facts.append(("Width", f"{material.width_tenths_mm / 10:g} mm"))
    for fact in KINDS[kind_of(material.kind)].facts:
        value = material.facts.get(fact.name, "")
        facts.append((fact.label, f"{value} {fact.unit}".strip() if value else ""))
    facts.append(("Place", item.place))
    return [(label, words) for label, words in facts if words]


def _plot(item: StockItem, changes: Sequence[Change], on: date) -> str:
    """The balance as accepted work takes and orders bring; empty where neither is there."""
    if not changes:
        return ""
    points = projected(item.on_hand, changes)
    words = [f"{quantity_text(point.balance, item.unit)}" for point in points]
    return balance_plot(item.on_hand, points, start=on, words=words, title=f"Projected stock of {item}")


def _freely_shorter(item: StockItem) -> str:
    """What stands in for a bone of a length by the trade's rule; empty for what has none."""
    if item.material.kind not in BONES or not item.size_tenths_mm:
        return ""
    shorter = shelf_defaults().buying.freely_shorter_mm
    return f"One of the same form up to {shorter} mm shorter stands in without being asked for; never a longer one."


def _prices(item: StockItem, currency: str) -> list[tuple[str, str, str]]:
    """What was paid, landed, per stock unit; and what quotes took."""
    paid = [
        (
            day_text(landed.receipt.day),
            unit_cost_text(round(landed.unit_cost(currency), 4), currency),
            f"landed, {landed.receipt.lot.supplier}" if landed.receipt.lot.supplier else "landed",
        )
        for landed in landed_receipts(item=item, last=LAST)
    ]
    own = item.unit_cost if item.own_cost_millionths is not None else None
    today = [] if own is None else [("today", unit_cost_text(own, currency), "price for quotes, of its own")]
    # The history is of the material's price, which is for its own form.
    history = item.material.price_records.all()[: 0 if item.form else LAST]
    listed = [
        (
            day_text(timezone.localdate(price.since)),
            unit_cost_text(price.unit_cost, currency),
            f"price for quotes: {price.source}",
        )
        for price in history
    ]
    return today + paid + listed
