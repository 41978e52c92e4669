"""What is best ordered at this review, and what may wait for a later one.

At a review the question is what cannot wait: known work that an order of the next review would reach too late, or in
time from a dearer supplier only, and materials that have fallen to their reserve. Where there is none, nothing is
ordered. Where there is, the joint order covers it exactly, and fills up besides with what is worth having along: use that
is expected within the cover of its supplier's cycle need not be bought, and posted, later.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import ROUND_CEILING, Decimal
from zlib import crc32

from inventory.ground.defaults import shelf_defaults
from inventory.replenish.ahead import worth_ahead
from inventory.replenish.cycle import Numbers
from inventory.replenish.flow import least_lateness, shortages
from inventory.replenish.forecast import classify, expected_per_week, told_per_week
from inventory.replenish.last_chance import last_chances
from inventory.replenish.minimum import reachable
from inventory.replenish.plan import make_plan
from inventory.replenish.plan_file import PlanFile
from inventory.replenish.problem import (
    Ahead,
    Demand,
    ExpectedUse,
    NextOrder,
    OpenOrder,
    Order,
    Plan,
    Problem,
    Waiting,
    Watched,
)
from inventory.replenish.reserve import Lead, lead_draws, reserve_of, use_until_next_chance
from inventory.replenish.sourcing import Sourcing, sourcing
from inventory.replenish.watch import HISTORY_WEEKS, Watch, weekly_use

__all__ = ["answered", "plan_review"]

LEAST_UNFORESEEN_SHARE = shelf_defaults().forecast.least_unforeseen_share
WEEK = 7


def plan_review(problem: Problem, watch: Watch, *, seconds: float) -> Plan:
    """Return what is best ordered on the problem's day, where the shelf is watched; its orders may be none.

    The plan's problem is what this review has to answer: the work that cannot wait, reserves as safeties, and what is
    worth having along.

    Raises:
        Refused: a need or a safety that nothing can ever meet; no plan found in time.
    """
    problem, out_of_reach = reachable(problem)
    least_lateness(problem, out_of_reach)  # names what can never be met, also of what may wait
    left_out = [row.finding(problem.currency) for row in out_of_reach]
    review = _Review(problem, watch)
    asked = review.question()
    if shortages(asked, {}) == ():
        return Plan(
            problem=asked,
            orders=(),
            shortages=(),
            holding=Decimal(0),
            line_by_line_total=None,
            is_optimal=True,
            cost=0.0,
            bound=Decimal(0),
            findings=left_out,
            watched=review.watched(()),
        )
    plan = make_plan(replace(asked, ahead=review.ahead()), seconds=seconds)
    orders = tuple(replace(order, order_by=review.order_by(order)) for order in plan.orders)
    holding = review.holding(plan.orders)
    return replace(
        plan,
        orders=orders,
        holding=holding,
        line_by_line_total=None,
        bound=max(Decimal(0), plan.bound + holding - plan.holding),
        findings=[*left_out, *plan.findings],
        watched=review.watched(plan.orders),
    )


def answered(file: PlanFile, *, seconds: float) -> Plan:
    """Return the plan that a file asks for: of one review where it says how the shelf is watched, else of one day."""
    if file.watch is None:
        return make_plan(file.problem, seconds=seconds)
    return plan_review(file.problem, file.watch, seconds=seconds)


class _Review:
    """One look at the shelf; quantities by code."""

    def __init__(self, problem: Problem, watch: Watch) -> None:
        self.problem = problem
        self.watch = watch
        self.next_review = problem.as_of + timedelta(days=watch.review_days)
        self.rows = {row.code: row for row in problem.materials}
        self.suppliers = {row.code: row for row in problem.suppliers}
        self.stock = {row.code: row.on_hand for row in problem.materials}
        for order in problem.open_orders:
            self.stock[order.material] += order.quantity
        self.finest = {row.code: _last_place(row.on_hand) for row in problem.materials}
        for use in watch.history:
            if use.material in self.finest:
                self.finest[use.material] = min(self.finest[use.material], _last_place(use.quantity))
        used = weekly_use(watch.history, until=problem.as_of)
        self.per_week = {code: expected_per_week(series.tolist()) for code, series in used.items() if code in self.rows}
        # What is drawn varies as past weeks did, around what is expected now.
        self.weeks: dict[str, Numbers] = {
            code: used[code] * (per_week / used[code].mean()) for code, per_week in self.per_week.items()
        }
        self.usual: Sourcing = sourcing(problem, self.weeks, review_weeks=max(1, round(watch.review_days / WEEK)))
        self.chance_on = self._next_chances()
        self.pressing: dict[str, Decimal] = defaultdict(Decimal)
        self.later: dict[str, list[Demand]] = defaultdict(list)
        for need in problem.needs:
            chance = self.chance_on[need.material]
            if chance is None or need.day < chance:
                self.pressing[need.material] += need.quantity
            else:
                self.later[need.material].append(need)
        self.unforeseen_share = self._unforeseen_share()
        self.borne: dict[str, Decimal] = defaultdict(Decimal)
        self.reserves = {code: self._reserve(code) for code in self.weeks}
        for code, last in self._last_chances().items():
            self.pressing[code] += sum((need.quantity for need in self.later[code] if need.day <= last), Decimal(0))
            self.later[code] = [need for need in self.later[code] if need.day > last]
        for code, stand_in in self.usual.stand_in.items():
            self._bear(code, stand_in)

    def question(self) -> Problem:
        """What cannot wait for the next review: its needs, and reserves as safeties."""
        waiting = {id(need) for needs in self.later.values() for need in needs}
        return replace(
            self.problem,
            needs=tuple(need for need in self.problem.needs if id(need) not in waiting),
            open_orders=tuple(order for order in self.problem.open_orders if self._counts_by_then(order)),
            materials=tuple(
                row if row.code in self.usual.stand_in else replace(row, safety=self._safety(row.code))
                for row in self.problem.materials
            ),
        )

    def ahead(self) -> tuple[Ahead, ...]:
        """What is worth having along in an order that goes out anyway."""
        later = {
            code: [(((need.day - chance).days + 1) / WEEK, float(need.quantity)) for need in needs]
            for code, needs in self.later.items()
            if (chance := self.chance_on[code]) is not None
        }
        left_over = {code: float(self._left_over(code, Decimal(0))) for code in self.rows}
        return worth_ahead(
            self.problem,
            self.usual,
            per_week=self.per_week,
            own_cover=self.watch.cover_weeks,
            later=later,
            left_over=left_over,
        )

    def order_by(self, order: Order) -> date:
        """The last day on which nothing comes later than planned even where the supplier is late; today for a reserve."""
        if any(self._is_at_reserve(line.offer.material) for line in order.lines):
            return self.problem.as_of
        spread = timedelta(days=order.supplier.latest_days - order.supplier.lead_days)
        return max(self.problem.as_of, min(order.order_by - spread, self.next_review))

    def holding(self, orders: Iterable[Order]) -> Decimal:
        """Holding of what is bought beyond all needs, also those that may wait, and reserves; rounded once."""
        total = Decimal(0)
        for code, quantity in _bought(orders).items():
            wanted = self._safety(code) + self.pressing[code] + self._waiting(code) - self.stock[code]
            beyond = max(Decimal(0), quantity - max(Decimal(0), wanted))
            total += beyond * self.problem.holding_per_unit(self.rows[code])
        return self.problem.currency.round(total)

    def watched(self, orders: Iterable[Order]) -> Watched:
        """When to look again, what is expected, and what is likely to follow these orders."""
        bought = _bought(orders)
        return Watched(
            next_review=self.next_review,
            expected=tuple(
                ExpectedUse(
                    material=code,
                    per_week=told_per_week(self.per_week[code]),
                    reserve=self._safety(code),
                    rule=self._rule(code),
                )
                for code in sorted(self.weeks)
            ),
            next_orders=self._next_orders(bought),
            waiting=tuple(row for code in sorted(self.later) for row in self._still_to_come(code, bought)),
        )

    def _next_chances(self) -> dict[str, date | None]:
        """By code, the day when an order of the next review is there even if it is late, from whoever is soonest."""
        soonest: dict[str, int] = {}
        for offer in self.problem.offers:
            days = self.suppliers[offer.supplier].latest_days
            soonest[offer.material] = min(days, soonest.get(offer.material, days))
        chances: dict[str, date | None] = {}
        for row in self.problem.materials:
            days_of = [soonest[code] for code in (row.code, *row.substitutes) if code in soonest]
            chances[row.code] = self.next_review + timedelta(days=min(days_of)) if days_of else None
        return chances

    def _last_chances(self) -> dict[str, date]:
        """By code, until which day work that could wait is better ordered now.

        A code of which something comes after its next chance is left: it would count for the reserve until then.
        """
        coming = {order.material for order in self.problem.open_orders if not self._counts_by_then(order)}
        waiting = {code: list(self._still_to_come(code, {})) for code in sorted(self.later) if code not in coming}
        return last_chances(self.problem, waiting, next_review=self.next_review)

    def _unforeseen_share(self) -> float:
        """What share of the use until the next chance is not known yet, over all materials that are forecast.

        Known work is part of what was used before, not on top of it. One material's few jobs tell little about the share;
        all together tell it well.
        """
        known, materials = 0.0, 0
        for code, per_week in self.per_week.items():
            if (chance := self.chance_on[code]) is not None:
                known += float(self.pressing[code]) / (per_week * (chance - self.problem.as_of).days / WEEK)
                materials += 1
        return max(LEAST_UNFORESEEN_SHARE, 1 - known / materials) if materials else 1.0

    def _reserve(self, code: str) -> Decimal:
        """What must be there beyond known work for the next review to be soon enough."""
        if code not in self.usual.supplier:
            return Decimal(0)
        supplier = self.suppliers[self.usual.supplier[code]]
        seed = crc32(code.encode())
        use = use_until_next_chance(
            self.weeks[code],
            review_days=self.watch.review_days,
            leads=lead_draws(Lead(likely=supplier.lead_days, late=supplier.latest_days), seed=seed),
            unforeseen_share=self.unforeseen_share,
            seed=seed,
        )
        service = self.watch.service.get(code)
        if service is None:
            return self.rows[code].safety + self._in_steps(code, float(use.mean()))
        unforeseen_in_cycle = self.per_week[code] * self.unforeseen_share * self.usual.cycle[supplier.code].weeks
        allowed = (1 - service) * unforeseen_in_cycle / self.usual.begins[code]
        return self._in_steps(code, reserve_of(use, allowed_short=allowed))

    def _rule(self, code: str) -> str:
        words = [_told_use(self.weeks[code].tolist())]
        if code in self.usual.supplier:
            supplier = self.suppliers[self.usual.supplier[code]]
            cycle = self.usual.cycle[supplier.code]
            cover = self.watch.cover_weeks.get(code, cycle.cover_weeks)
            lead = f"{supplier.lead_days}"
            if supplier.latest_days > supplier.lead_days:
                lead += f", nine times in ten within {supplier.latest_days},"
            bought = f", as {self.usual.bought_as(code)}," if code in self.usual.stand_in else ","
            words.append(
                f"Usually from {supplier.code}{bought} where postage and holding are least with an order about every "
                f"{cycle.weeks:.0f} weeks that fills up for {cover:.0f}; this material begins "
                f"{self.usual.begins[code]:.0%} of them."
            )
            service = self.watch.service.get(code)
            kept = "the maker’s own reserve and mean use" if service is None else f"{service:.0%} of unforeseen use"
            words.append(
                f"Beyond known work there must be {kept} until an order of the next review, in {self.watch.review_days} "
                f"days, has come ({lead} days); {self.unforeseen_share:.0%} of what is used is not known so long ahead."
            )
        return " ".join(words)

    def _in_steps(self, code: str, amount: float) -> Decimal:
        """An amount rounded up to the finest step in which the material is used or lies there; one at least.

        With none, a shelf that is just empty would wait for known work.
        """
        step = Decimal(1).scaleb(self.finest[code])
        return max(step, Decimal(amount).quantize(step, rounding=ROUND_CEILING))

    def _bear(self, code: str, stand_in: str) -> None:
        """Keep in the stand-in what a material that nobody offers lacks of its reserve and of work that cannot wait."""
        left, own = self._there(code) - self.pressing[code], self.rows[code].safety
        self.borne[stand_in] += max(Decimal(0), self._safety(code) - max(own, left))
        self.pressing[stand_in] += max(Decimal(0), own - left)

    def _safety(self, code: str) -> Decimal:
        """What must be there beyond known work; of a stand-in, also what others lack of theirs."""
        return max(self.rows[code].safety, self.reserves.get(code, Decimal(0))) + self.borne[code]

    def _waiting(self, code: str) -> Decimal:
        return sum((need.quantity for need in self.later.get(code, ())), Decimal(0))

    def _left_over(self, code: str, bought: Decimal) -> Decimal:
        """What is there, on its way and bought beyond the work that cannot wait and the reserve."""
        return max(Decimal(0), self.stock[code] + bought - self.pressing[code] - self._safety(code))

    def _is_at_reserve(self, code: str) -> bool:
        return self._there(code) - self.pressing[code] < self._safety(code) != 0

    def _there(self, code: str) -> Decimal:
        """What lies there by the next chance, with what has come by then."""
        orders = (order for order in self.problem.open_orders if order.material == code)
        return self.rows[code].on_hand + sum(
            (order.quantity for order in orders if self._counts_by_then(order)), Decimal(0)
        )

    def _counts_by_then(self, order: OpenOrder) -> bool:
        """Whether an open order has come by the time that one of the next review would."""
        chance = self.chance_on[order.material]
        return chance is None or order.day <= chance

    def _still_to_come(self, code: str, bought: Mapping[str, Decimal]) -> Iterator[Waiting]:
        """What of the work that may wait is not there yet, soonest first."""
        there = self._left_over(code, bought.get(code, Decimal(0)))
        chance = self.chance_on[code]
        for need in sorted(self.later[code], key=lambda need: (need.day, need.job)):
            covered = min(there, need.quantity)
            there -= covered
            if need.quantity > covered and chance is not None:
                until = need.day - (chance - self.next_review)
                yield Waiting(material=code, quantity=need.quantity - covered, job=need.job, day=need.day, until=until)

    def _next_orders(self, bought: Mapping[str, Decimal]) -> tuple[NextOrder, ...]:
        """For each usual supplier, the day on which the first of its materials is likely to reach its reserve.

        What lasts longer than the past that is looked at tells of no day.
        """
        used: dict[str, list[str]] = defaultdict(list)
        for code in self.per_week:
            if code in self.usual.supplier:
                used[self.usual.bought_as(code)].append(code)
        first: dict[str, tuple[date, str]] = {}
        for code, users in used.items():
            left = sum((self._left_over(user, bought.get(user, Decimal(0))) for user in {code, *users}), Decimal(0))
            weeks = float(left) / sum(self.per_week[user] for user in users)
            if weeks > HISTORY_WEEKS:
                continue
            days = int(weeks * WEEK)
            about = self.next_review + timedelta(days=days // self.watch.review_days * self.watch.review_days)
            supplier = self.usual.supplier[code]
            first[supplier] = min((about, code), first.get(supplier, (about, code)))
        return tuple(
            NextOrder(supplier=supplier, about=about, material=code)
            for supplier, (about, code) in sorted(first.items())
        )


def _last_place(amount: Decimal) -> int:
    """The power of ten of the last place that an amount needs, 0 for whole ones."""
    return min(0, int(amount.normalize().as_tuple().exponent))


def _told_use(series: Sequence[float]) -> str:
    """How often and how evenly it is used, in words."""
    used = sum(1 for amount in series if amount)
    return f"Used in {used} of the last {len(series)} weeks, {classify(series).value}."


def _bought(orders: Iterable[Order]) -> dict[str, Decimal]:
    bought: dict[str, Decimal] = defaultdict(Decimal)
    for order in orders:
        for line in order.lines:
            bought[line.offer.material] += line.quantity
    return bought
