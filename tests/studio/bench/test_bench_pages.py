"""The bench in the browser: every page behind the login, answering, refusing in words, without inline script.

Sources: HTML (a label for every field), the Content Security Policy Level 3 recommendation (no inline script or style).
"""

import re
from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from support_addresses import ROUTES
from support_bench import BenchPage, cloth_line, fill_shelf, new_job, operation, pay, ready_to_cut, seam, sign_toile
from support_laying import drawn_at_once
from support_pictures import photograph

from inventory.models import Lot, StockItem
from quotes.desk.quoting import accept
from quotes.models import PatternRevision, QuoteRevision
from studio.bench import timing
from studio.bench.job_materials import held, issue_planned
from studio.bench.stages import advance
from studio.laying.asking import LayWishes
from studio.laying.wanting import cloths_wanted
from studio.models import ChangeOrder, Credit, Fitting, Job, JobOperation, JobPhoto, JointSearch, Payment, TimeEntry
from studio.money.bills import agreed

TODAY = timezone.localdate
PLANNING = ("promise", "calendar", "day-off-take-away", "calendar-link-take-away")
"""Pages of the calendar, which has tests of its own."""
BENCH = sorted(route for route, name in ROUTES.items() if route.startswith("bench/") and name not in PLANNING)
POST_ONLY = (
    "/stop/",
    "/start/",
    "/move/",
    "/seams/",
    "/tick/",
    "/join/",
    "/answer/",
    "/present/",
    "/take-away/",
    "/longer/",
    "/instead/<int:item>/",
    "bench/begin/<int:revision>/",
)
PICTURE = photograph("PNG")


@pytest.fixture
def job(books: User, pattern: PatternRevision, two_layers: dict, settings, tmp_path) -> Job:
    """A job with one of everything that it can have."""
    settings.MEDIA_ROOT = tmp_path
    made = new_job(books, pattern, two_layers)
    lots = fill_shelf(made)
    line = cloth_line(made)
    issue_planned(made, line, lot=lots[line.item.code], quantity=line.quantity, key=uuid4(), user=books)
    timing.write_down(operation(made, "CONS"), user=books, key=uuid4(), day=TODAY(), minutes=70)
    pay(made, 5000, books, fee_minor=120, note="by card")
    sign_toile(made, books)
    made.client.may_photograph = True
    made.client.save()
    JobPhoto.objects.create(job=made, photo=SimpleUploadedFile("a.png", PICTURE), words="Toile")
    inner = StockItem.objects.select_related("material").get(code="coutil-white")
    (wanted,) = cloths_wanted(inner.pk)
    drawn_at_once(inner, wanted.jobs, LayWishes(lot=lots[inner.code]))
    drawn = JointSearch.objects.values().get()
    JointSearch.objects.create(**{**drawn, "id": None, "key": "asked for and not drawn yet", "state": "waiting"})
    made.changes.create(what="Garter loops", net_minor=10_000, minutes=45, agreed_on=TODAY(), by=books)
    return made


def address(route: str, job: Job) -> str:
    """A route with the numbers of a job and what it has put in."""
    values = {
        "pk": job.photos.get().pk if "photographs/<int:pk>" in route else job.pk,
        "revision": job.revision_id,
        "operation": operation(job, "CONS").pk,
        "entry": TimeEntry.objects.get().pk,
        "line": cloth_line(job).pk,
        "item": cloth_line(job).item_id,
        "lot": held(job)[0].lot.pk,
        "fitting": job.fittings.get().pk,
        "number": job.payments.get().number,
        "lay": job.joint_shares.get().lay_id,
        "search": JointSearch.objects.get(state="waiting").pk,
        "part": 0,
    }
    return "/" + re.sub(r"<int:(\w+)>", lambda match: str(values[match[1]]), route)


@pytest.mark.django_db
@pytest.mark.parametrize("route", BENCH)
def test_every_page_of_the_bench_is_behind_the_login(route: str):
    response = Browser().get("/" + re.sub(r"<int:\w+>", "1", route))
    assert response.status_code == 302
    assert response["Location"].startswith("/login/")


def test_every_page_of_the_bench_answers_and_holds_to_the_rules_of_html(job: Job, browser: Browser):
    Credit.objects.create(
        pk=job.pk, job=job, net_minor=1, tax_minor=0, why="late", day=TODAY(), key=uuid4(), noted_at=timezone.now()
    )
    for route in BENCH:
        response = browser.get(address(route, job))
        if route.endswith(POST_ONLY):
            assert response.status_code == 405, route
            continue
        assert response.status_code == 200, route
        data = b"".join(response) if response.streaming else response.content
        if response["Content-Type"].startswith("text/html"):
            page = BenchPage(data.decode())
            assert (page.inline, page.unlabelled, page.nameless_buttons) == ([], [], 0), route
            assert all(tokens == 1 for tokens in page.posts), route
            assert "unsafe" not in response["Content-Security-Policy"]


def test_what_is_not_there_is_not_found(books: User, browser: Browser):
    for route in BENCH:
        path = "/" + re.sub(r"<int:\w+>", "999", route)
        if "<int:" in route:
            answer = browser.post(path) if route.endswith(POST_ONLY) else browser.get(path)
            assert answer.status_code == 404, route


def test_the_pages_of_a_job_that_is_over_still_answer(job: Job, browser: Browser, books: User):
    browser.post(reverse("job-cancel", args=[job.pk]), {"why": "moved abroad"})
    for name in ("job", "job-materials", "job-client", "job-stage", "job-deliver", "job-sheet"):
        assert browser.get(reverse(name, args=[job.pk])).status_code == 200
    assert "moved abroad" in browser.get(reverse("job", args=[job.pk])).content.decode()


def test_starting_a_job_twice_leads_to_the_one_job(sent: QuoteRevision, books: User, browser: Browser):
    accept(revision=sent, option="Two layers", user=books)
    assert b"Start the job" in browser.get(f"/quotes/{sent.quote_id}/1/").content
    assert b"Underbust" in browser.get("/bench/").content
    first = browser.post(reverse("job-start", args=[sent.pk]))
    again = browser.post(reverse("job-start", args=[sent.pk]))
    job = Job.objects.get()
    assert first["Location"] == again["Location"] == f"/bench/{job.pk}/"
    assert b"Open the job" in browser.get(f"/quotes/{sent.quote_id}/1/").content


def test_a_quote_that_is_out_is_not_begun_and_says_why(sent: QuoteRevision, browser: Browser):
    answer = browser.post(reverse("job-start", args=[sent.pk]), follow=True)
    assert "Only an accepted quote becomes a job" in answer.content.decode()
    assert not Job.objects.exists()


def test_two_devices_see_and_stop_the_same_timer(job: Job, browser: Browser, maker: User):
    phone = Browser()
    phone.force_login(maker)
    row = operation(job, "PIN")
    start = reverse("timer-start", args=[job.pk, row.pk])
    browser.post(start, {"key": str(uuid4())})
    phone.post(start, {"key": str(uuid4())})
    assert TimeEntry.objects.filter(operation=row).count() == 1
    assert "Roll-pin" in phone.get("/bench/").content.decode()
    entry = TimeEntry.objects.get(operation=row)
    browser.post("/bench/timer/stop/", {"entry": entry.pk, "back": f"/bench/{job.pk}/"})
    late = phone.post("/bench/timer/stop/", {"entry": entry.pk}, follow=True)
    assert "stopped already" in late.content.decode()
    assert TimeEntry.objects.filter(operation=row).count() == 1


def begun(row: JobOperation, by: User, *, ago: timedelta) -> TimeEntry:
    """A timer that has run for so long."""
    since = timezone.now() - ago
    return TimeEntry.objects.create(operation=row, by=by, started_at=since, day=timezone.localdate(since), key=uuid4())


def test_a_timer_survives_a_closed_browser(job: Job, browser: Browser, maker: User):
    row = operation(job, "PIN")
    begun(row, maker, ago=timedelta(minutes=95))
    browser.logout()
    browser.force_login(maker)
    assert "1 h 35" in browser.get(reverse("job", args=[job.pk])).content.decode()


def test_a_timer_that_ran_all_night_is_asked_about(job: Job, browser: Browser, maker: User):
    entry = begun(operation(job, "PIN"), maker, ago=timedelta(hours=12))
    answer = browser.post("/bench/timer/stop/", {"entry": entry.pk}, follow=True)
    assert "Was the timer forgotten?" in answer.content.decode()


@pytest.mark.parametrize("back", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)"])
def test_stopping_never_leads_to_another_site(job: Job, browser: Browser, back: str):
    assert browser.post("/bench/timer/stop/", {"back": back})["Location"] == "/bench/"


def test_seams_are_ticked_by_button_one_by_one_and_all_at_once(job: Job, browser: Browser):
    path = reverse("job-seams", args=[job.pk])
    browser.post(path, {"tick": seam(job, 1).pk})
    browser.post(path, {"tick": seam(job, 1).pk})
    assert seam(job, 1).done_at is not None
    refused = browser.post(path, {"tick": seam(job, 2, line=3).pk}, follow=True)
    assert "Pass 1 comes before pass 2" in refused.content.decode()
    browser.post(path, {"all": "1", "shell": "inner shell"})
    assert job.seam_passes.filter(shell="inner shell", done_at__isnull=False).count() == 10
    browser.post(path, {"untick": seam(job, 1).pk})
    assert seam(job, 1).done_at is None
    assert "Tick taken back" in browser.get(reverse("job", args=[job.pk])).content.decode()
    assert browser.post(path, {"tick": "9" * 30}).status_code == 404


def test_a_forgotten_second_pass_stands_in_red_on_the_job_and_on_the_bench(job: Job, browser: Browser):
    browser.post(reverse("job-seams", args=[job.pk]), {"all": "1", "shell": "outer shell"})
    start = reverse("timer-start", args=[job.pk, operation(job, "CLIP").pk])
    page = browser.post(start, {"key": str(uuid4())}, follow=True).content.decode()
    assert "slips" in page
    assert "the second pass is not ticked on outer shell" in page
    assert "the second pass is not ticked on outer shell" in browser.get("/bench/").content.decode()


def test_an_answer_to_htmx_holds_its_messages_within_the_part_that_is_swapped(job: Job, browser: Browser):
    tick = reverse("operation-tick", args=[job.pk, operation(job, "CHAN").pk])
    answer = browser.post(tick, headers={"HX-Request": "true"}, follow=True).content.decode()
    assert "The waist tape goes in before" in answer.split('id="work"')[1]


def test_cutting_asks_first_and_takes_a_reason_for_deposit_and_measures_only(job: Job, browser: Browser, books: User):
    for stage in ("drafting", "toile"):
        advance(job, to=stage, user=books, on=TODAY())
    path = reverse("job-stage", args=[job.pk])
    asked = browser.get(path).content.decode()
    assert "point of no return" in asked
    assert "of the deposit of" in asked
    refused = browser.post(path, {"to": "cutting"})
    assert refused.status_code == 422
    browser.post(path, {"to": "cutting", "because": "she pays on Friday"})
    job.refresh_from_db()
    assert job.stage == "cutting"
    assert "she pays on Friday" in browser.get(reverse("job", args=[job.pk])).content.decode()


BAD = [
    ("job-stage", {"to": "cutting"}, "Drafting comes next"),
    ("job-stage", {"to": "moonlight"}, "Drafting comes next"),
    ("job-dates", {"due": "soon"}, "Enter a valid date"),
    ("job-cancel", {"why": ""}, "required"),
    (
        "job-deliver",
        {"on": "2999-01-01", "discount": "0", "net": "1", "fee": "0", "extras": "0", "undone": "done"},
        "to come",
    ),
    ("job-deliver", {"on": "2999-01-01", "discount": "0", "net": "-1"}, "less than zero"),
    ("operation-time", {"key": str(uuid4()), "day": "2020-01-01", "minutes": "1:99"}, "is no time"),
    ("operation-time", {"key": str(uuid4()), "day": "2999-01-01", "minutes": "20"}, "still to come"),
    ("time-correct", {"key": str(uuid4()), "day": "2020-01-01", "minutes": "20"}, "required"),
    ("job-issue", {"key": str(uuid4()), "quantity": "99", "lot": "lot"}, "holds"),
    ("job-issue", {"key": str(uuid4()), "quantity": "much", "lot": "lot"}, "not a number"),
    ("job-take-back", {"key": str(uuid4())}, "Say how much"),
    ("job-take-back", {"key": str(uuid4()), "quantity": "40"}, "cannot come back"),
    ("job-spoil", {"key": str(uuid4()), "quantity": "0.1", "words": "x"}, "required"),
    ("fitting-new", {"kind": "toile", "at": "tomorrow", "minutes": "60"}, "Enter a valid date/time"),
    ("fitting-held", {"held_on": "2999-01-01"}, "still to come"),
    ("change-new", {"what": "x", "sense": "more", "net": "1.005", "agreed_on": "2020-01-01"}, "decimals"),
    ("payment-new", {"key": str(uuid4()), "what": "refund", "amount": "5000", "day": "2020-01-01"}, "cannot go back"),
    ("job-photo-new", {"photo": SimpleUploadedFile("a.png", b"<svg onload=alert(1)>")}, "no JPEG, PNG or WebP"),
]


@pytest.mark.parametrize(("name", "said", "words"), BAD)
def test_bad_input_is_answered_by_422_and_words(job: Job, browser: Browser, name: str, said: dict, words: str):
    route = next(route for route, its_name in ROUTES.items() if its_name == name)
    data = {key: held(job)[0].lot.pk if value == "lot" else value for key, value in said.items()}
    answer = browser.post(address(route, job), data)
    assert answer.status_code == 422
    assert words in answer.content.decode()


def counted() -> list[int]:
    return [model.objects.count() for model in (Payment, ChangeOrder, Fitting, TimeEntry)]


def test_forms_that_are_sent_twice_count_once(job: Job, browser: Browser):
    day = TODAY().isoformat()
    pk, row = job.pk, operation(job, "ADMIN").pk
    before = counted()
    posts = (
        (reverse("payment-new", args=[pk]), {"key": str(uuid4()), "what": "balance", "amount": "20", "day": day}),
        (reverse("change-new", args=[pk]), {"what": "Lace", "sense": "less", "net": "12.50", "agreed_on": day}),
        (reverse("fitting-new", args=[pk]), {"kind": "boned", "at": "2027-03-01T10:00", "minutes": "45"}),
        (reverse("operation-time", args=[pk, row]), {"key": str(uuid4()), "day": day, "minutes": "0:25"}),
    )
    for path, data in posts:
        assert [browser.post(path, data).status_code for _ in range(2)] == [302, 302]
    assert counted() == [number + 1 for number in before]
    assert ChangeOrder.objects.get(what="Lace").net_minor == -1250
    assert TimeEntry.objects.get(operation=row).minutes == 25


def test_material_is_issued_spoiled_and_taken_back_from_the_jobs_page(job: Job, browser: Browser):
    tips = Lot.objects.get(item__code="tip-7")
    line = tips.item.reservation_lines.get()
    page = browser.get(reverse("job-issue", args=[job.pk, line.pk]))
    assert page.context["form"]["quantity"].value() == "22"
    said = {"key": str(uuid4()), "lot": tips.pk, "quantity": "22"}
    browser.post(reverse("job-issue", args=[job.pk, line.pk]), said)
    lost = {"key": str(uuid4()), "quantity": "2", "cause": "own-slip", "words": "crushed", "is_cut_again": "on"}
    browser.post(reverse("job-spoil", args=[job.pk, tips.pk]), lost)
    browser.post(reverse("job-take-back", args=[job.pk, tips.pk]), {"key": str(uuid4()), "quantity": "3"})
    (row,) = [row for row in held(job) if row.lot == tips]
    assert (row.issued, row.returned, row.spoiled) == (22, 3, 2)
    shown = browser.get(reverse("job-materials", args=[job.pk])).content.decode()
    assert "2 spoiled" in shown
    assert "3 came back" in shown


def test_a_discount_is_put_into_the_amounts_and_shown_once_more(job: Job, browser: Browser):
    path = reverse("job-deliver", args=[job.pk])
    form = browser.get(path).context["form"]
    said = {name: form[name].value() for name in form.fields} | {"on": TODAY().isoformat(), "undone": "done"}
    first = browser.post(path, {**said, "discount": "20"})
    assert first.status_code == 422
    shown = first.context["form"]
    again = {name: shown[name].value() for name in shown.fields}
    assert float(again["net"]) == pytest.approx(float(said["net"]) - 20)
    tax = Decimal(agreed(job)[1] - 420) / 100
    assert f"21 % by the quote: €{tax}" in shown.fields["net"].help_text
    assert browser.post(path, again).status_code == 302
    job.refresh_from_db()
    assert (job.stage, job.discount_minor) == ("delivered", 2000)
    earned = reverse("account", args=[job.reference])
    assert earned in browser.get(reverse("job", args=[job.pk])).content.decode()
    assert browser.get(earned).status_code == 200


def test_photographs_are_shown_as_pictures_and_only_while_the_leave_stands(job: Job, browser: Browser):
    picture = reverse("job-photo", args=[job.photos.get().pk])
    shown = browser.get(picture)
    assert b"".join(shown) == PICTURE
    assert shown["Content-Type"] == "image/png"
    assert "sandbox" in shown["Content-Security-Policy"]
    job.client.may_photograph = False
    job.client.save()
    assert browser.get(picture).status_code == 404
    page = browser.get(reverse("job-client", args=[job.pk])).content.decode()
    assert "has not agreed to photographs" in page
    assert picture not in page
    data = {"photo": SimpleUploadedFile("b.png", PICTURE), "words": ""}
    assert browser.post(reverse("job-photo-new", args=[job.pk]), data).status_code == 422


def test_a_photograph_is_kept_under_a_name_of_its_own(job: Job, browser: Browser):
    data = {"photo": SimpleUploadedFile("../client name.png", PICTURE), "words": "Back"}
    assert browser.post(reverse("job-photo-new", args=[job.pk]), data).status_code == 302
    name = JobPhoto.objects.get(words="Back").photo.name
    assert re.fullmatch(r"jobs/[0-9a-f]{32}\.jpg", name)
    browser.post(reverse("job-photo-take-away", args=[JobPhoto.objects.get(words="Back").pk]))
    assert JobPhoto.objects.count() == 1


def test_a_tap_on_a_timer_asks_the_database_little(job: Job, browser: Browser):
    """What is saved by a tap does not read the quote's figures or the seams."""
    start = reverse("timer-start", args=[job.pk, operation(job, "PIN").pk])
    with CaptureQueriesContext(connection) as captured:
        assert browser.post(start, {"key": str(uuid4())}).status_code == 302
    assert not any("figures" in query["sql"] or "seampass" in query["sql"] for query in captured)
    assert len(captured) <= 12


def pages(job: Job) -> Iterator[str]:
    for name in ("job", "job-materials", "job-client"):
        yield reverse(name, args=[job.pk])


def test_a_jobs_pages_ask_as_often_with_much_work_as_with_little(job: Job, browser: Browser, books: User):
    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(path).status_code == 200
        return len(captured)

    ready_to_cut(job, books)
    timing.write_down(operation(job, "CLIP"), user=books, key=uuid4(), day=TODAY(), minutes=5)
    before = {path: queries(path) for path in pages(job)}
    for row in job.operations.all():
        for _ in range(3):
            timing.write_down(row, user=books, key=uuid4(), day=TODAY(), minutes=5)
    for number in range(10):
        pay(job, 100 + number, books)
        job.fittings.create(kind="boned", at=timezone.now())
    assert {path: queries(path) for path in pages(job)} == before
