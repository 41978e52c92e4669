"""What would do in place of what a job lacks, on the page of its materials, and taken there at one press.

Source of the rules: the trade's notes of this house, reordering, “substitutions (rank, ask, record)”: 5 mm shorter needs
no question, a longer bone is cut and tipped with 5 minutes and 2 tips, and a substitution is recorded. Quantities are
those of the takeoff's worked example: four flats of 9½ in, 241.3 mm; its tips at 0.11, an hour at the rates it was
sealed at.
"""

from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_shelf import stocked

from inventory.ground.findings import Refused
from inventory.models import Reservation, ReservationLine, StockItem, Substitute
from inventory.reserving.reservations import Wish, reserve
from inventory.stock.price_list import item_of
from studio.bench.job_materials import planned_lines, take_stand_in
from studio.bench.material_page import materials_page
from studio.models import Job

FLAT = "flat-7-dipped-241-3"
TODAY = timezone.localdate


def flats(job: Job) -> ReservationLine:
    return next(line for line in planned_lines(job) if line.item.code == FLAT)


def flat_of(tenths: int, count: int = 10) -> StockItem:
    made = item_of(StockItem.objects.get(code=FLAT).material, tenths)
    stocked(made, count, 135 * count)
    return made


def diary(job: Job) -> list[str]:
    return list(job.notes.filter(words__startswith="Instead").values_list("words", flat=True))


def offered(job: Job) -> list[tuple[str, str]]:
    (missing,) = [row for row in materials_page(job, on=TODAY()).missing if row.row.code == FLAT]
    return [(row.code, row.cost) for row in missing.row.stand_ins]


def take(job: Job, item: StockItem, user: User | None = None) -> None:
    take_stand_in(job, flats(job).pk, item.pk, user=user, on=TODAY())


def test_stand_ins_stand_under_what_lacks_with_their_price(job: Job, browser: Browser):
    flat_of(2380)
    flat_of(2540)
    stocked(StockItem.objects.get(code="tip-7"), 100, 1100)
    rates = job.revision.snapshot.rates
    hour = rates.labour_per_hour + rates.overhead_per_hour
    longer = round(hour / 3 + 8 * Decimal("0.11"), 2)  # four times 5 minutes, and 8 tips
    assert offered(job) == [("flat-7-dipped-238", "costs as much"), ("flat-7-dipped-254", f"€{longer} more")]
    page = browser.get(reverse("job-materials", args=[job.pk])).content.decode()
    assert "3.3 mm shorter, which needs no question." in page
    assert "8 tips +€0.88" in page
    assert "Take it instead" in page


def test_what_the_maker_allows_stands_first(job: Job):
    flat_of(2380)
    own = flat_of(2000)
    Substitute.objects.create(item=flats(job).item, stand_in=own, ask=True, why="short-waisted")
    assert [code for code, _ in offered(job)] == [own.code, "flat-7-dipped-238"]


def test_one_press_keeps_the_stand_in_and_the_diary_says_why(job: Job, browser: Browser, books: User):
    shorter, line = flat_of(2380), flats(job)
    path = reverse("job-stand-in", args=[job.pk, line.pk, shorter.pk])
    said = {"act_key": "a-press"}
    assert [browser.post(path, said)["Location"] for _ in range(2)] == [reverse("job-materials", args=[job.pk])] * 2
    kept = {row.item.code: (row.quantity, row.operation) for row in planned_lines(job)}
    assert FLAT not in kept
    assert kept[shorter.code] == (4, line.operation)
    assert diary(job) == [f"Instead of 4 of {line.item}: 4 of {shorter}. 3.3 mm shorter, which needs no question."]
    assert FLAT not in {row.row.code for row in materials_page(job, on=TODAY()).missing}
    call_command("audit")  # leaves with 1 where the books differ
    assert browser.post(path, {"act_key": "another"}).status_code == 422
    assert (len(diary(job)), flats_of(job, shorter)) == (1, 4)


def flats_of(job: Job, of: StockItem) -> int:
    return Reservation.objects.get(reference=job.reference).lines.get(item=of).quantity


def test_only_what_is_short_is_taken_instead_and_tips_are_kept_with_it(job: Job):
    stocked(flats(job).item, 1, 135)
    longer, tips = flat_of(2600), StockItem.objects.get(code="tip-7")
    stocked(tips, 100, 1100)
    planned = flats_of(job, tips)
    operation = flats(job).operation
    take(job, longer)
    assert (flats(job).quantity, flats_of(job, longer)) == (1, 3)
    kept = {(row.item.code, row.operation): row.quantity for row in planned_lines(job)}
    assert kept["tip-7", operation] >= 6
    assert sum(count for (code, _), count in kept.items() if code == "tip-7") == planned + 6


def test_what_other_work_asked_for_meanwhile_is_not_taken(job: Job, browser: Browser):
    shorter, line = flat_of(2380, 4), flats(job)
    wish = Wish(item=shorter, quantity=1, operation="bones")
    reserve(reference="Q9", title="", link="", wishes=[wish], needed_by=TODAY(), expires_on=None)
    with pytest.raises(Refused, match="does not lie free"):
        take(job, shorter)
    answer = browser.post(reverse("job-stand-in", args=[job.pk, line.pk, shorter.pk]), {"act_key": "late"})
    assert answer.status_code == 422
    assert "does not lie free any more" in answer.content.decode()
    assert (flats(job).quantity, diary(job)) == (4, [])


def test_nothing_is_taken_in_place_of_what_has_come(job: Job):
    shorter = flat_of(2380)
    stocked(flats(job).item, 4, 540)
    with pytest.raises(Refused, match="is not lacking any more"):
        take(job, shorter)


def test_a_job_that_is_over_takes_nothing(job: Job):
    shorter = flat_of(2380)
    Job.objects.filter(pk=job.pk).update(stage=Job.Stage.CANCELLED)
    with pytest.raises(Refused, match="over already"):
        take(job, shorter)
