"""What delivered jobs used against what was reckoned, by hand from the ledger (common practice, no source).

Example A takes 24 grommets and two for a test piece, 28 with two spoilt; 20 tips, 22 with two spoilt; 2.351 m of coil.
Its satin is 0.367 m of lay and 0.061 m for the bias, 422 mm when washed (1.5 %), its coutil 0.373 m, 362 mm (3 %). Its
toile is 0.327 m, its fusible 0.063 m, its thread 100.823 m, of which 25 m are for toile and hand sewing; it has six flats.
"""

from copy import deepcopy
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from support_bench import delivered_copy, fill_shelf
from support_shelf import act, stocked

from inventory.models import Lot, StockMaterial
from inventory.stock.cutting import put_back_offcuts
from inventory.stock.ledger import Remnant, give_back, issue
from studio.bench.job_materials import spoil
from studio.learning.material_use import materials_seen
from studio.models import Job, LearntChange

GROMMETS, TIPS, FLATS = "grommet_spoilage_share", "tip_spoilage_share", "flat_spoilage_share"
WASTE, THREAD, STITCHED = "thread_waste_share", "thread-core-spun", 75.823
SHORT_FLAT, LONG_FLAT = "flat-7-dipped-241-3", "flat-7-dipped-254"
SATIN, COUTIL, GROMMET, TIP, COIL = (
    "coutil-satin-bottle",
    "coutil-white",
    "grommet-00-nickel-free",
    "tip-7",
    "spiral-7-coil",
)


@pytest.fixture
def lots(open_job: Job) -> dict[str, Lot]:
    return fill_shelf(open_job)


@pytest.fixture
def job(open_job: Job) -> Job:
    return delivered_copy(open_job, days_ago=3)


def give(job: Job, lot: Lot, quantity: int) -> None:
    issue(act(), lot=lot, quantity=quantity, job=job.reference, takes_reserved=True)


def spoilt(job: Job, lot: Lot, quantity: int, cause: str, *, again: bool, user: User) -> None:
    spoil(job, lot=lot, quantity=quantity, cause=cause, words="", is_cut_again=again, key=act().key, user=user)


def of_pieces() -> dict[str, tuple[int, float, bool]]:
    return {row.kind: (row.needed, row.spoilt, row.is_assumed) for row in materials_seen().counts}


def of_lengths() -> dict[str, tuple[float, float]]:
    return {row.kind: (round(row.quoted, 4), row.used) for row in materials_seen().uses}


def test_a_job_of_which_nothing_was_issued_tells_nothing(job: Job):
    seen = materials_seen()
    assert (seen.uses, seen.counts) == ((), ())


def test_both_cloths_together_as_they_lie_washed(job: Job, lots: dict[str, Lot]):
    give(job, lots[SATIN], 500)
    give(job, lots[COUTIL], 400)
    assert of_lengths() == {"cloth_use_factor": (0.784, 0.9)}
    (row,) = materials_seen().uses
    assert (row.job, row.day) == (job.reference, job.delivered_on)


def test_only_the_cloth_that_was_issued_is_held_against_its_plan(job: Job, lots: dict[str, Lot]):
    give(job, lots[SATIN], 500)
    assert of_lengths() == {"cloth_use_factor": (0.422, 0.5)}


def test_what_came_back_was_not_used_be_it_a_remnant(job: Job, lots: dict[str, Lot]):
    """A remnant of 670 × 300 mm of a cloth 1340 mm wide is worth 150 mm of its length."""
    give(job, lots[SATIN], 800)
    give_back(act(), lot=lots[SATIN], quantity=100, job=job.reference)
    lot = lots[SATIN]
    give_back(act(), lot=lot, quantity=0, job=job.reference, remnant=Remnant(width_mm=670, length_mm=300))
    assert of_lengths() == {"cloth_use_factor": (0.422, 0.55)}


def test_what_was_cut_again_is_no_use_of_the_lay(job: Job, lots: dict[str, Lot], books: User):
    give(job, lots[SATIN], 422)
    spoilt(job, lots[SATIN], 100, "own-slip", again=True, user=books)
    assert of_lengths() == {"cloth_use_factor": (0.422, 0.422)}


def test_coil_cord_and_tape(job: Job, lots: dict[str, Lot]):
    for code, quantity in ((COIL, 2600), ("cord-flat-6", 6000), ("twill-22", 800)):
        give(job, lots[code], quantity)
    assert of_lengths() == {
        "spiral_cutting_share": (2.351, 2.6),
        "waist_tape_use_factor": (0.755, 0.8),
        "cord_use_factor": (5.5, 6.0),
    }


def test_a_coil_of_which_rests_from_the_drawer_took_a_part_tells_nothing(job: Job, lots: dict[str, Lot]):
    """What is missing of the coil was not saved: a bone of a rest took its place."""
    put_back_offcuts(act(), lot=lots[COIL], lengths=[2400])
    give(job, lots[COIL], 2100)
    give(job, Lot.objects.get(item__form="cut"), 1)
    assert of_lengths() == {}


def test_toile_and_fusible_as_they_are_reckoned(job: Job, lots: dict[str, Lot]):
    give(job, lots["calico-firm"], 400)
    give(job, lots["fusible-woven"], 90)
    assert of_lengths() == {"toile_use_factor": (0.327, 0.4), "fusible_use_factor": (0.063, 0.09)}


def test_thread_without_what_the_toile_and_the_hand_take(job: Job, lots: dict[str, Lot]):
    give(job, lots[THREAD], 110_000)
    assert of_lengths() == {WASTE: (STITCHED, 85.0)}
    give_back(act(), lot=lots[THREAD], quantity=20_000, job=job.reference)
    assert of_lengths() == {WASTE: (STITCHED, 65.0)}


def test_no_more_thread_than_for_toile_and_hand_tells_nothing_of_the_stitching(job: Job, lots: dict[str, Lot]):
    give(job, lots[THREAD], 25_000)
    assert of_lengths() == {}


@pytest.mark.parametrize("spools", [1, 2])
def test_a_whole_spool_stays_at_the_bench_and_what_was_reckoned_counts(job: Job, lots: dict[str, Lot], spools: int):
    cone = stocked(lots[THREAD].item, 3_000_000, 2400)
    give(job, cone, spools * 1_000_000)
    assert of_lengths() == {WASTE: (STITCHED, STITCHED)}
    give_back(act(), lot=cone, quantity=spools * 1_000_000 - 120_000, job=job.reference)
    assert of_lengths() == {WASTE: (STITCHED, 95.0)}


@pytest.mark.parametrize(("issued", "used"), [(200_000, STITCHED), (150_000, 125.0)])
def test_where_no_spool_is_known_it_is_what_is_bought(job: Job, lots: dict[str, Lot], issued: int, used: float):
    StockMaterial.objects.filter(code=THREAD).update(facts={}, step_mm=200_000)
    give(job, lots[THREAD], issued)
    assert of_lengths() == {WASTE: (STITCHED, used)}


def test_just_the_planned_thread_counts_as_reckoned_by_the_share_of_its_day(job: Job, lots: dict[str, Lot]):
    """Reckoned with 38 %, 75.823 m are 1.15 ÷ 1.38 of it by the default of 15 %."""
    sealed = job.revision.sent_at
    assert sealed is not None
    LearntChange.objects.create(
        kind="loss", what=WASTE, value=0.38, evidence={}, state="taken", decided_at=sealed - timedelta(hours=1)
    )
    give(job, lots[THREAD], 100_823)
    assert of_lengths() == {WASTE: (round(STITCHED * 1.15 / 1.38, 4), STITCHED)}


def test_jobs_of_learnt_figures_are_held_against_the_default(job: Job, lots: dict[str, Lot]):
    """Reckoned with 26 % for cutting, 2.351 m are 1.05 ÷ 1.26 of it by the default of 5 %."""
    sealed = job.revision.sent_at
    assert sealed is not None
    LearntChange.objects.create(
        kind="loss", what="spiral_cutting_share", value=0.26, evidence={}, state="taken",
        decided_at=sealed - timedelta(hours=1),
    )  # fmt: skip
    give(job, lots[COIL], 2351)
    assert of_lengths() == {"spiral_cutting_share": (round(2.351 * 1.05 / 1.26, 4), 2.351)}
    LearntChange.objects.update(decided_at=sealed + timedelta(hours=1))
    assert of_lengths() == {"spiral_cutting_share": (2.351, 2.351)}


def test_pieces_that_came_back_were_not_spoilt(job: Job, lots: dict[str, Lot]):
    """28 issued, 1 back: 27 less 24 and 2 for the test piece."""
    give(job, lots[GROMMET], 28)
    give_back(act(), lot=lots[GROMMET], quantity=1, job=job.reference)
    assert of_pieces() == {GROMMETS: (24, 1, False)}


def test_pieces_issued_beyond_the_plan_were_spoilt(job: Job, lots: dict[str, Lot]):
    give(job, lots[TIP], 22)
    give(job, lots[TIP], 4)
    assert of_pieces() == {TIPS: (20, 6, False)}


def test_flats_of_all_lengths_are_counted_together(job: Job, lots: dict[str, Lot]):
    give(job, lots[SHORT_FLAT], 4)
    assert of_pieces() == {}
    give(job, lots[LONG_FLAT], 2)
    assert of_pieces() == {FLATS: (6, 0, True)}
    give(job, lots[LONG_FLAT], 1)
    assert of_pieces() == {FLATS: (6, 1, False)}
    give_back(act(), lot=lots[SHORT_FLAT], quantity=1, job=job.reference)
    assert of_pieces() == {FLATS: (6, 0, False)}


def test_no_test_piece_was_set_and_none_spoilt(job: Job, lots: dict[str, Lot]):
    give(job, lots[GROMMET], 25)
    assert of_pieces() == {GROMMETS: (24, 0, False)}


@pytest.mark.parametrize(("again", "spoilt_pieces"), [(True, 5), (False, 2)])
def test_scrap_by_an_own_slip_is_spoilt(job: Job, lots: dict[str, Lot], books: User, again: bool, spoilt_pieces: int):
    """Set anew from the box 31 were used; written off from the job's own, the 28 that it had: less 24 and 2."""
    give(job, lots[GROMMET], 28)
    spoilt(job, lots[GROMMET], 3, "own-slip", again=again, user=books)
    assert of_pieces() == {GROMMETS: (24, spoilt_pieces, False)}


def test_what_the_client_or_a_faulty_box_caused_is_not_spoilt_in_the_work(job: Job, lots: dict[str, Lot], books: User):
    give(job, lots[GROMMET], 28)
    for cause in ("client", "fit", "cloth-fault"):
        spoilt(job, lots[GROMMET], 2, cause, again=True, user=books)
    assert of_pieces() == {GROMMETS: (24, pytest.approx(24 * 0.05), True)}


def test_where_only_the_plan_was_issued_nobody_told_and_what_was_reckoned_counts(job: Job, lots: dict[str, Lot]):
    give(job, lots[GROMMET], 28)
    give(job, lots[TIP], 22)
    assert of_pieces() == {
        GROMMETS: (24, pytest.approx(24 * 0.05), True),
        TIPS: (20, pytest.approx(20 * 0.10), True),
    }


def test_less_than_the_need_came_from_elsewhere_too(job: Job, lots: dict[str, Lot]):
    give(job, lots[GROMMET], 10)
    assert of_pieces() == {}


def test_what_the_maker_set_against_the_takeoff_tells_nothing_of_it(open_job: Job, lots: dict[str, Lot]):
    figures = deepcopy(open_job.revision.figures)
    line = next(row for row in figures["quotation"]["options"][0]["takeoff"]["lines"] if row["code"] == "grommet")
    line["overruled"], line["quantity"] = "28", "40"
    job = delivered_copy(open_job, days_ago=3, figures=figures)
    give(job, lots[GROMMET], 40)
    give(job, lots[TIP], 23)
    assert of_pieces() == {TIPS: (20, 3, False)}


def test_open_jobs_and_materials_that_are_not_on_the_list_tell_nothing(open_job: Job, lots: dict[str, Lot]):
    give(open_job, lots[TIP], 30)
    assert of_pieces() == {}
    Job.objects.filter(pk=open_job.pk).update(
        stage="delivered", delivered_on=timezone.localdate(), net_minor=1, tax_minor=0, fee_minor=0
    )
    assert of_pieces() == {TIPS: (20, 10, False)}
    StockMaterial.objects.filter(code=TIP).update(code="tip-of-old")
    assert of_pieces() == {}
