"""What a piece’s material cost turns out later: open pieces bear it, closed months keep their figures and the open one tells it.

Common practice of bookkeeping (a period that is closed is not opened for what comes to light later), no source.
"""

from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from support_books import agreed, finished, month_before, today
from support_shelf import act

from inventory.models import Movement, Posting
from inventory.stock.audit import audit
from inventory.stock.correcting import CorrectedCost, correct_costs, paid_minor
from quotes.models import PatternRevision
from studio.accounts.accounting import settle
from studio.books.months import close_month, months
from studio.books.year import result_of_year
from studio.models import Job, PieceAccount
from studio.profit.year import About

LAST = month_before(today())


@pytest.fixture
def job(pattern: PatternRevision, books: User) -> Job:
    """A piece that was delivered on the twelfth of last month."""
    return finished(agreed(pattern, books), books, on=LAST)


def made_dearer(job: Job) -> tuple[Posting, int]:
    """The receipt of a lot that the piece took half of cost 10.00 more; so the piece took 5.00 more."""
    taken = Movement.objects.filter(posting__job=job.reference, posting__kind="issue").order_by("-value_minor").last()
    assert taken is not None
    paid = paid_minor([taken.lot_id])[taken.lot_id]
    cost = CorrectedCost(lot=taken.lot, seen_minor=paid, paid_minor=paid + 1000)
    posting = correct_costs(act("Invoice 17"), [cost])
    more = -sum(Movement.objects.filter(posting__corrected_by=posting).values_list("value_minor", flat=True))
    assert more == pytest.approx(500, abs=1)
    return posting, more


def test_an_open_piece_bears_what_its_material_cost_in_the_end(job: Job):
    before = PieceAccount.objects.get().kept.account
    _, more = made_dearer(job)
    after = settle(job).kept.account
    assert after.materials - before.materials == Decimal(more) / 100
    assert before.profit - after.profit == Decimal(more) / 100
    assert audit().differences == ()


def test_a_closed_month_keeps_its_figures_and_the_open_one_tells_the_difference(job: Job):
    close_month(LAST.year, LAST.month, user=None)
    before = {month.first_day: month for month in months()}
    kept = PieceAccount.objects.get().kept
    posting, more = made_dearer(job)
    assert PieceAccount.objects.get().kept == kept
    after = {month.first_day: month for month in months()}
    assert after[LAST.replace(day=1)] == before[LAST.replace(day=1)]
    assert after[today().replace(day=1)].corrections_minor == -more
    assert {row.day for row in Movement.objects.filter(posting__corrected_by=posting)} == {today()}
    year = result_of_year(today().year, on=today())
    told = [row for line in year.lines for row in line.rows if row.about is About.LATE_MATERIALS]
    assert [(row.amount, row.key) for row in told] == [(Decimal(-more) / 100, job.reference)]
    assert told[0].what.endswith(": Invoice 17")
    assert audit().differences == ()
