"""Use cases of the ledger for bones: cut to length from a coil or from longer ones, and rests put back into the drawer.

What is cut is another item than what it is cut from, so that a posting here moves value from item to item: what goes out of
one comes into the others, to the minor unit, and where a receipt turns out to have cost something else, what was made of
it follows (`inventory.reckoning.price_known`).
"""

from collections.abc import Iterable, Sequence

from django.db import transaction

from inventory.ground.bone_forms import BELIEVED_MM, BoneForm
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import refuse
from inventory.models import Lot, Posting
from inventory.reckoning.valuation import Layer, Method, take
from inventory.stock.posting import Act, Change, post
from inventory.stock.price_list import item_of
from inventory.stock.valuing import cost_of, lot_now

__all__ = ["cut_to_length", "put_back_offcuts"]


def cut_to_length(act: Act, *, lot: Lot, lengths: Sequence[int], form: BoneForm, count: int = 1) -> Posting:
    """Make bones of a coil, or shorter bones of bones; each length becomes a lot of its own item in the drawer.

    A coil loses the lengths, together rounded up to a whole millimetre, and the rest of it stays. Of a lot of bones whole
    ones go; what is left of each beyond the lengths is waste, and its value stays with what was made, as that of waste
    which is usual does (IAS 2 Inventories, paragraph 16). The value is shared by length. Where work takes one end and the
    other is a rest, both are lengths: the one is issued, the other lies there. Tips are issued apart.

    Args:
        lengths: in tenths of a millimetre: one of each is cut, `count` times, of so many bones where they are cut from
            bones.
        form: cut or tipped.

    Raises:
        Refused: it is no bone, less is there, the lengths are not believed or longer than the bone, or nothing would
            change.
    """
    _must_be_cuttable(lot, lengths, form)
    needed = sum(lengths)
    out = -(-needed * count // 10) if lot.item.bone_form is BoneForm.COIL else count

    def changes(method: Method) -> Iterable[Change]:
        there = lot_now(lot)
        cost = cost_of(method, there, out)
        yield Change(there, -out, -cost)
        left: Sequence[Layer] = [Layer(needed, cost)]
        for length in lengths:
            value, left = take(left, length)
            yield Change(_made_of(there, length, form), count, value)

    with transaction.atomic():
        made = {item_of(lot.item.material, length, form).pk for length in lengths}
        figures = [lot.pk, list(lengths), form.value, count]
        return post(act, Posting.Kind.SPLITTING, {lot.item_id, *made}, figures, changes)


def put_back_offcuts(act: Act, *, lot: Lot, lengths: Sequence[int]) -> Posting:
    """Put rests of a coil, or of one bone, back into the drawer as cut bones; values as `cut_to_length` shares them.

    Args:
        lengths: in tenths of a millimetre, one a rest.

    Raises:
        Refused: a rest is shorter than what is kept, or as `cut_to_length` refuses.
    """
    keep_mm = shelf_defaults().shelf.bone_rest_mm
    if short := [length for length in lengths if length < 10 * keep_mm]:
        raise refuse(
            "cutting.too-short",
            "lengths",
            f"A rest of {short[0] / 10:g} mm is shorter than the {keep_mm} mm that are kept.",
            "Scrap it instead.",
        )
    return cut_to_length(act, lot=lot, lengths=lengths, form=BoneForm.CUT)


def _must_be_cuttable(lot: Lot, lengths: Sequence[int], form: BoneForm) -> None:
    """Refuse lengths that cannot come of a lot, whatever it holds."""
    item, where = lot.item, str(lot.item)
    if item.bone_form is None:
        raise refuse("cutting.no-bone", where, "Only bones are cut to length.", "Issue or count it instead.")
    if form is BoneForm.COIL or not lengths:
        raise refuse("cutting.nothing", where, "Nothing would be cut.", "Say how long the bones are.")
    least, most = BELIEVED_MM
    if odd := [length for length in lengths if not 10 * least <= length <= 10 * most]:
        raise refuse("cutting.length", "lengths", f"A length of {odd[0] / 10:g} mm is outside {least} to {most} mm.")
    if item.bone_form is BoneForm.COIL:
        return
    if not item.size_tenths_mm:
        raise refuse("cutting.no-length", where, "These bones have no length.", "Say in which lengths it comes.")
    if sum(lengths) > item.size_tenths_mm:
        words = " + ".join(f"{length / 10:g}" for length in lengths)
        raise refuse("cutting.longer", "lengths", f"{words} mm are more than the {item.size_words} of the bone.")
    if list(lengths) == [item.size_tenths_mm] and form is item.bone_form:
        raise refuse("cutting.nothing", "lengths", f"They are {item.size_words} long already, {form.words}.")


def _made_of(lot: Lot, length: int, form: BoneForm) -> Lot:
    """A new lot of what is cut from another, as old as that one."""
    item = item_of(lot.item.material, length, form)
    return Lot.objects.create(
        item=item,
        supplier=lot.supplier,
        received_on=lot.received_on,
        dye_lot=lot.dye_lot,
        from_lot=lot,
        place="" if item.place else lot.place or lot.item.place,
    )
