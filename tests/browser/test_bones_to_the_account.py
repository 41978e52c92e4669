"""Bones the whole way: from their price, through quote, order, drawer and cut list, to the account of the piece.

Amounts are worked out by hand beside them, from prices and counts that the journeys type. That postage is borne by what
came: common practice, no source. How many presses are few enough is the product's own measure.
"""

import re
from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Locator, expect
from support_books import today, worked
from support_hand import PHONE, Hand
from support_phone import must_fit
from support_shelf import act, item, stocked

from inventory.ground.bone_forms import BoneForm
from inventory.models import Lot, ReservationLine, StockItem, StockMaterial, Stocktake
from inventory.stock import ledger
from inventory.stock.audit import audit
from inventory.stock.price_list import item_of
from quotes.models import PatternRevision
from studio.bench.job_materials import planned_lines
from studio.models import Job

PIECE = "Underbust in bottle green"
READY = "Spiral steel 7 mm, ready"
COIL = "Spiral steel 7 mm, coil"


def row(hand: Hand, text: str) -> Locator:
    return hand.page.get_by_role("row").filter(has_text=text)


def heading(hand: Hand, text: str) -> None:
    expect(hand.page.get_by_role("heading", level=1, name=text, exact=True)).to_be_visible()


def add_ready_spirals(hand: Hand) -> None:
    """A new material that comes cut and tipped: seven presses, from any page."""
    hand.press("link", "Shelf")
    hand.press("link", "Add a material")
    hand.write("Name", READY)
    hand.write("Short name", "spiral-7-ready")
    hand.choose("Kind", "Spiral steel")
    hand.choose("Comes", "Cut and tipped")
    hand.write("Width of a bone", "7")
    hand.write("Price of one", "0.90")
    hand.write("Lengths it comes in", "205 215 220 230 235")
    hand.press("button", "Keep")
    hand.sees("Kept. Now say the facts that matter to its kind.")
    hand.press("button", "Keep")
    heading(hand, f"{READY}, 205 mm")


def look_into_the_drawer(hand: Hand, length: str) -> None:
    """Three presses, from any page."""
    hand.press("link", "Shelf")
    hand.press("link", "Drawer of bones")
    hand.write("Length", length)
    hand.press("button", "Find")
    hand.sees(re.compile("Nearest to"))


def quote_and_agree(hand: Hand, pattern: PatternRevision, why: str, *, spiral: str = "") -> None:
    """A quote from a kept pattern, its sheet read, sent and accepted. `why` is what the sheet says of a bone."""
    hand.press("link", "Quotes")
    hand.press("link", "Start a quote")
    hand.write("The piece", PIECE)
    hand.write("New client’s name", "Odile Farrant")
    hand.choose("Which", str(pattern.pattern))
    hand.choose("Cloth: outer", "bottle green")
    if spiral:
        hand.choose("Spiral", spiral)
    hand.press("button", "Start")
    heading(hand, PIECE)
    hand.press("link", "Satin coutil, bottle green, busk")
    heading(hand, "Satin coutil, bottle green, busk")
    hand.sees(why)
    hand.press("link", f"Quote 1: {PIECE}")
    hand.press("link", "Send")
    hand.press("button", "Seal and count as sent")
    hand.sees("Sealed as sent.")
    hand.press("link", "Accept")
    hand.press("button", "Accept")
    hand.sees("Accepted: Satin coutil, bottle green, busk.")


def stock_all_but(spiral: StockMaterial) -> None:
    """Twice what is kept for the piece of everything else, at today's prices."""
    for line in ReservationLine.objects.exclude(item__material=spiral).select_related("item__material"):
        quantity = 2 * line.quantity
        stocked(line.item, quantity, line.item.price_minor(quantity, "EUR"))


def offer(hand: Hand, what: str, *, holds: str, price: str) -> None:
    """A supplier who takes 25 days, with one offer: seven presses."""
    hand.press("link", "Shelf")
    hand.press("link", "Suppliers")
    hand.press("link", "Add a supplier")
    hand.write("Name", "Harbour Steels")
    hand.write("Short name", "harbour")
    hand.write("An order takes (days)", "25")
    hand.write("Postage", "4.50")
    hand.press("button", "Keep")
    hand.press("link", "Add an offer")
    hand.choose("What", what)
    hand.write("A pack holds", holds)
    hand.write("Price of a pack", price)
    hand.press("button", "Keep")
    hand.sees("Kept.")


def order_and_receive(hand: Hand, what: str) -> None:
    """What the reorder page plans, ordered and put on the shelf: eight presses."""
    hand.press("link", "Shelf")
    hand.press("link", "Reorder")
    hand.press("button", "Plan what to buy")
    hand.sees("Harbour Steels")
    expect(hand.page.get_by_role("listitem").filter(has_text=what)).to_have_count(1)
    hand.press("button", "Write these orders")
    hand.press("link", "1", within=row(hand, "Harbour Steels"))
    hand.press("button", "Place it")
    hand.press("link", "Receive")
    hand.press("button", "Put it on the shelf")
    hand.sees("On the shelf.")


def cut_all(hand: Hand, *sees: str) -> None:
    """The job begun, its cut list read and booked: six presses."""
    hand.press("link", "Quotes")
    hand.press("link", PIECE)
    hand.press("button", "Start the job")
    hand.press("link", "Pieces and materials")
    hand.press("link", "Cut these")
    for text in sees:
        hand.sees(text)
    hand.press("button", "All is cut")
    hand.sees("All is cut: what was taken is issued, and rests are back in the drawer.")
    expect(hand.page.get_by_role("link", name="Cut these")).to_have_count(0)


def make_it(user: User) -> None:
    """The rest of its materials and all of its time, as planned."""
    job = Job.objects.get()
    for line in planned_lines(job):
        if line.remaining:
            lot = Lot.objects.get(item=line.item)
            ledger.issue(act(), lot=lot, quantity=line.remaining, job=job.reference, line=line)
    for operation in job.operations.all():
        worked(operation, user, round(operation.planned_min), on=today())


def deliver(hand: Hand) -> None:
    """Delivered and its account opened: four presses."""
    hand.press("link", "Work", within=hand.page.get_by_role("navigation", name="Job"))
    hand.press("link", "Deliver now")
    hand.press("button", "Deliver")
    hand.sees(re.compile("^Delivered\\."))
    hand.press("link", "What it earned")


def step(hand: Hand, what: str) -> Locator:
    """A step of the bridge, opened: one press."""
    found = hand.page.get_by_role("listitem").filter(has_text=what)
    found.locator("summary").click()
    hand.presses += 1
    return found


def test_a_drawer_of_ready_spirals_to_the_account(books: User, pattern: PatternRevision, hand: Hand):
    add_ready_spirals(hand)
    look_into_the_drawer(hand, "22 cm")
    hand.press("link", "0", within=row(hand, "220 mm"))
    hand.press("link", "Receive")
    hand.write("How much came", "4")
    hand.write("What it cost in all", "3.60")
    hand.press("button", "Keep")
    heading(hand, f"{READY}, 220 mm")
    ready = StockMaterial.objects.get(code="spiral-7-ready")
    assert ready.width_tenths_mm == 70
    for tenths, count in ((2050, 6), (2150, 6), (2300, 2)):
        stocked(ready.items.get(size_tenths_mm=tenths), count, 90 * count)

    why = "235.0 mm, cut and tipped, comes to 1.21, of it 0.31 for minutes"
    quote_and_agree(hand, pattern, why, spiral=READY)
    stock_all_but(ready)
    look_into_the_drawer(hand, "235 mm")
    expect(row(hand, "235 mm")).to_contain_text("2 short for Q1")
    offer(hand, f"{READY}, 235 mm, cut and tipped", holds="10", price="8.50")
    order_and_receive(hand, f"{READY}, 235 mm")
    look_into_the_drawer(hand, "235 mm")
    expect(row(hand, "235 mm")).to_contain_text(re.compile(r"10\s+2 kept, 8 free"))

    cut_all(hand, "2 × 235 mm", "2 × 205 mm", "4 × 241.3 mm")
    assert not StockItem.objects.filter(material=ready, lots__on_hand=0, size_tenths_mm__lt=2300).exists()
    look_into_the_drawer(hand, "235 mm")
    expect(row(hand, "235 mm").get_by_role("link", name="8", exact=True)).to_be_visible()
    make_it(books)
    hand.open(f"/bench/{Job.objects.get().pk}/")
    deliver(hand)
    # Eight at 0.90 from the drawer and two that came at (8.50 + 4.50) ÷ 10 are 9.80; ten were quoted at 0.90.
    dearer = step(hand, f"“{READY}” cost more")
    expect(dearer).to_contain_text("−€0.80")
    expect(dearer).to_contain_text("10 at €0.90, €9.00 in all.")
    expect(dearer).to_contain_text("10, worth €9.80 in the shelf’s ledger.")
    hand.sees_not(re.compile(f"“{READY}” went in"))
    assert audit().differences == ()
    assert hand.presses <= 59


def test_a_coil_to_the_account(books: User, pattern: PatternRevision, hand: Hand):
    quote_and_agree(hand, pattern, "Spiral steel, cut from the coil")
    coil = StockMaterial.objects.get(code="spiral-7-coil")
    stock_all_but(coil)
    hand.press("link", "Shelf")
    hand.press("link", "Drawer of bones")
    hand.sees("2.351 m short for Q1")
    offer(hand, f"{COIL}, on the coil", holds="25", price="70")
    order_and_receive(hand, COIL)
    hand.press("link", "Shelf")
    hand.press("link", "Drawer of bones")
    hand.sees("2.351 m kept, 22.649 m free")

    cut_all(hand, "2 × 238.7 mm", "2 × 206.5 mm", "Tips are issued apart.")
    assert StockItem.objects.get(material=coil).on_hand == pytest.approx(22_649, abs=1)
    make_it(books)
    hand.open(f"/bench/{Job.objects.get().pk}/")
    deliver(hand)
    # 25 m came at 70 + 4.50, which is 2.98 a metre; 2.351 m were quoted at 3.10, and cut to the millimetre.
    cheaper = step(hand, f"“{COIL}” cost less")
    expect(cheaper).to_contain_text("+€0.28")
    expect(cheaper).to_contain_text("2.351 m at €3.10, €7.29 in all.")
    expect(cheaper).to_contain_text(re.compile(r"2\.35[12] m, worth €7\.01 in the shelf’s ledger\."))
    assert audit().differences == ()
    assert hand.presses <= 42


def test_the_drawer_is_counted_by_length_on_a_phone(maker: User, new_hand: Callable[..., Hand]):
    coil = item("spiral", material__name="Spiral 5 mm", material__code="spiral-5")
    for tenths, count in ((2300, 4), (2500, 12)):
        stocked(item_of(coil.material, tenths, BoneForm.TIPPED), count, 100 * count)
    phone = new_hand(PHONE)
    phone.come_in()
    phone.presses = 0
    phone.open("/shelf/drawer/")
    must_fit(phone)
    phone.press("button", "Count spiral steel by length")
    heading(phone, "Stocktake 1, by length")
    must_fit(phone)
    phone.write("How many lie there: Spiral 5 mm, 230 mm, cut and tipped", "4")
    phone.write("How many lie there: Spiral 5 mm, 250 mm, cut and tipped", "11")
    phone.press("button", "Keep the counts")
    heading(phone, "Stocktake 1: what differs")
    must_fit(phone)
    lot = Lot.objects.get(item__size_tenths_mm=2500)
    phone.write(f"Reason for {lot.item}, {lot}", "used without a slip")
    phone.write("Reason for the whole, beside the posting for good", "counted on a Sunday")
    phone.press("button", "Post the differences")
    heading(phone, "Stocktake 1: what came of it")
    look_into_the_drawer(phone, "25 cm")
    must_fit(phone)
    expect(row(phone, "250 mm").get_by_role("link", name="11", exact=True)).to_be_visible()
    assert Stocktake.objects.get().state == "posted"
    assert audit().differences == ()
    assert phone.presses <= 6
