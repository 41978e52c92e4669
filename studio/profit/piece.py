"""What was quoted, what happened, and the account of both. Money is Decimal in whole minor units of one currency."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from inventory.ground.materials import StockUnit
from inventory.ground.money import Currency
from studio.defaults import studio_defaults

__all__ = [
    "Account",
    "Actual",
    "Amount",
    "Bearer",
    "BridgeLine",
    "CauseCost",
    "Quoted",
    "QuotedMaterial",
    "QuotedOperation",
    "Rework",
    "Spoiled",
    "StepGroup",
    "StepPart",
    "Unlogged",
    "UsedMaterial",
    "WorkedOperation",
    "subjects",
]

_ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """Something named, net of tax: an extra, or a change order."""

    what: str
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotedMaterial:
    """A material as quoted: `quantity` in its stock unit at `rate`, together the rounded `amount`."""

    code: str
    what: str
    quantity: Decimal
    unit: StockUnit
    rate: Decimal
    amount: Decimal

    def at_quoted_rate(self, quantity: Decimal, currency: Currency) -> Decimal:
        """What another quantity would have cost by the quote.

        As much as quoted costs what was quoted, even where the quote rounded it in two lines.
        """
        return self.amount if quantity == self.quantity else currency.round(quantity * self.rate)


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotedOperation:
    """An operation as quoted, with its allowance; the amounts of all add up to the quoted labour."""

    code: str
    name: str
    hours: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Quoted:
    """The accepted option. Materials and operations stand once per code; `labour_rate` and `overhead_rate` per hour."""

    currency: Currency
    net: Decimal
    fee: Decimal
    materials: tuple[QuotedMaterial, ...]
    operations: tuple[QuotedOperation, ...]
    labour_rate: Decimal
    overhead: Decimal
    overhead_rate: Decimal
    contingency: Decimal
    extras: tuple[Amount, ...]

    @property
    def profit(self) -> Decimal:
        """What was meant to be left; contingency counts as a cost."""
        materials = sum((row.amount for row in self.materials), _ZERO)
        labour = sum((row.amount for row in self.operations), _ZERO)
        extras = sum((row.amount for row in self.extras), _ZERO)
        return self.net - self.fee - materials - labour - self.overhead - self.contingency - extras


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedMaterial:
    """What went into the piece, without what was spoiled: ledger value, returns taken off. A code may come twice, also
    in several units: bones by the metre and by the piece.
    """

    code: str
    what: str
    quantity: Decimal
    unit: StockUnit
    value: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoiled:
    """Scrap or what was cut again for it: ledger value, less what it still fetched."""

    cause: str
    value: Decimal


class Unlogged(StrEnum):
    """Why an operation has no time of its own: nobody logged it, it stands with another's, it was left undone."""

    NO = ""
    MISSING = "missing"
    ELSEWHERE = "elsewhere"
    UNDONE = "undone"


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOperation:
    """Hours of an operation, >= 0, without those spent on doing it again. A code may come twice.

    Where they are `MISSING` they are those that were planned; where they stand elsewhere, or nothing was done, none.
    """

    code: str
    name: str
    hours: Decimal
    unlogged: Unlogged = Unlogged.NO


@dataclass(frozen=True, slots=True, kw_only=True)
class Rework:
    """Hours of doing something again, >= 0, by cause."""

    cause: str
    hours: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Actual:
    """What really happened.

    Attributes:
        net: all that was invoiced, without tax, change orders and discount in it, less what was credited.
        fee: what payments took.
        change_orders: as agreed, net; below zero where something was left out.
        discount: given after acceptance, net, >= 0.
        credits: lower prices after the invoice with their reasons, net; below zero where one was taken back.
        labour_rate: per hour; the quoted one unless the studio says otherwise.
        overhead_rate: per hour, of the period in which the piece was made.
    """

    net: Decimal
    fee: Decimal
    change_orders: tuple[Amount, ...]
    discount: Decimal
    materials: tuple[UsedMaterial, ...]
    spoiled: tuple[Spoiled, ...]
    hours: tuple[WorkedOperation, ...]
    rework: tuple[Rework, ...]
    labour_rate: Decimal
    overhead_rate: Decimal
    extras: tuple[Amount, ...]
    credits: tuple[Amount, ...] = ()

    @property
    def invoiced(self) -> Decimal:
        """What the invoice said, without tax."""
        return self.net + sum((row.amount for row in self.credits), _ZERO)

    @property
    def hours_of_rows(self) -> tuple[Decimal, ...]:
        """The hours of each operation's row, then of each row of rework."""
        return (*(row.hours for row in self.hours), *(row.hours for row in self.rework))


class Bearer(StrEnum):
    """Who bears a loss: the piece, the overhead of all pieces, or the month in which it happened."""

    PIECE = "piece"
    OVERHEAD = "overhead"
    PERIOD = "period"


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseCost:
    """What one cause cost on one piece: material spoiled, hours done again and the overhead that they carried."""

    cause: str
    bearer: Bearer
    materials: Decimal
    labour: Decimal
    overhead: Decimal

    @property
    def amount(self) -> Decimal:
        """All of it."""
        return self.materials + self.labour + self.overhead


class StepGroup(StrEnum):
    """What a step of the bridge belongs to."""

    CHANGE = "change"
    DISCOUNT = "discount"
    INVOICE = "invoice"
    CREDIT = "credit"
    FEE = "fee"
    MATERIAL = "material"
    SPOILED = "spoiled"
    LABOUR = "labour"
    REWORK = "rework"
    OVERHEAD = "overhead"
    CONTINGENCY = "contingency"
    EXTRA = "extra"


class StepPart(StrEnum):
    """Which part of its subject a step explains."""

    WHOLE = ""
    QUANTITY = "quantity"
    PRICE = "price"
    UNUSED = "unused"
    UNQUOTED = "unquoted"
    HOURS = "hours"
    RATE = "rate"


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeLine:
    """One step from quoted to actual profit: `amount` > 0 raises profit, `what` says why and may end a sentence.

    Attributes:
        subject: code of the material, the operation or the cause that it is about, a material's as `subjects` has it;
            empty for none.
        number: of the change, the credit or the direct cost that it is about, from 1; 0 for none.
    """

    group: StepGroup
    what: str
    amount: Decimal
    subject: str = ""
    number: int = 0
    part: StepPart = StepPart.WHOLE

    @property
    def code(self) -> str:
        """The step as commands print it: `material.coutil-white.price`."""
        return ".".join(filter(None, (self.group, self.subject or str(self.number or ""), self.part)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """What a piece earned. quoted_profit + the bridge's amounts = profit; net − fee − cost = profit.

    Attributes:
        materials: what went in, without what was spoiled.
        hours: all that were worked; `rework_hours` are those of them that went into doing something again, and
            `missing_hours` those that nobody logged and that count as planned.
        cause_costs: losses by cause; they are part of the costs above, whoever bears them.
    """

    currency: Currency
    net: Decimal
    fee: Decimal
    materials: Decimal
    spoiled: Decimal
    labour: Decimal
    overhead: Decimal
    extras: Decimal
    hours: Decimal
    rework_hours: Decimal
    quoted_hours: Decimal
    missing_hours: Decimal = _ZERO
    quoted_profit: Decimal
    bridge: tuple[BridgeLine, ...]
    cause_costs: tuple[CauseCost, ...]

    @property
    def cost(self) -> Decimal:
        """All that the piece took."""
        return self.materials + self.spoiled + self.labour + self.overhead + self.extras

    @property
    def own_cost(self) -> Decimal:
        """What such a piece costs: all that it took without the losses that overhead or the period bears."""
        return self.cost - sum((row.amount for row in self.cause_costs if row.bearer is not Bearer.PIECE), _ZERO)

    @property
    def profit(self) -> Decimal:
        """What is left."""
        return self.net - self.fee - self.cost

    @property
    def earned(self) -> Decimal:
        """What is left for the hours: profit and labour together."""
        return self.profit + self.labour

    @property
    def is_unsure(self) -> bool:
        """Whether more than a few minutes of it were never logged, so that it is not held against other pieces."""
        return self.missing_hours * 60 > studio_defaults().books.few_missing_minutes

    @property
    def per_hour(self) -> Decimal | None:
        """Earned per hour worked, rounded; None where no hour was logged."""
        return self.currency.round(self.earned / self.hours) if self.hours else None

    @property
    def margin_share(self) -> Decimal | None:
        """Profit as a share of net, unrounded; None where nothing was invoiced."""
        return self.profit / self.net if self.net > 0 else None


def subjects(quoted: Quoted, actual: Actual) -> dict[tuple[str, StockUnit], str]:
    """Return by code and unit what steps name a material by: its code, with the unit where it is counted in several."""
    rows = dict.fromkeys((row.code, row.unit) for row in quoted.materials)
    rows |= dict.fromkeys((row.code, row.unit) for row in actual.materials)
    counted = Counter(code for code, _ in rows)
    return {(code, unit): code if counted[code] == 1 else f"{code}.{unit.value}" for code, unit in rows}
