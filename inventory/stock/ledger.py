"""Use cases of the ledger: receive, issue, return, scrap, wash, split off, count.

Each is one short transaction: the items are locked, what is there is looked at again, the movements are added and the
balances with them. A key makes an act that is sent twice count once; what cannot be done is refused and leaves nothing.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import uuid5

from django.db import transaction
from django.db.models import F, Sum
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, Movement, Posting, ReservationLine, StockItem
from inventory.reckoning.valuation import Layer, Method, take
from inventory.reserving.serving import lines_of, lower, must_be_free, serve, spelled
from inventory.shelf.settings import shelf
from inventory.stock.memory_prices import Paid, locked_from_memory, price_by_receipt
from inventory.stock.moved import must_not_have_moved
from inventory.stock.posting import MOST, Act, Change, fingerprint_of, post
from inventory.stock.remnants import Remnant, equivalent, must_be_worth_keeping, must_go_whole
from inventory.stock.valuing import cost_of, lot_now, must_hold

__all__ = [
    "MOST",
    "Act",
    "Arrival",
    "Remnant",
    "count",
    "fingerprint_of",
    "give_back",
    "issue",
    "issue_among",
    "receive",
    "scrap",
    "split_off",
    "sweep_out",
    "wash",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """What came in: so many base units at a cost in minor units, landed; facts of its lot in `facts`."""

    item: StockItem
    quantity: int
    value_minor: int
    facts: dict[str, Any] = field(default_factory=dict)


def receive(act: Act, arrivals: Sequence[Arrival]) -> Posting:
    """Put goods on the shelf, a new lot each; what they cost takes the place of a price from memory.

    Raises:
        Refused: an amount below one base unit.
    """

    def changes(method: Method) -> Iterable[Change]:
        for arrival in arrivals:
            if arrival.quantity <= 0:
                raise refuse("ledger.nothing", str(arrival.item), "Nothing would be received.", "Say how much came.")
            lot = Lot.objects.create(item=arrival.item, received_on=act.day or timezone.localdate(), **arrival.facts)
            yield Change(lot, arrival.quantity, arrival.value_minor)

    figures = [[arrival.item.pk, arrival.quantity, arrival.value_minor, _plain(arrival.facts)] for arrival in arrivals]
    with transaction.atomic():
        marked = locked_from_memory({arrival.item.material_id for arrival in arrivals})
        posting = post(act, Posting.Kind.RECEIPT, {arrival.item.pk for arrival in arrivals}, figures, changes)
        paid = [
            Paid(arrival.item.material_id, arrival.quantity, arrival.value_minor)
            for arrival in arrivals
            if not arrival.item.form and arrival.item.own_cost_millionths is None
        ]
        price_by_receipt(marked, paid)
    return posting


def issue(
    act: Act,
    *,
    lot: Lot,
    quantity: int,
    job: str = "",
    purpose: str = "",
    line: ReservationLine | None = None,
    takes_reserved: bool = False,
) -> Posting:
    """Give material to a job, or use it for a purpose of `Posting.Purpose`, one of the two. What is kept for it counts as issued, `line` first; what goes beyond is the job's all the same.

    Args:
        job: in whatever case it is written, the reservation's own spelling counts.
        takes_reserved: the maker has seen what stands against it and takes it all the same.

    Raises:
        Refused: less is there; a remnant would be cut up. Unless `takes_reserved`: it is kept for other work, it is raw,
            or it is not the lot that a seen material of this job began with.
    """
    job = spelled(job)

    def changes(method: Method) -> Iterable[Change]:
        there = lot_now(lot)
        must_go_whole(there, quantity)
        yield from _issued(method, there, quantity, job, line=line, takes_reserved=takes_reserved)

    figures = [lot.pk, quantity, line.pk if line else None]
    return post(act, Posting.Kind.ISSUE, {lot.item_id}, figures, changes, job=job, purpose=purpose)


def _issued(
    method: Method, there: Lot, quantity: int, job: str, *, line: ReservationLine | None, takes_reserved: bool
) -> Iterable[Change]:
    """What a lot loses to a job, whose lines are served."""
    must_hold(there, quantity)
    lines = lines_of(there, job, first=line)
    if not takes_reserved:
        must_be_free(there, quantity, job, lines)
    yield Change(there, -quantity, -cost_of(method, there, quantity))
    # A coil or a box that was begun is used up before another is opened.
    Lot.objects.filter(pk=there.pk).update(is_open=True)
    serve(lines, there, quantity, job)


@transaction.atomic
def issue_among(act: Act, *, lot: Lot, parts: Mapping[str, int], rest: Remnant | None = None) -> list[Posting]:
    """Give what was cut from a lot at once to the jobs that it was cut for, a posting each; a remnant goes whole to all of
    them. What is kept for others is taken all the same: whoever calls has looked at all of it together.

    Args:
        parts: base units by job, each above 0.
        rest: what of a remnant stays on the shelf; it is split off first, with its share of the value.

    Raises:
        Refused: less is there, a remnant would be cut up, or the rest is too small to keep.
    """
    list(StockItem.objects.select_for_update().filter(pk=lot.item_id))
    if rest is not None:
        _split(Act(key=uuid5(act.key, "what stays"), by=act.by, why=act.why, day=act.day), lot, rest)
    must_go_whole(lot_now(lot), sum(parts.values()))
    postings = []
    for name, quantity in parts.items():
        job = spelled(name)

        def changes(method: Method, job: str = job, quantity: int = quantity) -> Iterable[Change]:
            yield from _issued(method, lot_now(lot), quantity, job, line=None, takes_reserved=True)

        own = Act(key=uuid5(act.key, name), by=act.by, why=act.why, day=act.day)
        postings.append(post(own, Posting.Kind.ISSUE, {lot.item_id}, [lot.pk, quantity, None], changes, job=job))
    return postings


def give_back(
    act: Act,
    *,
    lot: Lot,
    quantity: int,
    job: str = "",
    purpose: str = "",
    remnant: Remnant | None = None,
    line: ReservationLine | None = None,
) -> Posting:
    """Take unused material back from a job or a purpose at what it was issued for; a remnant becomes a lot with its real size.

    Args:
        quantity: base units; left out of account where a remnant says its size.
        line: the need that is still to be met by it; None where the job needed less than was kept for it.

    Raises:
        Refused: more than the job had of this item, or a remnant that is too small to keep.
    """
    job = spelled(job)
    if remnant:
        must_be_worth_keeping(remnant)
    amount = equivalent(lot, remnant) if remnant else quantity

    def changes(method: Method) -> Iterable[Change]:
        had = Movement.objects.filter(
            posting__kind__in=(Posting.Kind.ISSUE, Posting.Kind.RETURN),
            posting__job=job,
            posting__purpose=purpose,
            item_id=lot.item_id,
        ).aggregate(quantity=Sum("quantity"), value=Sum("value_minor"))
        held, worth = -(had["quantity"] or 0), -(had["value"] or 0)
        if amount > held:
            who = Posting.Purpose(purpose).label if purpose else job
            raise refuse(
                "ledger.not-issued",
                who,
                f"{who} holds {quantity_text(held, lot.item.unit)} of {lot.item}, "
                f"so {quantity_text(amount, lot.item.unit)} cannot come back.",
            )
        value, _ = take([Layer(held, worth)], amount)
        yield Change(_part(lot, remnant) if remnant else lot_now(lot), amount, value)
        lower(lot, job, held=held, amount=amount, again=line)

    figures = [lot.pk, amount, remnant and [remnant.width_mm, remnant.length_mm], line.pk if line else None]
    return post(act, Posting.Kind.RETURN, {lot.item_id}, figures, changes, job=job, purpose=purpose)


def scrap(act: Act, *, lot: Lot, quantity: int, job: str = "") -> Posting:
    """Write material off, with a cause in `act.why`. Raises Refused where less is there or no cause is given."""
    if not act.why:
        raise refuse("ledger.no-cause", "why", "Scrap needs a cause.", "Say what happened.")

    def changes(method: Method) -> Iterable[Change]:
        there = lot_now(lot)
        must_go_whole(there, quantity)
        yield Change(there, -quantity, -cost_of(method, there, quantity))

    return post(act, Posting.Kind.SCRAP, {lot.item_id}, [lot.pk, quantity], changes, job=job)


def sweep_out(act: Act, lots: Sequence[Lot]) -> Posting:
    """Write whole lots off in one posting. Raises Refused where one holds something else than when it was read."""

    def changes(method: Method) -> Iterable[Change]:
        for lot in lots:
            there = lot_now(lot)
            if there.on_hand != lot.on_hand:
                raise refuse("ledger.moved", str(lot), "It was moved meanwhile.", "Open the list again.")
            yield Change(there, -there.on_hand, -cost_of(method, there, there.on_hand))

    figures = [[lot.pk, lot.on_hand] for lot in lots]
    return post(act, Posting.Kind.SCRAP, {lot.item_id for lot in lots}, figures, changes)


def wash(act: Act, *, lot: Lot, quantity: int, ready_quantity: int, remnant: Remnant | None = None) -> Posting:
    """Turn raw cloth into ready cloth of its measured length; the value stays, the length shrinks.

    What was kept from the raw lot is kept from the ready one. A raw remnant is washed whole: `remnant` says its sizes
    afterwards, and both quantities are left out of account.

    Raises:
        Refused: the lot is not raw, holds less, would grow by washing, or is a remnant without sizes.
    """
    if lot.is_remnant and remnant is None:
        raise refuse("ledger.washing", str(lot), "A remnant is measured after washing.", "Say both its sizes.")
    ready_amount = equivalent(lot, remnant) if remnant else ready_quantity

    def changes(method: Method) -> Iterable[Change]:
        there = lot_now(lot)
        amount = there.on_hand if remnant else quantity
        if not 0 < ready_amount <= amount:
            raise refuse(
                "ledger.washing",
                "length after washing",
                f"{ready_amount} mm after washing {amount} mm cannot be.",
                "Measure again.",
            )
        if there.state != Lot.State.RAW:
            raise refuse("ledger.not-raw", str(there), "This lot is ready already.")
        cost = cost_of(method, there, amount)
        yield Change(there, -amount, -cost)
        ready = _part(there, remnant)
        Lot.objects.filter(pk=ready.pk).update(state=Lot.State.READY)
        yield Change(ready, ready_amount, cost)
        ReservationLine.objects.filter(lot=there, issued__lt=F("quantity")).update(lot=ready)

    figures = [lot.pk, quantity, ready_amount]
    return post(act, Posting.Kind.WASHING, {lot.item_id}, figures, changes)


def split_off(act: Act, *, lot: Lot, remnant: Remnant) -> Posting:
    """Cut a remnant off a lot: it lies apart with its real size, and carries its share of area and value.

    Raises:
        Refused: it is no cloth, a remnant itself, or the remnant is too small to keep, wider than the cloth, or longer
            than the lot.
    """
    if not lot.item.material.is_cloth:
        raise refuse("remnant.no-cloth", str(lot.item), "Only cloth leaves remnants.", "Issue or count it instead.")
    if lot.is_remnant:
        raise refuse(
            "remnant.of-remnant",
            str(lot),
            "A remnant is not split again.",
            "Issue it whole, and take back what is left with its real size.",
        )
    if remnant.length_mm > lot.on_hand:
        raise refuse(
            "remnant.length",
            "length",
            f"{remnant.length_mm} mm are more than the {quantity_text(lot.on_hand, lot.item.unit)} of the lot.",
            "Measure again.",
        )
    return _split(act, lot, remnant)


def _split(act: Act, lot: Lot, remnant: Remnant) -> Posting:
    must_be_worth_keeping(remnant)
    quantity = equivalent(lot, remnant)

    def changes(method: Method) -> Iterable[Change]:
        there = lot_now(lot)
        cost = cost_of(method, there, quantity)
        yield Change(there, -quantity, -cost)
        yield Change(_part(there, remnant), quantity, cost)

    figures = [lot.pk, remnant.width_mm, remnant.length_mm]
    return post(act, Posting.Kind.SPLITTING, {lot.item_id}, figures, changes)


def count(act: Act, differences: Sequence[tuple[Lot, int]], *, seen: Mapping[int, int] | None = None) -> Posting:
    """Post what a count found: signed differences per lot, each with the ledger's own cost.

    What is found beyond the book comes in at the item's average, or at the price list's cost where none is left.

    Args:
        seen: by lot, the number of the last movement that whoever counted knew of.

    Raises:
        Refused: no reason is given, less would be there than nothing, or a lot of `seen` moved since.
    """
    if not act.why:
        raise refuse("ledger.no-cause", "why", "A count that differs needs a reason.", "Say what you think happened.")

    def changes(method: Method) -> Iterable[Change]:
        for lot, difference in differences:
            there = lot_now(lot)
            if seen is not None:
                must_not_have_moved(there, since=seen[lot.pk])
            if difference < 0:
                yield Change(there, difference, -cost_of(method, there, -difference))
            else:
                item = StockItem.objects.select_related("material").get(pk=there.item_id)
                yield Change(there, difference, item.worth_minor(difference, shelf().currency))

    figures = [[lot.pk, difference] for lot, difference in differences]
    return post(act, Posting.Kind.COUNT, {lot.item_id for lot, _ in differences}, figures, changes)


def _part(lot: Lot, remnant: Remnant | None = None) -> Lot:
    """A new lot made from another: all that is known of that one, but what it holds and what was done to it."""
    part = Lot.objects.get(pk=lot.pk)
    part.pk, part._state.adding = None, True
    part.from_lot, part.on_hand, part.is_open, part.charges_minor = lot, 0, False, 0
    part.remnant_width_mm = remnant.width_mm if remnant else None
    part.remnant_length_mm = remnant.length_mm if remnant else None
    part.save()
    return part


def _plain(facts: dict[str, Any]) -> dict[str, str]:
    """Facts of a lot as text, for the fingerprint of a form."""
    return {name: str(getattr(value, "pk", value)) for name, value in sorted(facts.items())}
