"""What the demo's shelf shows today: odd lots, a remnant that a lining fits, an order that is late, and what lies still."""

from functools import partial

from inventory.buying.purchasing import OrderWish, draft_order, place
from inventory.models import Lot, Posting, Supplier
from inventory.stock.ledger import Remnant, count, issue, split_off, wash
from studio.demo.buying import came, ready_lots
from studio.demo.diary import Diary
from studio.demo.suppliers import item

__all__ = ["plan"]


def plan(diary: Diary) -> None:
    """Put what lies there today into the diary, each on the day on which it came."""
    for days_ago, act in (
        (440, _plum_silk),
        (333, _counted),
        (200, _sample),
        (90, _too_little_brocade),
        (60, _lawn_with_remnant),
        (40, _satin_with_remnant),
        (24, _raw_coutil),
        (12, _late_busks),
    ):
        diary.plan(diary.day(days_ago), partial(act, diary))


def _plum_silk(diary: Diary) -> None:
    came(diary, "silk-dupion-plum", 4200, dye_lot="PL-1")


def _counted(diary: Diary) -> None:
    """At the turn of the year less cord was there than the books said."""
    cord = ready_lots(item("cord-flat-6"))[0]
    count(diary.act("Counted at the turn of the year"), [(cord, -min(cord.on_hand, 600))])


def _sample(diary: Diary) -> None:
    silk = ready_lots(item("silk-dupion-plum"))[0]
    issue(diary.act("A cuff for the window"), lot=silk, quantity=300, purpose=Posting.Purpose.SAMPLE)


def _too_little_brocade(diary: Diary) -> None:
    came(diary, "brocade-quince", 400, dye_lot="Q-3")


def _lawn_with_remnant(diary: Diary) -> None:
    lawn = came(diary, "lawn-ivory", 900)
    split_off(diary.act("Left of a lining"), lot=lawn, remnant=Remnant(width_mm=1240, length_mm=660))


def _satin_with_remnant(diary: Diary) -> None:
    satin = came(diary, "coutil-satin-bottle", 3000, dye_lot="B-207")
    split_off(diary.act("Left of a bodice"), lot=satin, remnant=Remnant(width_mm=640, length_mm=720))


def _raw_coutil(diary: Diary) -> None:
    """Black coutil as it came, washed in part."""
    raw = came(diary, "coutil-black", 2000, dye_lot="N-31", state=Lot.State.RAW)
    wash(diary.act(), lot=raw, quantity=1000, ready_quantity=968)


def _late_busks(diary: Diary) -> None:
    """Black busks that should have been here: they are never taken in."""
    row = Supplier.objects.get(code="otterburn")
    wish = OrderWish(offer=row.offers.get(their_code="BB-13"), packs=1)
    order = draft_order(row, [wish], user=diary.maker, on=diary.day(12))
    place(order, on=diary.day(12))
