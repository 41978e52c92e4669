"""Use cases of a stocktake: start, count, hand in a sheet, post the differences once, drop.

What is posted is the difference between a count and the book at the moment of counting, so that stock may move between
counting and posting. Locks are taken in one order: the stocktake, then items.
"""

import hashlib
import json
import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Count, F, Max, Q, QuerySet, Value
from django.db.models.functions import Coalesce, NullIf
from django.utils import timezone

from inventory.counting.count_sheet import ReturnedCount, not_its_movement, returned_counts
from inventory.ground.confined import confined
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused, refuse, stop
from inventory.ground.materials import KINDS, kind_of
from inventory.models import CountLine, Lot, Movement, Posting, ReservationLine, Shelf, StockItem, Stocktake
from inventory.reserving.reservations import firm_lines
from inventory.shelf.settings import shelf
from inventory.spreadsheet.rows import SHEET_MEND
from inventory.stock import ledger
from inventory.stock.ledger import Act
from inventory.stock.moved import moved_since, moved_words, must_not_have_moved

__all__ = [
    "UNEXPLAINED_PERCENT",
    "Counted",
    "Difference",
    "Shortfall",
    "counts_fingerprint",
    "differences",
    "drop",
    "keep_counts",
    "last_movements",
    "lines_of",
    "moved_since_start",
    "places",
    "post",
    "shortfalls",
    "start",
    "take_sheet",
]

logger = logging.getLogger(__name__)

UNEXPLAINED_PERCENT = shelf_defaults().counting.unexplained_percent
"""A difference beyond this part of the book needs a reason of its own."""

_PLACE = Coalesce(NullIf("place", Value("")), F("item__place"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """What a line was found to hold, in base units, and how that was found out.

    `seen` is the number of the lot's last movement that whoever counted knew of; None where that is not known.
    """

    line: int
    quantity: int
    how: str
    seen: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """A counted line that differs from its book: by what value in minor units, and whether it needs a reason."""

    line: CountLine
    quantity: int
    value_minor: int
    needs_reason: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """An item that firm work needs more of than there is, in base units, with the open lines that need it."""

    item: StockItem
    needed: int
    lines: Sequence[ReservationLine]


def places() -> list[tuple[str, int]]:
    """Return the places with stock and how many lots lie at each; "" for lots without a place."""
    by_place = Lot.objects.filter(on_hand__gt=0).values_list(_PLACE).annotate(lots=Count("pk")).order_by(_PLACE)
    return list(by_place)


def lines_of(stocktake: Stocktake) -> QuerySet[CountLine]:
    """Return a stocktake's lines with what a page says of them, in the order in which they are counted."""
    return stocktake.lines.select_related("lot__item__material")


def start(*, place: str = "", kind: str = "", is_blind: bool, by: User | None) -> Stocktake:
    """Open a stocktake of all lots with stock at a place, or of a kind, or of the whole shelf.

    A lot lies where its own place says, else where its item's does. A count of a kind says so in place of a place.

    Raises:
        Refused: nothing lies there, or some of it is being counted already.
    """
    with transaction.atomic():
        # One start at a time, so that no lot gets into two counts.
        Shelf.objects.select_for_update().get(pk=1)
        lots = Lot.objects.filter(on_hand__gt=0).alias(lies_at=_PLACE)
        if place:
            lots = lots.filter(lies_at=place)
        if kind:
            lots, place = lots.filter(item__material__kind=kind), f"All {KINDS[kind_of(kind)].label.lower()}"
        where = place or "the whole shelf"
        other = Stocktake.objects.filter(
            Q(place=place) | Q(pk__in=CountLine.objects.filter(lot__in=lots).values("stocktake")),
            state=Stocktake.State.OPEN,
        ).first()
        if other is not None:
            raise refuse(
                "stocktake.open-already",
                where,
                f"{other} of {other.place or 'the whole shelf'} is being counted already.",
                "Post it or drop it first.",
            )
        ordered = lots.order_by("lies_at", "item", "received_on", "pk")
        stocktake = Stocktake(
            number=(Stocktake.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
            place=place,
            is_blind=is_blind,
            started_at=timezone.now(),
            started_by=by,
        )
        lines = [CountLine(stocktake=stocktake, lot=lot) for lot in ordered]
        if not lines:
            raise refuse("stocktake.nothing-there", where, "Nothing lies there that could be counted.")
        stocktake.save()
        CountLine.objects.bulk_create(lines)
    logger.info("Started stocktake=%s lines=%s", stocktake.number, len(lines))
    return stocktake


def keep_counts(stocktake: Stocktake, counts: Sequence[Counted], *, opened: str = "this form was opened") -> None:
    """Keep what was counted, each with what the ledger holds of the lot at this moment; a later count replaces it.

    Args:
        opened: when the movements that were seen were the last ones, in words.

    Raises:
        Refused: the stocktake is over, or a lot moved since the form of its count was opened; then nothing is kept.
    """
    with transaction.atomic():
        _locked(stocktake)
        count_of = {count.line: count for count in counts}
        lines = list(stocktake.lines.filter(pk__in=count_of))
        items = Lot.objects.filter(pk__in=[line.lot_id for line in lines]).values("item")
        list(StockItem.objects.select_for_update().filter(pk__in=items).order_by("pk"))
        lots = Lot.objects.filter(pk__in=[line.lot_id for line in lines]).select_related("item__material")
        there = lots.annotate(last=Coalesce(Max("movements"), 0)).in_bulk()
        _must_not_have_moved([(there[line.lot_id], count_of[line.pk].seen) for line in lines], opened)
        for line in lines:
            count, lot = count_of[line.pk], there[line.lot_id]
            line.counted, line.how = count.quantity, count.how
            line.book_quantity, line.counted_after = lot.on_hand, lot.last
        CountLine.objects.bulk_update(lines, ["counted", "book_quantity", "counted_after", "how"], batch_size=500)


def take_sheet(stocktake: Stocktake, *, data: bytes, filename: str) -> int:
    """Keep the counts of a sheet that came back, all or none, and return how many.

    A line that is counted already and stands there with the same figure keeps the moment at which it was counted. A sheet
    that does not say up to which movement it was made counts as made when the stocktake was started.

    Raises:
        Refused: the sheet is not this stocktake's or says what cannot be, by rows; lots moved since it was handed out;
            the stocktake is over.
    """
    lines = {line.pk: line for line in lines_of(stocktake)}
    seen_at_start = dict(_moved_up_to(stocktake, Q(lot__movements__posting__at__lte=stocktake.started_at)))
    units = {pk: line.lot.item.unit for pk, line in lines.items()}
    returned = [
        count
        for count in confined(returned_counts, data, filename, stocktake.number, units, name=filename, mend=SHEET_MEND)
        if count.quantity != lines[count.line].counted
    ]
    _must_be_of_their_lots(returned, {pk: line.lot_id for pk, line in lines.items()})
    counts = [
        Counted(
            line=count.line,
            quantity=count.quantity,
            how=f"from the sheet, row {count.row}",
            seen=seen_at_start[count.line] if count.movement is None else count.movement,
        )
        for count in returned
    ]
    keep_counts(stocktake, counts, opened="the sheet was handed out")
    return len(counts)


def last_movements(stocktake: Stocktake) -> dict[int, int]:
    """Return for each line the number of its lot's last movement, 0 where nothing of it ever moved."""
    return dict(_moved_up_to(stocktake, Q()))


def moved_since_start(line: CountLine) -> str:
    """Return what a line's lot moved since its stocktake was started, in words; empty for nothing."""
    stocktake = line.stocktake
    seen = dict(_moved_up_to(stocktake, Q(lot__movements__posting__at__lte=stocktake.started_at)))
    return moved_since(line.lot, seen[line.pk])


def differences(stocktake: Stocktake) -> list[Difference]:
    """Return the lines whose count differs: valued at the item's average, or at what the ledger took once posted."""
    posted = dict(Movement.objects.filter(posting__stocktake=stocktake).values_list("lot", "value_minor"))
    currency = shelf().currency
    return [
        Difference(
            line=line,
            quantity=line.difference,
            value_minor=posted.get(line.lot_id, line.lot.item.worth_minor(line.difference, currency)),
            needs_reason=abs(line.difference) * 100 > UNEXPLAINED_PERCENT * (line.book_quantity or 0),
        )
        for line in lines_of(stocktake).filter(counted__isnull=False)
        if line.difference
    ]


def counts_fingerprint(lines: Iterable[CountLine]) -> str:
    """Return the fingerprint of counted lines and what lies there, so that nothing is posted that the page did not show."""
    counts = [
        [line.pk, line.counted, line.book_quantity, line.lot.on_hand] for line in lines if line.counted is not None
    ]
    return hashlib.sha256(json.dumps(sorted(counts)).encode()).hexdigest()


def post(stocktake: Stocktake, act: Act, *, was_seen: str, reasons: Mapping[int, str]) -> Posting | None:
    """Post all differences at once and close the stocktake; without differences only close it.

    Args:
        was_seen: `counts_fingerprint` of the lines as the page showed them.
        reasons: by line, for differences beyond `UNEXPLAINED_PERCENT`, and for others where there is one.

    Raises:
        Refused: it is over already, nothing is counted, a count came in or a counted lot moved since the page was
            opened, a differing lot was counted apart since, a reason is missing, or more would go than is left; then
            nothing is posted.
    """
    with transaction.atomic():
        stocktake = _locked(stocktake)
        items = stocktake.lines.filter(counted__isnull=False).values("lot__item")
        list(StockItem.objects.select_for_update().filter(pk__in=items).order_by("pk"))
        counted = [line for line in lines_of(stocktake) if line.counted is not None]
        if not counted:
            raise refuse(
                "stocktake.nothing-counted", str(stocktake), "Nothing is counted yet.", "Count it, or drop it."
            )
        if counts_fingerprint(counted) != was_seen:
            raise refuse(
                "stocktake.changed",
                str(stocktake),
                "Something was counted meanwhile, or moved since this page was opened.",
                "Look at the list again.",
            )
        differing = differences(stocktake)
        _must_not_be_counted_apart(differing)
        _need_reasons(differing, reasons)
        posting = None
        if differing:
            why = f"{stocktake}: {act.why}" if act.why else ""
            posting = ledger.count(
                replace(act, why=why), [(difference.line.lot, difference.quantity) for difference in differing]
            )
        for difference in differing:
            difference.line.reason = reasons.get(difference.line.pk, "")
        CountLine.objects.bulk_update([difference.line for difference in differing], ["reason"], batch_size=500)
        stocktake.state, stocktake.why = Stocktake.State.POSTED, act.why
        stocktake.posting, stocktake.posted_at = posting, timezone.now()
        stocktake.save(update_fields=["state", "why", "posting", "posted_at"])
    logger.info("Posted stocktake=%s differences=%s", stocktake.number, len(differing))
    return posting


def drop(stocktake: Stocktake) -> None:
    """Give a stocktake up; the ledger stays as it is. Raises Refused where it is over already."""
    with transaction.atomic():
        stocktake = _locked(stocktake)
        stocktake.state = Stocktake.State.DROPPED
        stocktake.save(update_fields=["state"])
    logger.info("Dropped stocktake=%s", stocktake.number)


def shortfalls(stocktake: Stocktake) -> list[Shortfall]:
    """Return the items with a difference that open firm reservations need more of than lies there."""
    differing = stocktake.lines.filter(counted__isnull=False).exclude(counted=F("book_quantity"))
    by_item: dict[StockItem, list[ReservationLine]] = {}
    for line in (
        firm_lines()
        .filter(item__in=differing.values("lot__item"))
        .select_related("reservation", "item__material")
        .order_by("item", "reservation__needed_by", "pk")
    ):
        by_item.setdefault(line.item, []).append(line)
    needed = {item: sum(line.remaining for line in lines) for item, lines in by_item.items()}
    return [
        Shortfall(item=item, needed=needed[item], lines=lines)
        for item, lines in by_item.items()
        if needed[item] > item.on_hand
    ]


def _locked(stocktake: Stocktake) -> Stocktake:
    """The stocktake as it is now, locked. Raises Refused where it is over."""
    locked = Stocktake.objects.select_for_update().get(pk=stocktake.pk)
    if locked.state != Stocktake.State.OPEN:
        raise refuse("stocktake.over", str(locked), f"{locked} is {locked.get_state_display().lower()} already.")
    return locked


def _moved_up_to(stocktake: Stocktake, which: Q) -> QuerySet[CountLine, tuple[int, int]]:
    """Lines, each with its lot's last of such movements, 0 for none."""
    return stocktake.lines.values_list("pk").annotate(last=Coalesce(Max("lot__movements", filter=which), 0))


def _must_be_of_their_lots(returned: Sequence[ReturnedCount], lots: Mapping[int, int]) -> None:
    """A number that a spreadsheet counted on is not believed."""
    said = {count.movement for count in returned if count.movement}
    known = set(Movement.objects.filter(pk__in=said).values_list("lot", "pk"))
    faults = [
        fault
        for count in returned
        if count.movement and (lots[count.line], count.movement) not in known
        for fault in not_its_movement(count.row, count.movement).findings
    ]
    if faults:
        raise Refused(faults)


def _must_not_have_moved(seen: Iterable[tuple[Lot, int | None]], opened: str) -> None:
    """Lots, each with the last movement that was seen. Raises Refused with each that moved since."""
    faults: list[Finding] = []
    for lot, since in seen:
        if since is not None:
            try:
                must_not_have_moved(lot, since=since, opened=opened)
            except Refused as refusal:
                faults += refusal.findings
    if faults:
        raise Refused(faults)


def _must_not_be_counted_apart(differing: Sequence[Difference]) -> None:
    """A difference that another count has posted already is not posted again."""
    lines = [difference.line for difference in differing]
    counts = Movement.objects.filter(posting__kind=Posting.Kind.COUNT, lot__in=[line.lot_id for line in lines]).exclude(
        quantity=0
    )
    last = {count.lot_id: count for count in counts.select_related("posting", "lot__item__material").order_by("pk")}
    faults = [
        stop(
            "stocktake.counted-apart",
            f"{line.lot.item}, {line.lot}",
            f"It was counted apart since ({moved_words(last[line.lot_id])}).",
            "Count it again in this stocktake.",
        )
        for line in lines
        if line.counted_after is not None and line.lot_id in last and last[line.lot_id].pk > line.counted_after
    ]
    if faults:
        raise Refused(faults)


def _need_reasons(differing: Iterable[Difference], reasons: Mapping[int, str]) -> None:
    faults = [
        stop(
            "stocktake.no-reason",
            f"{difference.line.lot.item}, {difference.line.lot}",
            f"The difference is more than {UNEXPLAINED_PERCENT} %.",
            "Say what you think happened.",
        )
        for difference in differing
        if difference.needs_reason and not reasons.get(difference.line.pk)
    ]
    if faults:
        raise Refused(faults)
