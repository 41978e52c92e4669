"""Years of a workroom for tests of the year's result: random acts through the use cases, and the result rebuilt from rows.

The rebuilding knows no query of the books: it walks over every movement, entry and payment in plain Python, puts each
into one place, and works the pieces out anew from their sealed quotes with fractions.
"""

from calendar import isleap
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any
from unittest import mock
from uuid import uuid4

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.shelf.settings import set_currency
from inventory.stock import ledger
from inventory.stock.ledger import Act, Arrival
from quotes.desk.figures import work_out
from quotes.desk.quoting import columns_of
from quotes.models import Client, PatternRevision, QuoteRevision, YearlyCost
from quotes.seal.snapshot import fingerprint
from quotes.workroom.settings import STARTING_RATES, save_overhead, save_rates, workroom
from studio.bench.job_making import cancel_job, make_job
from studio.bench.job_materials import spoil
from studio.bench.timing import correct, write_down
from studio.books.months import close_month, next_to_close
from studio.client.credits import give_credit, take_credit_back
from studio.client.delivery import Invoice, deliver, expected_invoice
from studio.client.payments import reverse_payment, take_payment
from studio.models import Credit, Job, JobOperation, Payment, PieceAccount, TimeEntry

__all__ = ["ACTS", "Years", "accepted", "price_in", "rebuilt"]

ACTS = (
    *("receive", "issue", "issue", "issue-to-nobody", "give-back", "give-back-from-nobody", "spoil", "scrap", "count"),
    *("begin", "work", "work", "correct", "pay", "pay", "pay-back", "deliver", "give-up", "close", "close"),
    *("reverse", "lower-price", "lower-price", "put-price-back", "issue-for-purpose"),
)
PURPOSES = ("Sample", "teaching", "TEACHING", "own use", "Q4", "q1")
CAUSES = ("", "", "own-slip", "cloth-fault", "client", "fit")
OPTION = {
    "name": "Two layers",
    "construction": "two-layer",
    "cloths": {"outer": "coutil-satin-bottle", "inner": "coutil-white"},
    "choices": {},
}
RATES = {"EUR": ("22.50", "8.35", "0.25"), "JPY": ("2250", "835", "25"), "KWD": ("7.125", "2.435", "0.075")}
"""Labour and overhead an hour, and the fixed fee, in each currency."""


def price_in(code: str) -> None:
    """A workroom that is kept in a currency, before anything is booked."""
    set_currency(code)
    labour, overhead, fixed = RATES[code]
    rates = {"labour_per_hour": labour, "overhead_per_hour": overhead, "fee_fixed": fixed, "tax_share": "0.21"}
    save_rates(workroom(), {**STARTING_RATES, **rates, "fee_share": "0.018"})
    save_overhead(room=workroom(), costs=[("Rent", 312_007), ("Power", 118_001), ("Bank", 1)])


def accepted(pattern: PatternRevision, numbers: Sequence[int]) -> list[QuoteRevision]:
    """Quotes of one option, worked out once, as if each had been sent and accepted on the day."""
    inputs = {"title": "Underbust", "client": "Odile Farrant", "currency": workroom().currency, "units": "mm"}
    inputs |= {"options": [OPTION], "extras": [], "rates": workroom().rates}
    figures = columns_of(work_out(inputs, pattern))
    client = Client.objects.create(name="Odile Farrant")
    return [
        QuoteRevision.objects.create(
            quote=client.quotes.create(number=number, title=f"Underbust {number}"),
            number=1,
            state=QuoteRevision.State.ACCEPTED,
            pattern=pattern,
            inputs=inputs,
            fingerprint=fingerprint(figures["figures"]),
            sent_at=timezone.now(),
            decided_at=timezone.now(),
            valid_until=timezone.localdate(),
            accepted_option=OPTION["name"],
            **figures,
        )
        for number in numbers
    ]


class Years:
    """A workroom that lives through acts, each a minute and so many days after the one before."""

    def __init__(self, user: User, revisions: Sequence[QuoteRevision], *, begin: date) -> None:
        self._user, self._revisions = user, revisions
        self._now = timezone.make_aware(datetime.combine(begin, time(9)))

    @property
    def today(self) -> date:
        """The day up to which it has lived."""
        return timezone.localdate(self._now)

    def live(self, acts: Sequence[tuple[str, int, int, int]]) -> int:
        """Do acts: name, days since the one before, which, how much; return how many were not refused."""
        return sum(self.do(*act) for act in acts)

    def do(self, name: str, days: int, which: int, amount: int) -> bool:
        """Do one act; tell whether it was done."""
        self._now += timedelta(days=days, minutes=1)
        doing: Callable[[int, int], None] | None = getattr(self, f"_{name.replace('-', '_')}")
        assert doing is not None
        with mock.patch.object(timezone, "now", return_value=self._now):
            try:
                with transaction.atomic():
                    doing(which, amount)
            except Refused:
                return False
        return True

    @contextmanager
    def clock(self) -> Iterator[None]:
        """The moment up to which it has lived."""
        with mock.patch.object(timezone, "now", return_value=self._now):
            yield

    def _act(self, why: str = "") -> Act:
        return Act(key=uuid4(), by=self._user, why=why)

    def _chosen(self, rows: Any, which: int) -> Any:
        found = list(rows)
        if not found:
            raise Refused([])
        return found[which % len(found)]

    def _lot(self, which: int) -> Lot:
        lot: Lot = self._chosen(Lot.objects.filter(on_hand__gt=0).order_by("pk"), which)
        return lot

    def _receive(self, which: int, amount: int) -> None:
        item = self._chosen(StockItem.objects.filter(code__in=("cord-flat-6", "tip-7")).order_by("pk"), which)
        ledger.receive(self._act(), [Arrival(item=item, quantity=3 * amount, value_minor=7 * amount + which)])

    def _issue(self, which: int, amount: int) -> None:
        lot, job = self._lot(which), self._chosen(Job.objects.order_by("pk"), which)
        quantity = min(amount, lot.on_hand)
        ledger.issue(self._act(), lot=lot, quantity=quantity, job=job.reference, takes_reserved=True)

    def _issue_to_nobody(self, which: int, amount: int) -> None:
        lot, purpose = self._lot(which), PURPOSES[which % len(PURPOSES)]
        ledger.issue(self._act(), lot=lot, quantity=min(amount, lot.on_hand), job=purpose, takes_reserved=True)

    def _give_back(self, which: int, amount: int) -> None:
        job = self._chosen(Job.objects.order_by("pk"), which)
        ledger.give_back(self._act(), lot=self._lot_or_any(which), quantity=amount % 40 + 1, job=job.reference)

    def _give_back_from_nobody(self, which: int, amount: int) -> None:
        purpose = PURPOSES[which % len(PURPOSES)]
        ledger.give_back(self._act(), lot=self._lot_or_any(which), quantity=amount % 40 + 1, job=purpose)

    def _lot_or_any(self, which: int) -> Lot:
        lot: Lot = self._chosen(Lot.objects.order_by("pk"), which)
        return lot

    def _spoil(self, which: int, amount: int) -> None:
        job, lot = self._chosen(Job.objects.order_by("pk"), which), self._lot(which)
        spoil(
            job,
            lot=lot,
            quantity=min(amount % 50 + 1, lot.on_hand),
            cause=CAUSES[2 + which % 4],
            words="",
            is_cut_again=bool(amount % 2),
            key=uuid4(),
            user=self._user,
        )

    def _scrap(self, which: int, amount: int) -> None:
        lot = self._lot(which)
        ledger.scrap(self._act("moth"), lot=lot, quantity=min(amount % 90 + 1, lot.on_hand))

    def _count(self, which: int, amount: int) -> None:
        lot = self._lot_or_any(which)
        ledger.count(self._act("counted"), [(lot, max(-lot.on_hand, amount % 60 - 30))])

    def _begin(self, which: int, amount: int) -> None:
        waiting = [row for row in self._revisions if not Job.objects.filter(revision=row).exists()]
        make_job(self._chosen(waiting, which), user=self._user, on=timezone.localdate())

    def _operation(self, which: int) -> JobOperation:
        job = self._chosen(Job.objects.open().order_by("pk"), which)
        operation: JobOperation = self._chosen(job.operations.order_by("place"), which)
        return operation

    def _work(self, which: int, amount: int) -> None:
        day = timezone.localdate() - timedelta(days=which % 3)
        cause = CAUSES[which % len(CAUSES)]
        minutes = amount % 400 + 1
        write_down(self._operation(which), user=self._user, key=uuid4(), day=day, minutes=minutes, cause=cause)

    def _correct(self, which: int, amount: int) -> None:
        entry = self._chosen(TimeEntry.objects.standing().order_by("pk"), which)
        day = entry.day if which % 2 else timezone.localdate()
        correct(entry, user=self._user, key=uuid4(), day=day, minutes=amount % 300, why="Forgotten")

    def _pay(self, which: int, amount: int) -> None:
        self._take(which, Payment.What.DEPOSIT, 97 * amount, fee_minor=amount % 7)

    def _pay_back(self, which: int, amount: int) -> None:
        self._take(which, Payment.What.REFUND, 31 * amount, fee_minor=amount % 3)

    def _take(self, which: int, what: str, amount_minor: int, *, fee_minor: int) -> None:
        job = self._chosen(Job.objects.order_by("pk"), which)
        facts = {"amount_minor": amount_minor, "fee_minor": fee_minor, "note": "", "key": uuid4(), "user": self._user}
        take_payment(job, what=what, day=timezone.localdate(), **facts)

    def _reverse(self, which: int, amount: int) -> None:
        payment = self._chosen(Payment.objects.order_by("pk"), which)
        reverse_payment(payment, why="A slip", user=self._user)

    def _lower_price(self, which: int, amount: int) -> None:
        job = self._chosen(Job.objects.order_by("pk"), which)
        facts = {"why": "A mark", "day": timezone.localdate(), "key": uuid4(), "user": self._user}
        give_credit(job, amount_minor=53 * amount, pays_back=bool(amount % 2), **facts)

    def _put_price_back(self, which: int, amount: int) -> None:
        take_credit_back(self._chosen(Credit.objects.order_by("pk"), which), why="A slip", user=self._user)

    def _issue_for_purpose(self, which: int, amount: int) -> None:
        purpose = Posting.Purpose.values[which % len(Posting.Purpose.values)]
        lot = self._lot(which)
        ledger.issue(self._act(), lot=lot, quantity=min(amount, lot.on_hand), purpose=purpose, takes_reserved=True)

    def _deliver(self, which: int, amount: int) -> None:
        job = self._chosen(Job.objects.open().order_by("pk"), which)
        invoice = expected_invoice(job, discount_minor=amount % 5)
        facts = {name: getattr(invoice, name) for name in Invoice.__dataclass_fields__}
        said = Invoice(**{**facts, "extras_minor": amount % 11})
        deliver(job, invoice=said, on=timezone.localdate(), user=self._user)

    def _give_up(self, which: int, amount: int) -> None:
        cancel_job(self._chosen(Job.objects.open().order_by("pk"), which), why="Moved away", user=self._user)

    def _close(self, which: int, amount: int) -> None:
        month = next_to_close(on=timezone.localdate())
        if month is not None:
            close_month(month.year, month.month, user=self._user)


def half_up(value: Fraction) -> int:
    """To the nearest whole number, halves away from zero."""
    return floor(value + Fraction(1, 2)) if value >= 0 else -floor(-value + Fraction(1, 2))


def rebuilt(year: int, *, on: date) -> dict[str, Any]:
    """Return a year's lines, pay and minutes in minor units, from every row of the tables."""
    walk = _Walk(year)
    for movement in Movement.objects.select_related("posting"):
        walk.move(movement)
    replaced = set(TimeEntry.objects.exclude(replaces=None).values_list("replaces", flat=True))
    for entry in TimeEntry.objects.select_related("operation__job"):
        if entry.pk not in replaced and entry.minutes:
            walk.work(entry)
    for payment in Payment.objects.order_by("day", "pk"):
        walk.pay(payment)
    for credit in Credit.objects.order_by("day", "pk"):
        walk.lower(credit)
    walk.end(on)
    on_the_shelf = sum(StockItem.objects.values_list("value_minor", flat=True))
    assert sum(walk.places.values()) == on_the_shelf, "every movement has one place"
    return {"lines": dict(walk.lines), "pay": walk.pay_minor, "minutes": walk.minutes + round(walk.not_logged * 60)}


class _Walk:
    """Every row once: into a line of the year, an account, or a place that is no part of the year."""

    def __init__(self, year: int) -> None:
        self.year = year
        self.lines: Counter[str] = Counter()
        self.places: Counter[str] = Counter()
        self.pay_minor = self.minutes = 0
        self.not_logged = Fraction(0)  # hours
        self.jobs = {job.reference: job for job in Job.objects.select_related("revision")}
        self.by_id = {job.pk: job for job in self.jobs.values()}
        self.kept = {row.job_id: row for row in PieceAccount.objects.all()}
        self.taken: Counter[int] = Counter()  # by pieces, as their accounts hold it
        self.worked: Counter[int] = Counter()
        self.timed: set[int] = set()  # operations of which some time is known
        self.given_up_min: Counter[int] = Counter()
        self.left_minor: Counter[int] = Counter()
        self.fees: Counter[int] = Counter()
        self.paid: dict[int, list[Payment]] = {}
        self.lowered: dict[int, list[Credit]] = {}
        self.credited: Counter[int] = Counter()

    def add(self, line: str, day: date, minor: int) -> None:
        if day.year == self.year:
            self.lines[line] += minor

    def move(self, movement: Movement) -> None:
        posting, value = movement.posting, movement.value_minor
        job = self.jobs.get(posting.job)
        self.places[posting.kind if job is None else job.stage] += value
        if posting.kind == "receipt":
            return
        if job is None:
            if posting.kind in ("issue", "return"):
                if posting.job not in {f"Q{row.quote.number}" for row in self.waiting()}:
                    self.add("without-job", movement.day, value)
            else:
                self.add("shelf", movement.day, value)
        elif job.stage == "cancelled":
            self.add("given-up", max(movement.day, job.cancelled_on), value)
        elif job.stage == "delivered":
            frozen_at = self.kept[job.pk].frozen_at
            if frozen_at is not None and posting.at > frozen_at:
                self.add("late", movement.day, value)
            else:
                self.taken[job.pk] += value

    def waiting(self) -> list[QuoteRevision]:
        made = {job.revision_id for job in self.by_id.values()}
        found = QuoteRevision.objects.filter(state="accepted").select_related("quote")
        return [row for row in found if row.pk not in made]

    def work(self, entry: TimeEntry) -> None:
        job = entry.operation.job
        if entry.day.year == self.year:
            self.minutes += entry.minutes
        if job.stage == "cancelled":
            if max(entry.day, job.cancelled_on).year == self.year:
                self.given_up_min[job.pk] += entry.minutes
        else:
            self.worked[job.pk] += entry.minutes
            if not entry.cause:
                self.timed |= {entry.operation_id, *entry.also.values_list("operation", flat=True)}

    def pay(self, payment: Payment) -> None:
        job = self.by_id[payment.job_id]
        if job.stage == "cancelled":
            counts_on = max(payment.day, job.cancelled_on)
            self.add("fees", counts_on, -payment.fee_minor)
            if counts_on.year == self.year:
                self.left_minor[job.pk] += payment.amount_minor
        elif job.stage == "delivered":
            frozen_at = self.kept[job.pk].frozen_at
            if frozen_at is not None and payment.noted_at > frozen_at:
                self.add("fees", payment.day, -payment.fee_minor)
            else:
                self.fees[job.pk] += payment.fee_minor
            self.paid.setdefault(job.pk, []).append(payment)

    def lower(self, credit: Credit) -> None:
        self.lowered.setdefault(credit.job_id, []).append(credit)
        frozen_at = self.kept[credit.job_id].frozen_at
        if frozen_at is not None and credit.noted_at > frozen_at:
            self.add("late", credit.day, -credit.net_minor)
        else:
            self.credited[credit.job_id] += credit.net_minor

    def end(self, on: date) -> None:
        charged = 0
        for job in self.by_id.values():
            rates = job.revision.figures["rates"]
            digits = currency_of(job.revision.currency).digits
            labour, overhead = (Fraction(rates[f"{name}_per_hour"]) * 10**digits for name in ("labour", "overhead"))
            if job.stage == "cancelled":
                worth = half_up(Fraction(self.given_up_min[job.pk], 60) * labour)
                kept = half_up(self.left_minor[job.pk] / (1 + Fraction(rates["tax_share"])))
                self.lines["given-up"] += kept - worth
                self.pay_minor += worth
            if job.stage != "delivered":
                continue
            if job.delivered_on.year == self.year:
                missing = self.missing(job)
                hours = Fraction(self.worked[job.pk], 60) + missing
                self.not_logged += missing
                pay, carried = half_up(hours * labour), half_up(hours * overhead)
                costs = self.fees[job.pk] - self.taken[job.pk] + self.sundries(job, digits) + job.extras_minor
                self.lines["pieces"] += job.net_minor - self.credited[job.pk] - costs - pay - carried
                self.pay_minor += pay
                charged += carried
            self.refunds(job)
        self.overhead(charged, on)

    def missing(self, job: Job) -> Fraction:
        """Hours of what nobody logged, as quoted: nothing here is logged with other work, or left undone."""
        options = job.revision.figures["quotation"]["options"]
        (option,) = [option for option in options if option["name"] == job.revision.accepted_option]
        quoted = {row["code"]: row["quantity"] for row in option["lines"] if row["group"] == "labour"}
        lacking = job.operations.exclude(pk__in=self.timed).values_list("code", flat=True)
        return Fraction(sum((Decimal(quoted[code]) for code in lacking), Decimal(0)))

    def sundries(self, job: Job, digits: int) -> int:
        """Shares of the other materials’ money, which no shelf counts: as quoted."""
        options = job.revision.figures["quotation"]["options"]
        (option,) = [option for option in options if option["name"] == job.revision.accepted_option]
        lines = [row for row in option["lines"] if row["group"] == "material" and not row["material"]]
        return int(sum((Decimal(row["amount"]) for row in lines), Decimal(0)).scaleb(digits))

    def refunds(self, job: Job) -> None:
        """Three pots: what is still owed, what was given away, what came beyond it all."""
        total = job.net_minor + job.tax_minor
        owed, given, ahead = total, 0, 0
        # On one day a price is lowered before anything goes back.
        acts = [(row.day, 0, row.pk, -row.net_minor - row.tax_minor) for row in self.lowered.get(job.pk, ())]
        acts += [(row.day, 1, row.pk, row.amount_minor) for row in self.paid.get(job.pk, ())]
        refunds = {row.pk for row in self.paid.get(job.pk, ()) if row.what == "refund" and row.amount_minor < 0}
        for day, is_payment, pk, minor in sorted(acts):
            rest, before = abs(minor), given
            if (minor > 0) == bool(is_payment):  # money that came, or a price that was lowered
                part = min(rest, owed)
                owed, rest = owed - part, rest - part
                part = min(rest, given)
                given, ahead = given - part, ahead + rest - part
            else:
                part = min(rest, ahead)
                ahead, rest = ahead - part, rest - part
                if is_payment and pk in refunds and day >= job.delivered_on:
                    given += rest
                else:
                    owed += rest
            if given != before:
                lost = half_up(Fraction((given - before) * job.net_minor, total)) if total else given - before
                self.add("refunds", day, -lost)

    def overhead(self, charged: int, on: date) -> None:
        days = [job.started_on for job in self.by_id.values()]
        days += [entry.day for entry in TimeEntry.objects.all()]
        yearly = sum(YearlyCost.objects.values_list("amount_minor", flat=True))
        if not days or not yearly:
            return
        day, known = min(days).replace(day=1), 0
        while day <= on:
            known += day.year == self.year
            day += timedelta(days=1)
        if known:
            cost = half_up(Fraction(yearly * known, 366 if isleap(self.year) else 365))
            self.lines["overhead"] += charged - cost
