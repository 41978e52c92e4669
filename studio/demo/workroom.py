"""The demo's workroom: where it is, what a year costs, what it charges."""

from datetime import date, timedelta

from django.utils import timezone

from inventory.shelf.settings import name_workroom, set_currency
from quotes.workroom.settings import STARTING_RATES, save_overhead, save_rates, use_overhead_rate, workroom
from studio.books.months import close_month, last_day, next_to_close
from studio.calendar.days import add_day_off, save_hours
from studio.demo.diary import Diary

__all__ = ["keep_hours", "load", "new_rates", "plan_closing", "take_days_off"]

CLOSED_AFTER_DAYS = 35
MINUTES_BY_WEEKDAY = (240, 240, 240, 240, 180, 0, 0)  # the maker teaches on most mornings

YEARLY_COSTS = (
    ("Share of the rent", 312_000),
    ("Power and heating", 118_000),
    ("Insurance of contents and products", 46_000),
    ("Service of two machines", 27_000),
    ("Needles, shears, blades", 14_500),
    ("Photographs and site", 61_000),
    ("Bank and accountant", 83_000),
    ("Samples and toiles that nobody ordered", 74_000),
    ("Depreciation of machines and irons", 54_000),
)


def load() -> None:
    """Fill in the settings."""
    room = workroom()
    room.length_unit = "cm"
    room.legal_name, room.email = "Tansy Lane Workroom, sole trader", "stays@tansylane.example"
    room.payment_details = "Bank of Marl, account 12 34 56\nPlease name the number of the offer."
    room.save()
    name_workroom("Tansy Lane Workroom", "4 Tansy Lane\nMarl-on-the-Weir")
    set_currency("EUR")
    save_overhead(room=room, costs=list(YEARLY_COSTS))
    save_rates(
        room,
        {
            **STARTING_RATES,
            "labour_per_hour": "22.50",
            "minimum_per_hour": "23.00",
            "fee_share": "0.018",
            "fee_fixed": "0.25",
            "tax_share": "0.21",
            "price_step": "5.00",
        },
    )
    use_overhead_rate()


def new_rates() -> None:
    """What the maker charges since a year ago."""
    room = workroom()
    save_rates(room, {**room.rates, "labour_per_hour": "24.00", "minimum_per_hour": "25.00"})


def keep_hours() -> None:
    """Say when the maker is at the table."""
    save_hours(MINUTES_BY_WEEKDAY, on=timezone.localdate())


def take_days_off(diary: Diary) -> None:
    """Put a fortnight without work, a month from today, into the calendar."""
    first = diary.day(-30)
    add_day_off(first=first, last=first + timedelta(days=13), words="Away at the sea", on=diary.day(0))


def plan_closing(diary: Diary, *, since: date) -> None:
    """Close each month five weeks after its end."""
    month = since.replace(day=1)
    while month < diary.day(0):
        diary.plan(last_day(month) + timedelta(days=CLOSED_AFTER_DAYS), lambda: _close(diary), hour=18)
        month = last_day(month) + timedelta(days=1)


def _close(diary: Diary) -> None:
    month = next_to_close(on=timezone.localdate())
    if month is not None and (timezone.localdate() - last_day(month)).days >= CLOSED_AFTER_DAYS:
        close_month(month.year, month.month, user=diary.maker)
