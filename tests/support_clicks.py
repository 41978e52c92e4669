"""Eight presses at once on every form that makes something, in a process with a database of its own.

Each case opens its page, fills the form in, and sends it eight times at once with the key that the page carries; with the
argument `each-its-page` from eight pages that were opened beside one another. Prints for each case, as JSON: the answers' statuses, how many more there are of what the form makes, and where the answers lead.
Started by test_eight_presses.
"""

import json
import os
import re
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from io import BytesIO
from pathlib import Path
from threading import Barrier
from typing import Any

import django
from support_clicks_more import MORE_CASES, Found, more_cases

PRESSES = 8
PATTERN = Path(__file__).parents[1] / "fixtures" / "patterns" / "underbust.json"

CASES = (
    "client-new",
    "client-measure",
    "new",
    "option-add",
    "revise",
    "offer-links",
    "pattern-new",
    "pattern-revise",
    "pattern-measures",
    "pattern-hand-in",
    "pattern-hand-in-next",
    "pattern-photographs",
    "pattern-photographs-next",
    "pattern-table-keep",
    "operation-add",
    "overhead",
    "construction-copy",
    "supplier-new",
    "offer-new",
    "material-new",
    "item-substitute",
    "item-receive",
    "lot-issue",
    "lot-count",
    "order-new",
    "import",
    "stocktakes",
    "job-start",
    "fitting-new",
    "change-new",
    "payment-new",
    "job-photo-new",
    "operation-time",
    "timer-start",
    "calendar, a day off",
    "calendar, a link",
    *MORE_CASES,
)


@dataclass(frozen=True, kw_only=True)
class Case:
    """A page (after `begin` was sent to it), what is filled in, and the count of what it makes."""

    name: str
    page: str
    has: str
    said: dict[str, Any] = field(default_factory=dict)
    file: tuple[str, str, bytes] | None = None
    begin: dict[str, str] = field(default_factory=dict)
    counts: Callable[[], int]


def main() -> None:
    # What libraries print below Python would spoil the answer.
    answer = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    django.setup()
    from django.conf import settings
    from django.db import connections

    settings.ALLOWED_HOSTS = ["testserver"]
    cases = made_world()
    told = {case.name: pressed(case, each_its_page=sys.argv[1:] == ["each-its-page"]) for case in cases}
    connections.close_all()
    with answer:
        json.dump(told, answer)


def pressed(case: Case, *, each_its_page: bool) -> dict[str, Any]:
    """What eight presses at once came to, on one page or each on a page of its own."""
    from django.contrib.auth.models import User
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.db import connections
    from django.test import Client as Browser
    from support_forms import PageForms, SentForm

    browser = Browser(raise_request_exception=False)
    browser.force_login(User.objects.get(username="maker"))
    asked = (browser.post, case.begin) if case.begin else (browser.get, {})
    barrier = Barrier(PRESSES)

    def opened() -> SentForm:
        page = asked[0](case.page, asked[1], follow=True)
        address = page.redirect_chain[-1][0] if page.redirect_chain else case.page
        return PageForms(page.content.decode(), address).that_has(case.has)

    forms = [opened() for _ in range(PRESSES)] if each_its_page else [opened()] * PRESSES

    def press(form: SentForm) -> tuple[int, str]:
        hand = Browser(raise_request_exception=False)
        hand.cookies = browser.cookies
        said = form.with_values(case.said)
        if case.file is not None:
            name, filename, data = case.file
            said[name] = SimpleUploadedFile(filename, data)
        barrier.wait()
        answer = hand.post(form.action, said)
        connections.close_all()
        faults = re.findall(r'class="(?:wrong|finding)[^>]*>(.*?)</', answer.content.decode(), re.DOTALL)
        return answer.status_code, answer.headers.get("Location") or " ".join(faults)

    before = case.counts()
    with ThreadPoolExecutor(PRESSES) as hands:
        answers = list(hands.map(press, forms))
    return {
        "statuses": sorted({status for status, _ in answers}),
        "made": case.counts() - before,
        "led_to": sorted({where for _, where in answers}),
    }


def made_world() -> list[Case]:
    """A workroom with one of everything that the forms begin from, and the forms."""
    from django.contrib.auth.models import User
    from django.core.files.uploadedfile import SimpleUploadedFile
    from django.utils import timezone
    from PIL import Image
    from support_bench import fill_shelf, job_of
    from support_patterns import block_a
    from support_shelf import SupplierFactory, offered, stocked

    from inventory import models as shelf_models
    from inventory.models import StockItem
    from quotes import models as desk
    from quotes.desk.quoting import accept, offer_of_today, send, start_quote
    from quotes.models import Client, QuoteRevision
    from quotes.patterns.hand_ins import hand_in_of_upload, save_hand_in
    from quotes.patterns.kept_patterns import keep_block
    from quotes.patterns.printed_cards import keep_cards_measured
    from quotes.seal.snapshot import offer_fingerprint
    from quotes.workroom.settings import standard_times
    from studio import models as bench
    from studio.demo import shelf, workroom

    today = timezone.localdate()
    maker = User.objects.create_user("maker", password="pins and chalk")
    workroom.load()
    workroom.new_rates()
    shelf.load()
    shelf.new_list()
    pattern = keep_block(block=block_a(), user=maker)
    upload = SimpleUploadedFile("underbust.json", PATTERN.read_bytes())
    keep_cards_measured(along_mm=250.0, across_mm=180.0)
    paper = b"measured later, step by step"
    handed_in = save_hand_in(hand_in_of_upload(upload=upload, pattern=None, user=maker))
    cloths = {"outer": "coutil-satin-bottle", "inner": "coutil-white"}
    option = {"name": "Two layers", "construction": "two-layer", "cloths": cloths, "choices": {}}

    def draft(name: str) -> QuoteRevision:
        client = Client(name=name, may_photograph=True)
        return start_quote(client=client, title="Underbust", due=None, pattern=pattern, options=[option], user=maker)

    def sent(name: str) -> QuoteRevision:
        made = draft(name)
        seen = offer_fingerprint(offer_of_today(made))
        return send(revision=made, valid_until=today + timedelta(days=14), seen=seen, user=maker)

    first, second, third = draft("Odile Farrant"), sent("Mira Solveig"), sent("Ines Marlow")
    accepted = accept(revision=sent("Tamsin Reed"), option="Two layers", user=maker)
    job = job_of(third, maker)
    fill_shelf(job)
    coutil = StockItem.objects.get(code="coutil-white")
    supplier = SupplierFactory(code="fennimore")
    offer = offered(supplier, coutil, 1)
    lot = stocked(coutil, 30_000, 71_400)
    black = StockItem.objects.get(code="coutil-black")
    stocked(black, 3_000, 7_000)
    operation = job.operations.first()
    picture = BytesIO()
    Image.new("RGB", (64, 48), "#446688").save(picture, "PNG")
    revision, revised, begun = (f"/quotes/{row.quote_id}/{row.number}/" for row in (first, second, accepted))
    work, soon = f"/bench/{job.pk}/", datetime.combine(today + timedelta(days=8), datetime.min.time())

    costs = desk.YearlyCost.objects.count()

    def rows(model: Any) -> Callable[[], int]:
        return lambda: model.objects.count()

    def case(label: str, address: str, has: str, counts: Any, **said: Any) -> Case:
        file, begin = said.pop("file", None), said.pop("begin", {})
        return Case(name=label, page=address, has=has, counts=counts, said=said, file=file, begin=begin)

    return [
        case("client-new", "/clients/new/", "name", rows(desk.Client), name="Nell Carver"),
        case("client-measure", "/clients/1/measures/", "waist.1", rows(desk.MeasurementSet), **{"waist.1": "72"}),
        case(
            "new",
            "/quotes/new/",
            "title",
            rows(desk.Quote),
            title="Stage",
            new_client="Bess Hollis",
            pattern_from="kept",
            pattern=str(pattern.pattern_id),
            cloth_outer="coutil-black",
        ),
        case(
            "option-add",
            f"{revision}options/add/",
            "name",
            lambda: len(QuoteRevision.objects.get(pk=first.pk).inputs["options"]),
            name="Another",
        ),
        case("revise", revised, "/revise/", rows(desk.QuoteRevision)),
        case("offer-links", f"{revised}links/", "expires", rows(desk.OfferLink)),
        case(
            "pattern-new",
            "/patterns/new/",
            "name",
            rows(desk.PatternRevision),
            name="Willow",
            file=("file", "underbust.json", PATTERN.read_bytes()),
        ),
        case(
            "pattern-revise",
            f"/patterns/{pattern.pattern_id}/revise/",
            "file",
            rows(desk.PatternRevision),
            file=("file", "underbust.json", PATTERN.read_bytes()),
        ),
        case(
            "pattern-measures",
            "/patterns/measures/",
            "name",
            rows(desk.KeptPattern),
            name="Draft",
            waist_girth="72",
            underbust_girth="80",
            bottom_girth="98",
        ),
        case(
            "pattern-hand-in",
            "/patterns/table/",
            "file",
            rows(desk.PatternHandIn),
            file=("file", "underbust.json", PATTERN.read_bytes()),
        ),
        case(
            "pattern-hand-in-next",
            f"/patterns/{pattern.pattern_id}/hand-in/",
            "file",
            rows(desk.PatternHandIn),
            file=("file", "underbust.json", PATTERN.read_bytes()),
        ),
        case(
            "pattern-photographs",
            "/patterns/photographs/",
            "photographs",
            rows(desk.PhotographSet),
            file=("photographs", "paper.jpg", paper),
        ),
        case(
            "pattern-photographs-next",
            f"/patterns/{pattern.pattern_id}/photographs/",
            "photographs",
            rows(desk.PhotographSet),
            file=("photographs", "paper.jpg", paper),
        ),
        case(
            "pattern-table-keep", f"/patterns/table/{handed_in.pk}/", "name", rows(desk.PatternRevision), name="Sallow"
        ),
        case(
            "operation-add",
            "/workroom/minutes/add/",
            "code",
            lambda: len(standard_times().operations),
            code="LACE",
            name="Lace it up",
            unit_min="3",
        ),
        case(
            "overhead",
            "/workroom/overhead/",
            f"form-{costs}-what",
            rows(desk.YearlyCost),
            **{f"form-{costs}-what": "Rent", f"form-{costs}-amount": "1200"},
        ),
        case("construction-copy", "/workroom/constructions/two-layer/copy/", "code", rows(desk.KeptConstruction)),
        case(
            "supplier-new",
            "/shelf/suppliers/new/",
            "name",
            rows(shelf_models.Supplier),
            name="Loom",
            code="loom",
            lead_days="5",
            currency="EUR",
        ),
        case(
            "offer-new",
            "/shelf/suppliers/fennimore/offers/new/",
            "item",
            rows(shelf_models.Offer),
            item=str(coutil.pk),
            their_code="C1",
            minimum_packs="1",
            pack="10",
            pack_unit="MTR",
            price_0="90",
        ),
        case(
            "material-new",
            "/shelf/materials/new/",
            "code",
            rows(shelf_models.StockMaterial),
            name="Twill",
            code="twill",
            kind="cloth",
            unit_cost="9",
        ),
        case(
            "item-substitute",
            "/shelf/items/coutil-white/stand-ins/",
            "stand_in",
            rows(shelf_models.Substitute),
            stand_in=str(black.pk),
        ),
        case(
            "item-receive",
            "/shelf/items/coutil-white/receive/",
            "value",
            rows(shelf_models.Posting),
            quantity="3",
            value="60",
        ),
        case(
            "lot-issue",
            f"/shelf/lots/{lot.pk}/issue/",
            "quantity",
            rows(shelf_models.Posting),
            quantity="0.5",
            job="for:sample",
        ),
        case(
            "lot-count",
            f"/shelf/lots/{lot.pk}/count/",
            "quantity",
            rows(shelf_models.Posting),
            quantity="29",
            why="yearly",
        ),
        case(
            "order-new",
            "/shelf/orders/new/",
            f"packs_{offer.pk}",
            rows(shelf_models.PurchaseOrder),
            begin={"supplier": supplier.code},
            **{f"packs_{offer.pk}": "2"},
        ),
        case(
            "import",
            "/shelf/import/",
            "file",
            rows(shelf_models.ImportSheet),
            file=("file", "own.csv", b"name;kind;price\nTwill;waist tape;0.95\n"),
        ),
        case("stocktakes", "/shelf/stocktakes/", "place", rows(shelf_models.Stocktake), place="at Cellar"),
        case("job-start", begun, f"/begin/{accepted.pk}/", rows(bench.Job)),
        case(
            "fitting-new", f"{work}fittings/plan/", "at", rows(bench.Fitting), kind="boned", at=f"{soon:%Y-%m-%d}T11:00"
        ),
        case(
            "change-new",
            f"{work}changes/add/",
            "what",
            rows(bench.ChangeOrder),
            what="A pocket",
            net="12",
            amount="12",
            minutes="20",
        ),
        case("payment-new", f"{work}payments/add/", "amount", rows(bench.Payment), amount="20", what="deposit"),
        case(
            "job-photo-new",
            f"{work}photographs/add/",
            "photo",
            rows(bench.JobPhoto),
            words="Front",
            file=("photo", "front.png", picture.getvalue()),
        ),
        case("operation-time", f"{work}operations/{operation.pk}/", "minutes", rows(bench.TimeEntry), minutes="20"),
        case("timer-start", work, f"/operations/{operation.pk}/start/", rows(bench.TimeEntry)),
        case(
            "calendar, a day off",
            "/bench/calendar/",
            "first",
            rows(bench.DayOff),
            act="day-off",
            first=f"{soon:%Y-%m-%d}",
            last=f"{soon:%Y-%m-%d}",
            words="Fair",
        ),
        case("calendar, a link", "/bench/calendar/", "act=link", rows(bench.CalendarLink), act="link"),
        *more_cases(Found(maker=maker, today=today, job=job, supplier=supplier, draft=draft, sent=sent), case, rows),
    ]


if __name__ == "__main__":
    main()
