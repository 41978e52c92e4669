"""The shelf's settings: chosen once where they decide what figures mean."""

from datetime import date, timedelta

from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.money import Currency, currency_of
from inventory.ground.wording import day_text
from inventory.models import Movement, Shelf, Supplier
from inventory.reckoning.valuation import Method

__all__ = [
    "close_until",
    "install_shelf",
    "must_be_open",
    "must_have_come",
    "name_workroom",
    "set_currency",
    "set_method",
    "shelf",
    "studio_currency",
]


def shelf() -> Shelf:
    """Return the shelf's settings."""
    return Shelf.objects.get(pk=1)


def install_shelf() -> None:
    """Make the row of settings where there is none."""
    Shelf.objects.get_or_create(pk=1)


def must_be_open(day: date) -> None:
    """Raise Refused for a day of a month that is closed."""
    until = shelf().closed_until
    if until is not None and day <= until:
        raise refuse(
            "books.month-closed",
            "day",
            f"{day:%B %Y} is closed, and its figures stand.",
            f"Book it on {day_text(until + timedelta(days=1))} or later.",
        )


def must_have_come(day: date, code: str, hint: str) -> None:
    """Raise Refused, with the code and the mend, for a day later than today."""
    if day > timezone.localdate():
        raise refuse(code, "day", f"{day_text(day)} is still to come.", hint)


def close_until(day: date | None) -> None:
    """Let nothing be booked on a day or before it any more; None opens all days again."""
    Shelf.objects.filter(pk=1).update(closed_until=day)


def studio_currency() -> Currency:
    """Return the currency that the ledger is kept in."""
    return currency_of(shelf().currency)


def name_workroom(name: str, address: str) -> None:
    """Say whose shelf it is, as letterheads do."""
    Shelf.objects.filter(pk=1).update(name=name, address=address)


def set_currency(code: str, *, dry_run: bool = False) -> str:
    """Keep the ledger in a currency from now on, or with `dry_run` only say whether it could be.

    Raises:
        Refused: a code that ISO 4217 lacks; another currency than stock was moved in.
    """
    try:
        currency_of(code)
    except ValueError:
        raise refuse("money.currency", "currency", f"{code} is no ISO 4217 currency code.") from None
    settings = shelf()
    if settings.currency != code and (Movement.objects.exists() or Supplier.objects.exists()):
        raise refuse(
            "shelf.currency-in-use", "currency", f"Stock or suppliers are kept in {settings.currency}, so it stays."
        )
    if not dry_run:
        Shelf.objects.filter(pk=1).update(currency=code)
    return code


def set_method(method: Method) -> None:
    """Choose how stock is valued.

    Raises:
        Refused: stock was moved by another method (IAS 2 asks for the same formula throughout).
    """
    settings = shelf()
    if settings.method != method and Movement.objects.exists():
        raise refuse(
            "shelf.method-in-use",
            "method",
            f"Stock was valued as “{settings.get_method_display()}”, so it stays.",
            "It can be chosen before the first movement only.",
        )
    Shelf.objects.filter(pk=1).update(method=method)
