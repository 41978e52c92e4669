"""The pages of a stocktake. Counting by weight: common practice, no source."""

from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.http import HttpResponse
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from support_shelf import act, item, stocked
from support_stocktake import counted, fill, line, on_hand, posted, sheet

from inventory.counting.stocktaking import Counted, counts_fingerprint, keep_counts, lines_of, post, start
from inventory.models import Lot, Posting, Reservation, Stocktake

pytestmark = pytest.mark.django_db


def page(response: HttpResponse, status: int = 200) -> str:
    text = response.content.decode()
    assert response.status_code == status, text
    return " ".join(text.split())


def test_a_count_from_first_to_last_on_a_phone(browser: Browser, cord: Lot, tips: Lot):
    begun = browser.post(reverse("inventory:stocktakes"), {"place": "at Drawer 2", "is_blind": "on"})
    count = Stocktake.objects.get()
    assert begun["Location"] == reverse("inventory:stocktake", args=[1])
    assert count.started_by is not None
    first, second = (reverse("inventory:count-line", args=[1, line(count, lot).pk]) for lot in (cord, tips))
    assert f'href="{first}">Count</a>' in page(browser.get(begun["Location"]))
    assert f'href="{second}">Skip</a>' in page(browser.get(first))
    # 165 g net at 33 g/m, by hand 5 m; 35.7 g at 18.4 g a hundred, by hand 194.02.
    went = browser.post(first, {"gross": "245", "empty": "80", "amount": ""})
    assert went["Location"] == second
    done = browser.post(second, {"gross": "35,7", "empty": "", "amount": ""})
    assert done["Location"] == reverse("inventory:stocktake-review", args=[1])
    rows = list(lines_of(count).values_list("counted", "book_quantity", "how"))
    assert rows == [(5_000, 10_000, "165 g net at 33 g/m"), (194, 200, "35.7 g net at 18.4 g per 100")]
    text = page(browser.get(done["Location"]))
    assert "−5 m" in text
    assert "−€5.60" in text
    said = {"key": str(uuid4()), "was_seen": counts_fingerprint(count.lines.all()), "why": "yearly"}
    refused = page(browser.post(done["Location"], said), 422)
    assert refused.count("More than 5 % needs a reason.") == 1
    said |= {f"reason_{line(count, cord).pk}": "sold at a fair"}
    text = page(browser.post(done["Location"], said, follow=True))
    assert "Stocktake 1 is posted." in text
    assert "sold at a fair" in text
    # A double click, and a new form of the same page, post nothing more.
    for again in (said, {**said, "key": str(uuid4())}):
        assert "Stocktake 1 is posted already." in page(browser.post(done["Location"], again, follow=True))
    assert Posting.objects.filter(kind="count").count() == 1
    assert (on_hand(cord), on_hand(tips)) == (5_000, 194)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({}, "Write down what lies there; 0 where nothing does."),
        ({"amount": "5", "gross": "245"}, "Write down the amount or the weight, not both."),
        ({"amount": "5 m"}, "&#x27;5 m&#x27; is not a number"),
        ({"amount": "1.0005"}, "1.0005 is finer than a millimetre."),
        ({"gross": "80", "empty": "245"}, "The empty reel at 245 g weighs more than the 80 g with all on it."),
        ({"gross": "heavy"}, "&#x27;heavy&#x27; is not a number"),
        ({"empty": "80"}, "Write down what lies there"),
    ],
)
def test_a_count_that_cannot_be_is_said_and_not_kept(
    count: Stocktake, browser: Browser, cord: Lot, said: dict[str, str], words: str
):
    address = reverse("inventory:count-line", args=[1, line(count, cord).pk])
    assert words in page(browser.post(address, {"amount": "", **said}), 422)
    assert line(count, cord).counted is None


def test_nothing_is_a_count_too(count: Stocktake, browser: Browser, cord: Lot):
    browser.post(reverse("inventory:count-line", args=[1, line(count, cord).pk]), {"amount": "0"})
    assert line(count, cord).counted == 0


def test_weights_are_asked_for_where_the_material_says_what_it_weighs(count: Stocktake, browser: Browser, cloth: Lot):
    text = page(browser.get(reverse("inventory:count-line", args=[1, line(count, cloth).pk])))
    assert 'name="amount"' in text
    assert 'name="gross"' not in text


@pytest.mark.parametrize("is_blind", [True, False])
def test_a_blind_count_shows_no_book_while_counting(cord: Lot, browser: Browser, is_blind: bool):
    stocked(cord.item, 7_654, 1_00)
    count = start(place="Drawer 2", is_blind=is_blind, by=None)
    last = count.lines.last()
    assert last is not None
    for name, *more in (["stocktake"], ["count-line", last.pk], ["stocktake-print"]):
        text = page(browser.get(reverse(f"inventory:{name}", args=[1, *more])))
        assert ("7.654 m" in text) is not is_blind


def test_the_review_says_what_is_not_counted_and_what_agrees(count: Stocktake, browser: Browser):
    counted(count, cord=10_000)
    address = reverse("inventory:stocktake-review", args=[1])
    assert "What was counted agrees with the book." in page(browser.get(address))
    counted(count, tips=199)
    text = page(browser.get(address))
    assert "1 counted line agrees with the book." in text
    assert "Not counted, and left as they are" in text
    assert text.count('<span class="unit">Lot ') == 1


def test_work_that_is_short_after_the_posting_is_named_on_the_page(count: Stocktake, browser: Browser, cord: Lot):
    kept = Reservation.objects.create(
        reference="Q12", title="Stage", is_firm=True, needed_by="2027-01-04", link="/quotes/12/"
    )
    kept.lines.create(item=cord.item, quantity=9_900, operation="lacing")
    counted(count, cord=9_800)
    posted(count)
    text = page(browser.get(reverse("inventory:stocktake-review", args=[1])))
    assert 'Lacing cord</span> 9.8 m on hand, 9.9 m kept: <a href="/quotes/12/">Q12</a> needs 9.9 m.' in text


def test_a_page_that_is_stale_is_refused_and_shows_the_new_list(count: Stocktake, browser: Browser):
    counted(count, tips=199)
    address = reverse("inventory:stocktake-review", args=[1])
    said = {"key": str(uuid4()), "was_seen": counts_fingerprint(count.lines.all()), "why": "yearly"}
    counted(count, cord=9_900)
    text = page(browser.post(address, said), 422)
    assert "Something was counted meanwhile" in text
    assert f'name="was_seen" value="{counts_fingerprint(count.lines.all())}"' in text


def test_a_sheet_is_handed_in_on_the_page(count: Stocktake, browser: Browser, cord: Lot):
    address = reverse("inventory:stocktake-upload", args=[1])
    good = SimpleUploadedFile("count.xlsx", fill(sheet(browser, 1), 5, 9.75, None))
    assert "2 lines counted by the sheet." in page(browser.post(address, {"file": good}, follow=True))
    bad = SimpleUploadedFile("count.xlsx", fill(sheet(browser, 1), 5, "a few", None))
    text = page(browser.post(address, {"file": bad}), 422)
    assert "row 3, Counted" in text
    assert "This field is required." in page(browser.post(address), 422)
    assert line(count, cord).counted == 9_750


def test_a_count_that_is_dropped_leaves_the_books(count: Stocktake, browser: Browser, tips: Lot):
    counted(count, tips=1)
    address = reverse("inventory:stocktake-drop", args=[1])
    assert browser.get(address).status_code == 405
    assert "Stocktake 1 is dropped." in page(browser.post(address, follow=True))
    assert "Stocktake 1 is dropped already." in page(browser.post(address, follow=True))
    assert on_hand(tips) == 200
    assert "nothing was posted" in page(browser.get(reverse("inventory:stocktake", args=[1]), follow=True))
    for name in ("inventory:stocktake-upload", "inventory:stocktake-review"):
        assert browser.post(reverse(name, args=[1]))["Location"] == reverse("inventory:stocktake-review", args=[1])


def test_the_whole_shelf_is_one_of_the_places(browser: Browser, cord: Lot, cloth: Lot):
    address = reverse("inventory:stocktakes")
    assert '<option value="at ">The whole shelf (2 lots)</option>' in page(browser.get(address))
    browser.post(address, {"place": "at "})
    count = Stocktake.objects.get()
    assert (count.place, count.is_blind, count.lines.count()) == ("", False, 2)


def test_a_second_count_of_a_place_is_refused_on_the_page(count: Stocktake, browser: Browser):
    text = page(browser.post(reverse("inventory:stocktakes"), {"place": "at Chest"}), 422)
    assert "Stocktake 1 of the whole shelf is being counted already." in text
    assert Stocktake.objects.count() == 1


def test_a_line_of_another_count_is_not_found(cord: Lot, cloth: Lot, browser: Browser):
    start(place="Drawer 2", is_blind=True, by=None)
    chest = start(place="Chest", is_blind=True, by=None)
    assert browser.get(reverse("inventory:count-line", args=[1, line(chest, cloth).pk])).status_code == 404


def test_pages_take_as_many_queries_for_many_lots_as_for_few(browser: Browser, cord: Lot):
    taken = []
    for _ in range(2):
        for _ in range(4):
            stocked(item("cord", place="Drawer 2"), 1_000, 1_00)
        count = start(place="", is_blind=False, by=None)
        for row in count.lines.all()[1:]:
            keep_counts(count, [Counted(line=row.pk, quantity=5, how="counted")])
        addresses = [reverse("inventory:stocktakes")] + [
            reverse(f"inventory:{name}", args=[count.number, *more])
            for name, *more in (
                ["stocktake"],
                ["stocktake-print"],
                ["stocktake-xlsx"],
                ["stocktake-review"],
                ["count-line", row.pk],
            )
        ]
        queries = []
        for address in addresses:
            with CaptureQueriesContext(
                connection,
            ) as captured:
                assert browser.get(address).status_code == 200
            queries.append(len(captured))
        posted_row = post(
            count,
            act("x"),
            was_seen=counts_fingerprint(count.lines.all()),
            reasons=dict.fromkeys(count.lines.values_list("pk", flat=True), "why not"),
        )
        assert posted_row is not None
        with CaptureQueriesContext(connection) as captured:
            browser.get(reverse("inventory:stocktake-review", args=[count.number]))
        taken.append([*queries, len(captured)])
    assert taken[0] == taken[1]
    assert max(taken[0]) < 12
