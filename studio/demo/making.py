"""How the demo's maker makes a piece: stage by stage, with sittings logged, materials taken, slips, and what it is paid.

The hidden truth of the story is here: how much longer or shorter than the table each operation takes this maker.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from functools import partial

from django.utils import timezone

from inventory.ground.materials import StockUnit
from inventory.models import Lot, ReservationLine
from inventory.reserving.reservations import keep_from_lot
from inventory.stock.ledger import Remnant
from quotes.models import QuoteRevision
from studio.bench.day_close import be_present, write_together
from studio.bench.job_making import cancel_job, deposit, make_job
from studio.bench.job_materials import issue_planned, planned_lines, spoil, take_back
from studio.bench.stages import advance
from studio.bench.ticking import tick_operation, tick_shell
from studio.bench.timing import MOST_MINUTES, correct, write_down
from studio.client.change_orders import agree_change
from studio.client.credits import give_credit
from studio.client.delivery import deliver, expected_invoice
from studio.client.fittings import hold_fitting, plan_fitting
from studio.client.payments import take_payment
from studio.demo.buying import fetched, ready_lots
from studio.demo.diary import Diary, workday
from studio.demo.story import story
from studio.jobs.presence import logged_on
from studio.models import Fitting, Job, JobOperation, Payment, SeamPass
from studio.money.bills import agreed, bill

__all__ = ["Making"]

Stage = Job.Stage

STAGES: tuple[tuple[Job.Stage, int, frozenset[str]], ...] = (
    (Stage.ACCEPTED, 1, frozenset({"CONS", "ADMIN"})),
    (Stage.DRAFTING, 6, frozenset({"DRAFT", "TRUE", "CHECK"})),
    (Stage.TOILE, 14, frozenset({"TCUT", "TSEW", "FIT"})),
    (Stage.CUTTING, 20, frozenset({"PREP", "CUT", "FLAT", "PIN"})),
    (Stage.SEWING, 22, frozenset({"SEW1", "SEW2", "CLIP", "PRESS", "TAPE", "BUSK", "INTF", "JOIN", "CASE", "CHAN"})),
    (Stage.BONING, 25, frozenset({"GPAN", "TRIM", "SPIR", "FLATB", "INSB", "GROM"})),
    (Stage.FINISHING, 28, frozenset({"BIAS", "BINDM", "BINDH", "FLOSS", "MOD", "CORD", "FIN", "HAND", "CLOSE"})),
)
"""Each stage, the days after acceptance on which it begins, and the operations that are done in it."""
DELIVERY_DAY = 33
HURRY = (0.8, 1.3)

TRUE_FACTORS = {
    "DRAFT": 1.15, "TSEW": 0.9, "CUT": 1.1, "SEW1": 1.2, "SEW2": 1.2, "PRESS": 1.3, "BUSK": 0.85, "CHAN": 1.25,
    "SPIR": 0.8, "GROM": 0.75, "BINDH": 1.35, "FLOSS": 1.4, "HAND": 0.9, "CLOSE": 1.1,
}  # fmt: skip
"""Of the table's minutes; what is not named takes what the table says."""
PACE_AT_FIRST, PACE_PER_YEAR = 1.22, 0.97
REPEAT_RATE = 0.98  # what each doubling of a style's pieces leaves of the time
PIECE_SPREAD, ENTRY_SPREAD = 0.07, 0.22
SHORT_MIN, TOGETHER = 20, 0.6  # short work is mostly done in one sitting with what was before it
FORGOTTEN_MIN = 720
FORGOTTEN, SEEN_LATER, UNLOGGED, SAID_AT_CLOSE = 0.012, 0.5, 0.05, 0.6
FIVE_MIN = 5  # as one says it in the evening
PRESENT_FOR_DAYS, PRESENCE = 90, (1.1, 1.35)  # hours present, of what was logged on the day

CANCELLED, TRANSFERRED = 0.04, 0.35
CHANGED, SLIPPED, SPOILED, REMNANT_LEFT, DISCOUNTED = 0.2, 0.35, 0.15, 0.12, 0.07
DISCOUNT_MINOR = 2500
CREDITED, CREDIT_MINOR = 0.08, 3000
COLLECTED_AFTER_DAYS, LATE_MINOR = 14, 12000
CARD_SHARE, CARD_MINOR = 0.018, 25
CLOTH_USE, LENGTH_USE, PIECE_USE = (0.97, 1.12), (0.92, 1.1), (0.94, 1.08)
MANY = 10  # pieces of a line, so many at the least before any is spoilt or left over
RECUT_MM = 280
LEFT = Remnant(width_mm=620, length_mm=410)


class Making:
    """One piece on its way over the bench."""

    def __init__(self, diary: Diary, revision: QuoteRevision) -> None:
        self._diary, self._revision = diary, revision
        self._by_transfer = diary.chance.random() < TRANSFERRED

    def begin(self, on: date) -> None:
        """Make the job, take the deposit, plan the stages."""
        chance, maker = self._diary.chance, self._diary.maker
        job = make_job(self._revision, user=maker, on=on)
        self._pay(job, Payment.What.DEPOSIT, deposit(job).due_minor)
        if chance.random() < CANCELLED:
            self._plan(on, 8, lambda _: self._cancel(job))
            return
        hurry = chance.uniform(*HURRY)
        pace = self._pace(job)
        has_toile = job.option.takeoff.choices.toile
        for stage, after, codes in STAGES:
            if stage is not Stage.TOILE or has_toile:
                self._plan(on, after * hurry, partial(self._work, job, stage, codes, pace))
        if has_toile:
            self._fit(job, Fitting.Kind.TOILE, workday(on + timedelta(days=round(14 * hurry) + 2)))
        self._fit(job, Fitting.Kind.FINAL, workday(on + timedelta(days=round(31 * hurry))))
        self._plan(on, DELIVERY_DAY * hurry, partial(self._deliver, job), hour=17)

    def _plan(self, on: date, after: float, act: Callable[[date], None], *, hour: int = 10) -> None:
        day = workday(on + timedelta(days=round(after)))
        self._diary.plan(day, lambda: act(day), hour=hour)

    def _cancel(self, job: Job) -> None:
        back = deposit(job).paid_minor // 2
        self._pay(job, Payment.What.REFUND, back)
        cancel_job(job, why=self._diary.chance.choice(story().cancelled_because), user=self._diary.maker)

    def _pay(self, job: Job, what: str, amount_minor: int) -> None:
        take_payment(
            job,
            what=what,
            amount_minor=amount_minor,
            fee_minor=0
            if self._by_transfer or what == Payment.What.REFUND
            else round(amount_minor * CARD_SHARE) + CARD_MINOR,
            day=timezone.localdate(),
            note="Transfer" if self._by_transfer else "Card",
            key=self._diary.key(),
            user=self._diary.maker,
        )

    def _fit(self, job: Job, kind: str, day: date) -> None:
        at = timezone.make_aware(datetime.combine(day, time(11)))
        fitting = plan_fitting(job, kind=kind, at=at, minutes=60)
        is_toile = kind == Fitting.Kind.TOILE

        def hold() -> None:
            hold_fitting(
                fitting,
                held_on=day,
                notes="Sits well." if not is_toile else "Waist up by 5 mm at the back.",
                alterations="",
                signs_toile=is_toile,
                user=self._diary.maker,
            )

        self._diary.plan(day, hold, hour=12)

    def _work(self, job: Job, stage: Job.Stage, codes: frozenset[str], pace: float, day: date) -> None:
        """What is done in a stage: it is begun, materials are taken, time is logged, work is ticked."""
        job.refresh_from_db()
        operations = [row for row in job.operations.order_by("place") if row.code in codes]
        if stage is Stage.CUTTING:
            self._choose_cloth(job)
        if stage is not Stage.ACCEPTED:
            advance(job, to=stage, user=self._diary.maker, on=day)
        names = {row.name for row in operations}
        for line in planned_lines(job):
            if line.operation in names:
                self._take(job, line)
        without: dict[JobOperation, int] = {}
        for sitting in self._sittings(operations):
            minutes = self._minutes(sitting, pace)
            if len(sitting) == 1 and self._diary.chance.random() < UNLOGGED:
                without[sitting[0]] = minutes
            else:
                self._log(sitting, minutes, day)
            for operation in sitting:
                self._tick(job, operation)
        self._close_day(without, day)
        if stage is Stage.SEWING:
            self._mishaps(job, day)

    def _pace(self, job: Job) -> float:
        """How much longer than the table this piece takes: the year, repeats of the style, a piece's own luck."""
        years = (self._diary.day(0) - job.started_on).days / 365
        repeat = Job.objects.filter(style=job.style, started_on__lte=job.started_on).count()
        skill: float = PACE_AT_FIRST * PACE_PER_YEAR ** (2 - years)
        draw: float = self._diary.chance.lognormvariate(0, PIECE_SPREAD)
        return skill * math.pow(repeat, math.log2(REPEAT_RATE)) * draw

    def _sittings(self, operations: Sequence[JobOperation]) -> list[list[JobOperation]]:
        """What is done in one go, in the order of the work."""
        sittings: list[list[JobOperation]] = []
        for operation in operations:
            if sittings and operation.planned_min < SHORT_MIN and self._diary.chance.random() < TOGETHER:
                sittings[-1].append(operation)
            else:
                sittings.append([operation])
        return sittings

    def _minutes(self, sitting: Sequence[JobOperation], pace: float) -> int:
        """What a sitting truly takes, each of its operations with a luck of its own."""
        return max(
            2,
            round(
                math.fsum(
                    operation.estimated_min
                    * pace
                    * TRUE_FACTORS.get(operation.code, 1.0)
                    * self._diary.chance.lognormvariate(-(ENTRY_SPREAD**2) / 2, ENTRY_SPREAD)
                    for operation in sitting
                )
            ),
        )

    def _log(self, sitting: Sequence[JobOperation], minutes: int, day: date) -> None:
        chance, maker = self._diary.chance, self._diary.maker
        is_forgotten = chance.random() < FORGOTTEN
        first, *also = sitting
        entry = write_down(
            first,
            user=maker,
            key=self._diary.key(),
            day=day,
            minutes=FORGOTTEN_MIN if is_forgotten else minutes,
            also=also,
        )
        if is_forgotten and chance.random() < SEEN_LATER:
            why = "The timer ran on over supper"
            correct(entry, user=maker, key=self._diary.key(), day=day, minutes=minutes, why=why)

    def _close_day(self, without: Mapping[JobOperation, int], day: date) -> None:
        """Mostly say how long took together what was ticked without time, and lately how long the day was."""
        chance, maker = self._diary.chance, self._diary.maker
        if without and chance.random() < SAID_AT_CLOSE:
            minutes = max(FIVE_MIN, FIVE_MIN * round(sum(without.values()) / FIVE_MIN))
            write_together(list(without), user=maker, key=self._diary.key(), day=day, minutes=minutes)
        if day >= self._diary.day(PRESENT_FOR_DAYS) and (logged := logged_on(day, maker)):
            be_present(maker, day=day, minutes=min(MOST_MINUTES, round(logged * chance.uniform(*PRESENCE))))

    def _tick(self, job: Job, operation: JobOperation) -> None:
        number = {"SEW1": 1, "SEW2": 2}.get(operation.code)
        if number is not None:
            shells = SeamPass.objects.filter(job=job, number=number).order_by().values_list("shell", flat=True)
            for shell in sorted(set(shells)):
                tick_shell(job, shell=shell, number=number, user=self._diary.maker)
        tick_operation(operation, user=self._diary.maker)

    def _choose_cloth(self, job: Job) -> None:
        """Keep what shows from one lot before the shears go in."""
        for line in planned_lines(job):
            if line.needs_one_lot and line.lot is None and line.remaining and line.item.material.is_cloth:
                enough = [lot for lot in ready_lots(line.item) if lot.on_hand >= line.remaining]
                smallest = min(enough, key=lambda lot: lot.on_hand, default=None)
                keep_from_lot(line, smallest or fetched(self._diary, line.item, line.remaining))

    def _take(self, job: Job, line: ReservationLine) -> None:
        """Give the job what is kept for it, a little more or less; what lacks is fetched dear on the day."""
        low, high = self._use_of(line)
        rest = max(1, round(line.remaining * self._diary.chance.uniform(low, high)))
        if line.lot is not None:
            rest = min(rest, line.lot.on_hand)
        for lot in [line.lot] if line.lot else ready_lots(line.item):
            if amount := min(rest, lot.on_hand):
                self._issue(job, line, lot, amount)
                rest -= amount
        if rest:
            self._issue(job, line, fetched(self._diary, line.item, rest), rest)

    def _use_of(self, line: ReservationLine) -> tuple[float, float]:
        if line.item.material.is_cloth:
            return CLOTH_USE
        if line.item.unit is StockUnit.METRE:
            return LENGTH_USE
        return PIECE_USE if line.quantity >= MANY else (1.0, 1.0)

    def _issue(self, job: Job, line: ReservationLine, lot: Lot, amount: int) -> None:
        issue_planned(
            job,
            line,
            lot=lot,
            quantity=amount,
            key=self._diary.key(),
            user=self._diary.maker,
            takes_reserved=True,
        )

    def _mishaps(self, job: Job, day: date) -> None:
        """What goes otherwise than planned: a change agreed, work done again, cloth cut again, an offcut kept."""
        chance, maker = self._diary.chance, self._diary.maker
        if chance.random() < CHANGED:
            change = chance.choice(story().changes)
            minor = job.currency.to_minor(change.net)
            agree_change(job, what=change.what, net_minor=minor, minutes=change.minutes, agreed_on=day, user=maker)
            self._again(job, "FIN", change.minutes, "client", day)
        if chance.random() < SLIPPED:
            slip = chance.choice(story().slips)
            self._again(job, slip.operation, chance.randint(*slip.minutes), slip.cause, day)
        outer = next((row for row in planned_lines(job) if row.needs_one_lot and row.item.material.is_cloth), None)
        if outer is None or outer.lot is None:
            return
        fate, lot = chance.random(), outer.lot
        if fate < SPOILED and lot.on_hand >= RECUT_MM:
            cause, words = chance.choice(
                (("own-slip", "panel 3 cut upside down"), ("cloth-fault", "a slub at the bust"))
            )
            spoil(
                job,
                lot=lot,
                quantity=RECUT_MM,
                cause=cause,
                words=words,
                is_cut_again=True,
                key=self._diary.key(),
                user=maker,
            )
        elif fate > 1 - REMNANT_LEFT:
            take_back(
                job,
                lot=lot,
                quantity=LEFT.length_of_width(lot.item.material.usable_width_mm),
                remnant=LEFT,
                is_still_needed=False,
                key=self._diary.key(),
                user=maker,
            )

    def _again(self, job: Job, code: str, minutes: int, cause: str, day: date) -> None:
        operation = job.operations.filter(code=code).first()
        if operation is not None:
            key = self._diary.key()
            write_down(operation, user=self._diary.maker, key=key, day=day, minutes=minutes, cause=cause)

    def _deliver(self, job: Job, day: date) -> None:
        job.refresh_from_db()
        discount = DISCOUNT_MINOR if self._diary.chance.random() < DISCOUNTED else 0
        owed = sum(agreed(job, discount_minor=discount)) - bill(job).kept_minor
        # One of the latest pieces went out before all of it was paid.
        late = LATE_MINOR if day >= self._diary.day(COLLECTED_AFTER_DAYS) else 0
        self._pay(job, Payment.What.BALANCE, owed - late)
        deliver(job, invoice=expected_invoice(job, discount_minor=discount), on=day, user=self._diary.maker)
        if self._diary.chance.random() < CREDITED:
            self._plan(day, 6, partial(self._lower_price, job), hour=15)

    def _lower_price(self, job: Job, day: date) -> None:
        give_credit(
            job,
            amount_minor=CREDIT_MINOR,
            why="A mark on the binding",
            day=day,
            pays_back=True,
            key=self._diary.key(),
            user=self._diary.maker,
        )
