"""Speed of a large shelf, 5,000 materials with 200,000 movements, in a database file of its own; run by `run.py`."""

import csv
import io
import os
import tempfile
from collections.abc import Callable
from typing import TYPE_CHECKING
from uuid import uuid4

from run import measured, told

if TYPE_CHECKING:
    from django.test import Client as Browser

    from inventory.models import ImportSheet

HEADER = ["Code", "Name", "Kind", "Price", "Qty", "Unit", "Length", "Dye lot", "Place", "Supplier", "Notes"]
IMPORTED = (("fabric", "yd", ""), ("spiral", "m", ""), ("busk", "pair", "10 in"), ("cord", "m", ""), ("tip", "", ""))
ROWS = 10_000


def stock_list(browser: "Browser", *, materials: int) -> None:
    """The first page of the stock list, and how many queries it makes."""
    measured(f"stock list, {materials} materials", lambda: browser.get("/shelf/"), times=30, asked=0.150)
    told(f"queries: {_queries(browser, '/shelf/')}")


def other_pages(browser: "Browser") -> None:
    """Lists and figures that look at the whole ledger."""
    for what, path, asked in (
        ("stock list, what has not moved for a year", "/shelf/?there=still", 0.3),
        ("ledger, last page first", "/shelf/movements/", 0.3),
        ("figures of the shelf", "/shelf/figures/", 2.0),
    ):
        measured(what, lambda path=path: browser.get(path), times=10, asked=asked)


def reordering() -> None:
    """The joint order from the books, and the page that holds it against them."""
    from django.utils import timezone

    from inventory.buying.reorder_page import reorder_page
    from inventory.buying.reordering import plan_reorder, question
    from inventory.models import KeptPlan
    from inventory.replenish.plan import SECONDS

    today = timezone.localdate()
    problem = question(on=today).problem
    what = f"plan kept with its reasons, {len({row.material for row in problem.offers})} offered items"
    measured(what, lambda: plan_reorder(on=today, user=None, seconds=SECONDS), times=1, asked=12.0)
    kept = KeptPlan.objects.latest("id")
    plan = kept.plan
    lines = [line for order in plan.orders for line in order.lines]
    told(
        f"{len(problem.materials)} items, {len(problem.needs)} needs, {len(problem.offers)} offers; {len(lines)} lines, "
        f"optimal {plan.optimal}, total {plan.total}, bound {plan.bound}, "
        f"topping up told of {sum(1 for order in plan.orders if order.topping_up)} orders"
    )
    measured("data of the reorder page", lambda: reorder_page(kept, on=today), times=7, asked=2.0)


def proof() -> None:
    """All books rebuilt from the ledger."""
    from inventory.stock.audit import Audit, audit

    found: list[Audit] = []
    measured("audit", lambda: found.append(audit()), times=3, asked=20.0)
    told(f"checked {found[-1].checked}, differences {found[-1].differences}")


def imports() -> None:
    """A sheet kept, matched, looked at and taken in; then one with a bad row."""
    from inventory.ground.findings import Refused
    from inventory.importing.importing import look_at, take_in
    from inventory.models import Lot, StockMaterial

    sheets = [_sheet(f"new-{number}") for number in range(3)]

    def whole(sheet: "ImportSheet") -> None:
        look_at(sheet)
        take_in(sheet, key=uuid4(), user=None)

    measured(f"import of {ROWS} rows: looked at, taken in", _each(whole, sheets), times=2, asked=10.0)
    before = StockMaterial.objects.count(), Lot.objects.count()
    bad = _sheet("bad", bad_row=6543)
    said = []

    def refused() -> None:
        try:
            take_in(bad, key=uuid4(), user=None)
        except Refused as refusal:
            said.append(f"{refusal.findings[0].where}: {refusal}")

    measured(f"import of {ROWS} rows, one bad: refused", refused, times=3, asked=10.0)
    told(f"{said[-1]} Nothing was changed: {before == (StockMaterial.objects.count(), Lot.objects.count())}")


def _each(run: Callable[["ImportSheet"], None], sheets: list["ImportSheet"]) -> Callable[[], None]:
    """Take another sheet with every call."""
    left = iter(sheets)
    return lambda: run(next(left))


def _sheet(tag: str, *, bad_row: int | None = None) -> "ImportSheet":
    """A maker's table of new materials, kept and matched."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from inventory.importing.importing import likely_columns, match_columns, save_sheet, sheet_of_upload

    rows = []
    for number in range(ROWS):
        kind, unit, length = IMPORTED[number % len(IMPORTED)]
        price = "4,5o" if number == bad_row else f"{1 + number % 40}.{number % 100:02}"
        where = [f"K{number % 50}", f"Drawer {number % 80}", f"supplier-{number % 12:02}", "from the old list"]
        rows.append(
            [f"{tag}-{number}", f"Name {tag} {number}", kind, price, f"{1 + number % 30}", unit, length, *where]
        )
    out = io.StringIO(newline="")
    csv.writer(out).writerows([HEADER, *rows])
    upload = SimpleUploadedFile("stock.csv", out.getvalue().encode())
    sheet = save_sheet(sheet_of_upload(upload=upload, user=None))
    match_columns(sheet, likely_columns(sheet))
    return sheet


def _queries(browser: "Browser", path: str) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as captured:
        assert browser.get(path).status_code == 200
    return len(captured)


def main() -> None:
    """Fill a shelf in a data folder of its own, and measure it."""
    import django

    with tempfile.TemporaryDirectory() as folder:
        os.environ["STUDIO_DATA"] = folder
        # The books of a workroom that keeps them in PostgreSQL are not to be filled.
        os.environ.pop("DATABASE_URL", None)
        django.setup()
        from django.contrib.auth.models import User
        from django.core.management import call_command
        from django.test import Client as Browser
        from django.utils import timezone
        from shelf_books import Books

        call_command("migrate", verbosity=0)
        browser = Browser(headers={"host": "localhost"})
        browser.force_login(User.objects.create_user("maker"))
        books = Books(timezone.localdate())
        books.stock(materials=50, movements=2_000)
        stock_list(browser, materials=50)
        books.stock(materials=4_950, movements=198_000)
        books.trade(offered=2_000, needed=300, coming=200)
        stock_list(browser, materials=5_000)
        other_pages(browser)
        reordering()
        proof()
        imports()


if __name__ == "__main__":
    main()
