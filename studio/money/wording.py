"""How long money is open, in words."""

from datetime import date

from inventory.ground.wording import day_text

__all__ = ["days_text", "since_text"]


def days_text(day: date, *, on: date) -> str:
    """Return how long something is open.

    >>> days_text(date(2027, 1, 4), on=date(2027, 1, 5)), days_text(date(2027, 1, 4), on=date(2027, 1, 16))
    ('1 day', '12 days')
    """
    days = (on - day).days
    return "today" if days <= 0 else f"{days} day{'s' * (days != 1)}"


def since_text(day: date, *, on: date) -> str:
    """Return since when something is open.

    >>> since_text(date(2027, 1, 4), on=date(2027, 1, 16)), since_text(date(2027, 1, 4), on=date(2027, 1, 4))
    ('since 4 January 2027, 12 days', 'since today')
    """
    return "since today" if day >= on else f"since {day_text(day)}, {days_text(day, on=on)}"
