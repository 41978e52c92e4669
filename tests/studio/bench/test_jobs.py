"""A job from the accepted quote to its cancelling: operations, seams, days, order, changes, payments, materials.

Trade facts (a two-layer corset of six panels a half has 20 seams and 40 passes, half the price is paid before work,
what shows comes from one lot, receipts are numbered without a gap): common practice, no source. Amounts are reckoned by
hand in the tests.
"""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone
from support_bench import cloth_line, codes, fill_shelf, job_of, line_of, operation, pay
from support_shelf import stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Posting, Reservation
from inventory.reserving.availability import availability
from inventory.reserving.reservations import release
from inventory.shelf.settings import close_until
from inventory.stock.audit import audit
from inventory.stock.ledger import Remnant
from quotes.construction.construction_json import construction_document
from quotes.construction.shipped import shipped
from quotes.desk.quoting import accept, offer_of_today, send, start_quote
from quotes.models import Client, KeptConstruction, PatternRevision, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from studio.bench import timing
from studio.bench.job_making import cancel_job, deposit, make_job, move_job_by, set_dates
from studio.bench.job_materials import held, issue_planned, spoil, take_back
from studio.client.change_orders import agree_change
from studio.client.payments import take_payment
from studio.client.personal_data import keep_photo, take_away_photo
from studio.models import ChangeOrder, Job, JobPhoto, Payment
from studio.money.bills import bill

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


def test_an_accepted_quote_becomes_a_job_with_all_seams_and_its_planned_minutes(job: Job):
    passes = job.seam_passes
    assert passes.count() == 40
    assert passes.filter(number=1).count() == 20
    assert set(passes.values_list("shell", "number", "stitch_mm")) == {
        (shell, number, stitch) for shell in ("outer shell", "inner shell") for number, stitch in ((1, 3.0), (2, 2.0))
    }
    allowance = job.option.takeoff.labour.allowance_share
    for row in job.operations.all():
        assert row.planned_min == pytest.approx(row.estimated_min * (1 + allowance))
    order = list(job.operations.values_list("code", flat=True))
    assert order.index("CUT") < order.index("SEW1") < order.index("SEW2") < order.index("TAPE") < order.index("CHAN")
    assert (job.reference, job.stage, job.style) == ("Q1", "accepted", "Estimating block")
    assert Reservation.objects.get(reference="Q1").is_firm


def test_a_shell_of_two_cloths_has_every_seam_to_tick(books: User, pattern: PatternRevision):
    """Coutil with mesh in panels 2 and 4: n − 1 seams a half, whatever they join, twice each (common practice)."""
    single = construction_document(shipped("single-layer"))
    coutil = {**single["layers"][0], "panels": [1, 3, 5, 6]}
    mesh = {"role": "mesh", "title": "mesh", "panels": [2, 4]}
    shell = {**single["shells"][0], "roles": ["outer", "mesh"]}
    kept = {**single, "code": "with-mesh", "title": "With mesh", "layers": [coutil, mesh], "shells": [shell]}
    KeptConstruction.objects.create(code="with-mesh", title="With mesh", document=kept)
    cloths = {"outer": "coutil-satin-bottle", "mesh": "coutil-white"}
    option = {"name": "With mesh", "construction": "with-mesh", "cloths": cloths, "choices": {}}
    draft = start_quote(
        client=Client(name="Odile Farrant"), title="Summer", due=None, pattern=pattern, options=[option], user=books
    )
    seen = offer_fingerprint(offer_of_today(draft))
    job = job_of(send(revision=draft, valid_until=TODAY(), seen=seen, user=books), books)
    assert set(job.seam_passes.values_list("half", "seam", "number")) == {
        (half, seam, number) for half in ("left", "right") for seam in range(1, 6) for number in (1, 2)
    }


def test_a_quote_becomes_one_job_only_and_an_open_one_none(sent: QuoteRevision, books: User):
    with pytest.raises(Refused) as caught:
        make_job(sent, user=books, on=TODAY())
    assert codes(caught) == ["job.not-accepted"]
    job_of(sent, books)
    sent.refresh_from_db()
    with pytest.raises(Refused) as caught:
        make_job(sent, user=books, on=TODAY())
    assert codes(caught) == ["job.made-already"]
    assert Job.objects.count() == 1


def test_what_was_released_by_hand_is_kept_again_for_the_job(sent: QuoteRevision, books: User):
    accepted = accept(revision=sent, option="Two layers", user=books)
    release("Q1", why="by mistake")
    make_job(accepted, user=books, on=TODAY())
    assert Reservation.objects.get(reference="Q1").state == "open"


def another(job: Job, position: int) -> Job:
    """A further job of the same client, of a revision of its own."""
    first = job.revision
    quote = first.quote.client.quotes.create(number=position + 50, title=f"Piece {position}")
    revision = QuoteRevision.objects.create(
        quote=quote,
        number=1,
        state="accepted",
        pattern=first.pattern,
        inputs=first.inputs,
        figures=first.figures,
        schema_version=first.schema_version,
        currency=first.currency,
        price_minor=first.price_minor,
        fingerprint=first.fingerprint,
        sent_at=first.sent_at,
        valid_until=first.valid_until,
        accepted_option=first.accepted_option,
    )
    return make_job(revision, user=None, on=TODAY())


def order() -> list[str]:
    return list(Job.objects.order_by("position").values_list("title", flat=True))


def test_jobs_move_in_the_order_of_work_and_stop_at_its_ends(job: Job):
    for position in (2, 3):
        another(job, position)
    assert order() == ["Underbust", "Piece 2", "Piece 3"]
    move_job_by(Job.objects.get(title="Piece 3"), places=-1)
    assert order() == ["Underbust", "Piece 3", "Piece 2"]
    move_job_by(Job.objects.get(title="Underbust"), places=1)
    assert order() == ["Piece 3", "Underbust", "Piece 2"]
    move_job_by(Job.objects.get(title="Piece 2"), places=1)
    move_job_by(Job.objects.get(title="Piece 3"), places=-1)
    assert order() == ["Piece 3", "Underbust", "Piece 2"]


def test_other_days_leave_the_former_ones_in_the_diary(job: Job, books: User):
    set_dates(job, due=date(2027, 5, 1), promised=date(2027, 4, 20), user=books)
    job.refresh_from_db()
    set_dates(job, due=date(2027, 5, 1), promised=date(2027, 4, 27), user=books)
    newest = job.notes.first()
    assert newest is not None
    assert "promised for 20 April 2027" in newest.words


def test_a_cancelled_job_gives_back_what_was_kept_and_keeps_its_history(job: Job, books: User):
    lots = fill_shelf(job)
    line = cloth_line(job)
    issue_planned(job, line, lot=lots[line.item.code], quantity=100, key=uuid4(), user=books)
    pay(job, 5000, books)
    timer = timing.start(operation(job, "CUT"), user=books, key=uuid4())
    coutil = line_of(job, "coutil-white")
    assert availability([coutil.item_id], on=TODAY())[coutil.item_id].firm == coutil.quantity
    cancel_job(job, why="moved abroad", user=books)
    job.refresh_from_db()
    timer.refresh_from_db()
    assert (job.stage, job.ended_why) == ("cancelled", "moved abroad")
    assert availability([coutil.item_id], on=TODAY())[coutil.item_id].firm == 0
    assert timer.ended_at is not None
    assert held(job)[0].issued == 100
    assert job.payments.count() == 1
    assert job.seam_passes.count() == 40
    assert job.revision.state == "accepted"
    assert next(note.words for note in job.notes.all()) == "Cancelled: moved abroad"
    with pytest.raises(Refused, match="over already"):
        cancel_job(job, why="again", user=books)
    with pytest.raises(Refused, match="job is over"):
        timing.start(operation(job, "CUT"), user=books, key=uuid4())


def test_a_job_is_not_cancelled_without_a_reason(job: Job):
    with pytest.raises(Refused, match="needs a reason"):
        cancel_job(job, why="")


def test_half_the_price_is_due_first_and_the_rest_after_it(job: Job, books: User):
    gross = job.option.gross
    half = int(gross * 100 / 2)
    owed = bill(job)
    assert (owed.total_minor, owed.deposit_due_minor, owed.balance_minor) == (int(gross * 100), half, int(gross * 100))
    pay(job, half - 1, books)
    assert not deposit(job).is_cleared
    pay(job, 1, books)
    assert deposit(job).is_cleared
    assert (bill(job).deposit_due_minor, bill(job).balance_minor) == (0, int(gross * 100) - half)


def test_a_change_raises_the_bill_by_its_price_and_its_tax(job: Job, books: User):
    """At 21 per cent: 100.00 of change are 121.00 to pay, and 50.00 less are 60.50 less."""
    before = bill(job).total_minor
    agree_change(job, what="Garter loops", net_minor=10_000, minutes=45, agreed_on=TODAY(), user=books)
    assert bill(job).total_minor == before + 12_100
    agree_change(job, what="No flossing", net_minor=-5_000, minutes=0, agreed_on=TODAY(), user=books)
    assert bill(job).total_minor == before + 12_100 - 6_050
    agree_change(job, what="Garter loops", net_minor=10_000, minutes=45, agreed_on=TODAY(), user=books)
    assert ChangeOrder.objects.count() == 2


def test_a_payment_that_is_sent_twice_counts_once_and_receipts_have_no_gap(job: Job, books: User):
    key = uuid4()
    first, again = pay(job, 4000, books, key=key), pay(job, 4000, books, key=key)
    assert first.pk == again.pk
    with pytest.raises(Refused):
        pay(job, 0, books)
    second = pay(job, 2500, books, what="balance")
    assert (first.number, second.number) == (1, 2)
    assert deposit(job).paid_minor == 6500


def test_what_goes_back_is_below_zero_and_never_more_than_came(job: Job, books: User):
    pay(job, 4000, books)
    back = pay(job, 1500, books, what="refund")
    assert back.amount_minor == -1500
    assert deposit(job).paid_minor == 2500
    with pytest.raises(Refused, match=r"€25\.00 came for this job, so €25\.01 cannot go back"):
        pay(job, 2501, books, what="refund")


def test_no_payment_on_a_day_to_come_or_in_a_closed_month(job: Job, books: User):
    with pytest.raises(Refused, match="still to come"):
        pay(job, 100, books, day=TODAY() + timedelta(days=1))
    close_until(TODAY())
    with pytest.raises(Refused, match="is closed"):
        pay(job, 100, books)
    assert not Payment.objects.exists()


def test_the_database_refuses_a_payment_of_nothing(job: Job):
    with pytest.raises(IntegrityError), transaction.atomic():
        Payment.objects.create(job=job, number=1, what="deposit", amount_minor=0, day=TODAY(), key=uuid4())


def test_planned_material_is_issued_once_and_more_of_it_where_more_was_needed(job: Job, books: User):
    lots = fill_shelf(job)
    line = line_of(job, "tip-7")
    lot, key = lots["tip-7"], uuid4()
    for _ in range(2):
        issue_planned(job, line, lot=lot, quantity=22, key=key, user=books)
    line.refresh_from_db()
    assert (line.issued, line.remaining) == (22, 0)
    issue_planned(job, line, lot=lot, quantity=2, key=uuid4(), user=books)
    assert [row.issued for row in held(job)] == [24]
    with pytest.raises(Refused, match="not 9999"):
        issue_planned(job, line, lot=lot, quantity=9999, key=uuid4(), user=books)


def test_what_shows_comes_from_one_lot_which_the_first_issue_chooses(job: Job, books: User):
    line = cloth_line(job)
    first, second = (stocked(line.item, 2 * line.quantity, 4000, dye_lot=dye) for dye in ("A", "B"))
    issue_planned(job, line, lot=first, quantity=50, key=uuid4(), user=books)
    line.refresh_from_db()
    assert line.lot_id == first.pk
    with pytest.raises(Refused) as caught:
        issue_planned(job, line, lot=second, quantity=50, key=uuid4(), user=books)
    assert codes(caught) == ["ledger.other-lot"]
    seen = issue_planned(job, line, lot=second, quantity=50, key=uuid4(), user=books, takes_reserved=True)
    assert seen.why == "Seen and accepted"
    lining = line_of(job, "coutil-white")
    for lot in (stocked(lining.item, 5000, 4000), stocked(lining.item, 5000, 4000)):
        issue_planned(job, lining, lot=lot, quantity=50, key=uuid4(), user=books)


def test_a_lot_that_holds_less_than_what_shows_is_not_begun(job: Job, books: User):
    line = cloth_line(job)
    short = stocked(line.item, line.quantity - 1, 4000)
    with pytest.raises(Refused) as caught:
        issue_planned(job, line, lot=short, quantity=50, key=uuid4(), user=books)
    assert codes(caught) == ["reservation.lot-too-small"]
    assert held(job) == []


def test_an_offcut_comes_back_as_a_remnant_with_its_size_and_its_share_of_the_cost(job: Job, books: User):
    line = line_of(job, "coutil-white")
    lot = stocked(line.item, 10_000, 100_000)  # 10 a metre
    issue_planned(job, line, lot=lot, quantity=1000, key=uuid4(), user=books)
    width = line.item.material.usable_width_mm
    key = uuid4()
    for _ in range(2):
        take_back(
            job,
            lot=lot,
            quantity=0,
            remnant=Remnant(width_mm=width // 2, length_mm=400),
            is_still_needed=False,
            key=key,
            user=books,
        )
    remnant = Lot.objects.get(remnant_length_mm=400)
    assert remnant.on_hand == 200  # half the width, 400 long
    spent = sum(Movement.objects.filter(posting__job=job.reference).values_list("value_minor", flat=True))
    assert spent == -(1000 - 200) * 10
    assert line_of(job, "coutil-white").remaining == 0


def test_what_came_back_is_kept_again_where_it_is_still_needed(job: Job, books: User):
    lots = fill_shelf(job)
    line = line_of(job, "tip-7")
    issue_planned(job, line, lot=lots["tip-7"], quantity=22, key=uuid4(), user=books)
    back = {"lot": lots["tip-7"], "remnant": None, "user": books}
    take_back(job, quantity=5, is_still_needed=True, key=uuid4(), **back)
    line.refresh_from_db()
    assert line.remaining == 5
    with pytest.raises(Refused, match="holds 17"):
        take_back(job, quantity=18, is_still_needed=False, key=uuid4(), **back)


@pytest.mark.parametrize(("is_cut_again", "holds"), [(True, 1000), (False, 850)])
def test_scrap_carries_its_cause_and_a_recut_takes_as_much_afresh(
    job: Job, books: User, is_cut_again: bool, holds: int
):
    """The job had 1000: 150 spoiled of it are taken anew, or the job goes on with 850."""
    line = line_of(job, "coutil-white")
    lot = stocked(line.item, 5000, 50_000)
    issue_planned(job, line, lot=lot, quantity=1000, key=uuid4(), user=books)
    key = uuid4()
    for _ in range(2):
        posting = spoil(
            job,
            lot=lot,
            quantity=150,
            cause="own-slip",
            words="panel 3 cut upside down",
            is_cut_again=is_cut_again,
            key=key,
            user=books,
        )
    assert (posting.kind, posting.job) == ("scrap", job.reference)
    assert (posting.cause, posting.why) == ("own-slip", "own-slip: panel 3 cut upside down")
    (row,) = held(job)
    assert (row.issued - row.returned, row.spoiled) == (holds, 150)
    lot.refresh_from_db()
    assert lot.on_hand == 5000 - holds - 150
    assert Posting.objects.filter(kind="scrap").count() == 1
    assert audit().differences == ()


@pytest.mark.parametrize("cause", ["", "moonlight"])
def test_scrap_without_a_cause_that_is_known_moves_nothing(job: Job, books: User, cause: str):
    lot = fill_shelf(job)["tip-7"]
    with pytest.raises(Refused, match="needs a cause"):
        spoil(job, lot=lot, quantity=1, cause=cause, words="x", is_cut_again=True, key=uuid4(), user=books)
    assert held(job) == []


def test_photographs_are_kept_with_the_clients_leave_only(job: Job, books: User, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    with pytest.raises(Refused, match="has not agreed"):
        keep_photo(job, photo=ContentFile(b"\x89PNG", name="a.png"), words="")
    job.client.may_photograph = True
    row = keep_photo(job, photo=ContentFile(b"\x89PNG", name="a.png"), words="Toile")
    assert list(tmp_path.rglob("*.png"))
    with transaction.atomic():
        take_away_photo(row, user=books)
    assert not JobPhoto.objects.exists()
    assert "Photograph taken away: Toile." in [note.words for note in job.notes.all()]


def test_a_payment_needs_no_open_job(job: Job, books: User):
    pay(job, 4000, books)
    cancel_job(job, why="changed her mind", user=books)
    take_payment(job, what="refund", amount_minor=4000, fee_minor=0, day=TODAY(), note="", key=uuid4(), user=books)
    assert deposit(job).paid_minor == 0
    with pytest.raises(Refused, match="over"):
        agree_change(job, what="x", net_minor=1, minutes=0, agreed_on=TODAY(), user=books)
