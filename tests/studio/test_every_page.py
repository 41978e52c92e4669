"""Every page: behind the login, answering, refusing in words, without inline script, with a fixed number of queries.

Sources: HTML (a label for every field), the Content Security Policy Level 3 recommendation (no inline script or style).
"""

import re
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from support_addresses import ROUTES
from support_start import start_as_shown

from inventory.models import Offer, StockItem
from quotes.desk.quoting import offer_of_today, revise, send
from quotes.models import Client, KeptConstruction, KeptPattern, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from quotes.workroom.settings import copy_construction

PATTERNS = Path(__file__).parents[2] / "fixtures" / "patterns"
KEY = "4be0643f-1d98-473b-97cd-ca98a65347dd"
OPEN = {"login", "first-day", "first-day-rates", "feed", "private-offer"}
"""Pages for those who are not logged in; the feed and an offer ask for their own secrets."""


def address(route: str) -> str:
    """A route with numbers and names of the demo put in."""
    values = {"code": "two-layer", "line": "grommet", "index": "0", "cloth": "coutil-white", "kind": "pdf"}
    if route.startswith("bench/"):
        values = {}
    if route.startswith("shelf/"):
        values = {"code": "fennimore" if "suppliers/" in route else "coutil-white", "reference": "Q1"}
    return "/" + re.sub(r"<(?:\w+:)?(\w+)>", lambda match: values.get(match[1], "1"), route)


ADDRESSES = sorted(address(route) for route, name in ROUTES.items() if name not in OPEN)
# The bench and the books begin with a job; their own tests in tests/studio open them.
OF_THE_DESK = [path for path in ADDRESSES if not path.startswith(("/bench/", "/books/"))]
POST_ONLY = (
    *("/1/1/pattern/", "/remove/", "/decline/", "/1/1/revise/", "/logout/"),
    *(
        "/release/",
        "/again/",
        "/reorder/plan/",
        "/1/orders/",
        "/place/",
        "/new-day/",
        "/cancel/",
        "/close/",
        "/upload/",
        "/drop/",
    ),
    *("/revoke/", "/answer/", "/forms/add/", "/forms/prices/", "/keep/", "/photographs/cards/", "/others/", "/ruler/"),
)


class Page(HTMLParser):
    """What a page holds that matters here."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.labels: set[str] = set()
        self.fields: list[dict[str, str | None]] = []
        self.inline: list[str] = []
        self.forms_without_token = 0
        self._posts = False
        self._has_token = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag == "label":
            self.labels.add(found.get("for") or "")
        if tag in ("input", "select", "textarea") and found.get("type") != "hidden":
            self.fields.append(found)
        if tag == "script" and not found.get("src"):
            self.inline.append("script")
        self.inline += [name for name in found if name.startswith("on") or name == "style"]
        if tag == "form":
            self._posts, self._has_token = (found.get("method") or "").lower() == "post", False
        if tag == "input" and found.get("name") == "csrfmiddlewaretoken":
            self._has_token = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self._posts and not self._has_token:
            self.forms_without_token += 1


@pytest.mark.django_db
@pytest.mark.parametrize("path", ADDRESSES)
def test_every_page_is_behind_the_login(path: str):
    response = Browser().get(path)
    assert response.status_code == 302
    assert response["Location"].startswith("/login/")


@pytest.mark.parametrize("path", OF_THE_DESK)
def test_every_page_answers_and_holds_to_the_rules_of_html(whole_site: Browser, path: str):
    response = whole_site.get(path, follow=True)
    if path.endswith(POST_ONLY):
        assert response.status_code == 405
        return
    if path in (
        "/quotes/1/1/accept/",
        "/shelf/materials/coutil-white/photo/",
        "/shelf/pictures/1/",
        "/patterns/photographs/1/",
    ):
        # A draft is not accepted; no photograph was taken, no picture kept.
        assert response.status_code in (200, 404)
        return
    assert response.status_code == 200
    assert "script-src 'self'" in response["Content-Security-Policy"]
    assert "unsafe" not in response["Content-Security-Policy"]
    if response["Content-Type"].startswith("text/html"):
        page = Page(response.content.decode())
        assert page.inline == []
        assert page.forms_without_token == 0
        for field in page.fields:
            assert field.get("id") in page.labels or field.get("aria-label"), field


@pytest.mark.parametrize("path", [path for path in OF_THE_DESK if path.endswith(POST_ONLY)])
def test_changes_are_asked_for_by_post(whole_site: Browser, path: str):
    assert whole_site.get(path).status_code == 405


def queries(browser: Browser, path: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as captured:
        assert browser.get(path).status_code == 200
    return len(captured)


def more_revisions(draft: QuoteRevision, maker: User, count: int) -> QuoteRevision:
    """The quote sent and revised so many times; returns its last draft."""
    for _ in range(count):
        seen = offer_fingerprint(offer_of_today(draft))
        send(revision=draft, valid_until=timezone.localdate() + timedelta(days=9), seen=seen, user=maker)
        draft = revise(revision=draft, user=maker)
    return draft


def test_a_quotes_page_asks_as_often_with_50_revisions_as_with_one(
    whole_site: Browser, draft: QuoteRevision, books: User
):
    before = queries(whole_site, "/quotes/1/1/")
    last = more_revisions(draft, books, 50)
    assert last.number == 51
    assert queries(whole_site, "/quotes/1/51/") == before <= 8


def test_lists_ask_as_often_with_many_rows_as_with_one(whole_site: Browser, draft: QuoteRevision, books: User):
    paths = ("/", "/quotes/", "/clients/", "/patterns/", "/shelf/")
    before = {path: queries(whole_site, path) for path in paths}
    people = Client.objects.bulk_create(Client(name=f"Client {number}") for number in range(30))
    KeptPattern.objects.bulk_create(KeptPattern(name=f"Pattern {number}") for number in range(30))
    for number, person in enumerate(people, start=2):
        quote = person.quotes.create(number=number, title=f"Piece {number}")
        quote.revisions.create(
            number=1,
            pattern=draft.pattern,
            inputs=draft.inputs,
            figures=draft.figures,
            schema_version=draft.schema_version,
            currency=draft.currency,
            price_minor=draft.price_minor,
        )
    assert {path: queries(whole_site, path) for path in paths} == before


def test_lists_are_narrowed_and_sorted(whole_site: Browser):
    assert b"Odile Farrant" in whole_site.get("/clients/?word=odile&sort=-name").content
    assert b"Odile Farrant" not in whole_site.get("/clients/?word=zora").content
    assert b"Underbust" in whole_site.get("/quotes/?state=draft").content
    assert b"No quote stands here" in whole_site.get("/quotes/?state=accepted").content
    assert whole_site.get("/quotes/?state=nonsense&sort=wings&page=99").status_code == 200


def test_a_quote_from_a_file_to_a_sent_pdf(whole_site: Browser):
    data = (PATTERNS / "overbust.svg").read_bytes()
    answer = whole_site.post("/patterns/new/", {"name": "Willow", "file": SimpleUploadedFile("overbust.svg", data)})
    assert answer.status_code == 302
    pattern = KeptPattern.objects.get(name="Willow")
    start = {"title": "Stage", "new_client": "Mira Solveig", "pattern": pattern.pk, "front": "busk"}
    answer = whole_site.post("/quotes/new/", start_as_shown(whole_site, **start, cloth_outer="coutil-black"))
    page = answer["Location"]
    assert page == "/quotes/2/1/"
    shown = whole_site.get(f"{page}send/")
    valid_until = (timezone.localdate() + timedelta(days=14)).isoformat()
    answer = whole_site.post(f"{page}send/", {"valid_until": valid_until, "seen": shown.context["seen"], "version": 1})
    assert answer.status_code == 302
    assert whole_site.get(f"{page}quote.pdf").content.startswith(b"%PDF-")
    assert whole_site.get(f"{page}sheet.xlsx").content.startswith(b"PK")
    assert whole_site.post(f"{page}accept/", {"option": "Herringbone coutil, black, busk"}).status_code == 302
    assert QuoteRevision.objects.get(quote__number=2).state == "accepted"


def test_a_pattern_drafted_from_a_clients_measures_leads_to_their_quote(whole_site: Browser):
    measures = {"taken_on": timezone.localdate().isoformat(), "unit": "in", "notes": "", "waist.1": '28 1/2"'}
    measures |= {"waist.2": "28 5/8", "waist.3": "72,5 cm", "underbust.1": "31", "full-hip.1": "38"}
    assert whole_site.post("/clients/1/measures/", measures).status_code == 302
    shown = whole_site.get("/clients/1/").content.decode()
    assert "72.5 cm" in shown
    assert "28 1/2 in" in shown
    form = whole_site.get("/patterns/measures/?client=1").context["form"]
    said = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    assert float(said["waist_girth"]) == pytest.approx(72.5, abs=0.01)
    answer = whole_site.post("/patterns/measures/?client=1", said)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/quotes/new/?pattern=2&client=1")


@pytest.mark.parametrize(
    ("path", "data", "words"),
    [
        ("/quotes/new/", {"title": "", "pattern": "1"}, "required"),
        ("/quotes/new/", {"title": "x", "pattern": "1"}, "Choose a client"),
        ("/quotes/1/1/rates/", {"margin_share": "many"}, "many"),
        (
            "/quotes/1/1/extras/",
            {"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-what": "x", "form-0-amount": "1.005"},
            "decimals",
        ),
        ("/quotes/1/1/options/0/", {"name": ""}, "required"),
        ("/quotes/1/1/options/0/overrule/grommet/", {"quantity": "-3", "reason": "x"}, "zero or more"),
        ("/quotes/1/1/send/", {"valid_until": "2020-01-01", "seen": "x"}, "passed"),
        ("/quotes/1/1/send/", {"valid_until": "2999-01-01", "seen": "x"}, "have changed"),
        ("/patterns/measures/", {"name": "x", "waist_girth": "wide"}, "wide"),
        ("/clients/1/measures/", {"taken_on": "2999-01-01", "unit": "cm"}, "still to come"),
        ("/workroom/", {"name": "x", "currency": "XQZ", "length_unit": "cm", "quote_valid_days": 5}, "ISO 4217"),
        ("/workroom/minutes/", {"stitches_per_min": "0"}, "greater than or equal to 50"),
        ("/workroom/minutes/add/", {"code": "low", "name": "x"}, "valid value"),
        ("/shelf/materials/new/", {"code": "x"}, "required"),
        ("/shelf/items/coutil-white/receive/", {"quantity": "much"}, "not a number"),
        ("/shelf/lots/1/issue/", {"quantity": "99", "job": "Q1", "key": KEY}, "holds 3 m, not 99 m"),
        ("/shelf/lots/1/issue/", {"quantity": "1", "job": "the shop", "key": KEY}, "not one of the available choices"),
        ("/shelf/lots/1/issue/", {"quantity": "2.9", "job": "for:sample", "key": KEY}, "kept for other work"),
        ("/shelf/lots/1/scrap/", {"quantity": "1"}, "required"),
        ("/shelf/lots/1/wash/", {"quantity": "1", "ready": "2", "key": KEY}, "cannot be"),
        ("/shelf/lots/1/split-off/", {"width": "50", "length": "50", "key": KEY}, "smaller than what is kept"),
        ("/shelf/lots/1/give-back/", {"job": "Q1", "key": KEY}, "not one of the available choices"),
        ("/shelf/orders/1/receive/", {"received_on": "2999-01-01"}, "still to come"),
        ("/shelf/suppliers/new/", {"name": "x", "code": "x", "currency": "XQZ", "lead_days": 3}, "ISO 4217"),
        ("/shelf/suppliers/new/", {"closed_weeks": "August"}, "no period"),
        ("/shelf/suppliers/fennimore/offers/new/", {"item": "1", "pack": "0"}, "outside"),
        ("/shelf/kept/Q1/lines/1/", {"lot": "99"}, "Select a valid choice"),
        ("/shelf/settings/", {"method": "fifo"}, "required"),
    ],
)
def test_bad_input_is_answered_by_422_and_words(whole_site: Browser, path: str, data: dict[str, str], words: str):
    answer = whole_site.post(path, data)
    assert answer.status_code == 422
    assert words in answer.content.decode()


@pytest.mark.parametrize(
    ("code", "pack", "unit"), [("tip-7", "0.001", "EA"), ("tip-7", "1.5", "EA"), ("coutil-white", "0.001", "INH")]
)
def test_a_pack_that_holds_no_whole_piece_or_millimetre_is_told(whole_site: Browser, code: str, pack: str, unit: str):
    item = StockItem.objects.get(code=code)
    said = {"item": item.pk, "their_code": "X", "minimum_packs": 1, "pack": pack, "pack_unit": unit, "price_0": "1"}
    answer = whole_site.post("/shelf/suppliers/fennimore/offers/new/", said)
    assert answer.status_code == 422
    assert "A pack holds a millimetre or one piece at least" in answer.content.decode()
    assert Offer.objects.count() == 1
    assert whole_site.post("/shelf/suppliers/fennimore/offers/new/", {**said, "pack": "2"}).status_code == 302


def test_a_broken_pattern_file_is_told_on_its_page(whole_site: Browser):
    data = (PATTERNS / "broken" / "crossed-outline.json").read_bytes()
    answer = whole_site.post("/patterns/new/", {"name": "x", "file": SimpleUploadedFile("crossed.json", data)})
    assert answer.status_code == 422
    assert "crosses" in answer.content.decode()
    assert KeptPattern.objects.count() == 1


def test_corners_that_cannot_be_told_are_picked_on_the_drawing(whole_site: Browser):
    drawing = b"""<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
    <path id="panel-1" d="M20 20 L80 20 L100 60 L90 150 L95 240 L70 270 L20 270 Z"/>
    <path id="panel-2" d="M150 20 L240 20 L230 150 L245 270 L150 270 L160 150 Z"/></svg>"""
    said = {"name": "Picked", "ease": "1"}
    answer = whole_site.post("/patterns/new/", {**said, "file": SimpleUploadedFile("odd.svg", drawing)})
    assert answer.status_code == 422
    assert 1 in [picking.number for picking in answer.context["pickings"]]
    corners = "1:20,-270;70,-270;80,-20;20,-20"
    answer = whole_site.post(
        "/patterns/new/", {**said, "corners": corners, "file": SimpleUploadedFile("odd.svg", drawing)}
    )
    assert answer.status_code == 302
    panel = KeptPattern.objects.get(name="Picked").revisions.get().document["panels"][0]
    assert panel["bottom"][0] == pytest.approx([20, -270])
    assert panel["bottom"][-1] == pytest.approx([70, -270])


def test_an_upload_that_is_too_large_is_stopped(whole_site: Browser):
    file = SimpleUploadedFile("large.svg", b" " * 22_000_000)
    answer = whole_site.post("/patterns/new/", {"name": "x", "file": file})
    assert answer.status_code == 413
    assert "20 MB" in answer.content.decode()
    assert KeptPattern.objects.count() == 1


def test_a_change_from_an_older_window_is_told(whole_site: Browser, draft: QuoteRevision):
    QuoteRevision.objects.filter(pk=draft.pk).update(version=2)
    answer = whole_site.post(
        "/quotes/1/1/options/0/overrule/grommet/", {"quantity": "40", "reason": "x", "version": "1"}
    )
    assert answer.status_code == 422
    assert "another window" in answer.content.decode()


def test_a_sent_revision_has_no_page_to_change_it(sent: QuoteRevision, browser: Browser):
    for part in ("rates", "extras", "less", "options/0", "options/add", "options/0/overrule/grommet"):
        assert browser.get(f"/quotes/1/1/{part}/").status_code == 404
        assert browser.post(f"/quotes/1/1/{part}/").status_code == 404


def test_sending_what_was_sent_shows_it_and_says_so(sent: QuoteRevision, browser: Browser):
    for ask in (browser.get, browser.post):
        answer = ask("/quotes/1/1/send/", follow=True)
        assert answer.redirect_chain == [("/quotes/1/1/", 302)]
        assert "was sent before" in answer.content.decode()


def test_a_shipped_construction_is_copied_before_it_is_changed(whole_site: Browser):
    row = KeptConstruction.objects.get(code="two-layer")
    editor = whole_site.get("/workroom/constructions/two-layer/").context["editor"]
    assert not editor.is_bound
    copy_construction(row, title="Mine", code="mine")
    shown = whole_site.get("/workroom/constructions/mine/").context["editor"]
    said = {bound.html_name: bound.value() for form in (shown.measures, *shown.layers, *shown.shells) for bound in form}
    said = {name: value for name, value in said.items() if value not in (None, False)}
    said |= {"layer-TOTAL_FORMS": "3", "layer-INITIAL_FORMS": "2", "shell-TOTAL_FORMS": "3", "shell-INITIAL_FORMS": "2"}
    said |= {
        "layer-2-role": "net",
        "layer-2-panels": "3 4",
        "layer-2-shell": "1",
        "operations": ["CONS", "CUT", "SEW1"],
    }
    assert whole_site.post("/workroom/constructions/two-layer/", said).status_code == 404
    assert whole_site.post("/workroom/constructions/mine/", said).status_code == 302
    kept = KeptConstruction.objects.get(code="mine").document
    assert [layer["role"] for layer in kept["layers"]] == ["outer", "inner", "net"]
    assert kept["shells"][0]["roles"] == ["outer", "net"]
    assert [row["code"] for row in kept["operations"]] == ["CONS", "CUT", "SEW1"]


def test_health_answers_are_shown_on_their_own_page_only(whole_site: Browser):
    whole_site.post("/clients/1/health/", {"answers": "had a hernia in 2019"})
    for path in ("/clients/", "/clients/1/", "/quotes/1/1/", "/quotes/1/1/client/"):
        assert b"hernia" not in whole_site.get(path).content.replace(b"hernia, ", b"")
    answer = whole_site.get("/clients/1/health/")
    assert b"had a hernia" in answer.content
    assert "no-store" in answer["Cache-Control"]


def test_debug_is_off():
    assert settings.DEBUG is False


def test_five_wrong_passwords_lock_a_name_for_a_while(maker: User, settings):
    """As OWASP's authentication cheat sheet asks for (from memory): throttle by name and address."""
    settings.AXES_ENABLED = True
    settings.AUTHENTICATION_BACKENDS = [
        "axes.backends.AxesStandaloneBackend",
        "django.contrib.auth.backends.ModelBackend",
    ]
    browser = Browser()
    wrong = {"username": "maker", "password": "chalk"}
    answers = [browser.post("/login/", wrong).status_code for _ in range(5)]
    assert answers == [200, 200, 200, 200, 429]
    right = browser.post("/login/", {**wrong, "password": "pins and chalk"})
    assert right.status_code == 429
    assert b"quarter of an hour" in right.content
