"""A site with something of every kind in it, all of number 1: what every page is opened on."""

from pathlib import Path

from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.utils import timezone
from support_importing import keep_sheet
from support_measuring import hand_in, measure_cards
from support_shelf import SupplierFactory, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order, place
from inventory.buying.reordering import plan_reorder
from inventory.counting.stocktaking import start as start_stocktake
from inventory.models import ImportSheet, KeptPlan, Lot, Offer, PurchaseOrder, StockItem, Substitute
from inventory.reserving.reservations import Wish, reserve
from quotes.models import QuoteRevision

__all__ = ["fill_site"]

PATTERNS = Path(__file__).parents[1] / "fixtures" / "patterns"


def fill_site(draft: QuoteRevision) -> None:
    """Beside the books and a draft: a full shelf, a drawing on the table, a photograph to be measured."""
    assert (draft.quote.number, draft.quote.pk, draft.pattern.pattern.pk, draft.quote.client.pk) == (1, 1, 1, 1)
    _keep_shelf(draft.changed_by)
    browser = Browser()
    browser.force_login(User.objects.get())
    handed_in = SimpleUploadedFile("underbust.svg", (PATTERNS / "underbust.svg").read_bytes())
    assert browser.post("/patterns/table/", {"file": handed_in})["Location"] == "/patterns/table/1/"
    measure_cards(browser)
    assert hand_in(browser, ("paper.jpg", b"to be measured"))["Location"] == "/patterns/measuring/1/"


def _keep_shelf(maker: User | None) -> None:
    """One of everything that the shelf keeps, all of number 1 where it is numbered."""
    coutil = StockItem.objects.get(code="coutil-white")
    supplier = SupplierFactory(code="fennimore")
    offer = offered(supplier, coutil, 1)
    stocked(coutil, 3000, 7140, state="raw", supplier=supplier)
    Substitute.objects.create(item=coutil, stand_in=StockItem.objects.get(code="coutil-black"))
    today = timezone.localdate()
    wish = Wish(item=coutil, quantity=400, operation="cutting", needs_one_lot=True)
    reserve(reference="Q1", title="Underbust", link="", wishes=[wish], needed_by=today, expires_on=None)
    order = draft_order(supplier, [OrderWish(offer=offer, packs=2)], user=maker, on=today)
    place(order, on=today)
    start_stocktake(place="", is_blind=True, by=maker)
    plan_reorder(on=today, user=maker, seconds=2)
    sheet = b"name;kind;price\nTwill;waist tape;0.95\n"
    keep_sheet(upload=SimpleUploadedFile("own.csv", sheet), user=maker)
    assert {model.objects.get().pk for model in (Lot, Offer, PurchaseOrder, ImportSheet, KeptPlan)} == {1}
