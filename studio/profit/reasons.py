"""Where each step of a bridge comes from: what was quoted, what happened, and how the two make its amount."""

from decimal import Decimal

from inventory.ground.measures import amount_text
from inventory.ground.wording import minutes_text, money_text, unit_cost_text
from studio.profit.causes import causes
from studio.profit.piece import Account, Actual, Bearer, BridgeLine, Quoted, StepGroup, StepPart, Unlogged, subjects

__all__ = ["reason_of"]

Reason = list[tuple[str, str]]

_ZERO = Decimal(0)
_BORNE_BY = {
    Bearer.PIECE: "this piece",
    Bearer.OVERHEAD: "the overhead of all pieces",
    Bearer.PERIOD: "the month in which it happened",
}
_UNLOGGED = {
    Unlogged.MISSING: "Nobody logged it, so its planned time counts.",
    Unlogged.ELSEWHERE: "Done without time of its own: by how this workroom logs, it stands with the work before it.",
    Unlogged.UNDONE: "Left undone on purpose, as was said at delivery.",
}


def reason_of(line: BridgeLine, quoted: Quoted, actual: Actual, account: Account) -> Reason:
    """Return label and words, row by row, of a line of this account's bridge."""
    told = _Told(quoted, actual, account)
    match line.group:
        case StepGroup.MATERIAL:
            return told.material(line.subject, line.part)
        case StepGroup.SPOILED:
            return told.spoiled(line.subject)
        case StepGroup.REWORK:
            return told.rework(line.subject)
        case StepGroup.LABOUR:
            return told.operation(line.subject) if line.subject else told.labour_rate()
        case StepGroup.OVERHEAD:
            return told.overhead(line.part)
        case StepGroup.EXTRA:
            return told.extra(line.number)
        case StepGroup.CHANGE:
            change = actual.change_orders[line.number - 1]
            return [("Agreed", f"{told.money(change.amount)} without tax, after the quote was accepted.")]
        case StepGroup.CREDIT:
            return told.credit(line.number)
        case _:
            return told.price(line.group)


class _Told:
    """The words of one account."""

    def __init__(self, quoted: Quoted, actual: Actual, account: Account) -> None:
        self.quoted, self.actual, self.account = quoted, actual, account

    def money(self, amount: Decimal) -> str:
        return money_text(amount, self.account.currency.code)

    def material(self, subject: str, part: StepPart) -> Reason:
        named = subjects(self.quoted, self.actual)
        planned = next((row for row in self.quoted.materials if named[row.code, row.unit] == subject), None)
        used = [row for row in self.actual.materials if named[row.code, row.unit] == subject]
        value = self.money(sum((row.value for row in used), _ZERO))
        if planned is None:
            went_in = amount_text(sum((row.quantity for row in used), _ZERO), used[0].unit)
            return [("Went in", f"{went_in}, worth {value} in the shelf’s ledger."), ("Quoted", "Not quoted.")]
        rate = unit_cost_text(planned.rate, self.account.currency.code)
        quantity = amount_text(planned.quantity, planned.unit)
        rows = [("Quoted", f"{quantity} at {rate}, {self.money(planned.amount)} in all.")]
        if not used:
            return [*rows, ("Went in", "None was issued, or all of it came back.")]
        total = sum((row.quantity for row in used), _ZERO)
        went_in = amount_text(total, used[0].unit)
        at_quoted = planned.at_quoted_rate(total, self.quoted.currency)
        of_it = f"{went_in} at the quoted {rate} ({self.money(at_quoted)})"
        if part is StepPart.PRICE:
            words, formula = f"{went_in}, worth {value} in the shelf’s ledger.", f"{of_it} − {value}"
        else:
            words, formula = f"{went_in}: issued, less what came back.", f"{self.money(planned.amount)} − {of_it}"
        return [*rows, ("Went in", words), ("Formula", formula)]

    def spoiled(self, cause: str) -> Reason:
        value = sum((row.value for row in self.actual.spoiled if row.cause == cause), _ZERO)
        return [("Spoiled", f"{self.money(value)} by the shelf’s ledger."), *_bearer(cause)]

    def rework(self, cause: str) -> Reason:
        hours = sum((row.hours for row in self.actual.rework if row.cause == cause), _ZERO)
        again = f"{_minutes(hours)} at the quoted {self.money(self.quoted.labour_rate)} an hour."
        return [("Done again", again), *_bearer(cause)]

    def operation(self, code: str) -> Reason:
        planned = next((row for row in self.quoted.operations if row.code == code), None)
        rows = [row for row in self.actual.hours if row.code == code]
        hours = sum((row.hours for row in rows), _ZERO)
        words = "Not quoted." if planned is None else f"{_minutes(planned.hours)}, {self.money(planned.amount)}."
        unlogged = next((row.unlogged for row in rows if row.unlogged), Unlogged.NO)
        worked = f"{_minutes(hours)}, without what was done again." if hours else "No time was written down."
        return [
            ("Quoted", words),
            ("Worked", _UNLOGGED.get(unlogged, worked)),
            ("Formula", f"quoted amount − time worked at the quoted {self.money(self.quoted.labour_rate)} an hour"),
        ]

    def labour_rate(self) -> Reason:
        return [
            ("Quoted", f"{self.money(self.quoted.labour_rate)} an hour."),
            ("Paid", f"{self.money(self.actual.labour_rate)} an hour."),
            ("Formula", f"{_minutes(self.account.hours)} at the quoted rate − the same at the rate paid"),
        ]

    def overhead(self, part: StepPart) -> Reason:
        quoted_rate = self.money(self.quoted.overhead_rate)
        if part is StepPart.RATE:
            return [
                ("Quoted", f"{quoted_rate} an hour."),
                ("Carried", f"{self.money(self.actual.overhead_rate)} an hour."),
                ("Formula", f"{_minutes(self.account.hours)} at the quoted rate − the same at the rate carried"),
            ]
        return [
            ("Quoted", f"{_minutes(self.account.quoted_hours)}, {self.money(self.quoted.overhead)}."),
            ("Worked", f"{_minutes(self.account.hours)}, with what was done again."),
            ("Formula", f"quoted amount − time worked at the quoted {quoted_rate} an hour"),
        ]

    def extra(self, number: int) -> Reason:
        names = list(dict.fromkeys(row.what for row in (*self.quoted.extras, *self.actual.extras)))
        what = names[number - 1]
        planned = sum((row.amount for row in self.quoted.extras if row.what == what), _ZERO)
        spent = sum((row.amount for row in self.actual.extras if row.what == what), _ZERO)
        return [("Quoted", self.money(planned)), ("Paid", self.money(spent))]

    def credit(self, number: int) -> Reason:
        row = self.actual.credits[number - 1]
        sense = "less" if row.amount > 0 else "more again"
        return [
            ("After the invoice", f"{self.money(abs(row.amount))} {sense} without tax: {row.what}."),
            ("Invoiced", f"{self.money(self.actual.invoiced)} without tax."),
        ]

    def price(self, group: StepGroup) -> Reason:
        """Discount, invoice, fee, contingency."""
        money, quoted, actual = self.money, self.quoted, self.actual
        match group:
            case StepGroup.DISCOUNT:
                return [("Given", f"{money(actual.discount)} without tax, after the quote was accepted.")]
            case StepGroup.FEE:
                return [("Quoted", money(quoted.fee)), ("Kept by payments", money(actual.fee))]
            case StepGroup.INVOICE:
                changes = sum((row.amount for row in actual.change_orders), _ZERO)
                agreed = quoted.net + changes - actual.discount
                terms = f"{money(quoted.net)} quoted + {money(changes)} changes − {money(actual.discount)} discount"
                return [
                    ("Agreed", f"{terms} = {money(agreed)}"),
                    ("Invoiced", f"{money(actual.invoiced)} without tax."),
                ]
            case _:
                return [
                    ("Quoted", money(quoted.contingency)),
                    (
                        "Why",
                        "Contingency is quoted as a cost and never is one: what went wrong stands in its own line.",
                    ),
                ]


def _bearer(code: str) -> Reason:
    cause = causes()[code]
    return [("Borne by", f"{_BORNE_BY[cause.bearer]}. {cause.why}")]


def _minutes(hours: Decimal) -> str:
    return minutes_text(float(hours * 60))
