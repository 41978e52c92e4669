"""What tests of the bench begin with: a job of the accepted example, its shelf filled, all that cutting asks for."""

from datetime import datetime, timedelta
from html.parser import HTMLParser
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from support_shelf import stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, Reservation, ReservationLine
from inventory.reserving.reservations import keep_from_lot
from quotes.clients.clients import keep_measures
from quotes.desk.figures import work_out
from quotes.desk.quoting import accept, columns_of
from quotes.models import Client, PatternRevision, Quote, QuoteRevision
from quotes.needs.reserving import keep_firmly
from quotes.seal.snapshot import fingerprint
from quotes.workroom.settings import workroom
from studio.bench.job_making import deposit, make_job
from studio.client.fittings import hold_fitting, plan_fitting
from studio.client.payments import take_payment
from studio.models import Fitting, Job, JobOperation, Payment, SeamPass

__all__ = [
    "BenchPage",
    "at",
    "cloth_line",
    "codes",
    "delivered_copy",
    "fill_shelf",
    "job_of",
    "keep_cloth",
    "line_of",
    "measure",
    "new_job",
    "operation",
    "pay",
    "ready_to_cut",
    "seam",
    "sign_toile",
]


_FIGURES: dict[str, Any] = {}
"""The example's sealed figures, worked out once: they are the same in every test."""


def job_of(sent: QuoteRevision, user: User) -> Job:
    """The job of a sent quote's only option, begun today."""
    option = sent.snapshot.quotation.options[0].name
    accepted = accept(revision=sent, option=option, user=user)
    return make_job(accepted, user=user, on=timezone.localdate())


def new_job(user: User, pattern: PatternRevision, option: dict[str, Any]) -> Job:
    """The job of a quote of one option, as if it had been sent and accepted a moment ago."""
    today = timezone.localdate()
    if not _FIGURES:
        rates = workroom().rates
        inputs = {"title": "Underbust", "client": "Odile Farrant", "currency": "EUR", "units": "mm"}
        _FIGURES["inputs"] = {**inputs, "options": [option], "extras": [], "rates": rates}
        _FIGURES.update(columns_of(work_out(_FIGURES["inputs"], pattern)))
    quote = Client.objects.create(name="Odile Farrant").quotes.create(number=1, title="Underbust")
    revision = QuoteRevision.objects.create(
        quote=quote,
        number=1,
        state=QuoteRevision.State.ACCEPTED,
        pattern=pattern,
        fingerprint=fingerprint(_FIGURES["figures"]),
        sent_at=timezone.now(),
        decided_at=timezone.now(),
        valid_until=today,
        accepted_option=option["name"],
        **_FIGURES,
    )
    keep_firmly(revision, workroom(), on=today)
    return make_job(revision, user=user, on=today)


def delivered_copy(like: Job, *, days_ago: int, figures: dict[str, Any] | None = None) -> Job:
    """A delivered job of the same sealed figures as another, or of `figures`, that took no material and no time."""
    day = timezone.localdate() - timedelta(days=days_ago)
    revision = QuoteRevision.objects.get(pk=like.revision_id)
    number = Quote.objects.order_by("-number").values_list("number", flat=True)[0] + 1
    revision.quote = Client.objects.create(name=f"Client {number}").quotes.create(number=number, title="Underbust")
    revision.pk = None
    revision._state.adding = True
    revision.sent_at = timezone.localtime() - timedelta(days=days_ago + 1) if days_ago else timezone.now()
    revision.figures = figures or revision.figures
    revision.save()
    return Job.objects.create(
        revision=revision,
        reference=f"J-{number}",
        client=revision.quote.client,
        title="Underbust",
        style="Block A",
        construction=like.construction,
        stage=Job.Stage.DELIVERED,
        started_on=day,
        delivered_on=day,
        net_minor=40000,
        tax_minor=0,
        fee_minor=0,
    )


def operation(job: Job, code: str) -> JobOperation:
    """An operation of a job by its code."""
    return job.operations.get(code=code)


def seam(job: Job, number: int, *, shell: str = "outer shell", half: str = "right", line: int = 1) -> SeamPass:
    """A pass of one seam line."""
    return job.seam_passes.get(shell=shell, half=half, seam=line, number=number)


def line_of(job: Job, code: str) -> ReservationLine:
    """What is kept for a job of one item."""
    return ReservationLine.objects.select_related("item__material").get(
        reservation__reference=job.reference, item__code=code
    )


def cloth_line(job: Job) -> ReservationLine:
    """What is kept for a job of the cloth that shows."""
    return ReservationLine.objects.select_related("item__material").get(
        reservation__reference=job.reference, needs_one_lot=True, item__material__kind="cloth"
    )


def fill_shelf(job: Job) -> dict[str, Lot]:
    """A lot of twice what is needed of everything that is kept for a job, by item."""
    kept = Reservation.objects.get(reference=job.reference)
    return {
        line.item.code: stocked(line.item, 2 * line.quantity, 1000)
        for line in kept.lines.select_related("item__material")
    }


def pay(job: Job, minor: int, user: User | None = None, **said: object) -> Payment:
    """A payment of today."""
    facts = {"what": "deposit", "fee_minor": 0, "day": timezone.localdate(), "note": "", "key": uuid4(), **said}
    return take_payment(job, amount_minor=minor, user=user, **facts)  # type: ignore[arg-type]


def measure(job: Job, user: User, *, days_ago: int = 0) -> None:
    """Measures of the client, taken so many days ago."""
    taken_on = timezone.localdate() - timedelta(days=days_ago)
    keep_measures(client=job.client, taken_on=taken_on, unit="cm", notes="", takes_mm={"waist": [720.0]}, user=user)


def sign_toile(job: Job, user: User) -> Fitting:
    """A toile fitting of today at which the toile was signed off."""
    fitting = plan_fitting(job, kind="toile", at=timezone.now(), minutes=60)
    hold_fitting(fitting, held_on=timezone.localdate(), notes="", alterations="", signs_toile=True, user=user)
    job.refresh_from_db()
    return fitting


def keep_cloth(job: Job) -> Lot:
    """A lot of the cloth that shows, kept for the job."""
    line = cloth_line(job)
    lot = stocked(line.item, 2 * line.quantity, 5000)
    keep_from_lot(line, lot)
    return lot


def ready_to_cut(job: Job, user: User) -> Lot:
    """All that cutting asks for; returns the lot of the cloth that shows."""
    pay(job, deposit(job).due_minor, user)
    measure(job, user)
    sign_toile(job, user)
    return keep_cloth(job)


def codes(caught: pytest.ExceptionInfo[Refused]) -> list[str]:
    """What a refusal names."""
    return [found.code for found in caught.value.findings]


def at(monkeypatch: pytest.MonkeyPatch, moment: str) -> None:
    """Let it be a moment of the workroom's own time, for whoever asks Django's clock."""
    then = timezone.make_aware(datetime.fromisoformat(moment))
    monkeypatch.setattr(timezone, "now", lambda: then)


class BenchPage(HTMLParser):
    """What matters on a page of the bench: inline script, fields without a label, posts without a token."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.labels: set[str | None] = set()
        self.fields: list[dict[str, str | None]] = []
        self.inline: list[str] = []
        self.posts: list[int] = []  # tokens of each form that posts
        self.nameless_buttons = 0
        self._in_form = False
        self._button: list[str] | None = None
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.inline += [name for name in found if name.startswith("on") or name == "style"]
        if tag == "script" and not found.get("src"):
            self.inline.append("script")
        if tag == "label":
            self.labels.add(found.get("for"))
        if tag in ("input", "select", "textarea") and found.get("type") != "hidden":
            self.fields.append(found)
        if tag == "form":
            self._in_form = (found.get("method") or "").lower() == "post"
            if self._in_form:
                self.posts.append(0)
        if tag == "input" and found.get("name") == "csrfmiddlewaretoken" and self._in_form:
            self.posts[-1] += 1
        if tag == "button":
            self._button = [found.get("aria-label") or ""]

    def handle_data(self, data: str) -> None:
        if self._button is not None:
            self._button.append(data.strip())

    def handle_endtag(self, tag: str) -> None:
        if tag == "button" and self._button is not None:
            self.nameless_buttons += not any(self._button)
            self._button = None
        if tag == "form":
            self._in_form = False

    @property
    def unlabelled(self) -> list[dict[str, str | None]]:
        """Fields that no label and no name of their own tells."""
        return [field for field in self.fields if field.get("id") not in self.labels and not field.get("aria-label")]
