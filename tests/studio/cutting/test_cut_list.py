"""Cut lists: cases reckoned by hand, and drawn ones held against a count that shares nothing with the plan.

That a waist tape and a lacing cord are not joined, that what was begun is used up first and that a rest from 150 mm on
goes back: common practice, no source. Sums of lengths are arithmetic.
"""

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest

from studio.cutting.cut_list import CutLot, Lying, MaterialCuts, Rules, cut_list, totals
from studio.cutting.doing import Bones, Taken, doing_of, one_after_another, planned
from studio.cutting.wanted import Wanted

RULES = Rules(kerf=10, rest_share=Decimal("0.5"), opening=1000)
NO_KERF = Rules(kerf=0, rest_share=Decimal("0.5"), opening=1000)


def coil(lot: int, mm: int, *, is_open: bool = True) -> Lying:
    return Lying(lot=lot, material="spiral", form="coil", length=mm * 10, is_roll=True, is_open=is_open)


def bones(lot: int, mm: int, count: int = 1, *, form: str = "cut", is_rest: bool = True) -> Lying:
    return Lying(
        lot=lot, material="spiral", form=form, length=mm * 10, count=count, is_rest=is_rest, keep=1500, is_open=is_rest
    )


def want(mm: float, count: int = 1, *, job: str = "Q1", where: str = "seam 1", form: str = "coil") -> Wanted:
    length = round(mm * 10)
    is_cut = form != "tipped"
    size = 0 if is_cut else length
    return Wanted(
        job=job, where=where, material="spiral", form=form, size=size, length=length, count=count, is_cut=is_cut
    )


def roll_want(mm: int, count: int = 1, *, job: str = "Q1", where: str = "waist", one_lot: bool = False) -> Wanted:
    return Wanted(job=job, where=where, material="tape", form="", size=0, length=mm * 10, count=count, one_lot=one_lot)


def roll(lot: int, mm: int, *, is_open: bool = True) -> Lying:
    return Lying(lot=lot, material="tape", form="", length=mm * 10, is_roll=True, is_open=is_open)


def faults(wanted: Sequence[Wanted], lying: Sequence[Lying], cuts: MaterialCuts, kerf: int) -> list[str]:
    """What is wrong with a list, counted from what it says alone."""
    found = []
    given: Counter[tuple[str, str, int]] = Counter()
    for lot in cuts.lots:
        stock = next(stock for stock in lying if stock.lot == lot.lot)
        pieces = [piece.length for piece in lot.pieces for _ in range(piece.count)]
        number_of_cuts = 0 if lot.is_as_it_is else max(0, len(pieces) - lot.times)
        if sum(pieces) + kerf * number_of_cuts > stock.length * lot.times:
            found.append(f"lot {lot.lot} is cut beyond its length")
        if not stock.is_roll and lot.times > stock.count:
            found.append(f"lot {lot.lot} has not so many")
        if pieces != sorted(pieces, reverse=True):
            found.append(f"lot {lot.lot} does not begin with the longest")
        for piece in lot.pieces:
            if sum(share.count for share in piece.shares) != piece.count:
                found.append(f"lot {lot.lot}: pieces without an owner")
            for share in piece.shares:
                given[share.job, share.where, piece.length] += share.count
    used = Counter(lot.lot for lot in cuts.lots for _ in range(lot.times) if not lot.is_roll)
    found += [f"lot {stock.lot} is used up twice" for stock in lying if used[stock.lot] > stock.count]
    for row in cuts.missing:
        for share in row.shares:
            given[share.job, share.where, row.length] += share.count
    asked: Counter[tuple[str, str, int]] = Counter()
    for row in wanted:
        asked[row.job, row.where, row.length] += row.count
    if asked != given:
        found.append(f"asked {asked - given}, given beyond {given - asked}")
    return found


def lots(cuts: MaterialCuts) -> list[tuple[int, list[tuple[int, int]], int]]:
    return [(lot.lot, [(piece.length // 10, piece.count) for piece in lot.pieces], lot.rest // 10) for lot in cuts.lots]


def test_bones_come_off_the_coil_longest_first_and_the_rest_stays_on_it():
    """2 × 300 and 4 × 200 with six cuts of 1 mm: 1406 mm of 2000, 594 stay."""
    cuts = cut_list([want(200, 4), want(300, 2, where="seam 2")], [coil(1, 2000)], rules=RULES)
    assert lots(cuts) == [(1, [(300, 2), (200, 4)], 594)]
    assert (cuts.missing, cuts.is_optimal) == ((), True)
    assert totals([cuts]).wasted == 60


def test_what_quotes_reckon_as_lost_goes_off_the_coil_as_far_as_it_reaches():
    """Five of 200 mm with a twentieth lost are 1050 mm; of a coil of 1020 mm all of it."""
    rules = replace(RULES, lost_share=Decimal("0.05"))
    for mm, used in ((3000, 1050), (1020, 1020)):
        (lot,) = cut_list([want(200, 5)], [coil(1, mm)], rules=rules).lots
        assert (lot.used, lot.rest, lot.wasted) == (used * 10, (mm - used) * 10, (used - 1000) * 10)


def test_a_coil_that_is_just_long_enough_serves_without_its_last_cut():
    """Two of 200 of 401 mm: one cut between them, none at the end."""
    cuts = cut_list([want(200, 2)], [coil(1, 401)], rules=RULES)
    assert lots(cuts) == [(1, [(200, 2)], 0)]
    assert totals([cuts]).wasted == 10


def test_a_rest_in_the_drawer_is_used_before_the_coil_and_one_of_the_right_length_as_it_is():
    cuts = cut_list([want(220, 2)], [coil(1, 5000), bones(2, 230), bones(3, 220)], rules=RULES)
    assert lots(cuts) == [(3, [(220, 1)], 0), (2, [(220, 1)], 9)]
    assert [lot.is_as_it_is for lot in cuts.lots] == [True, False]


def test_what_is_taken_as_it_is_stands_there_the_longest_first():
    cuts = cut_list([want(220, 1), want(240, 1)], [bones(1, 220), bones(2, 240)], rules=RULES)
    assert lots(cuts) == [(2, [(240, 1)], 0), (1, [(220, 1)], 0)]


def test_what_is_left_of_a_long_bone_goes_back_from_150_mm_on():
    """400 − 220 − 1 = 179 mm goes back; 360 − 220 − 1 = 139 mm does not."""
    for mm, goes_back, wasted in ((400, True, 10), (360, False, 1400)):
        (lot,) = cut_list([want(220)], [bones(2, mm)], rules=RULES).lots
        assert (lot.rest, lot.goes_back, lot.wasted) == ((mm - 221) * 10, goes_back, wasted)


def test_two_short_bones_come_of_one_long_one():
    cuts = cut_list([want(240), want(150, where="seam 3")], [bones(2, 400, 3)], rules=RULES)
    assert lots(cuts) == [(2, [(240, 1), (150, 1)], 8)]


def test_a_begun_coil_is_used_before_another_is_opened():
    cuts = cut_list([want(300, 3)], [coil(2, 1000), coil(1, 10_000, is_open=False)], rules=RULES)
    assert [lot.lot for lot in cuts.lots] == [2]


def test_bones_that_come_tipped_are_taken_as_they_are_and_not_cut_for_another():
    """A tipped bone of 305 mm serves the one that is wanted tipped; the raw one of 300 mm comes off the coil."""
    lying = [coil(1, 1000), bones(2, 305, 2, form="tipped", is_rest=False)]
    cuts = cut_list([want(305, 1, form="tipped"), want(300, 1)], lying, rules=RULES)
    assert lots(cuts) == [(2, [(305, 1)], 0), (1, [(300, 1)], 699)]


def test_what_is_missing_is_said_with_the_longest_that_is_there():
    cuts = cut_list([want(241, 2), want(200)], [bones(2, 230), bones(3, 210)], rules=RULES)
    (missing,) = cuts.missing
    assert missing.words == "2 × 241 mm: nothing there is long enough; the longest is 230 mm."
    assert lots(cuts) == [(3, [(200, 1)], 9)]


def test_what_runs_short_is_as_little_as_can_be():
    """Of 700 mm come three of 200 with their cuts, a fourth not."""
    cuts = cut_list([want(200, 4)], [coil(1, 700)], rules=RULES)
    assert [row.words for row in cuts.missing] == ["1 × 200 mm: what is there does not reach for all."]
    assert lots(cuts) == [(1, [(200, 3)], 97)]
    nothing = cut_list([want(200, 4)], [], rules=RULES)
    assert [row.words for row in nothing.missing] == ["4 × 200 mm: nothing of it is there."]


def test_a_waist_tape_is_of_one_piece():
    """Two rests of 700 mm are 1400 together, and none is a tape of 800."""
    cuts = cut_list([roll_want(800)], [roll(1, 700), roll(2, 700)], rules=NO_KERF)
    assert [row.words for row in cuts.missing] == ["1 × 800 mm: nothing there is long enough; the longest is 700 mm."]
    assert lots(cut_list([roll_want(800)], [roll(1, 700), roll(2, 900)], rules=NO_KERF)) == [(2, [(800, 1)], 100)]


def test_what_shows_is_of_one_lot_or_missing():
    """Binding of 2 × 900 and 2 × 850 mm is 3500; 3000 and 2000 hold it together, neither alone."""
    wanted = [roll_want(900, 2, where="top edge", one_lot=True), roll_want(850, 2, where="bottom edge", one_lot=True)]
    cuts = cut_list(wanted, [roll(1, 3000), roll(2, 2000)], rules=NO_KERF)
    assert cuts.lots == ()
    assert cuts.missing[0].words == ("2 × 900 mm: it shows, and no one lot holds the 3500 mm that are wanted of it.")
    assert [lot.lot for lot in cut_list(wanted, [roll(1, 3000), roll(2, 3500)], rules=NO_KERF).lots] == [2]


def test_what_is_taken_off_a_coil_is_shared_by_the_jobs_in_whole_millimetres():
    """Q1 241.3 mm twice and Q2 once, cuts of 1 mm: 484.6 and 242.3, together 726.9: 485 and 242."""
    cuts = cut_list([want(241.3, 2), want(241.3, 1, job="Q2")], [coil(1, 5000)], rules=RULES)
    assert doing_of([cuts]).taken == (Taken(lot=1, job="Q1", amount=485), Taken(lot=1, job="Q2", amount=242))


def test_a_bone_may_be_cut_for_two_jobs():
    cuts = cut_list([want(240), want(150, job="Q2")], [bones(2, 400)], rules=RULES)
    shares = (("Q1", 2400, 1), ("Q2", 1500, 1))
    assert doing_of([cuts]).bones == (Bones(lot=2, count=1, lengths=(2400, 1500), rest=0, shares=shares),)


def test_cutting_together_saves_what_two_jobs_cut_apart_would_waste():
    """Bones of 520 mm, wanted 380 and 2 × 250 by Q1, 130 by Q2.

    Apart Q1 takes 380 of one (139 of it too short to keep) and 250 + 250 of another (19 left), and Q2 takes 130 of a
    third and keeps 389. Together 380 + 130 come of one: 520 − 510 − 1 = 9 mm are left, and no third is begun.
    """
    wanted = [want(380), want(250, 2, where="seam 2"), want(130, job="Q2")]
    lying = [bones(2, 520, 3, is_rest=False)]
    together = planned(wanted, lying, {"spiral": RULES})
    apart = one_after_another(wanted, lying, {"spiral": RULES})
    assert totals(together).bones == 2
    assert apart.bones == 3
    # Wasted apart: 520 − 380, 520 − 500 and a cut of 1 mm; together: 10 and 20 mm.
    assert (apart.wasted, totals(together).wasted) == (1610, 300)


def test_one_job_alone_saves_nothing():
    wanted, lying = [want(200, 3)], [coil(1, 2000)]
    rules = {"spiral": RULES}
    assert one_after_another(wanted, lying, rules) == totals(planned(wanted, lying, rules))


@pytest.mark.parametrize("seed", range(40))
def test_any_list_serves_each_want_once_and_cuts_no_lot_beyond_its_length(seed: int):
    draw = random.Random(seed)
    jobs = ["Q1", "Q2"][: draw.randint(1, 2)]
    wanted = [
        want(draw.choice([110, 180, 241.3, 305]), draw.randint(1, 4), job=job, where=f"seam {number}", form=form)
        for job in jobs
        for number in range(draw.randint(1, 3))
        for form in [draw.choice(["coil", "coil", "tipped"])]
    ]
    lying = [coil(place, draw.randint(50, 1500), is_open=draw.random() < 0.5) for place in range(draw.randint(0, 2))]
    lying += [
        bones(10 + place, draw.choice([180, 200, 305, 400, 500]), draw.randint(1, 3), form=form, is_rest=form == "cut")
        for place in range(draw.randint(0, 3))
        for form in [draw.choice(["cut", "tipped"])]
    ]
    cuts = cut_list(wanted, lying, rules=RULES)
    assert faults(wanted, lying, cuts, RULES.kerf) == []
    assert sum(taken.amount * 10 for taken in doing_of([cuts]).taken if taken.lot < 10) < sum(
        (lot.used for lot in cuts.lots if lot.is_roll), 10
    )


def test_the_check_itself_finds_a_lot_that_is_cut_too_far():
    cuts = cut_list([want(200, 2)], [coil(1, 2000)], rules=RULES)
    assert faults([want(200, 2)], [coil(1, 300)], cuts, RULES.kerf) == ["lot 1 is cut beyond its length"]
    assert faults([want(200, 3)], [coil(1, 2000)], cuts, RULES.kerf)
    assert isinstance(cuts.lots[0], CutLot)
