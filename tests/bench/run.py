"""Speed, measured as medians and as shares of what is asked for: `make bench`. Nothing here fails a build.

Each measurement says what it did, how often, its median, the slowest, and what is asked of it.
"""

import io
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from django.test import Client as Browser

PROJECT = Path(__file__).parents[2]
sys.path[:0] = [str(PROJECT), str(PROJECT / "tests")]
os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"


@dataclass(frozen=True, slots=True)
class Measured:
    """Seconds of each run, and the seconds that are asked for."""

    what: str
    seconds: list[float]
    asked: float

    def row(self) -> str:
        """The measurement as a line of the table."""
        median = statistics.median(self.seconds)
        return (
            f"{self.what:<62} {len(self.seconds):>4}  {median * 1000:>9.1f} ms  {max(self.seconds) * 1000:>9.1f} ms  "
            f"{self.asked * 1000:>7.0f} ms  {median / self.asked:>6.2f}"
        )


def measured(what: str, run: Callable[[], object], *, times: int, asked: float) -> Measured:
    """Run once to warm up, then `times` times."""
    run()
    seconds = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        seconds.append(time.perf_counter() - start)
    found = Measured(what, seconds, asked)
    print(found.row(), flush=True)
    return found


def told(words: str) -> None:
    """Say what more there is to say of the last measurement."""
    print(f"  {words}", flush=True)


def takeoff() -> None:
    """A garment of 2 × 12 panels, without packing."""
    from support_patterns import block_b, taken_off

    block = replace(block_b(), panels_per_half=12)
    measured("takeoff of 2 × 12 panels, no packing", lambda: taken_off(block), times=40, asked=0.030)


def lays() -> None:
    """Four cloths at once on normal effort, with progress."""
    from support_patterns import block_a, block_b

    from quotes.construction.construction import Choices
    from quotes.construction.shipped import shipped
    from quotes.lay.lay_plan import Effort
    from quotes.lay.laying import lay_all
    from quotes.pattern.block import draw_block
    from quotes.takeoff.chosen_materials import plain_shelf
    from quotes.takeoff.take_off import lay_problems

    construction = shipped("two-layer")
    problems = {}
    for name, block in (("a", block_a()), ("b", block_b())):
        pattern = draw_block(block).pattern
        for width in (1340.0, 1480.0):
            shelf = plain_shelf(construction, usable_width_mm=width)
            found = lay_problems(pattern, construction, Choices(), shelf)
            problems |= {f"{name} {width} {key}": problem for key, problem in found.items()}
    names = list(problems)[::2]  # outer and inner are cut alike, and drawn once
    four = {name: problems[name] for name in names}
    measured(
        f"{len(four)} lays on normal effort",
        lambda: lay_all(four, Effort.NORMAL),
        times=3,
        asked=6.0,
    )


def large_drawing() -> None:
    """Reading a DXF of one megabyte, child process and all."""
    from support_dxf import large_dxf

    from quotes.pattern.drawing import ReadOptions
    from quotes.pattern.readers import read_pattern

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.dxf"
        path.write_bytes(large_dxf(1.0))
        megabytes = path.stat().st_size / 1e6
        measured(f"reading a DXF of {megabytes:.2f} MB", lambda: read_pattern(path, ReadOptions()), times=7, asked=1.0)


def tiled_drawing() -> None:
    """Reading a PDF of thirty tiles and more, and what of the processor's time that takes."""
    from support_pdf import A4, draw_panels, drawn_panels, tiled

    from quotes.pattern.drawing import ReadOptions
    from quotes.pattern.readers.child import take_here

    panels = [*drawn_panels("underbust"), *drawn_panels("overbust", low=700)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "tiles.pdf"
        data = tiled(lambda canvas: draw_panels(canvas, panels), width_mm=1100, height_mm=1250, paper=A4, overlap_mm=8)
        path.write_bytes(data)

        before = time.process_time()
        measured(
            "reading a PDF of 35 tiles",
            lambda: take_here(path.read_bytes(), path.suffix, ReadOptions()),
            times=3,
            asked=5.0,
        )
        told(f"{(time.process_time() - before) / 4:.2f} s of the processor each")


def joint_order() -> None:
    """Three hundred materials at twelve suppliers, planned to the end."""
    import random

    from support_replenish import day

    from inventory.replenish import make_plan, read_plan_file

    draw = random.Random(7)
    codes = [f"M{number:03}" for number in range(300)]
    suppliers = [
        {
            "code": f"S{number:02}",
            "lead_days": draw.randint(2, 20),
            "postage": f"{draw.randint(4, 12)}.50",
            "postage_free_from": str(draw.choice([50, 80, 120, 200])),
            **({"minimum_order": str(draw.choice([20, 35]))} if number % 4 == 0 else {}),
        }
        for number in range(12)
    ]
    value = {code: draw.randint(50, 4000) / 100 for code in codes}
    offers = [
        {
            "supplier": supplier["code"],
            "material": code,
            "pack": str(draw.choice([1, 1, 5, 10])),
            "breaks": [
                {"from_packs": 1, "price": f"{value[code] * factor:.2f}"},
                {"from_packs": 5, "price": f"{value[code] * factor * 0.93:.2f}"},
            ],
            "minimum_packs": 1,
        }
        for code in codes
        for supplier in draw.sample(suppliers, 4)
        for factor in [draw.uniform(0.9, 1.25)]
    ]
    file = {
        "currency": "EUR",
        "as_of": day(0),
        "holding_share_per_year": "0.18",
        "materials": [
            {
                "code": code,
                "unit": "m",
                "on_hand": str(draw.randint(0, 6)),
                "safety": "2",
                "unit_value": f"{value[code]:.2f}",
            }
            for code in codes
        ],
        "needs": [
            {
                "material": draw.choice(codes),
                "quantity": str(draw.randint(1, 5)),
                "date": day(draw.randint(15, 60)),
                "job": f"K{number % 20}",
            }
            for number in range(400)
        ],
        "open_orders": [],
        "offers": offers,
        "suppliers": suppliers,
    }
    problem = read_plan_file(file).problem
    plans = []
    measured("joint order, 300 materials × 12 suppliers", lambda: plans.append(make_plan(problem)), times=2, asked=5.0)
    plan = plans[-1]
    told(f"optimal {plan.is_optimal}, total {plan.total}, bound {plan.bound}, line by line {plan.line_by_line_total}")


def cuts() -> None:
    """The bones of twenty quotes: ready ones, offcuts and a coil, to the end."""
    from itertools import cycle

    from support_cutting import bones_of_a_quote

    from inventory.cutting import cut_plan

    problems = cycle([bones_of_a_quote(seed) for seed in range(20)])
    plans = []
    measured(
        "bones of a quote: 10 lengths × 2, 19 kinds of stock",
        lambda: plans.append(cut_plan(next(problems), seconds=10)),
        times=40,
        asked=0.100,
    )
    told(f"proven cheapest {sum(plan.is_optimal for plan in plans)} of {len(plans)}")


def large_plans() -> None:
    """Ten large plans each of two kinds: how far above its bound each is, and the processor's seconds it took."""
    from large_plans import CHEAP, DEAR, large_plan

    from inventory.replenish import make_plan

    print(f"{'large plans':<34} {'seed':>6}  {'total':>10}  {'bound':>10}  {'gap':>8}  {'CPU':>7}")
    for what, most_worth in (("postage is little beside goods", DEAR), ("postage decides who is asked", CHEAP)):
        gaps, seconds = [], []
        for seed in range(1, 11):
            problem = large_plan(seed, most_worth=most_worth)
            start = time.process_time()
            plan = make_plan(problem)
            seconds.append(time.process_time() - start)
            gaps.append(float((plan.total - plan.bound) / plan.total))
            numbers = f"{plan.total:>10}  {plan.bound:>10}  {gaps[-1]:>8.3%}  {seconds[-1]:>5.1f} s"
            print(f"{what:<34} {seed:>6}  {numbers}", flush=True)
        middle = f"{statistics.median(gaps):>8.3%}  {statistics.median(seconds):>5.1f} s"
        print(f"{what:<34} median  {'':>10}  {'':>10}  {middle}", flush=True)


def pages() -> None:
    """A quote's page in a fresh demo workroom, with one revision and with fifty; queries counted."""
    from django.contrib.auth.models import User
    from django.core.management import call_command
    from django.db import connection
    from django.test import Client as Browser
    from django.test.utils import CaptureQueriesContext
    from django.utils import timezone

    from quotes.desk.quoting import offer_of_today, revise, send
    from quotes.models import QuoteRevision
    from quotes.seal.snapshot import offer_fingerprint

    call_command("migrate", verbosity=0)
    call_command("demo", stdout=io.StringIO())
    maker = User.objects.get(username="maker")
    browser = Browser(headers={"host": "localhost"})
    browser.force_login(maker)

    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(path).status_code == 200
        return len(captured)

    draft = QuoteRevision.objects.select_related("quote", "pattern").get(state="draft")
    first = f"/quotes/{draft.quote.pk}/1/"
    measured("quote page, one revision, three options", lambda: browser.get(first), times=30, asked=0.100)
    once = queries(first)
    while draft.number < 50:
        seen = offer_fingerprint(offer_of_today(draft))
        send(revision=draft, valid_until=timezone.localdate() + timedelta(days=9), seen=seen, user=maker)
        draft = revise(revision=draft, user=maker)
    last = f"/quotes/{draft.quote.pk}/50/"
    measured("quote page, fifty revisions", lambda: browser.get(last), times=30, asked=0.100)
    told(f"queries: {once} with one revision, {queries(last)} with fifty")
    sheet = f"{last}options/0/sheet/"
    measured("sheet of an option with all reasons", lambda: browser.get(sheet), times=30, asked=0.100)
    measured("list of quotes", lambda: browser.get("/quotes/"), times=30, asked=0.100)
    measured("client's PDF", lambda: browser.get(f"{last}quote.pdf"), times=10, asked=0.500)
    pattern_table(browser)


def pattern_table(browser: "Browser") -> None:
    """The pattern table of a free drawing: shown again, and shown anew after each press."""
    from itertools import count

    from django.core.files.uploadedfile import SimpleUploadedFile
    from support_forms import PageForms
    from support_table import natural_svg

    drawing = SimpleUploadedFile("drawing.svg", natural_svg(square="5 cm"))
    table = browser.post("/patterns/table/", {"file": drawing})["Location"]
    form = PageForms(browser.get(table).content.decode(), table).that_has("waist_1")
    heights = (f"{15 + step / 100:.2f}" for step in count())

    def press() -> None:
        said = form.with_values({"waist_1": next(heights)})
        assert browser.post(table, said, headers={"HX-Request": "true"}).status_code == 200

    measured("pattern table of a free drawing", lambda: browser.get(table), times=30, asked=0.100)
    measured("pattern table after a press", press, times=30, asked=0.100)


def hours() -> None:
    """What a delivery costs, and the learning page: the latest of five thousand jobs, in a log that names everything."""
    from support_workrooms import workroom

    from quotes.labour.hours import learn, read_log

    jobs, _ = read_log({"jobs": list(workroom("under 20 on neighbour", 21, jobs=60).jobs)})
    measured("hours learnt after a delivery", lambda: learn(jobs, earlier=4940), times=5, asked=0.500)
    measured(
        "and judged, as the learning page has it", lambda: learn(jobs, earlier=4940).judgement(), times=3, asked=2.0
    )


def with_books_of_its_own(script: str) -> None:
    """In a process of its own: the demo's books stay as small as they are."""
    subprocess.run([sys.executable, Path(__file__).with_name(script)], check=True)


def main() -> None:
    """Measure everything, in a data folder of its own."""
    import django

    with tempfile.TemporaryDirectory() as folder:
        os.environ["STUDIO_DATA"] = folder
        django.setup()
        print(f"{'what':<62} {'runs':>4}  {'median':>12}  {'slowest':>12}  {'asked':>10}  {'ratio':>6}")
        takeoff()
        large_drawing()
        tiled_drawing()
        joint_order()
        cuts()
        hours()
        pages()
        for script in ("workbench.py", "shelf.py", "books.py"):
            with_books_of_its_own(script)
        lays()
        large_plans()


if __name__ == "__main__":
    main()
