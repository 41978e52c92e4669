"""Many finished pieces, drawn at random and the same each time: two years of accounts whose bridges add up.

Rows are added straight to the tables, many at once, all made from an accepted quote of the demo. Nothing is measured here.
"""

import random
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from inventory.ground.money import currency_of
from quotes.models import Client, Quote, QuoteRevision
from studio.models import Job, PieceAccount
from studio.profit.account import account
from studio.profit.kept_account import KEPT_ACCOUNT, KeptAccount
from studio.profit.piece import Account, Actual, Quoted, Rework, Spoiled, UsedMaterial, WorkedOperation
from studio.profit.quoted import quoted_from

__all__ = ["fill"]

DAYS = 730
BATCH = 250
KINDS = 300  # of what may happen to a piece
PATTERNS = ("Reed underbust", "Willow overbust", "Sedge corselet", "Rush waspie", "Teasel cincher")
CONSTRUCTIONS = ("Two layers", "Single layer", "Welted seams", "Fused", "Three layers")
CAUSES = ("own-slip", "cloth-fault", "client", "fit", "normal")


def fill(pieces: int, *, on: date) -> None:
    """Add so many finished pieces to books that hold an accepted quote; half as many quotes more were declined."""
    draw = random.Random(1852)
    model = QuoteRevision.objects.filter(state="accepted").order_by("pk")[0]
    quoted = quoted_from(model.accepted, currency_of("EUR"), model.snapshot.rates)
    figures = {**model.figures, "drawings": {"half": "", "lays": []}}
    drawn = [_drawn(draw, quoted) for _ in range(KINDS)]
    clients = Client.objects.bulk_create(Client(name=f"Client {number}") for number in range(1, pieces // 15 + 2))
    first = Quote.objects.order_by("-number").values_list("number", flat=True)[0] + 1
    for start in range(first, first + pieces, BATCH):
        numbers = range(start, min(start + BATCH, first + pieces))
        days = [on - timedelta(days=draw.randrange(DAYS)) for _ in numbers]
        quotes = Quote.objects.bulk_create(
            Quote(number=number, client=draw.choice(clients), title=f"{draw.choice(PATTERNS)} no {number}")
            for number in numbers
        )
        revisions = QuoteRevision.objects.bulk_create(
            _revision(quote, model, figures, day - timedelta(days=60)) for quote, day in zip(quotes, days, strict=True)
        )
        jobs = Job.objects.bulk_create(_job(draw, revision, day) for revision, day in zip(revisions, days, strict=True))
        PieceAccount.objects.bulk_create(_kept(job, *draw.choice(drawn)) for job in jobs)
    lost = Quote.objects.bulk_create(
        Quote(number=first + pieces + place, client=draw.choice(clients), title="Not made")
        for place in range(pieces // 2)
    )
    QuoteRevision.objects.bulk_create(
        (_revision(quote, model, figures, on - timedelta(days=draw.randrange(DAYS)), is_won=False) for quote in lost),
        batch_size=BATCH,
    )


def _revision(
    quote: Quote, model: QuoteRevision, figures: dict[str, Any], day: date, *, is_won: bool = True
) -> QuoteRevision:
    at = timezone.make_aware(datetime.combine(day, time(12)))
    return QuoteRevision(
        quote=quote,
        number=1,
        state="accepted" if is_won else "declined",
        pattern_id=model.pattern_id,
        inputs={},
        figures=figures,
        currency=model.currency,
        price_minor=model.price_minor,
        schema_version=1,
        fingerprint="0" * 64,
        sent_at=at,
        valid_until=day,
        decided_at=at,
        accepted_option=model.accepted_option if is_won else "",
    )


def _job(draw: random.Random, revision: QuoteRevision, day: date) -> Job:
    quote = revision.quote
    return Job(
        revision=revision,
        reference=f"Q{quote.number}",
        client=quote.client,
        title=quote.title,
        style=quote.title.partition(" no ")[0],
        construction=draw.choice(CONSTRUCTIONS),
        stage=Job.Stage.DELIVERED,
        started_on=day - timedelta(days=40),
        delivered_on=day,
        net_minor=0,
        tax_minor=0,
        fee_minor=0,
    )


def _happened(draw: random.Random, quoted: Quoted) -> Actual:
    """Time around the quoted, slower or quicker by piece and by operation; material a little off; now and then a slip."""
    money, pace = quoted.currency, draw.lognormvariate(0.05, 0.25)
    materials = []
    for row in quoted.materials:
        quantity = round(row.quantity * Decimal(str(round(draw.uniform(0.96, 1.12), 2))), 3)
        value = money.round(quantity * row.rate * Decimal(str(round(draw.uniform(0.9, 1.15), 2))))
        materials.append(UsedMaterial(code=row.code, what=row.what, quantity=quantity, unit=row.unit, value=value))
    hours = tuple(
        WorkedOperation(
            code=row.code,
            name=row.name,
            hours=Decimal(round(float(row.hours) * 60 * pace * draw.lognormvariate(0, 0.2))) / 60,
        )
        for row in quoted.operations
    )
    has_slip = draw.random() < 0.2
    net = quoted.net + money.from_minor(draw.choice([0, 0, 0, 2000, 4500]))
    return Actual(
        net=net,
        fee=quoted.fee,
        change_orders=(),
        discount=Decimal(0),
        materials=tuple(materials),
        spoiled=(Spoiled(cause=draw.choice(CAUSES), value=money.from_minor(draw.randint(80, 2500))),) * has_slip,
        hours=hours,
        rework=(Rework(cause=draw.choice(CAUSES), hours=Decimal(draw.randint(10, 200)) / 60),) * has_slip,
        labour_rate=quoted.labour_rate,
        overhead_rate=quoted.overhead_rate,
        extras=quoted.extras,
    )


def _drawn(draw: random.Random, quoted: Quoted) -> tuple[Account, dict[str, Any]]:
    """An account, and the document that is kept of it."""
    actual = _happened(draw, quoted)
    found = account(quoted, actual)
    return found, KEPT_ACCOUNT.written(KeptAccount(account=found, quoted=quoted, actual=actual))


def _kept(job: Job, found: Account, document: dict[str, Any]) -> PieceAccount:
    minor = found.currency.to_minor
    assert found.per_hour is not None
    return PieceAccount(
        job=job,
        delivered_on=job.delivered_on,
        currency=found.currency.code,
        net_minor=minor(found.net),
        quoted_profit_minor=minor(found.quoted_profit),
        actual_profit_minor=minor(found.profit),
        labour_minor=minor(found.labour),
        per_hour_minor=minor(found.per_hour),
        minutes=round(found.hours * 60),
        overhead_minor=minor(found.overhead),
        style=job.style,
        construction=job.construction,
        client_name=job.client.name,
        is_under_floor=found.earned < 25 * found.hours,
        document=document,
    )
