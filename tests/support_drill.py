"""A drill in a process of its own: lays are asked for, and the worker that draws them is killed again and again.

`python support_drill.py KILLS WORKERS` asks for the lays of published problems, kills a worker so many times in the middle of
its searches, one in turn with so many at work, and writes what stands in the books in the end.
"""

import django

django.setup()

import json  # noqa: E402
import subprocess  # noqa: E402
import sys  # noqa: E402
import time  # noqa: E402
from collections.abc import Callable  # noqa: E402
from dataclasses import replace  # noqa: E402
from datetime import timedelta  # noqa: E402
from threading import Event  # noqa: E402

from django.contrib.auth.models import User  # noqa: E402
from django.utils import timezone  # noqa: E402
from support_lays import open_instance  # noqa: E402
from support_processes import PROJECT  # noqa: E402

from quotes.desk.kept_lays import DRAWN, lay_key, with_numbers  # noqa: E402
from quotes.lay.check import lay_faults  # noqa: E402
from quotes.lay.lay_plan import Effort  # noqa: E402
from quotes.models import DrawnLay, LaySearch  # noqa: E402
from quotes.searching.asking import ask  # noqa: E402

PATIENCE_SECONDS = 300
LAYS = 3
BREATH = Event()


def main(kills: int, at_work: int) -> None:
    """Drill, and print what stands in the end."""
    problem = open_instance(PROJECT / "fixtures" / "nesting" / "albano.json")
    problems = [replace(problem, width=problem.width * (1 + number / 10)) for number in range(LAYS)]
    by_key = {lay_key(one): one for one in problems}
    user = User.objects.create_user("maker")
    assert len(ask(by_key, Effort.QUICK, user=user)) == LAYS
    workers = [started() for _ in range(at_work)]
    try:
        met = 0
        for number in range(kills):
            before = attempts()
            wait(lambda before=before: attempts() > before or not under_way())
            met += under_way()
            worker = workers[number % at_work]
            worker.kill()
            worker.wait()
            # With others at work nobody knows that it was killed until it was silent for long.
            LaySearch.objects.filter(state="running").update(heartbeat_at=timezone.now() - timedelta(minutes=1))
            workers[number % at_work] = started()
        wait(lambda: not under_way())
    finally:
        for worker in workers:
            worker.kill()
            worker.wait()
    plans = {row.key: DRAWN.read(row.plan) for row in DrawnLay.objects.all()}
    told = {
        "met": met,
        "states": list(LaySearch.objects.values_list("state", flat=True)),
        "attempts": attempts(),
        "kept": DrawnLay.objects.count(),
        "faults": sum(len(lay_faults(with_numbers(by_key[key]), plan)) for key, plan in plans.items()),
        "early": sum(plan.ended_early for plan in plans.values()),
    }
    sys.stdout.write(json.dumps(told))


def started() -> subprocess.Popen[bytes]:
    """A worker at work, without idle time."""
    command = [sys.executable, "manage.py", "lay_worker", "--no-idle-lays"]
    return subprocess.Popen(command, cwd=PROJECT, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)


def attempts() -> int:
    """How often searches were taken up."""
    return sum(LaySearch.objects.values_list("attempt", flat=True))


def under_way() -> bool:
    """Whether a search is not over yet."""
    return LaySearch.objects.under_way().exists()


def wait(is_so: Callable[[], bool]) -> None:
    """Wait until something is so."""
    until = time.monotonic() + PATIENCE_SECONDS
    while not is_so():
        assert time.monotonic() < until, "Stuck."
        BREATH.wait(0.02)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
