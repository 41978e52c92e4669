"""One worker at a time has a search; what it was at when it ended is taken up again. The rules are the product's own."""

import logging
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db.models import F
from django.utils import timezone
from support_searching import Engine, worker_by_hand

from quotes.defaults import desk_defaults
from quotes.desk.kept_lays import keep, kept_by_key, lay_key, with_numbers
from quotes.lay.beginnings import SEEDS
from quotes.lay.lay_plan import Effort, LayPiece, LayProblem, Remnant
from quotes.lay.laying import laid
from quotes.lay.nest import SEED, lay
from quotes.models import DrawnLay, LaySearch
from quotes.searching.asking import ask, ask_in_idle_time, ask_to_stop
from quotes.searching.holding import put_back_orphans, take_up
from quotes.searching.presence import is_worker_there, present
from quotes.searching.worker import Worker

State = LaySearch.State
WEDGE = LayProblem(width=300.0, pieces=(LayPiece(label="a", outline=((0, 0), (200, 0), (150, 120)), copies=6),))
OTHER = replace(WEDGE, width=350.0)
KEY = lay_key(WEDGE)


@pytest.fixture
def asked(maker: User) -> LaySearch:
    (search,) = ask({KEY: WEDGE}, Effort.NORMAL, user=maker)
    return search


def left_alone(search: LaySearch, seconds: float) -> None:
    """As long ago was the last sign of life of a search."""
    LaySearch.objects.filter(pk=search.pk).update(heartbeat_at=timezone.now() - timedelta(seconds=seconds))


def test_a_search_is_taken_up_by_one(asked: LaySearch):
    assert take_up() is not None
    assert take_up() is None


@pytest.mark.parametrize("seconds", [31.0, -31.0])
def test_a_search_without_a_sign_of_life_is_taken_up_again(asked: LaySearch, seconds: float):
    """After 30 seconds (quotes/defaults.json), or where the clock was set back since; who had it writes on no more."""
    first = take_up()
    assert first is not None
    left_alone(asked, 29.0)
    assert take_up() is None
    left_alone(asked, seconds)
    second = take_up()
    assert second is not None
    first.end(State.FAILED)
    assert LaySearch.objects.get().state == State.RUNNING
    second.end(State.DONE)
    assert LaySearch.objects.get().state == State.DONE


def test_who_finds_its_search_in_other_hands_stops(asked: LaySearch, engine: Engine):
    engine.meanwhile = lambda: LaySearch.objects.update(attempt=F("attempt") + 1)
    worker_by_hand().step()
    assert LaySearch.objects.get().state == State.RUNNING
    assert DrawnLay.objects.get().plan["method"] == "stopped"


def test_a_worker_that_ends_puts_its_search_back(asked: LaySearch, engine: Engine):
    is_over = []
    engine.meanwhile = lambda: is_over.append(True)
    Worker(wait=lambda _: False, is_over=lambda: bool(is_over)).step()
    assert LaySearch.objects.get().state == State.WAITING
    engine.meanwhile = lambda: None
    worker_by_hand().step()
    assert LaySearch.objects.get().state == State.DONE
    assert not kept_by_key([KEY])[KEY].ended_early


def test_a_worker_that_is_alone_takes_up_at_once_what_seems_to_run(
    asked: LaySearch, engine: Engine, settings: Any, tmp_path: Path
):
    settings.LAY_WORKER_LOCK = tmp_path / "lay-worker.lock"
    take_up()
    waits = iter([False, True])
    Worker(wait=lambda _: next(waits), is_over=lambda: False, works_in_idle_time=False).run()
    assert LaySearch.objects.get().state == State.DONE


def test_a_worker_beside_another_leaves_what_runs(asked: LaySearch, engine: Engine, settings: Any, tmp_path: Path):
    settings.LAY_WORKER_LOCK = tmp_path / "lay-worker.lock"
    assert not is_worker_there()
    with present(alone=lambda: None):
        assert is_worker_there()
        take_up()
        Worker(wait=lambda _: True, is_over=lambda: False, works_in_idle_time=False).run()
        assert is_worker_there()
    assert not is_worker_there()
    assert LaySearch.objects.get().state == State.RUNNING
    assert not engine.asked


def test_those_who_look_at_once_do_not_take_each_other_for_a_worker(settings: Any, tmp_path: Path):
    """As pages do that are asked for at the same moment."""
    settings.LAY_WORKER_LOCK = tmp_path / "lay-worker.lock"
    with present(alone=lambda: None):
        pass
    with ThreadPoolExecutor(8) as pool:
        seen = pool.map(lambda _: sum(is_worker_there() for _ in range(1000)), range(8))
        assert sum(seen) == 0


def test_a_search_that_is_broken_off_again_and_again_is_given_up(asked: LaySearch):
    for _ in range(desk_defaults().lay.search_attempts):
        assert take_up() is not None
        put_back_orphans()
    assert take_up() is None
    assert LaySearch.objects.get().state == State.FAILED


def test_a_search_that_gives_way_again_and_again_is_not_given_up(maker: User, engine: Engine):
    """It was put back in order each time; nothing broke off."""
    for times in range(1, desk_defaults().lay.search_attempts + 1):
        ask_in_idle_time(KEY, WEDGE)
        engine.meanwhile = lambda: ask({lay_key(OTHER): OTHER}, Effort.NORMAL, user=maker)
        worker = worker_by_hand()
        worker.step()
        assert len(engine.asked) == times
        LaySearch.objects.exclude(asked_by=None).delete()
    engine.meanwhile = lambda: None
    worker.step()
    assert LaySearch.objects.get().state == State.DONE


def test_a_fault_ends_one_search_and_not_the_worker(
    maker: User, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, settings: Any, tmp_path: Path
):
    settings.LAY_WORKER_LOCK = tmp_path / "lay-worker.lock"

    def fails(problem: LayProblem, *args: Any, **kwargs: Any) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("quotes.searching.worker.laid", fails)
    ask({KEY: WEDGE, lay_key(OTHER): OTHER}, Effort.NORMAL, user=maker)
    waits = iter([False, False, True])
    with caplog.at_level(logging.ERROR):
        Worker(wait=lambda _: next(waits), is_over=lambda: False, works_in_idle_time=False).run()
    assert [search.state for search in LaySearch.objects.all()] == [State.FAILED, State.FAILED]
    assert len(caplog.records) == 2


def test_the_engine_draws_what_was_asked_for(asked: LaySearch):
    worker_by_hand().step()
    plan = kept_by_key([KEY])[KEY]
    assert plan.length <= lay(WEDGE, Effort.NONE).length
    search = LaySearch.objects.get()
    assert (search.state, search.best_mm, search.problem) == (State.DONE, plan.length, None)
    assert search.utilisation_share == pytest.approx(6 * 200 * 120 / 2 / (plan.length * 300))


def test_a_kept_lay_gives_way_to_a_shorter_one_only(db: None):
    """What was searched to the end stands, with the greatest effort that any search to the end had."""
    plan = replace(lay(with_numbers(WEDGE), Effort.NONE), effort=Effort.NORMAL, method="packed")

    def kept_after(times: float, **other: Any) -> tuple[float, Effort, str]:
        keep(KEY, replace(plan, length=plan.length * times, **other), WEDGE)
        kept = kept_by_key([KEY])[KEY]
        return round(kept.length / plan.length, 9), kept.effort, kept.method

    assert kept_after(1.0, method="stopped") == (1.0, Effort.NORMAL, "stopped")
    assert kept_after(1.2) == (1.0, Effort.NORMAL, "packed")
    assert kept_after(1.1, effort=Effort.THOROUGH) == (1.0, Effort.THOROUGH, "packed")
    assert kept_after(0.9, method="failed") == (1.0, Effort.THOROUGH, "packed")
    assert kept_after(0.8, method="cut short") == (0.8, Effort.THOROUGH, "packed")
    assert kept_after(0.7) == (0.7, Effort.THOROUGH, "packed")


def test_idle_time_gives_way_at_once_to_what_somebody_waits_for(maker: User, engine: Engine):
    ask_in_idle_time(KEY, WEDGE)
    engine.meanwhile = lambda: ask({lay_key(OTHER): OTHER}, Effort.NORMAL, user=maker)
    worker = worker_by_hand()
    worker.step()
    of_idle_time = LaySearch.objects.get(asked_by=None)
    assert of_idle_time.state == State.WAITING
    engine.meanwhile = lambda: None
    worker.step()
    assert LaySearch.objects.get(asked_by=maker).state == State.DONE
    of_idle_time.refresh_from_db()
    assert of_idle_time.state == State.WAITING


def test_a_worker_without_idle_time_leaves_what_nobody_asked_for(db: None):
    ask_in_idle_time(KEY, WEDGE)
    assert not worker_by_hand(works_in_idle_time=False).step()
    assert LaySearch.objects.get().state == State.WAITING


def test_a_lay_of_idle_time_that_is_asked_for_is_taken_over(maker: User, engine: Engine):
    ask_in_idle_time(KEY, WEDGE)
    engine.meanwhile = lambda: ask({KEY: WEDGE}, Effort.THOROUGH, user=maker)
    worker_by_hand().step()
    search = LaySearch.objects.get()
    assert (search.state, search.asked_by, search.effort) == (State.WAITING, maker, Effort.THOROUGH)
    engine.meanwhile = lambda: None
    worker_by_hand().step()
    assert [effort for effort, _, _ in engine.asked] == [Effort.NORMAL, Effort.THOROUGH]
    assert kept_by_key([KEY])[KEY].effort is Effort.THOROUGH


def test_a_search_in_idle_time_is_short_stands_back_and_starts_elsewhere_each_time(db: None, engine: Engine):
    for _ in range(2):
        ask_in_idle_time(KEY, WEDGE)
        worker_by_hand().step()
    assert {seconds for _, seconds, _ in engine.asked} == {desk_defaults().lay.idle_cpu_seconds}
    assert {search.niceness for _, _, search in engine.asked} == {19}
    # A lay begins from its seed and those after it, that of usual effort too.
    began = [{*range(seed, seed + SEEDS)} for seed in (SEED, *(search.seed for _, _, search in engine.asked))]
    assert sum(map(len, began)) == len(set.union(*began))


def test_more_effort_asked_for_while_a_search_runs_is_taken_up_when_that_is_over(
    asked: LaySearch, maker: User, engine: Engine
):
    engine.meanwhile = lambda: ask({KEY: WEDGE}, Effort.THOROUGH, user=maker)
    worker = worker_by_hand(works_in_idle_time=False)
    worker.step()
    search = LaySearch.objects.get()
    assert (search.state, search.effort, search.wanted_effort) == (State.WAITING, Effort.THOROUGH, "")
    engine.meanwhile = lambda: None
    assert worker.step()
    assert not worker.step()
    assert [effort for effort, _, _ in engine.asked] == [Effort.NORMAL, Effort.THOROUGH]
    assert LaySearch.objects.get().state == State.DONE
    assert kept_by_key([KEY])[KEY].effort is Effort.THOROUGH


def test_who_stops_a_search_wants_no_more_effort_either(asked: LaySearch, maker: User, engine: Engine):
    def more_and_stop() -> None:
        ask({KEY: WEDGE}, Effort.THOROUGH, user=maker)
        ask_to_stop([asked.pk])

    engine.meanwhile = more_and_stop
    worker = worker_by_hand(works_in_idle_time=False)
    worker.step()
    assert not worker.step()
    assert LaySearch.objects.get().state == State.STOPPED


def test_where_remnants_may_be_used_the_lay_that_costs_less_stands(maker: User, monkeypatch: pytest.MonkeyPatch):
    """All of it lies on a remnant that is worth 200 of the roll, so nothing of the roll is taken; rows take more than that."""
    monkeypatch.setattr(
        "quotes.searching.worker.laid", lambda problem, effort, **said: laid(problem, Effort.NONE, **said)
    )
    problem = replace(WEDGE, remnants=(Remnant(width=300.0, length=900.0, worth=200.0),))
    key = lay_key(problem)
    ask({key: problem}, Effort.NORMAL, user=maker)
    worker_by_hand(works_in_idle_time=False).step()
    search, kept = LaySearch.objects.get(), kept_by_key([key])[key]
    assert (search.state, search.best_mm, search.above_bound_share) == (State.DONE, 0.0, None)
    assert search.utilisation_share == pytest.approx(kept.density_share)
    on_roll = lay(with_numbers(WEDGE), Effort.NONE)
    keep(key, replace(on_roll, length=199.0), problem)
    keep(key, kept, problem)
    assert kept_by_key([key])[key].length == 199.0
