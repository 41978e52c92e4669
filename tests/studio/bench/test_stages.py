"""Stages and ticks: the point of no return, passes in their order, waist tape before channels, slips said aloud.

Trade rules (the fashion cloth is cut once the deposit is there, measures are at most 60 days old, the toile is signed
off and the cloth is kept from one lot; a second pass goes over the first; the waist tape goes in before any channel
that crosses it): common practice, no source.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from support_bench import (
    cloth_line,
    codes,
    job_of,
    keep_cloth,
    measure,
    operation,
    pay,
    ready_to_cut,
    seam,
    sign_toile,
)
from support_shelf import stocked

from inventory.ground.findings import Refused
from inventory.models import Lot
from inventory.reserving.reservations import keep_from_lot
from quotes.desk.quoting import change_draft, offer_of_today, send
from quotes.models import QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from studio.bench import timing
from studio.bench.job_making import deposit
from studio.bench.stages import advance, next_stage
from studio.bench.ticking import (
    forgotten_work,
    tick_operation,
    tick_pass,
    tick_shell,
    untick_operation,
    untick_pass,
)
from studio.client.fittings import call_off_fitting, hold_fitting, move_fitting, plan_fitting
from studio.models import Fitting, Job

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


def go(job: Job, *stages: str, user: User | None = None, because: str = "") -> None:
    for stage in stages:
        advance(job, to=stage, user=user, on=TODAY(), because=because)
    job.refresh_from_db()


def test_a_job_goes_through_its_stages_one_by_one(job: Job, books: User):
    ready_to_cut(job, books)
    go(job, "drafting", "toile", "cutting", "sewing", "boning", "finishing", user=books)
    assert job.stage == "finishing"
    assert next_stage(job) is None
    words = [note.words for note in job.notes.all()]
    assert words[0] == "Finishing begun."
    assert "Cutting begun." in words


@pytest.mark.parametrize("stage", ["toile", "cutting", "finishing", "delivered", "cancelled"])
def test_no_stage_is_left_out(job: Job, stage: str):
    with pytest.raises(Refused, match="Drafting comes next"):
        go(job, stage)
    job.refresh_from_db()
    assert job.stage == "accepted"


def test_a_second_click_leaves_the_stage_as_it_is(job: Job):
    go(job, "drafting", "drafting")
    assert job.stage == "drafting"
    assert job.notes.filter(words="Drafting begun.").count() == 1


def test_without_a_toile_cutting_follows_drafting(draft: QuoteRevision, books: User, two_layers: dict):
    plain = {**two_layers, "choices": {"toile": False}}
    change_draft(revision=draft, change=lambda inputs: {**inputs, "options": [plain]}, user=books)
    seen = offer_fingerprint(offer_of_today(draft))
    job = job_of(send(revision=draft, valid_until=TODAY(), seen=seen, user=books), books)
    go(job, "drafting")
    assert next_stage(job) == "cutting"
    with pytest.raises(Refused) as caught:
        go(job, "cutting")
    assert "job.toile-open" not in codes(caught)


def test_everything_that_holds_the_cutting_up_is_said_at_once_each_in_a_sentence(job: Job):
    go(job, "drafting", "toile")
    with pytest.raises(Refused) as caught:
        go(job, "cutting")
    assert codes(caught) == ["job.deposit-open", "job.measures-old", "job.toile-open", "job.cloth-not-kept"]
    said = [found.message for found in caught.value.findings]
    due = deposit(job).due_minor / 100
    assert said[0] == f"The deposit of €{due:,.2f} has not come."
    assert said[1] == "The client's measures were never taken here."
    assert said[2] == "The toile is not signed off."
    line = cloth_line(job)
    assert said[3] == f"{line.item} is not kept from one lot yet, {line.quantity / 1000:g} m of it."
    assert all(sentence.endswith(".") for sentence in said)
    job.refresh_from_db()
    assert job.stage == "toile"


LACKS = {
    "job.deposit-open": lambda job, user: (measure(job, user), sign_toile(job, user), keep_cloth(job)),
    "job.measures-old": lambda job, user: (
        pay(job, deposit(job).due_minor),
        measure(job, user, days_ago=61),
        sign_toile(job, user),
        keep_cloth(job),
    ),
    "job.toile-open": lambda job, user: (pay(job, deposit(job).due_minor), measure(job, user), keep_cloth(job)),
    "job.cloth-not-kept": lambda job, user: (
        pay(job, deposit(job).due_minor),
        measure(job, user),
        sign_toile(job, user),
    ),
}


@pytest.mark.parametrize("lacking", LACKS)
def test_each_condition_alone_holds_the_cutting_up(job: Job, books: User, lacking: str):
    go(job, "drafting", "toile")
    LACKS[lacking](job, books)
    with pytest.raises(Refused) as caught:
        go(job, "cutting")
    assert codes(caught) == [lacking]


@pytest.mark.parametrize("lacking", ["job.deposit-open", "job.measures-old"])
def test_deposit_and_measures_are_excused_for_a_reason_which_the_diary_keeps(job: Job, books: User, lacking: str):
    go(job, "drafting", "toile")
    LACKS[lacking](job, books)
    go(job, "cutting", user=books, because="she pays on Friday")
    assert job.stage == "cutting"
    (kept,) = [note for note in job.notes.all() if note.words.startswith("Cut all the same")]
    assert "because she pays on Friday." in kept.words
    assert kept.by == books


@pytest.mark.parametrize("lacking", ["job.toile-open", "job.cloth-not-kept"])
def test_a_toile_or_a_lot_is_excused_by_no_reason(job: Job, books: User, lacking: str):
    go(job, "drafting", "toile")
    LACKS[lacking](job, books)
    with pytest.raises(Refused) as caught:
        go(job, "cutting", because="she is in a hurry")
    assert codes(caught) == [lacking]


def test_measures_of_sixty_days_are_fresh(job: Job, books: User):
    ready_to_cut(job, books)
    job.client.measurement_sets.all().delete()
    measure(job, books, days_ago=60)
    go(job, "drafting", "toile", "cutting")
    assert job.stage == "cutting"


def test_a_lot_that_shrank_since_it_was_kept_holds_the_cutting_up(job: Job, books: User):
    lot = ready_to_cut(job, books)
    go(job, "drafting", "toile")
    Lot.objects.filter(pk=lot.pk).update(on_hand=cloth_line(job).quantity - 1)
    with pytest.raises(Refused, match="is needed from it") as caught:
        go(job, "cutting")
    assert codes(caught) == ["job.cloth-too-little"]
    keep_from_lot(cloth_line(job), stocked(cloth_line(job).item, cloth_line(job).quantity, 5000))
    go(job, "cutting")
    assert job.stage == "cutting"


def test_a_toile_is_signed_off_at_its_own_fitting_and_the_sign_off_can_be_taken_back(job: Job, books: User):
    boned = plan_fitting(job, kind="boned", at=timezone.now(), minutes=60)
    held = {"held_on": TODAY(), "notes": "", "alterations": "", "user": books}
    with pytest.raises(Refused, match="its own fitting"):
        hold_fitting(boned, signs_toile=True, **held)
    first = sign_toile(job, books)
    assert job.toile_signed_on == TODAY()
    hold_fitting(boned, signs_toile=False, **held)
    job.refresh_from_db()
    assert job.toile_signed_on == TODAY()
    first.refresh_from_db()
    hold_fitting(first, signs_toile=False, **held)
    job.refresh_from_db()
    assert job.toile_signed_on is None
    assert "sign-off was taken back" in job.notes.all()[0].words


def test_a_fitting_is_planned_once_moved_with_its_former_time_kept_and_called_off(job: Job, books: User):
    when = timezone.now() + timedelta(days=3)
    for _ in range(2):
        row = plan_fitting(job, kind="toile", at=when, minutes=60)
    assert Fitting.objects.count() == 1
    move_fitting(row, at=when + timedelta(days=1), minutes=90, notes="", user=books)
    assert "moved from" in job.notes.all()[0].words
    row.refresh_from_db()
    with pytest.raises(Refused, match="still to come"):
        hold_fitting(
            row,
            held_on=TODAY() + timedelta(days=4),
            notes="",
            alterations="",
            signs_toile=False,
            user=books,
        )
    call_off_fitting(row, user=books)
    assert not Fitting.objects.exists()
    assert "called off" in job.notes.all()[0].words


def test_the_second_pass_goes_over_the_first(job: Job, books: User):
    with pytest.raises(Refused) as caught:
        tick_pass(seam(job, 2), user=books)
    assert codes(caught) == ["seam.pass-order"]
    tick_pass(seam(job, 1), user=books)
    tick_pass(seam(job, 2), user=books)
    assert seam(job, 2).done_by == books
    assert seam(job, 1, half="left").done_at is None


def test_a_second_tick_keeps_who_was_first(job: Job, books: User):
    tick_pass(seam(job, 1), user=books)
    since = seam(job, 1).done_at
    tick_pass(seam(job, 1), user=User.objects.create_user("helper"))
    assert (seam(job, 1).done_at, seam(job, 1).done_by) == (since, books)


def test_all_first_passes_of_a_shell_are_ticked_at_once_and_no_second_before_them(job: Job, books: User):
    with pytest.raises(Refused, match="not ticked on outer shell left 1–5, right 1–5"):
        tick_shell(job, shell="outer shell", number=2, user=books)
    tick_shell(job, shell="outer shell", number=1, user=books)
    done = job.seam_passes.filter(done_at__isnull=False)
    assert (done.count(), set(done.values_list("shell", "number"))) == (10, {("outer shell", 1)})
    tick_shell(job, shell="outer shell", number=2, user=books)
    assert done.count() == 20
    with pytest.raises(Refused, match="no shell"):
        tick_shell(job, shell="sleeve", number=1, user=books)


def test_sewing_is_done_once_all_passes_of_its_order_are_ticked(job: Job, books: User):
    tick_shell(job, shell="outer shell", number=1, user=books)
    with pytest.raises(Refused) as caught:
        tick_operation(operation(job, "SEW1"), user=books)
    assert codes(caught) == ["operation.passes-open"]
    tick_shell(job, shell="inner shell", number=1, user=books)
    tick_operation(operation(job, "SEW1"), user=books)
    with pytest.raises(Refused, match="Second pass is not ticked"):
        tick_operation(operation(job, "SEW2"), user=books)
    for shell in ("outer shell", "inner shell"):
        tick_shell(job, shell=shell, number=2, user=books)
    tick_operation(operation(job, "SEW2"), user=books)
    assert operation(job, "SEW2").done_by == books


def test_a_tick_taken_back_is_in_the_diary_and_opens_its_operation_again(job: Job, books: User):
    for shell in ("outer shell", "inner shell"):
        for number in (1, 2):
            tick_shell(job, shell=shell, number=number, user=books)
    tick_operation(operation(job, "SEW2"), user=books)
    with pytest.raises(Refused, match="later pass lies over"):
        untick_pass(seam(job, 1), user=books)
    untick_pass(seam(job, 2), user=books)
    assert operation(job, "SEW2").done_at is None
    words = [note.words for note in job.notes.all()]
    assert words[0].startswith("Open again: Second pass, ticked by maker on")
    assert words[1].startswith("Tick taken back: outer shell right seam 1, pass 2, ticked by maker on")
    untick_pass(seam(job, 2), user=books)
    assert job.notes.count() == len(words)


def test_the_waist_tape_goes_in_before_the_channels(job: Job, books: User):
    with pytest.raises(Refused) as caught:
        tick_operation(operation(job, "CHAN"), user=books)
    assert codes(caught) == ["operation.tape-first"]
    tick_operation(operation(job, "TAPE"), user=books)
    tick_operation(operation(job, "CHAN"), user=books)
    with pytest.raises(Refused) as caught:
        untick_operation(operation(job, "TAPE"), user=books)
    assert codes(caught) == ["operation.channels-over-it"]
    untick_operation(operation(job, "CHAN"), user=books)
    untick_operation(operation(job, "TAPE"), user=books)
    assert operation(job, "TAPE").done_at is None


def test_channels_of_a_piece_without_a_waist_tape_wait_for_none(job: Job, books: User):
    job.operations.filter(code="TAPE").delete()
    tick_operation(operation(job, "CHAN"), user=books)
    assert operation(job, "CHAN").done_at is not None


def test_cloth_is_not_ticked_as_cut_before_the_job_stands_at_cutting(job: Job, books: User):
    with pytest.raises(Refused) as caught:
        tick_operation(operation(job, "CUT"), user=books)
    assert codes(caught) == ["operation.not-cutting"]
    ready_to_cut(job, books)
    go(job, "drafting", "toile", "cutting")
    tick_operation(operation(job, "CUT"), user=books)
    assert operation(job, "CUT").done_at is not None


def test_done_stops_the_timer_that_runs_at_it_and_no_other(job: Job, books: User):
    timing.start(operation(job, "PIN"), user=books, key=uuid4())
    tick_operation(operation(job, "INTF"), user=books)
    assert timing.running(books) is not None
    tick_operation(operation(job, "PIN"), user=books)
    assert timing.running(books) is None


def found(job: Job) -> list[str]:
    return [slip.code for slip in forgotten_work(job)]


def test_a_forgotten_second_pass_is_said_when_the_next_work_begins(job: Job, books: User):
    for shell in ("outer shell", "inner shell"):
        tick_shell(job, shell=shell, number=1, user=books)
    tick_shell(job, shell="outer shell", number=2, user=books)
    timing.start(operation(job, "SEW2"), user=books, key=uuid4())
    assert found(job) == []
    timing.start(operation(job, "CLIP"), user=books, key=uuid4())
    (slip,) = forgotten_work(job)
    assert (slip.code, slip.severity) == ("slip.second-pass", "stop")
    assert "“Clip and grade” has begun" in slip.message
    assert "not ticked on inner shell left 1–5, right 1–5." in slip.message
    timing.stop(user=books)
    assert found(job) == ["slip.second-pass"]
    tick_shell(job, shell="inner shell", number=2, user=books)
    assert found(job) == []


def test_work_that_was_struck_out_has_not_begun(job: Job, books: User):
    tick_pass(seam(job, 1), user=books)
    entry = timing.write_down(operation(job, "CLIP"), user=books, key=uuid4(), day=TODAY(), minutes=9)
    assert "slip.second-pass" in found(job)
    timing.correct(entry, user=books, key=uuid4(), day=TODAY(), minutes=0, why="another job")
    assert found(job) == []


def test_seams_of_which_nothing_is_ticked_are_asked_for_more_softly(job: Job, books: User):
    timing.start(operation(job, "PRESS"), user=books, key=uuid4())
    (slip,) = forgotten_work(job)
    assert (slip.code, slip.severity) == ("slip.unticked", "warn")


def test_channels_begun_without_the_waist_tape_are_said(job: Job, books: User):
    for shell in ("outer shell", "inner shell"):
        for number in (1, 2):
            tick_shell(job, shell=shell, number=number, user=books)
    timing.start(operation(job, "CHAN"), user=books, key=uuid4())
    assert found(job) == ["slip.tape"]
    tick_operation(operation(job, "TAPE"), user=books)
    assert found(job) == []
