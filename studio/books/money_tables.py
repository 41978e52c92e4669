"""Lists of open money: what is to be collected, what is held, what stays of cancelled work, what came in by month, payments one by
one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.safestring import SafeString

from inventory.ground.money import Currency
from inventory.ground.site.paging import RIGHT
from studio.books.months import last_day
from studio.books.tables import MoneyColumn
from studio.models import Job, Payment
from studio.money.bills import OpenJob
from studio.money.months import MonthMoney
from studio.money.wording import days_text

__all__ = ["DueTable", "HeldTable", "KeptTable", "MonthMoneyTable", "PaymentTable", "TooMuchTable"]

_WHOLE = {"td": {"class": "one-line"}}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sums:
    """What stands below a list: its columns added up."""

    rows: Sequence[Any]

    def __getattr__(self, name: str) -> int:
        return sum(_figure(row, name) for row in self.rows)


def _figure(row: Any, name: str) -> int:
    value: int = getattr(row.standing, name) if isinstance(row, OpenJob) else getattr(row, name)
    return value


class _MoneyTable(tables.Table):
    """Rows of figures in the studio's currency, added up below."""

    def __init__(self, data: Sequence[Any], *, currency: Currency, **kwargs: Any) -> None:
        self.currency, self.together = currency, _Sums(rows=data)
        super().__init__(data, **kwargs)


def _money(name: str, words: str) -> MoneyColumn:
    return MoneyColumn(accessor=f"standing__{name}", verbose_name=words, of=name)


class _JobTable(_MoneyTable):
    """Pieces with open money."""

    number = tables.Column(accessor="reference", verbose_name="No", order_by=("pk",), attrs=_WHOLE)
    title = tables.Column(verbose_name="Piece", linkify=("job-client", [tables.A("pk")]), footer="Together")
    client = tables.Column(verbose_name="Client", linkify=("quotes:client", [tables.A("client_id")]))

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        self.on = on
        super().__init__(*args, **kwargs)


class DueTable(_JobTable):
    """Delivered and not paid."""

    since = tables.DateColumn(verbose_name="Delivered", format="j M Y", attrs=_WHOLE)
    days = tables.Column(empty_values=(), verbose_name="Open for", order_by=("-since",), attrs=RIGHT)
    price = _money("price_minor", "Price")
    kept = _money("kept_minor", "Paid")
    due = _money("due_minor", "Due")

    def render_days(self, record: OpenJob) -> str:
        """How long it is due."""
        return days_text(record.since, on=self.on)

    def value_days(self, record: OpenJob) -> int:
        """The number of days alone, for a spreadsheet."""
        return (self.on - record.since).days


class HeldTable(_JobTable):
    """Paid ahead for pieces that are not delivered."""

    stage = tables.Column(verbose_name="Stage")
    since = tables.DateColumn(verbose_name="Begun", format="j M Y", attrs=_WHOLE)
    paid = _money("paid_minor", "Paid")
    refunded = _money("refunded_minor", "Went back")
    held = _money("held_minor", "Held")

    def render_stage(self, value: str) -> str:
        """In words."""
        return str(Job.Stage(value).label)

    def value_stage(self, value: str) -> str:
        """In words."""
        return self.render_stage(value)


class KeptTable(_JobTable):
    """Paid for pieces that were cancelled, and not paid back."""

    since = tables.DateColumn(verbose_name="Cancelled", format="j M Y", attrs=_WHOLE)
    paid = _money("paid_minor", "Paid")
    refunded = _money("refunded_minor", "Went back")
    kept = _money("kept_of_cancelled_minor", "Kept")


class TooMuchTable(_JobTable):
    """Delivered and paid beyond the price."""

    since = tables.DateColumn(verbose_name="Delivered", format="j M Y", attrs=_WHOLE)
    price = _money("price_minor", "Price")
    kept = _money("kept_minor", "Paid")
    too_much = _money("too_much_minor", "Too much")


class MonthMoneyTable(_MoneyTable):
    """What came in, month by month; a month opens its payments."""

    month = tables.Column(accessor="first_day", verbose_name="Month", footer="Together", attrs=_WHOLE)
    paid = MoneyColumn(accessor="paid_minor", verbose_name="Came", of="paid_minor")
    refunded = MoneyColumn(accessor="refunded_minor", verbose_name="Went back", of="refunded_minor")
    kept = MoneyColumn(accessor="kept_minor", verbose_name="Came in", of="kept_minor")
    fee = MoneyColumn(accessor="fee_minor", verbose_name="Fees", of="fee_minor")

    def render_month(self, record: MonthMoney) -> SafeString:
        """The way to its payments."""
        days = {"since": record.first_day.isoformat(), "until": last_day(record.first_day).isoformat()}
        words = f"{record.first_day:%B %Y}"
        return format_html('<a href="{}?{}">{}</a>', reverse("payments"), urlencode(days), words)

    def value_month(self, record: MonthMoney) -> str:
        """As a spreadsheet sorts it."""
        return f"{record.first_day:%Y-%m}"


class PaymentTable(tables.Table):
    """Payments with job and client loaded; `together` gives what stands below."""

    number = tables.Column(
        verbose_name="Receipt", linkify=("receipt", [tables.A("number")]), footer="Together", attrs=_WHOLE
    )
    day = tables.DateColumn(verbose_name="When", format="j M Y", attrs=_WHOLE)
    job = tables.Column(verbose_name="Piece", linkify=("job-client", [tables.A("job_id")]), order_by=("job_id",))
    client = tables.Column(accessor="job__client__name", verbose_name="Client")
    what = tables.Column(verbose_name="What")
    note = tables.Column(verbose_name="Note", default="", attrs={"td": {"class": "how"}})
    amount = MoneyColumn(accessor="amount_minor", verbose_name="Amount", of="amount_minor")
    fee = MoneyColumn(accessor="fee_minor", verbose_name="Fee", of="fee_minor")

    def __init__(self, data: Any, *, currency: Currency, together: Any, **kwargs: Any) -> None:
        self.currency, self.together = currency, together
        super().__init__(data, **kwargs)

    def render_what(self, record: Payment) -> str:
        """With a word where it reverses another row."""
        words = record.get_what_display()
        return f"{words}, reversed" if record.reverses_id else words

    def value_what(self, record: Payment) -> str:
        """The same in a spreadsheet."""
        return self.render_what(record)
