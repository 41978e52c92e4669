"""Losses of material on the learning page: proposed from delivered jobs, taken or refused, and what that changes.

Outside: by hand (common practice, no source). Four delivered pieces of example A each used 32 sets where 24 were needed
and two went into the test piece: 6 spoilt each. (100 × 0.05 + 4 × 6) ÷ (100 + 4 × 24) = 29 ÷ 196 = 14.8 %, faded a
little with the days; of 24 that is 4 spoilt instead of 2.
"""

from decimal import Decimal
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import delivered_copy, fill_shelf, line_of
from support_shelf import act, stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, StockMaterial
from inventory.stock.ledger import issue
from quotes.desk.figures import work_out
from quotes.seal.snapshot import SNAPSHOT
from quotes.takeoff.losses import SUBJECTS
from quotes.workroom.settings import losses, save_losses, workroom
from studio.learning.answers import refuse_change, take, take_back
from studio.learning.learning import propose
from studio.models import Job, LearntChange

GROMMETS, CLOTH = "grommet_spoilage_share", "cloth_use_factor"
SETS = "grommet-00-nickel-free"


@pytest.fixture
def sets(open_job: Job) -> Lot:
    return stocked(line_of(open_job, SETS).item, 1000, 10000)


def spoiling(open_job: Job, sets: Lot, *, jobs: int, used: int = 32) -> list[Job]:
    made = [delivered_copy(open_job, days_ago=jobs - turn) for turn in range(jobs)]
    for job in made:
        issue(act(), lot=sets, quantity=used, job=job.reference, takes_reserved=True)
    return made


@pytest.fixture
def spoilt(open_job: Job, sets: Lot) -> list[Job]:
    return spoiling(open_job, sets, jobs=4)


def proposal(what: str = GROMMETS) -> LearntChange:
    propose(timezone.localdate())
    return LearntChange.objects.get(what=what, state="open")


def line_of_today(job: Job, code: str) -> dict[str, Any]:
    """The line that a quote of today would have."""
    figures = SNAPSHOT.written(work_out(job.revision.inputs, job.revision.pattern))
    lines = figures["quotation"]["options"][0]["takeoff"]["lines"]
    return next(row for row in lines if row["code"] == code)


def test_spoilt_sets_are_proposed_with_what_they_cost(spoilt: list[Job]):
    """Two sets more at the list's price, and sundries of 4 % on top."""
    row = proposal()
    assert row.kind == "loss"
    assert row.value == pytest.approx(29 / 196, abs=0.001)
    assert row.grounds.words.startswith("24 were spoilt where 96 were needed, in 4 jobs;")
    cost = Decimal(StockMaterial.objects.get(code=SETS).unit_cost_millionths) / 1_000_000
    assert row.grounds.effect_on_price == pytest.approx(2 * cost * Decimal("1.04"), abs=Decimal("0.011"))
    assert row.grounds.example == spoilt[-1].reference
    assert row.grounds.entries == 4


def test_taking_changes_the_next_quote_and_its_reason_and_no_sent_one(open_job: Job, spoilt: list[Job], books: User):
    sealed = spoilt[-1].revision.fingerprint
    assert line_of_today(open_job, "grommet")["quantity"] == "28"
    taken = take(proposal(), books)
    assert (taken.state, taken.decided_by) == ("taken", books)
    line = line_of_today(open_job, "grommet")
    assert line["quantity"] == "30"
    today = timezone.localdate()
    told = f"learnt from 4 jobs, {today.day} {today:%B %Y} (default 5 %: common practice)"
    assert line["reason"]["source"] == told
    assert line_of_today(open_job, "tip")["reason"]["source"] == "from memory"
    assert set(workroom().losses) == {GROMMETS}
    spoilt[-1].revision.refresh_from_db()
    assert spoilt[-1].revision.fingerprint == sealed
    with pytest.raises(Refused, match="already"):
        take(taken, books)


def test_what_is_taken_is_not_proposed_again(spoilt: list[Job], books: User):
    take(proposal(), books)
    propose(timezone.localdate())
    assert not LearntChange.objects.filter(what=GROMMETS, state="open").exists()


def test_what_was_taken_can_be_learnt_back(open_job: Job, sets: Lot, books: User):
    save_losses(workroom(), {GROMMETS: {"value": 0.5, "source": "learnt before"}})
    spoiling(open_job, sets, jobs=4, used=26)
    row = proposal()
    assert (row.grounds.now, row.value) == (0.5, pytest.approx(5 / 196, abs=0.001))
    assert row.grounds.words.endswith("The takeoff reckons with 50 % already.")
    assert row.grounds.effect_on_price < 0


def test_refusing_keeps_it_away_until_it_has_moved(spoilt: list[Job], books: User):
    refused = refuse_change(proposal(), books)
    assert losses().figure(GROMMETS).value == 0.05
    for moved, is_proposed in ((1.0, False), (1.09, False), (1.12, True)):
        LearntChange.objects.filter(pk=refused.pk).update(value=refused.value / moved)
        propose(timezone.localdate())
        assert LearntChange.objects.filter(what=GROMMETS, state="open").exists() is is_proposed


def test_a_proposal_goes_when_its_jobs_no_longer_speak_for_it(spoilt: list[Job]):
    proposal()
    Job.objects.update(stage="cancelled")
    propose(timezone.localdate())
    assert not LearntChange.objects.exists()


def test_a_piece_that_cannot_be_quoted_any_more_leaves_its_price_open(spoilt: list[Job], browser: Browser):
    StockMaterial.objects.filter(code="coutil-white").update(code="coutil-of-old")
    assert proposal().grounds.effect_on_price is None
    assert f"{spoilt[-1].reference} cannot be quoted any more" in browser.get(reverse("learning")).content.decode()


def test_cloth_is_proposed_with_the_entry_that_was_set_aside(open_job: Job, books: User, browser: Browser):
    lots = fill_shelf(open_job)
    satin = stocked(lots["coutil-satin-bottle"].item, 50_000, 100_000)
    # 422 mm are reckoned for lay and bias.
    amounts = [550, 560, 540, 555, 545, 550, 560, 540, 4220]
    jobs = [delivered_copy(open_job, days_ago=30 - turn) for turn in range(len(amounts))]
    for job, amount in zip(jobs, amounts, strict=True):
        issue(act(), lot=satin, quantity=amount, job=job.reference, takes_reserved=True)
    row = proposal(CLOTH)
    assert 1.15 < row.value < 550 / 422
    (aside,) = row.grounds.aside
    assert aside.job == jobs[-1].reference
    shown = browser.get(reverse("learning")).content.decode()
    assert f"{jobs[-1].reference}, " in shown
    assert "4.22 m where" in shown
    before = Decimal(line_of_today(open_job, "cloth.outer")["quantity"])
    take(row, books)
    after = line_of_today(open_job, "cloth.outer")
    assert float(after["quantity"]) == pytest.approx(float(before) * row.value, abs=0.001)
    assert after["reason"]["source"].startswith("from memory, until a lay is drawn; learnt from 8 jobs, ")


@pytest.mark.parametrize(
    ("what", "item", "line", "used", "between"),
    [
        # 65.933 m of stitching with 45 % lost, 25 m for toile and hand: 120.602 m.
        ("thread_waste_share", "thread-core-spun", "thread", 120_602, (0.30, 0.45)),
        ("toile_use_factor", "calico-firm", "toile", 425, (1.15, 425 / 327)),
        ("fusible_use_factor", "fusible-woven", "fusible", 85, (1.17, 85 / 63)),
        ("flat_spoilage_share", "flat-7-dipped-254", "flat.254", 4, (0.10, 16 / 148)),
    ],
)
def test_each_is_proposed_taken_told_on_its_line_and_taken_back(
    open_job: Job, books: User, what: str, item: str, line: str, used: int, between: tuple[float, float]
):
    """Eight jobs lose as much, of which more than half is believed; of two flats of six each, 16 ÷ (100 + 48) = 10.8 %."""
    lots = fill_shelf(open_job)
    lot = stocked(lots[item].item, 10 * used, 10_000)
    for turn in range(8):
        job = delivered_copy(open_job, days_ago=20 - turn)
        issue(act(), lot=lot, quantity=used, job=job.reference, takes_reserved=True)
        if what == "flat_spoilage_share":
            short = stocked(lots["flat-7-dipped-241-3"].item, 4, 100)
            issue(act(), lot=short, quantity=4, job=job.reference, takes_reserved=True)
    before = line_of_today(open_job, line)
    row = proposal(what)
    low, high = between
    assert low < row.value < high
    assert row.grounds.effect_on_price > 0
    taken = take(row, books)
    after = line_of_today(open_job, line)
    assert Decimal(after["quantity"]) > Decimal(before["quantity"])
    assert "learnt from 8 jobs, " in after["reason"]["source"]
    assert SUBJECTS[what].text(row.value) in after["reason"]["waste"]
    take_back(taken, books)
    assert line_of_today(open_job, line) == before


def test_the_page_shows_takes_and_remembers(spoilt: list[Job], browser: Browser):
    propose(timezone.localdate())
    shown = browser.get(reverse("learning")).content.decode()
    row = LearntChange.objects.get(what=GROMMETS)
    for words in ("Grommets spoilt in setting", "5 %", "14.", "24 were spoilt where 96 were needed", "Take", "Refuse"):
        assert words in shown
    done = browser.post(reverse("learning-take", args=[row.pk]), follow=True).content.decode()
    assert "Taken on" in done
    assert "by maker" in done
    assert reverse("learning-take", args=[row.pk]) not in done
    again = browser.post(reverse("learning-take", args=[row.pk]), follow=True).content.decode()
    assert "This was taken already." in again
    assert losses().figure(GROMMETS).value == row.value


def test_the_page_refuses(spoilt: list[Job], browser: Browser):
    propose(timezone.localdate())
    row = LearntChange.objects.get(what=GROMMETS)
    done = browser.post(reverse("learning-refuse", args=[row.pk]), follow=True).content.decode()
    assert "Refused on" in done
    assert workroom().losses == {}
    late = browser.post(reverse("learning-take", args=[row.pk]), follow=True).content.decode()
    assert "This was refused already." in late
    assert workroom().losses == {}


def test_a_proposal_that_went_meanwhile_is_said_to_be_gone(spoilt: list[Job], books: User):
    row = proposal()
    LearntChange.objects.all().delete()
    with pytest.raises(Refused, match="no longer speak"):
        take(row, books)


@pytest.mark.parametrize("document", [{"fill_share_plain": {"value": 0.6, "source": "x"}}, {GROMMETS: {"value": -1}}])
def test_losses_that_cannot_be_are_not_kept(books: User, document: dict[str, Any]):
    with pytest.raises(Refused):
        save_losses(workroom(), document)
    assert workroom().losses == {}
