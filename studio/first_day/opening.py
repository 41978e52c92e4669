"""The use case of the first day: the first user, the workroom's settings, its rates and its starter list, all or nothing."""

import logging
from dataclasses import dataclass
from decimal import Decimal

from django.contrib.auth.models import User
from django.db import transaction

from inventory.ground.findings import refuse
from inventory.ground.money import currency_of
from inventory.models import Shelf, StockMaterial
from inventory.models.materials import MILLIONTHS
from inventory.shelf.settings import name_workroom, set_currency
from inventory.stock.price_list import keep_material
from quotes.pricing.wished import Wish, wished_rates
from quotes.workroom.settings import STARTING_RATES, save_overhead, save_rates, workroom
from studio.first_day.starter_list import StarterMaterial, price_from_memory, starter_list
from studio.first_day.time_zone import keep_zone

__all__ = ["Opening", "is_first_day", "open_workroom"]

logger = logging.getLogger(__name__)

OVERHEAD_WORDS = "Overhead, as said on the first day"
PRICE_SOURCE = "from memory: the starter list"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What the first day asks.

    Attributes:
        length_unit, language: as the workroom's settings have them.
        time_zone: by its IANA name.
        has_starter_list: begin with materials from memory.
        one_is: how much of `currency` one unit of the starter list's is, > 0; None for the shipped figure.
    """

    name: str
    currency: str
    length_unit: str
    language: str
    time_zone: str
    wish: Wish
    has_starter_list: bool
    one_is: Decimal | None = None


def is_first_day() -> bool:
    """Return whether nobody uses this installation yet."""
    return not User.objects.exists()


def open_workroom(opening: Opening, user: User) -> None:
    """Save the first user and the workroom they open, with the rates that new quotes start from.

    Args:
        user: not saved yet, with a password.

    Raises:
        Refused: somebody opened it before, a currency that ISO 4217 lacks or that stock is not kept in, a wish that
            brings nothing, or a starter list that cannot be had; then nothing is saved.
    """
    with transaction.atomic():
        # One at a time: the second finds the user of the first.
        Shelf.objects.select_for_update().get(pk=1)
        if not is_first_day():
            raise refuse("first-day.over", "workroom", "This workroom was opened already.", "Log in to it.")
        user.save()
        set_currency(opening.currency)
        name_workroom(opening.name, "")
        _keep_settings(opening)
        if opening.has_starter_list:
            _keep_starter_list(opening)
        transaction.on_commit(lambda: keep_zone(opening.time_zone), robust=True)
    logger.info("Opened the workroom")


def _keep_settings(opening: Opening) -> None:
    wish, currency = opening.wish, currency_of(opening.currency)
    rates = wished_rates(wish, currency)
    room = workroom()
    room.length_unit, room.language = opening.length_unit, opening.language
    room.productive_weeks, room.hours_per_week = wish.weeks, wish.hours_per_week
    room.productive_percent = int(wish.productive_share * 100)
    save_overhead(room=room, costs=[(OVERHEAD_WORDS, currency.to_minor(currency.round(wish.overhead_per_year)))])
    save_rates(
        room,
        {
            **STARTING_RATES,
            "labour_per_hour": f"{rates.labour_per_hour:f}",
            "overhead_per_hour": f"{rates.overhead_per_hour:f}",
        },
    )


def _keep_starter_list(opening: Opening) -> None:
    if StockMaterial.objects.exists():
        raise refuse(
            "first-day.shelf-in-use", "starter list", "Materials stand on the shelf already.", "Begin without the list."
        )
    starter = starter_list()
    one_is = opening.one_is or starter.one_is.get(opening.currency)
    if one_is is None:
        raise refuse(
            "first-day.no-rough-figure",
            "one_is",
            f"The starter list is in {starter.currency}, and what one is in {opening.currency} is not known here.",
            "Say it roughly, or begin without the list.",
        )
    for place, row in enumerate(starter.materials):
        keep_material(_material(row, price_from_memory(row.price, one_is), place), price_source=PRICE_SOURCE)


def _material(row: StarterMaterial, unit_cost: Decimal, place: int) -> StockMaterial:
    material = StockMaterial(
        code=row.code,
        name=row.name,
        kind=row.kind.value,
        unit_cost_millionths=int(unit_cost * MILLIONTHS),
        is_from_memory=True,
        shrinkage_permille=row.shrinkage_permille,
        has_nap=row.has_nap,
        width_tenths_mm=None if row.width_mm is None else int(row.width_mm * 10),
        colour=row.colour,
        sort_order=place,
    )
    for name in ("usable_width_mm", "step_mm", "pack"):
        if (said := getattr(row, name)) is not None:
            setattr(material, name, said)
    return material
