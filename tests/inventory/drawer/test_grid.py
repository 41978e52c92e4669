"""The grid of the drawer: what is kept, free and short, and what would do instead; worked by hand.

What stands in for what: the trade's practice, a bone up to 5 mm shorter unasked, a longer one or the coil where it is cut.
"""

import pytest

from inventory.drawer.grid import Instead, Need, Slot, nearest_rows, trays
from inventory.ground.bone_forms import BoneForm

COIL, CUT, TIPPED = BoneForm.COIL, BoneForm.CUT, BoneForm.TIPPED


def slot(code: str, form: BoneForm, length: float | None, there: int, *needs: tuple[str, int], **facts: object) -> Slot:
    wants = tuple(Need(reference=reference, quantity=quantity) for reference, quantity in needs)
    fields: dict[str, object] = {"bone": "spiral-5", "kind": "spiral", **facts}
    return Slot(code=code, form=form, length_mm=length, there=there, needs=wants, **fields)  # type: ignore[arg-type]


def instead(*slots: Slot, of: str) -> list[tuple[str, int, Instead]]:
    cells = [cell for tray in trays(slots, shorter_mm=5) for row in tray.rows for cell in row.cells.values()]
    (found,) = (cell for cell in cells if cell.slot.code == of)
    return [(stand_in.slot.code, stand_in.count, stand_in.done) for stand_in in found.stand_ins]


def test_what_open_work_leaves_and_for_whom_it_is_short():
    """12 lie there; Q10 takes 6, Q12 8 and Q14 2: 4 short, for Q12 and Q14. With 16 all are served."""
    needs = (("Q10", 6), ("Q12", 8), ("Q14", 2))
    short, enough = (slot("a", TIPPED, 250.0, there, *needs) for there in (12, 16))
    assert (short.kept, short.free, short.short, short.short_for) == (16, 0, 4, ("Q12", "Q14"))
    assert (enough.free, enough.short, enough.short_for) == (0, 0, ())
    assert slot("a", TIPPED, 250.0, 12, ("Q10", 5)).free == 7


def test_a_bone_has_a_row_a_length_the_shortest_first_and_a_column_a_form():
    (tray,) = trays(
        [
            slot("c", TIPPED, 300.0, 1),
            slot("a", COIL, None, 8_200, pieces=(8_200,)),
            slot("b", CUT, 241.3, 2),
            slot("d", TIPPED, 241.3, 0),
            slot("gone", CUT, 170.0, 0, is_sold=False),
        ],
        shorter_mm=5,
    )
    assert tray.coil is not None
    assert (tray.coil.slot.code, tray.forms) == ("a", (CUT, TIPPED))
    assert [(row.length_mm, set(row.cells)) for row in tray.rows] == [(241.3, {CUT, TIPPED}), (300.0, {TIPPED})]


def test_what_does_without_asking_comes_before_what_must_be_cut():
    wanted = slot("wanted", TIPPED, 250.0, 1, ("Q12", 6))
    found = instead(
        wanted,
        slot("coil", COIL, None, 900, pieces=(260, 240, 400), bone="spiral-5"),
        slot("longer", TIPPED, 300.0, 2),
        slot("raw", CUT, 250.0, 3),
        slot("five-less", TIPPED, 245.0, 9, ("Q9", 5)),
        slot("six-less", TIPPED, 244.0, 9),
        slot("two-less", TIPPED, 248.0, 1),
        of="wanted",
    )
    assert found == [
        ("two-less", 1, Instead.AS_IT_IS),
        ("five-less", 4, Instead.AS_IT_IS),
        ("raw", 3, Instead.TIPPED),
        ("longer", 2, Instead.CUT),
        # 260 and 400 mm give one each, 240 mm none.
        ("coil", 2, Instead.CUT),
    ]


def test_a_tipped_one_does_for_a_raw_one_of_its_length():
    assert instead(slot("raw", CUT, 250.0, 0, ("Q1", 2)), slot("t", TIPPED, 250.0, 5), of="raw") == [
        ("t", 2, Instead.AS_IT_IS)
    ]


@pytest.mark.parametrize(
    ("facts", "does"),
    [
        ({"bone": "spiral-6", "width_mm": 5.0}, True),
        ({"bone": "spiral-6", "width_mm": 6.0}, False),
        ({"bone": "flat-5", "kind": "flat", "width_mm": 5.0}, False),
        ({"bone": "unknown"}, False),
    ],
)
def test_another_bone_does_where_kind_and_width_are_the_same(facts: dict[str, object], does: bool):
    wanted = slot("wanted", TIPPED, 250.0, 0, ("Q1", 1), width_mm=5.0)
    assert bool(instead(wanted, slot("other", TIPPED, 250.0, 4, **facts), of="wanted")) is does


def test_nothing_is_offered_for_what_is_not_short():
    assert instead(slot("wanted", TIPPED, 250.0, 3, ("Q1", 3)), slot("b", TIPPED, 248.0, 4), of="wanted") == []


@pytest.mark.parametrize(
    ("sought", "rows"), [(250, [250]), (241.3, [229, 250]), (100, [200]), (400, [300]), (249.7, [250])]
)
def test_a_length_leads_to_its_row_or_to_those_beside_it(sought: float, rows: list[float]):
    (tray,) = trays([slot(f"{n}", CUT, float(n), 1) for n in (300, 200, 229, 250)], shorter_mm=5)
    assert [row.length_mm for row in nearest_rows(tray, sought)] == rows
