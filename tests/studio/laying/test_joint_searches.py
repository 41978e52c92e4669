"""Lays of several jobs are drawn in the background: asked for once, drawn once, whatever is killed. The rules are the product's own."""

from dataclasses import replace
from datetime import timedelta
from itertools import count
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from support_bench import BenchPage
from support_laying import drawn_at_once
from support_open_jobs import open_jobs
from support_searching import Engine, worker_by_hand
from support_shelf import act, stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, Posting, StockItem
from inventory.reserving.reservations import keep_from_lot
from inventory.stock.ledger import Remnant, issue, split_off
from quotes.defaults import desk_defaults
from quotes.desk.kept_lays import kept_by_key
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.laying import laid
from quotes.models import DrawnLay, LaySearch
from quotes.searching.asking import ask_to_stop
from quotes.searching.holding import put_back_orphans, take_up
from quotes.searching.worker import Worker
from studio.laying.asking import LayWishes, ask_again, ask_for
from studio.laying.booking import all_cut
from studio.laying.drawing_up import draw_up_anew, move_all_on, move_on
from studio.laying.idle_time import candidates
from studio.laying.kept import KEPT_LAY
from studio.laying.wanting import JobWants, cloths_wanted
from studio.models import Job, JointLay, JointSearch

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("worker_is_there", "engine")]
State = JointSearch.State


@pytest.fixture
def jobs(job: Job, books: User) -> list[Job]:
    return [job, *open_jobs(1, like=job.revision, user=books, on=timezone.localdate())]


@pytest.fixture
def inner(jobs: list[Job]) -> StockItem:
    """The cloth of their strength layers, 10 m of it."""
    item = StockItem.objects.select_related("material").get(code="coutil-white")
    stocked(item, 10_000, 10_000)
    return item


@pytest.fixture
def search(inner: StockItem, books: User) -> JointSearch:
    return asked(inner, books)


def wanting(item: StockItem) -> list[JobWants]:
    (cloth,) = cloths_wanted(item.pk)
    return list(cloth.jobs)


def asked(item: StockItem, user: User, **said: Any) -> JointSearch:
    lot = Lot.objects.filter(item=item, remnant_width_mm=None).first()
    search = ask_for(item, wanting(item), LayWishes(lot=lot, **said), user=user)
    if search.state == State.WAITING:
        move_on(search)
    search.refresh_from_db()
    return search


def worker() -> Worker:
    return replace(worker_by_hand(works_in_idle_time=False), beside=move_all_on)


def draw_all() -> None:
    of = worker()
    while of.step():
        pass


def address(search: JointSearch) -> str:
    return reverse("joint-search", args=[search.pk])


def test_two_who_ask_the_same_have_it_drawn_once(search: JointSearch, inner: StockItem, books: User, engine: Engine):
    """Two jobs of one pattern: one lay of either alone, and one of both."""
    assert asked(inner, books) == search
    assert sorted(search.lays.values()) == sorted(["Q1, Q2", "Q1 and Q2"])
    draw_all()
    assert len(engine.asked) == LaySearch.objects.count() == 2
    again = asked(inner, books)
    assert (again, again.state) == (search, State.DONE)
    assert JointLay.objects.get().search == search
    assert len(engine.asked) == 2


def test_the_page_says_how_far_it_is_and_goes_to_what_is_drawn(search: JointSearch, browser: Browser, engine: Engine):
    html = browser.get(address(search)).content.decode()
    page = BenchPage(html)
    assert (page.inline, page.unlabelled, page.nameless_buttons) == ([], [], 0)
    assert html.count("waits for its turn") == 2
    assert "Leave it out" not in html
    assert "is being drawn" in browser.get(reverse("lay-together")).content.decode()
    seen = html.split('name="seen" value="')[1].split('"')[0]
    told: list[str] = []
    engine.meanwhile = lambda: told.append(
        browser.get(address(search), {"seen": seen}, headers={"hx-request": "true"}).content.decode()
    )
    worker().step()
    assert "so far" in told[0]
    assert "Stop and keep the best" in told[0]
    draw_all()
    answer = browser.get(address(search), {"seen": seen}, headers={"hx-request": "true"})
    assert answer["HX-Redirect"] == reverse("joint-lay", args=[JointLay.objects.get().pk])
    assert browser.get(address(search))["Location"] == answer["HX-Redirect"]


def test_looking_how_far_it_is_asks_the_books_little(search: JointSearch, browser: Browser):
    """It is done every second; the first two questions are for who asks."""
    with CaptureQueriesContext(connection) as queries:
        browser.get(address(search), {"seen": "waiting-waiting-waiting"}, headers={"hx-request": "true"})
    assert len(queries) <= 6


def test_a_worker_that_is_killed_wherever_it_is_leaves_nothing_undone(
    search: JointSearch, engine: Engine, monkeypatch: pytest.MonkeyPatch
):
    """In either search, while it is put together, and before that is kept: what comes after it begins there anew."""

    class Killed(BaseException):
        pass

    def kill(*args: Any, **kwargs: Any) -> None:
        raise Killed

    for times in range(4):
        with monkeypatch.context() as patch:
            if times < 2:
                patch.setattr("quotes.searching.worker.laid", kill)
            else:
                patch.setattr(f"studio.laying.drawing_up.{'drawn_up' if times == 2 else 'keep_drawn'}", kill)
            with pytest.raises(Killed):
                draw_all()
        put_back_orphans()
        assert not JointLay.objects.exists()
    draw_all()
    search.refresh_from_db()
    assert search.state == State.DONE
    lay = JointLay.objects.get()
    assert sum(share.takes_mm for share in lay.shares.all()) == KEPT_LAY.read(lay.document).joint.takes_mm


def test_what_ends_its_worker_each_time_is_given_up_and_can_be_tried_again(
    search: JointSearch, browser: Browser, monkeypatch: pytest.MonkeyPatch
):
    while take_up() is not None:
        put_back_orphans()
    assert {row.state for row in LaySearch.objects.all()} == {LaySearch.State.FAILED}
    draw_all()
    search.refresh_from_db()
    assert search.state == State.FAILED
    html = browser.get(address(search)).content.decode()
    assert "could not be drawn" in html
    assert browser.post(address(search), {"again": "yes"})["Location"] == address(search)
    JointSearch.objects.update(attempt=desk_defaults().lay.search_attempts)
    draw_all()
    search.refresh_from_db()
    assert search.state == State.FAILED
    browser.post(address(search), {"again": "yes"})
    draw_all()
    assert JointLay.objects.count() == 1


def test_a_search_that_is_stopped_gives_its_best_which_is_marked_and_searched_longer(
    search: JointSearch, browser: Browser, engine: Engine, books: User
):
    """The longer search finds lays half as long, so that another one is drawn, and the first stands as it was."""
    engine.meanwhile = lambda: browser.post(
        address(search), {"stop": LaySearch.objects.get(state=LaySearch.State.RUNNING).pk}
    )
    draw_all()
    first = JointLay.objects.get()
    of = reverse("joint-lay", args=[first.pk])
    html = browser.get(of).content.decode()
    assert "ended early" in html
    engine.meanwhile, engine.times = lambda: None, 0.5
    longer = reverse("joint-lay-longer", args=[first.pk])
    assert longer in html
    assert browser.post(longer)["Location"] == address(search)
    assert "searched for longer" in browser.get(of).content.decode()
    draw_all()
    second = JointLay.objects.exclude(pk=first.pk).get()
    before, after = (KEPT_LAY.read(lay.document).joint.takes_mm for lay in (first, second))
    assert after < before
    assert reverse("joint-lay", args=[second.pk]) in browser.get(of).content.decode()
    # What is cut already is not to be cut from another lay.
    JointLay.objects.filter(pk=first.pk).update(booked_at=timezone.now(), roll_mm=before)
    assert reverse("joint-lay", args=[second.pk]) not in browser.get(of).content.decode()
    JointLay.objects.filter(pk=first.pk).update(booked_at=None, roll_mm=None)
    assert browser.get(address(search))["Location"] == reverse("joint-lay", args=[second.pk])
    search.refresh_from_db()
    ask_again(search, search.effort, user=books)
    draw_all()
    assert JointLay.objects.count() == 2


def test_without_a_worker_the_page_draws_it(search: JointSearch, browser: Browser, settings: Any, tmp_path: Path):
    settings.LAY_WORKER_LOCK = tmp_path / "another.lock"
    LaySearch.objects.update(created_at=timezone.now() - timedelta(minutes=1))
    htmx = {"hx-request": "true"}
    answer = browser.get(address(search), headers=htmx)
    while "HX-Redirect" not in answer:
        assert "draw" in answer.content.decode()
        answer = browser.post(address(search), {"draw": "yes"}, headers=htmx)
    assert JointLay.objects.count() == 1


def test_a_lay_of_before_searches_were_kept_is_found(inner: StockItem, books: User, engine: Engine):
    lay = drawn_at_once(inner, wanting(inner), LayWishes(lot=Lot.objects.get(item=inner)))
    JointLay.objects.update(search=None)
    JointSearch.objects.all().delete()
    search = asked(inner, books)
    assert (search.state, list(search.drawn.all())) == (State.DONE, [lay])
    assert not engine.asked


def test_with_flaws_each_is_drawn_when_those_before_it_are(
    inner: StockItem, books: User, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.undo()
    monkeypatch.setattr(
        "quotes.searching.worker.laid", lambda problem, effort, **said: laid(problem, Effort.NONE, **said)
    )
    search = asked(inner, books, flaws=((100.0, 400.0, 150.0, 440.0), (700.0, 0.0, 720.0, 900.0)))
    draw_all()
    search.refresh_from_db()
    assert search.state == State.DONE
    assert len(search.lays) == 3


@pytest.fixture
def lay(search: JointSearch) -> JointLay:
    draw_all()
    return search.drawn.get()


def refused(lay: JointLay, user: User) -> str:
    """Why it cannot be booked; nothing is issued."""
    issues = Posting.objects.filter(kind="issue").count()
    with pytest.raises(Refused) as refusal:
        all_cut(lay, roll_mm=KEPT_LAY.read(lay.document).roll_mm, key=uuid4(), user=user)
    assert Posting.objects.filter(kind="issue").count() == issues
    lay.refresh_from_db()
    assert lay.booked_at is None
    return str(refusal.value)


def test_a_roll_that_was_used_up_since_it_was_asked_for(lay: JointLay, inner: StockItem, books: User):
    issue(act(), lot=lay.lot, quantity=9_900, purpose="toile", takes_reserved=True)
    assert "Only 0.1 m are free" in refused(lay, books)


def test_cloth_that_is_kept_from_another_lot_since(lay: JointLay, inner: StockItem, jobs: list[Job], books: User):
    other = stocked(inner, 9_000, 9_000)
    for line in wanting(inner)[0].lines:
        keep_from_lot(line, other)
    assert f"are kept for it from {other}" in refused(lay, books)


def test_a_remnant_that_was_taken_since(inner: StockItem, books: User, monkeypatch: pytest.MonkeyPatch):
    roll = Lot.objects.get(item=inner)
    split_off(act(), lot=roll, remnant=Remnant(width_mm=inner.material.usable_width_mm, length_mm=1000))
    lay = drawn_at_once(inner, wanting(inner), LayWishes(lot=roll, uses_remnants=True))
    assert KEPT_LAY.read(lay.document).taken[0].remnants
    issue(act(), lot=Lot.objects.get(from_lot=roll), quantity=1000, purpose="toile", takes_reserved=True)
    assert "This remnant was moved since the lay was drawn" in refused(lay, books)


def test_lays_that_are_drawn_for_a_joint_one_are_kept_for_others(search: JointSearch):
    draw_all()
    assert set(kept_by_key(search.lays)) == set(search.lays) == set(DrawnLay.objects.values_list("key", flat=True))
    ask_to_stop([row.pk for row in LaySearch.objects.all()])
    assert {row.state for row in LaySearch.objects.all()} == {LaySearch.State.DONE}


def have_idle_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """A worker that has nothing else to do looks for more each time."""
    an_hour_later = count(step=3600)
    monkeypatch.setattr("quotes.searching.worker.monotonic", lambda: float(next(an_hour_later)))
    monkeypatch.setattr("quotes.searching.worker.candidates", lambda on: iter(()))
    idle = replace(worker_by_hand(), beside=move_all_on, more=candidates)
    for _ in range(30):
        idle.step()


def test_a_lay_that_came_out_shorter_in_idle_time_is_drawn_beside_the_first(
    search: JointSearch, engine: Engine, browser: Browser, monkeypatch: pytest.MonkeyPatch
):
    """The lay of both is a little shorter in its first turn and in none after; that of one alone is as short as can be."""
    draw_all()
    first = JointLay.objects.get()
    asked_for = len(engine.asked)
    engine.times = 0.98
    have_idle_time(monkeypatch)
    assert len(engine.asked) - asked_for == desk_defaults().lay.idle_turns
    second = JointLay.objects.exclude(pk=first.pk).get()
    before, after = (KEPT_LAY.read(lay.document).joint.takes_mm for lay in (first, second))
    assert after < before
    assert JointLay.objects.get(pk=first.pk).document == first.document
    assert reverse("joint-lay", args=[second.pk]) in browser.get(reverse("joint-lay", args=[first.pk])).content.decode()
    search.refresh_from_db()
    assert search.state == State.DONE


def test_a_lay_is_drawn_up_anew_once_after_each_turn(
    search: JointSearch, monkeypatch: pytest.MonkeyPatch, engine: Engine
):
    """Whether or not it takes less; with nothing drawn since, looking again costs nothing."""
    draw_all()
    drawn_anew: list[LayProblem | None] = []
    monkeypatch.setattr(
        "studio.laying.idle_time.draw_up_anew", lambda search: drawn_anew.append(draw_up_anew(search)) or drawn_anew[-1]
    )
    have_idle_time(monkeypatch)
    assert drawn_anew == [None] * desk_defaults().lay.idle_turns
    assert JointLay.objects.count() == 1


def test_pieces_that_flaws_meet_elsewhere_behind_shorter_ones_are_laid_in_idle_time_too(
    inner: StockItem, books: User, monkeypatch: pytest.MonkeyPatch
):
    """Each lay ends 5 mm too late at first; what is behind the first job's pieces then lies 5 mm nearer to the flaw."""
    drawn: dict[LayProblem, LayPlan] = {}

    def in_rows(problem: LayProblem, effort: Effort, **said: Any) -> LayPlan:
        late = 0.0 if problem in drawn else 5.0
        if late:
            drawn[problem] = replace(laid(problem, Effort.NONE, **said), effort=effort)
        return replace(drawn[problem], length=drawn[problem].length + late)

    monkeypatch.setattr("quotes.searching.worker.laid", in_rows)
    search = asked(inner, books, flaws=((100.0, 400.0, 150.0, 440.0), (700.0, 0.0, 720.0, 900.0)))
    draw_all()
    assert len(drawn) == len(search.lays) + 1 == 3
    have_idle_time(monkeypatch)
    assert len(drawn) == 4
    first, second = search.drawn.order_by("pk")
    shares = [{share.job.reference: share.alone_mm for share in lay.shares.all()} for lay in (first, second)]
    assert shares[1]["Q1"] == shares[0]["Q1"] - 5


def test_what_one_joint_lay_meets_keeps_no_other_from_its_turn(search: JointSearch):
    draw_all()
    drawn = JointLay.objects.get()
    search.pk, search.key, search.question = None, "another", {}
    search._state.adding = True
    search.save()
    drawn.pk, drawn.key, drawn.search = None, "another", search
    drawn._state.adding = True
    drawn.save()
    assert len(list(candidates())) == 1


def test_idle_time_is_not_for_what_is_cut_or_asked_for_or_of_jobs_that_are_over(search: JointSearch):
    draw_all()
    assert len(list(candidates())) == 1
    JointLay.objects.update(booked_at=timezone.now(), roll_mm=1000)
    assert list(candidates()) == []
    JointLay.objects.update(booked_at=None, roll_mm=None)
    JointSearch.objects.update(state=State.WAITING)
    assert list(candidates()) == []
    JointSearch.objects.update(state=State.DONE)
    Job.objects.update(stage=Job.Stage.CANCELLED)
    assert list(candidates()) == []
