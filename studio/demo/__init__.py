"""The demo workroom: invented people, places, prices and patterns, one module a subject.

Two years are told up to the day on which the demo is loaded: what was quoted, bought, made and paid is planned into a
diary and done day by day, through the use cases that the pages call.
"""

from django.contrib.auth.models import User

from inventory.models import StockMaterial
from studio.demo import buying, clients, commissions, patterns, quotes, shelf, stock, suppliers, workroom
from studio.demo.diary import Diary

__all__ = ["is_empty", "load"]

OPENED_DAYS_AGO, NEW_RATES_DAYS_AGO, NEW_LIST_DAYS_AGO = 750, 380, 365


def is_empty() -> bool:
    """Whether the books are empty, so that the demo may be loaded."""
    return not StockMaterial.objects.exists()


def load(maker: User) -> bool:
    """Load the demo into empty books; return whether anything was loaded."""
    if not is_empty():
        return False
    diary = Diary(maker)

    def open_workroom() -> None:
        workroom.load()
        workroom.keep_hours()
        shelf.load()
        suppliers.load()
        buying.policies()
        patterns.load(maker)
        commissions.plan(diary, patterns.kept())

    def today() -> None:
        people = clients.load(maker)
        quotes.load(maker, people, patterns.kept())
        shelf.raise_price()
        workroom.take_days_off(diary)

    diary.plan(diary.day(OPENED_DAYS_AGO), open_workroom)
    buying.plan(diary)
    stock.plan(diary)
    diary.plan(diary.day(NEW_RATES_DAYS_AGO), workroom.new_rates)
    diary.plan(diary.day(NEW_LIST_DAYS_AGO), shelf.new_list)
    workroom.plan_closing(diary, since=diary.day(OPENED_DAYS_AGO))
    diary.live()
    today()
    return True
