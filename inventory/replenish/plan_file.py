"""A plan's file to a problem, and how the shelf is watched: every fault with its path, nothing guessed."""

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from inventory.ground.codec import Document
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.money import Currency, currency_of
from inventory.ground.reading import calendar_day, data_beside, decimal_at
from inventory.ground.schema import schema_findings
from inventory.replenish.problem import Demand, Offer, OpenOrder, Problem, Stocked, Supplier, Tier
from inventory.replenish.watch import Use, Watch

__all__ = ["PlanFile", "read_plan_file"]

T = TypeVar("T")
MOST_QUANTITY = Decimal(10) ** 9
MOST_DECIMALS = 6
WATCH_KEYS = ("history", "review_days", "service_share")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFile:
    """What a plan's file asks; `watch` is None where the file tells of one day only."""

    problem: Problem
    watch: Watch | None


def read_plan_file(document: object, *, as_of: date | None = None) -> PlanFile:
    """Return what `document` asks; `as_of` goes before the file's own date.

    Raises:
        Refused: every key, number, date or code that does not fit, with its path.
    """
    faults = schema_findings(document, data_beside(__file__, "plan.schema.json"), code="plan")
    if faults:
        raise Refused(faults)
    assert isinstance(document, dict)
    reader = _Reader(document)
    problem, watch = reader.problem(as_of), reader.watch()
    if reader.faults:
        raise Refused(reader.faults)
    assert problem is not None
    return PlanFile(problem=problem, watch=watch)


class _Reader:
    """Reads one document; faults are collected, and what is faulty is read as zero until they are raised."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.faults: list[Finding] = []
        self.codes = {row["code"] for row in document["materials"]}
        self.supplier_codes = {row["code"] for row in document["suppliers"]}

    def problem(self, as_of: date | None) -> Problem | None:
        document = self.document
        currency = self._currency()
        if currency is None:
            return None
        self._once("materials")
        self._once("suppliers")
        share = self._number(document["holding_share_per_year"], "holding_share_per_year", most=Decimal(10))
        usual = str(shelf_defaults().shelf.surplus_days)
        days = self._number(document.get("surplus_days", usual), "surplus_days", most=Decimal(36500))
        return Problem(
            currency=currency,
            as_of=as_of or self._day(document["as_of"], "as_of"),
            holding_share_per_year=share,
            surplus_days=days,
            materials=self._rows("materials", self._material),
            needs=self._rows("needs", self._need),
            open_orders=self._rows("open_orders", self._open_order),
            offers=self._rows("offers", lambda row, place: self._offer(row, place, currency)),
            suppliers=self._rows("suppliers", lambda row, place: self._supplier(row, place, currency)),
        )

    def watch(self) -> Watch | None:
        document = self.document
        missing = [key for key in WATCH_KEYS if key not in document]
        if len(missing) == len(WATCH_KEYS):
            return None
        if missing:
            self._fault(
                "plan.watch",
                missing[0],
                f"{' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing beside what else tells how the "
                "shelf is watched.",
                f"Give {', '.join(WATCH_KEYS)} together, or none of them.",
            )
            return None
        found = len(self.faults)
        share = self._number(document["service_share"], "service_share")
        if not 0 < share < 1 and len(self.faults) == found:
            self._fault(
                "plan.service-share",
                "service_share",
                f"A share of {share} is not between 0 and 1.",
                'Write what share of unforeseen use is to be met from the shelf, such as "0.95".',
            )
        return Watch(
            review_days=int(document["review_days"]),
            history=self._rows("history", self._use),
            service=dict.fromkeys(self.codes, float(share)),
        )

    def _rows(self, name: str, read: Callable[[Document, str], T]) -> tuple[T, ...]:
        return tuple(read(row, f"{name}[{index}]") for index, row in enumerate(self.document[name]))

    def _material(self, row: Document, place: str) -> Stocked:
        substitutes = tuple(row.get("substitutes", ()))
        for index, code in enumerate(substitutes):
            self._known(code, self.codes, f"{place}.substitutes[{index}]", "material")
            if code == row["code"]:
                self._fault("plan.own-substitute", f"{place}.substitutes[{index}]", f"{code!r} stands in for itself.")
        return Stocked(
            code=row["code"],
            unit=row["unit"],
            on_hand=self._number(row["on_hand"], f"{place}.on_hand"),
            safety=self._number(row["safety"], f"{place}.safety"),
            unit_value=self._number(row["unit_value"], f"{place}.unit_value"),
            substitutes=substitutes,
        )

    def _need(self, row: Document, place: str) -> Demand:
        self._known(row["material"], self.codes, f"{place}.material", "material")
        return Demand(
            material=row["material"],
            quantity=self._number(row["quantity"], f"{place}.quantity"),
            day=self._day(row["date"], f"{place}.date"),
            job=row["job"],
        )

    def _open_order(self, row: Document, place: str) -> OpenOrder:
        self._known(row["material"], self.codes, f"{place}.material", "material")
        return OpenOrder(
            material=row["material"],
            quantity=self._number(row["quantity"], f"{place}.quantity"),
            day=self._day(row["date"], f"{place}.date"),
        )

    def _use(self, row: Document, place: str) -> Use:
        self._known(row["material"], self.codes, f"{place}.material", "material")
        return Use(
            material=row["material"],
            quantity=self._number(row["quantity"], f"{place}.quantity"),
            day=self._day(row["date"], f"{place}.date"),
        )

    def _offer(self, row: Document, place: str, currency: Currency) -> Offer:
        self._known(row["material"], self.codes, f"{place}.material", "material")
        self._known(row["supplier"], self.supplier_codes, f"{place}.supplier", "supplier")
        pack = self._number(row["pack"], f"{place}.pack")
        if pack == 0:
            self._fault("plan.pack", f"{place}.pack", "A pack of 0 holds nothing.", "Say how much a pack holds.")
        tiers = sorted(
            (
                Tier(
                    from_packs=int(tier["from_packs"]),
                    price=self._money(tier["price"], f"{place}.breaks[{at}].price", currency),
                )
                for at, tier in enumerate(row["breaks"])
            ),
            key=lambda tier: tier.from_packs,
        )
        for from_packs, count in Counter(tier.from_packs for tier in tiers).items():
            if count > 1:
                self._fault(
                    "plan.break-twice", f"{place}.breaks", f"Two breaks begin at {from_packs} packs.", "Keep one."
                )
        return Offer(
            supplier=row["supplier"],
            material=row["material"],
            pack=pack,
            tiers=tuple(tiers),
            minimum_packs=int(row.get("minimum_packs", 1)),
        )

    def _supplier(self, row: Document, place: str, currency: Currency) -> Supplier:
        def optional(name: str) -> Decimal | None:
            return self._money(row[name], f"{place}.{name}", currency) if name in row else None

        lead = row["lead_days"]
        likely, late = (lead["likely"], lead["late"]) if isinstance(lead, dict) else (lead, None)
        if late is not None and late < likely:
            self._fault(
                "plan.lead",
                f"{place}.lead_days",
                f"The late days ({late}) are fewer than the likely ones ({likely}).",
                "Write the days within which nine orders in ten have come.",
            )
        return Supplier(
            code=row["code"],
            lead_days=int(likely),
            late_days=None if late is None else int(late),
            postage=self._money(row["postage"], f"{place}.postage", currency),
            postage_free_from=optional("postage_free_from"),
            minimum_order=optional("minimum_order"),
        )

    def _currency(self) -> Currency | None:
        try:
            return currency_of(self.document["currency"])
        except ValueError as error:
            self._fault("plan.currency", "currency", str(error), "Write a code such as EUR, GBP or JPY.")
            return None

    def _once(self, name: str) -> None:
        counts = Counter(row["code"] for row in self.document[name])
        seen: set[str] = set()
        for index, row in enumerate(self.document[name]):
            if counts[row["code"]] > 1 and row["code"] in seen:
                self._fault("plan.code-twice", f"{name}[{index}].code", f"{row['code']!r} is there twice.", "Keep one.")
            seen.add(row["code"])

    def _known(self, code: str, known: Iterable[str], place: str, kind: str) -> None:
        if code not in known:
            self._fault(
                "plan.unknown-code", place, f"There is no {kind} {code[:60]!r} in the file.", f"Add the {kind}."
            )

    def _number(self, value: object, place: str, *, most: Decimal = MOST_QUANTITY) -> Decimal:
        number = decimal_at(value, place)
        if isinstance(number, Finding):
            self.faults.append(number)
            return Decimal(0)
        if not 0 <= number <= most:
            self._fault("plan.out-of-range", place, f"{number} is outside 0 to {most:f}.")
            return Decimal(0)
        if number != round(number, MOST_DECIMALS):
            self._fault("plan.too-fine", place, f"{number} has more than {MOST_DECIMALS} decimals.", "Round it.")
        return number

    def _money(self, value: object, place: str, currency: Currency) -> Decimal:
        amount = self._number(value, place)
        if not currency.is_exact(amount):
            self._fault(
                "money.too-many-decimals",
                place,
                f"{amount} has more decimals than {currency.code} has ({currency.digits}).",
                "Round it.",
            )
        return amount

    def _day(self, text: str, place: str) -> date:
        try:
            day = calendar_day(text, place, "plan.date")
        except Refused as refusal:
            self.faults += refusal.findings
            return date(2000, 1, 1)
        if not 1970 <= day.year <= 2999:
            self._fault("plan.date", place, f"{text} is outside the years 1970 to 2999.")
            return date(2000, 1, 1)
        return day

    def _fault(self, code: str, place: str, message: str, hint: str = "") -> None:
        self.faults.append(stop(code, place, message, hint))
