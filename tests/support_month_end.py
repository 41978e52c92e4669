"""Four pieces are delivered on a day of last month while that month is closed by two at once; prints what came of it.

Started by test_closing_beside_delivering, with a database of its own.
"""

import json
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from threading import Barrier

import django

PIECES, CLOSERS = 4, 2


def main() -> None:
    django.setup()
    from django.contrib.auth.models import User
    from django.db import connections
    from support_books import agreed, month_before, today
    from support_patterns import block_a

    from inventory.ground.findings import Refused
    from quotes.patterns.kept_patterns import keep_block
    from studio.bench.job_making import make_job
    from studio.books.months import close_month
    from studio.client.delivery import deliver, expected_invoice
    from studio.demo import shelf, workroom
    from studio.models import ClosedMonth, Job, PieceAccount

    maker = User.objects.create_user("maker", password="pins and chalk")
    workroom.load()
    workroom.new_rates()
    shelf.load()
    shelf.new_list()
    pattern, day = keep_block(block=block_a(), user=maker), month_before(today())
    jobs = [make_job(agreed(pattern, maker, client=f"Client {number}"), user=maker, on=day) for number in range(PIECES)]
    barrier = Barrier(PIECES + CLOSERS)

    def done(act: Callable[[], object]) -> str:
        barrier.wait()
        try:
            act()
        except Refused as refusal:
            return refusal.findings[0].code
        finally:
            connections.close_all()
        return "done"

    deliveries = [partial(deliver, job, invoice=expected_invoice(job), on=day, user=maker) for job in jobs]
    closings = [partial(close_month, day.year, day.month, user=maker)] * CLOSERS
    with ThreadPoolExecutor(PIECES + CLOSERS) as hands:
        answers = list(hands.map(done, [*deliveries, *closings]))
    told = {
        "delivered": answers[:PIECES],
        "closed": sorted(answers[PIECES:]),
        "rows": ClosedMonth.objects.count(),
        "stages": list(Job.objects.order_by("pk").values_list("stage", flat=True)),
        "open accounts": PieceAccount.objects.filter(frozen_at=None).count(),
        "accounts": PieceAccount.objects.count(),
    }
    connections.close_all()
    sys.stdout.write(json.dumps(told))


if __name__ == "__main__":
    main()
