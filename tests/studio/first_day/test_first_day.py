"""An empty installation is opened once, on its own machine, as a whole; then it can quote. The rules are the product's own.

Rates are worked by hand: 24,000 a year ÷ (46 weeks × 35 h × 60 %) = 24,000 ÷ 966 = 24.84; 650 × 12 ÷ 966 = 8.07.
"""

from decimal import Decimal
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.utils import timezone
from support_patterns import block_a

from inventory.models import PriceRecord, Shelf, StockItem, StockMaterial
from quotes.desk.from_memory import remembered
from quotes.desk.quoting import start_quote
from quotes.models import Client, QuoteRevision, YearlyCost
from quotes.patterns.kept_patterns import keep_block
from quotes.workroom.settings import STARTING_RATES, overhead_rate, workroom
from studio.first_day.time_zone import kept_zone

pytestmark = pytest.mark.django_db

SAID = {
    "username": "nell",
    "password1": "pins and chalk",
    "password2": "pins and chalk",
    "name": "Quayside Stays",
    "currency": "eur",
    "length_unit": "in",
    "time_zone": "Asia/Tokyo",
    "language": "fr",
    "income": "24000",
    "income_per": "year",
    "overhead": "650",
    "productive_weeks": "46",
    "hours_per_week": "35",
    "productive_percent": "60",
    "has_starter_list": "on",
    "one_is": "",
}


@pytest.fixture(autouse=True)
def folder(settings, tmp_path: Path) -> Path:
    """A folder of its own, and a time zone that is put back."""
    settings.DATA_DIR = tmp_path
    settings.TIME_ZONE = "Europe/Amsterdam"
    return tmp_path


@pytest.fixture
def here() -> Browser:
    """A browser on the machine itself."""
    return Browser(SERVER_NAME="localhost")


def nothing_is_kept() -> bool:
    kinds = (User, StockMaterial, StockItem, PriceRecord, YearlyCost)
    shelf, room = Shelf.objects.get(), workroom()
    as_installed = (Shelf().name, Shelf().currency, STARTING_RATES)
    return not any(kind.objects.exists() for kind in kinds) and (shelf.name, shelf.currency, room.rates) == as_installed


def quoted(maker: User) -> QuoteRevision:
    """A first quote from an estimating block, in the cloths of the starter list."""
    cloths = {"outer": "satin-coutil-red", "inner": "coutil-white"}
    option = {"name": "First", "construction": "two-layer", "cloths": cloths, "choices": {"toile": True}}
    pattern = keep_block(block=block_a(), user=maker)
    client = Client(name="Mira Solveig")
    return start_quote(client=client, title="Underbust", due=None, pattern=pattern, options=[option], user=maker)


def test_the_login_of_an_empty_installation_leads_to_the_first_day(here: Browser):
    answer = here.get("/", follow=True)
    assert [where for where, _ in answer.redirect_chain][-1] == "/first-day/"
    assert answer.status_code == 200
    assert b"Begin with a starter list" in answer.content


def test_from_nothing_to_a_quote(here: Browser, folder: Path, settings, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        answer = here.post("/first-day/", SAID)
    assert (answer.status_code, answer["Location"]) == (302, "/quotes/new/")
    maker = User.objects.get()
    assert here.session["_auth_user_id"] == str(maker.pk)
    assert maker.check_password("pins and chalk")
    assert not maker.is_superuser
    room = workroom()
    assert (room.name, room.currency, room.length_unit, room.language) == ("Quayside Stays", "EUR", "in", "fr")
    assert (room.rates["labour_per_hour"], room.rates["overhead_per_hour"]) == ("24.84", "8.07")
    assert overhead_rate() == Decimal("8.07")
    assert (kept_zone(folder), settings.TIME_ZONE) == ("Asia/Tokyo", "Asia/Tokyo")
    assert timezone.get_default_timezone_name() == "Asia/Tokyo"
    words = here.get("/quotes/new/", follow=True).content.decode()
    assert "An hour of work costs: €24.84 (€24,000.00 a year ÷ 966 h)." in words
    assert "966 h (46 weeks × 35 h × 60 % at the table)" in words
    draft = quoted(maker)
    option = draft.snapshot.quotation.options[0]
    assert option.gross > option.cost > option.materials > 50  # more than two metres of cloth
    memory = remembered(draft.snapshot.quotation)
    assert memory.prices == memory.all_prices >= 14
    assert memory.minutes == memory.all_minutes
    page = here.get(f"/quotes/{draft.quote_id}/1/").content.decode()
    assert f"{memory.prices} of {memory.prices} prices" in page


@pytest.mark.parametrize(
    ("currency", "income", "labour", "coutil", "thread"),
    [
        ("JPY", "3600000", "3727", Decimal(3800), Decimal("1.3")),  # 3,600,000 ÷ 966; 24 × 160; 0.008 × 160
        ("KWD", "7200", "7.453", Decimal("8.4"), Decimal("0.0028")),  # 7,200 ÷ 966; 24 × 0.35; 0.008 × 0.35
    ],
)
def test_currencies_of_no_and_of_three_digits(
    here: Browser, currency: str, income: str, labour: str, coutil: Decimal, thread: Decimal
):
    said = {**SAID, "currency": currency, "income": income, "overhead": "0"}
    assert here.post("/first-day/", said).status_code == 302
    assert workroom().rates["labour_per_hour"] == labour
    prices = {row.code: row.unit_cost for row in StockMaterial.objects.all()}
    assert (prices["coutil-white"], prices["thread"]) == (coutil, thread)
    draft = quoted(User.objects.get())
    assert draft.currency == currency
    assert draft.price_minor > 0


def test_a_time_zone_that_the_environment_says_stays(
    here: Browser, folder: Path, settings, monkeypatch, django_capture_on_commit_callbacks
):
    monkeypatch.setenv("STUDIO_TIME_ZONE", "UTC")
    settings.TIME_ZONE = "UTC"
    with django_capture_on_commit_callbacks(execute=True):
        assert here.post("/first-day/", SAID).status_code == 302
    assert (kept_zone(folder), settings.TIME_ZONE) == ("UTC", "UTC")


def test_an_income_by_the_month_is_twelve_of_it(here: Browser):
    here.post("/first-day/", {**SAID, "income": "2000", "income_per": "month"})
    assert workroom().rates["labour_per_hour"] == "24.84"  # 2,000 × 12 ÷ 966


def test_every_starter_price_is_marked_and_says_where_it_comes_from(here: Browser):
    here.post("/first-day/", SAID)
    assert not StockMaterial.objects.filter(is_from_memory=False).exists()
    assert {record.source for record in PriceRecord.objects.all()} == {"from memory: the starter list"}
    assert set(StockItem.objects.values_list("on_hand", flat=True)) == {0}


def test_a_workroom_may_begin_with_an_empty_shelf(here: Browser):
    said = {name: words for name, words in SAID.items() if name != "has_starter_list"}
    assert here.post("/first-day/", {**said, "currency": "XPF"}).status_code == 302
    assert not StockMaterial.objects.exists()


def test_what_one_euro_is_may_be_said(here: Browser):
    assert here.post("/first-day/", {**SAID, "currency": "XPF", "one_is": "120"}).status_code == 302
    assert StockMaterial.objects.get(code="coutil-white").unit_cost == 2900  # 24 × 120 = 2880


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"username": ""}, "This field is required."),
        ({"password2": "chalk and pins"}, "The two password fields didn’t match."),
        ({"password1": "password", "password2": "password"}, "This password is too common."),
        ({"password1": "nellnell", "password2": "nellnell", "username": "nellnell"}, "too similar to the username"),
        ({"currency": "XQZ"}, "XQZ is no ISO 4217 currency code."),
        ({"currency": "XPF"}, "Say roughly how much one EUR is in XPF, or begin without the starter list."),
        ({"currency": "JPY", "income": "3600000.50"}, "3600000.50 has more than 0 decimals."),
        ({"income": "0"}, "an income of 0 gives no rate"),
        ({"income": "1"}, "1 EUR a year are less than 0.01 an hour. Say what you wish to earn."),
        ({"income": "plenty"}, "plenty"),
        ({"overhead": "-1"}, "-1 is less than zero."),
        ({"hours_per_week": "0"}, "greater than or equal to 1"),
        ({"productive_percent": "101"}, "less than or equal to 100"),
        ({"time_zone": "Europe/Nowhere"}, "Europe/Nowhere is not one of the available choices."),
        ({"one_is": "0"}, "outside what is believed"),
    ],
)
def test_wrong_input_is_told_and_nothing_is_kept(here: Browser, folder: Path, changed: dict[str, str], words: str):
    answer = here.post("/first-day/", {**SAID, **changed})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert nothing_is_kept()
    assert kept_zone(folder) == ""


def test_what_is_refused_in_the_middle_leaves_nothing(here: Browser):
    """Stock of a user who is gone: the currency and the settings were taken already when the list is refused."""
    StockMaterial.objects.create(code="own", name="Own", kind="cord", unit_cost_millionths=1)
    answer = here.post("/first-day/", SAID)
    assert answer.status_code == 422
    assert "Materials stand on the shelf already. Begin without the list." in answer.content.decode()
    assert not User.objects.exists()
    assert (workroom().name, workroom().rates) == (Shelf().name, STARTING_RATES)


def test_it_is_over_once_there_is_a_user(here: Browser):
    here.post("/first-day/", SAID)
    another = Browser(SERVER_NAME="localhost")
    for answer in (another.get("/first-day/"), another.post("/first-day/", {**SAID, "username": "second"})):
        assert (answer.status_code, answer["Location"]) == (302, "/login/")
    assert User.objects.get().username == "nell"
    assert another.get("/login/").status_code == 200
    assert another.get("/first-day/rates/").status_code == 302


@pytest.mark.parametrize(
    "elsewhere",
    [
        {"REMOTE_ADDR": "192.0.2.7"},
        {"REMOTE_ADDR": "not an address"},
        {"SERVER_NAME": "testserver"},
        {"HTTP_X_FORWARDED_FOR": "192.0.2.7"},
        {"HTTP_X_REAL_IP": "192.0.2.7"},
        {"HTTP_FORWARDED": "for=192.0.2.7"},
    ],
)
def test_nobody_opens_it_from_elsewhere(elsewhere: dict[str, str]):
    """192.0.2.0/24 is of documentation alone (RFC 5737); the headers are those of RFC 7239 and of common proxies."""
    browser = Browser(**{"SERVER_NAME": "localhost", **elsewhere})
    for answer in (browser.get("/first-day/"), browser.post("/first-day/", SAID), browser.get("/first-day/rates/")):
        assert answer.status_code == 403
        assert b"opened on the machine that it runs on" in answer.content
    assert nothing_is_kept()


@pytest.mark.parametrize("address", ["127.0.0.1", "127.1.2.3", "::1", "::ffff:127.0.0.1"])
def test_loopback_is_loopback_in_all_its_forms(address: str):
    """RFC 1122, 3.2.1.3; RFC 4291, 2.5.3 and 2.5.5.2."""
    assert Browser(SERVER_NAME="localhost", REMOTE_ADDR=address).get("/first-day/").status_code == 200


def test_the_rates_are_shown_while_they_are_written(here: Browser):
    said = {name: SAID[name] for name in SAID if name not in ("username", "password1", "password2")}
    words = here.get("/first-day/rates/", said).content.decode()
    assert "€24.84" in words
    assert "€7,800.00 a year ÷ 966 h" in words
    assert "€" not in here.get("/first-day/rates/", {**said, "income": ""}).content.decode()
    assert nothing_is_kept()
