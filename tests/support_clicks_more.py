"""What eight presses at once are tried on besides: money, time and days of jobs, stock that moves, what clients do at a link.

Built by `support_clicks` into its own workroom; a case is made there.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import uuid4

__all__ = ["MORE_CASES", "Found", "more_cases"]

MORE_CASES = (
    "payment-new, paid back",
    "payment-reverse",
    "credit-new",
    "credit-take-back",
    "day-present",
    "day-answer",
    "time-correct",
    "sitting-start",
    "timer-join",
    "job-dates",
    "job-issue",
    "job-take-back",
    "job-spoil",
    "job-cut",
    "cut-together",
    "joint-lay",
    "job-stand-in",
    "job-deliver",
    "lot-give-back",
    "lot-scrap",
    "lot-wash",
    "lot-split-off",
    "lot-cut",
    "lot-put-back",
    "crumbs",
    "order-new-day",
    "order-receive",
    "order-cost",
    "lot-cost",
    "shopping",
    "reorder-plan",
    "reorder-orders",
    "import-preview",
    "stocktake-review",
    "send",
    "accept",
    "private-offer, a question",
    "private-offer, a yes",
    "month-close",
    "month-reopen",
)


@dataclass(frozen=True, kw_only=True)
class Found:
    """What the workroom has already: its maker, a job at the bench, a supplier, and ways to a draft and to a sent quote."""

    maker: Any
    today: date
    job: Any
    supplier: Any
    draft: Callable[[str], Any]
    sent: Callable[[str], Any]


def more_cases(found: Found, case: Callable[..., Any], rows: Callable[[Any], Callable[[], int]]) -> list[Any]:
    """The further cases, in the order in which they are pressed."""
    return [
        *_of_money(found, case, rows),
        *_of_time(found, case, rows),
        *_of_materials(found, case, rows),
        *_of_the_shelf(found, case, rows),
        *_of_offers(found, case, rows),
        *_of_months(case, rows),
    ]


def _of_money(found: Found, case: Any, rows: Any) -> list[Any]:
    from support_bench import delivered_copy, job_of, pay

    from studio import models as bench
    from studio.bench.job_making import cancel_job
    from studio.client.credits import give_credit

    job, maker = found.job, found.maker
    slip, done = pay(job, 1_500, maker), delivered_copy(job, days_ago=40)
    today = found.today
    credit = give_credit(done, amount_minor=500, why="A seam", day=today, pays_back=False, key=uuid4(), user=maker)
    given_up = job_of(found.sent("Nora Pell"), maker)
    pay(given_up, 9_000, maker)
    cancel_job(given_up, why="It is not wanted any more", user=maker)
    back = f"/bench/{given_up.pk}/payments/add/"
    return [
        case("payment-new, paid back", back, "amount", rows(bench.Payment), amount="5", what="refund"),
        case(
            "payment-reverse", f"/bench/payments/{slip.number}/reverse/", "why", rows(bench.Payment), why="Typed twice"
        ),
        case("credit-new", f"/bench/{done.pk}/credits/add/", "amount", rows(bench.Credit), amount="7", why="Late"),
        case(
            "credit-take-back",
            f"/bench/credits/{credit.pk}/take-back/",
            "why",
            rows(bench.Credit),
            why="Another piece",
        ),
    ]


def _of_time(found: Found, case: Any, rows: Any) -> list[Any]:
    from studio import models as bench
    from studio.bench.ticking import tick_operation
    from studio.bench.timing import write_down

    job, maker, today = found.job, found.maker, found.today
    first, second, third, ticked = list(job.operations.all())[1:5]
    entry = write_down(first, user=maker, key=uuid4(), day=today, minutes=25)
    tick_operation(ticked, user=maker)
    work, soon = f"/bench/{job.pk}/", today + timedelta(days=30)
    several = [str(second.pk), str(third.pk)]
    return [
        case("day-present", "/bench/day/", "/present/", rows(bench.DayPresent), minutes="420"),
        case("day-answer", "/bench/day/", "/answer/", rows(bench.TimeEntry), minutes="30"),
        case(
            "time-correct", f"/bench/time/{entry.pk}/", "why", rows(bench.TimeEntry), minutes="35", why="Read wrongly"
        ),
        case("sitting-start", work, "/operations/start/", rows(bench.AlsoWorked), operations=several),
        case("timer-join", work, "/join/", rows(bench.AlsoWorked)),
        case("job-dates", f"{work}days/", "promised", rows(bench.PromisedDay), promised=f"{soon:%Y-%m-%d}"),
    ]


def _of_materials(found: Found, case: Any, rows: Any) -> list[Any]:
    from support_bench import job_of
    from support_laying import drawn_at_once
    from support_shelf import stocked

    from inventory.models import Lot, Posting, ReservationLine
    from inventory.stock.price_list import item_of
    from studio.bench.job_materials import issue_planned
    from studio.laying.asking import LayWishes
    from studio.laying.wanting import cloths_wanted
    from studio.models import JobNote, PieceAccount

    job, maker = found.job, found.maker
    kept = ReservationLine.objects.select_related("item__material").filter(reservation__reference=job.reference)
    cloths = [line for line in kept if line.item.material.kind == "cloth"]
    taken, issued = cloths[0], cloths[-1]
    lot = Lot.objects.filter(item=taken.item, on_hand__gte=taken.quantity, state="ready").first()
    issue_planned(job, taken, lot=lot, quantity=taken.quantity, key=uuid4(), user=maker, takes_reserved=True)
    other = job_of(found.sent("Wanda Oriel"), maker)
    for line in kept.filter(item__material__kind__in=("spiral", "waist-tape", "cord")):
        stocked(line.item, 50 * line.quantity, 5_000)
    flats = ReservationLine.objects.get(reservation__reference=other.reference, item__code="flat-7-dipped-241-3")
    ReservationLine.objects.filter(pk=flats.pk).update(quantity=100)
    shorter = item_of(flats.item.material, 2380)
    stocked(shorter, 100, 13_500)
    work, lot_of = f"/bench/{job.pk}/", f"/bench/{job.pk}/lots/{lot.pk}/"
    roll = stocked(issued.item, 40_000, 40_000)
    wanted = [wants for cloth in cloths_wanted(roll.item_id) for wants in cloth.jobs if wants.job == other]
    lay = drawn_at_once(roll.item, wanted, LayWishes(lot=roll))

    def tapes(of: Any) -> Callable[[], int]:
        issues = Posting.objects.filter(kind="issue", job=of.reference, movements__item__material__kind="waist-tape")
        return lambda: issues.count()

    return [
        case("job-issue", f"{work}materials/{issued.pk}/issue/", "quantity", rows(Posting), quantity="0.1"),
        case("job-take-back", f"{lot_of}back/", "quantity", rows(Posting), quantity="0.1"),
        case(
            "job-spoil",
            f"{lot_of}spoiled/",
            "quantity",
            lambda: Posting.objects.filter(kind="scrap").count(),
            quantity="0.1",
            words="Scorched",
            cause="own-slip",
        ),
        case("job-cut", f"{work}cut/", "list", tapes(job)),
        case("cut-together", "/bench/cut/", "list", tapes(other)),
        case(
            "joint-lay",
            f"/bench/lay/drawn/{lay.pk}/",
            "roll",
            lambda: Posting.objects.filter(kind="issue", job=other.reference, movements__lot=roll).count(),
        ),
        case("job-stand-in", f"/bench/{other.pk}/materials/", f"/instead/{shorter.pk}/", rows(JobNote)),
        case("job-deliver", f"/bench/{other.pk}/deliver/", "net", rows(PieceAccount), undone="undone"),
    ]


def _of_the_shelf(found: Found, case: Any, rows: Any) -> list[Any]:
    from django.core.files.uploadedfile import SimpleUploadedFile
    from support_importing import keep_sheet
    from support_shelf import act, item, offered, stocked

    from inventory.buying.purchasing import Arrived, OrderWish, draft_order, place, take_in
    from inventory.counting.stocktaking import Counted, keep_counts
    from inventory.counting.stocktaking import start as start_stocktake
    from inventory.importing.importing import likely_columns, match_columns
    from inventory.models import KeptPlan, OrderNewDay, Posting, PurchaseOrder, StockItem, StockMaterial
    from inventory.stock.ledger import issue

    maker, today = found.maker, found.today
    cloth, cord = (
        StockItem.objects.get(code="coutil-black"),
        item("cord", code="cord-green", policy="safety", safety=50_000),
    )
    coil = stocked(item("spiral", code="spiral-own"), 40_000, 7_000)
    lot, raw = stocked(cloth, 40_000, 70_000), stocked(cloth, 9_000, 9_000, state="raw")
    issue(act(), lot=lot, quantity=5_000, purpose="sample")
    order = draft_order(
        found.supplier, [OrderWish(offer=offered(found.supplier, cord, 1), packs=2)], user=maker, on=today
    )
    place(order, on=today)
    came = draft_order(
        found.supplier, [OrderWish(offer=offered(found.supplier, cord, 1), packs=2)], user=maker, on=today
    )
    place(came, on=today)
    rows_that_came = [Arrived(line=came.lines.get(), quantity=2_000)]
    take_in(act(), came, rows_that_came, freight_minor=0, duty_minor=0)
    apart = stocked(item("cord", code="cord-blue"), 4_000, 800, place="Loft")
    stocked(item("cord", code="cord-short"), 90, 8, place="Drawer")
    stocked(item("cord", code="cord-red"), 4_000, 800, place="Cellar")
    stocktake = start_stocktake(place="Loft", is_blind=True, by=maker)
    line = stocktake.lines.get(lot=apart)
    keep_counts(stocktake, [Counted(line=line.pk, quantity=3_900, how="counted")])
    sheet = keep_sheet(
        upload=SimpleUploadedFile("own.csv", b"name;kind;price\nPetersham;waist tape;1.95\n"), user=maker
    )
    match_columns(sheet, likely_columns(sheet))
    at = f"/shelf/lots/{lot.pk}/"

    def corrections() -> int:
        return Posting.objects.filter(kind="correction").count()

    return [
        case("lot-give-back", f"{at}give-back/", "quantity", rows(Posting), quantity="0.2", job="for:sample"),
        case("lot-scrap", f"{at}scrap/", "quantity", rows(Posting), quantity="0.2", why="Stained"),
        case("lot-wash", f"/shelf/lots/{raw.pk}/wash/", "ready", rows(Posting), quantity="1", ready="0.95"),
        case("lot-split-off", f"{at}split-off/", "width", rows(Posting), width="300", length="400"),
        case("lot-cut", f"/shelf/lots/{coil.pk}/cut/", "lengths", rows(Posting), lengths="250", count="2", form="cut"),
        case("lot-put-back", f"/shelf/lots/{coil.pk}/put-back/", "lengths", rows(Posting), lengths="312"),
        case("crumbs", "/shelf/crumbs/", "rests", rows(Posting)),
        case(
            "order-new-day",
            f"/shelf/orders/{order.number}/",
            "/new-day/",
            rows(OrderNewDay),
            day=f"{today + timedelta(days=30):%Y-%m-%d}",
        ),
        case("order-receive", f"/shelf/orders/{order.number}/receive/", "freight", rows(Posting)),
        case(
            *("order-cost", f"/shelf/orders/{came.number}/cost/", "charged", corrections), charged="6.90", why="Invoice"
        ),
        case("lot-cost", f"{at}cost/", "paid", corrections, paid="690", why="Invoice"),
        case(
            *("shopping", "/shelf/shopping/?item=cord-blue", "new_place", rows(Posting)),
            new_place="Corset fair",
            **{f"bought_{apart.item_id}": "on", f"paid_{apart.item_id}": "4.50"},
        ),
        case("reorder-plan", "/shelf/reorder/", "/reorder/plan/", rows(KeptPlan)),
        case("reorder-orders", "/shelf/reorder/", "/orders/", rows(PurchaseOrder)),
        case("import-preview", f"/shelf/import/{sheet.pk}/preview/", "key", rows(StockMaterial)),
        case(
            "stocktake-review",
            f"/shelf/stocktakes/{stocktake.number}/review/",
            "was_seen",
            rows(Posting),
            why="Yearly",
            **{f"reason_{line.pk}": "Miscounted"},
        ),
    ]


def _of_offers(found: Found, case: Any, rows: Any) -> list[Any]:
    from django.utils import timezone

    from quotes.models import OfferAct, QuoteRevision
    from quotes.offers.links import make_link, token_of

    draft, spoken, asked, wanted = found.draft("Ada Quill"), *map(found.sent, ("Orla Fenn", "Ruth Hale", "Ivy Marsh"))
    end: datetime = timezone.now() + timedelta(days=9)
    at = {row.pk: f"/offer/{token_of(make_link(row, expires_at=end, user=found.maker))}/" for row in (asked, wanted)}

    def revision(row: Any) -> str:
        return f"/quotes/{row.quote_id}/{row.number}/"

    def of(*states: str) -> Callable[[], int]:
        return lambda: QuoteRevision.objects.filter(state__in=states).count()

    return [
        case("send", f"{revision(draft)}send/", "valid_until", of("sent")),
        case("accept", f"{revision(spoken)}accept/", "option", of("accepted"), option="Two layers"),
        case(
            "private-offer, a question",
            at[asked.pk],
            "ask-words",
            rows(OfferAct),
            **{"ask-words": "Is it lined?"},
        ),
        case(
            "private-offer, a yes",
            at[wanted.pk],
            "accept-name",
            rows(OfferAct),
            **{"accept-name": "Ivy Marsh", "accept-option": "Two layers"},
        ),
    ]


def _of_months(case: Any, rows: Any) -> list[Any]:
    from studio import models as bench

    return [
        case("month-close", "/books/months/close/", "month", rows(bench.ClosedMonth)),
        case("month-reopen", "/books/months/reopen/", "why", rows(bench.ReopenedMonth), why="A bill came"),
    ]
