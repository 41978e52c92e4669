"""Losses that delivered jobs speak for: shares by hand, factors against what the jobs used (common practice, no source)."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from quotes.labour.learning import MaterialUse, PiecesSpoilt, use_changes
from quotes.takeoff.losses import Figure, Losses, default_losses

DAY = date(2027, 1, 4)
GROMMETS, CLOTH, SPIRAL, CORD = "grommet_spoilage_share", "cloth_use_factor", "spiral_cutting_share", "cord_use_factor"
FLATS = "flat_spoilage_share"


def counts(needed: int, spoilt: float, jobs: int, *, is_assumed: bool = False) -> list[PiecesSpoilt]:
    return [
        PiecesSpoilt(job=str(job), day=DAY, kind=GROMMETS, needed=needed, spoilt=spoilt, is_assumed=is_assumed)
        for job in range(jobs)
    ]


def uses(kind: str, factor: float, jobs: int) -> list[MaterialUse]:
    return [
        MaterialUse(
            job=str(job),
            day=DAY - timedelta(days=job),
            kind=kind,
            quoted=0.9 + job / 100,
            used=(0.9 + job / 100) * factor,
        )
        for job in range(jobs)
    ]


def holding(name: str, value: float) -> Losses:
    return replace(default_losses(), **{name: Figure(value=value, source="learnt before")})


def test_many_spoilt_are_proposed():
    """(100 × 0.05 + 10 × 5) ÷ (100 + 10 × 24) = 55 ÷ 340 = 16.2 %."""
    (change,) = use_changes([], counts(24, 5, 10), default_losses(), on=DAY)
    assert (change.figure, change.now, change.learnt, change.entries) == (GROMMETS, 0.05, 0.162, 10)
    assert change.evidence.startswith("50 were spoilt where 240 were needed, in 10 jobs;")


def test_what_is_held_already_is_not_proposed_and_what_is_off_is_said_to_be_held():
    assert use_changes([], counts(24, 5, 10), holding(GROMMETS, 0.162), on=DAY) == ()
    (change,) = use_changes([], counts(24, 5, 10), holding(GROMMETS, 0.4), on=DAY)
    assert (change.now, change.learnt) == (0.4, 0.162)
    assert change.evidence.endswith("The takeoff reckons with 40 % already.")


def test_two_jobs_are_too_few_and_about_as_many_as_assumed_is_no_change():
    assert use_changes([], counts(24, 12, 2), default_losses(), on=DAY) == ()
    assert use_changes([], counts(20, 1, 30), default_losses(), on=DAY) == ()


def test_where_nobody_told_the_sentence_says_so():
    """(5 + 7 × 9 + 3 × 1.2) ÷ (100 + 10 × 24) = 71.6 ÷ 340 = 21.1 %, of which seven jobs told."""
    rows = counts(24, 9, 10)[:7] + counts(24, 1.2, 10, is_assumed=True)[7:]
    (change,) = use_changes([], rows, default_losses(), on=DAY)
    assert (change.learnt, change.entries) == (0.211, 7)
    assert change.evidence.startswith("63 were spoilt where 168 were needed, in 7 jobs;")
    assert change.evidence.endswith(
        "Of 3 more jobs nothing beside the plan was noted; they count with what was reckoned."
    )
    assert use_changes([], counts(24, 1.2, 300, is_assumed=True), default_losses(), on=DAY) == ()


def test_cloth_that_takes_more_than_its_lay():
    (change,) = use_changes(uses(CLOTH, 1.2, 20), [], default_losses(), on=DAY)
    assert change.figure == CLOTH
    assert change.learnt == pytest.approx(1.2, abs=0.03)
    assert use_changes(uses(CLOTH, 1.2, 20), [], holding(CLOTH, 1.2), on=DAY) == ()


@pytest.mark.parametrize(
    ("name", "hidden", "times"),
    [("thread_waste_share", 0.38, 1.2), ("fusible_use_factor", 1.3, 1.3), ("toile_use_factor", 1.25, 1.25)],
)
def test_a_hidden_loss_of_thread_fusible_and_toile_is_found(name: str, hidden: float, times: float):
    """Uses scatter by 6 % about the hidden figure; thread by 38 % is 1.38 ÷ 1.15 = 1.2 times what is quoted."""
    chance = np.random.default_rng(8)
    rows = [
        replace(row, used=row.used * noise)
        for row, noise in zip(uses(name, times, 40), np.exp(chance.normal(0, 0.06, 40)), strict=True)
    ]
    (change,) = use_changes(rows, [], default_losses(), on=DAY)
    assert (change.figure, change.entries) == (name, 40)
    assert change.now == default_losses().figure(name).value
    assert change.learnt == pytest.approx(hidden, abs=0.04)
    assert use_changes(rows[:2], [], default_losses(), on=DAY) == ()
    assert use_changes(uses(name, 1.0, 40), [], default_losses(), on=DAY) == ()


def test_a_hidden_loss_of_flats_is_found_though_none_is_assumed():
    """15 % of six flats, job by job by chance; a hundred that hold are believed at first, so that few jobs move little."""
    spoilt = np.random.default_rng(9).binomial(6, 0.15, 400)
    rows = [
        PiecesSpoilt(job=str(job), day=DAY, kind=FLATS, needed=6, spoilt=count)
        for job, count in enumerate(spoilt.tolist())
    ]
    (change,) = use_changes([], rows, default_losses(), on=DAY)
    assert (change.figure, change.now, change.entries) == (FLATS, 0.0, 400)
    assert change.learnt == pytest.approx(sum(spoilt) / 2500, abs=0.001) == pytest.approx(0.15, abs=0.02)
    assert use_changes([], [replace(row, spoilt=1) for row in rows[:2]], default_losses(), on=DAY) == ()
    assert use_changes([], [replace(row, spoilt=0) for row in rows], default_losses(), on=DAY) == ()


def test_coil_is_learnt_as_a_share_on_top_of_the_bones_and_never_below_them():
    """Quoted with 5 %: 1.05 × 1.2 = 1.26; 1.05 × 0.9 would be less than the bones themselves."""
    (more,) = use_changes(uses(SPIRAL, 1.2, 20), [], default_losses(), on=DAY)
    assert more.learnt == pytest.approx(0.26, abs=0.03)
    (less,) = use_changes(uses(SPIRAL, 0.8, 20), [], holding(SPIRAL, 0.3), on=DAY)
    assert less.learnt == 0


def test_cord_is_never_shorter_than_lets_her_in():
    assert use_changes(uses(CORD, 0.8, 20), [], default_losses(), on=DAY) == ()


def test_a_wrong_entry_is_named_with_its_job():
    wrong = MaterialUse(job="J-99", day=DAY, kind=CLOTH, quoted=0.9, used=9.0)
    (change,) = use_changes([*uses(CLOTH, 1.2, 20), wrong], [], default_losses(), on=DAY)
    assert [(row.job, row.why.partition(": ")[2]) for row in change.set_aside] == [
        ("J-99", "a re-cut, or entered wrongly")
    ]
