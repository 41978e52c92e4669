"""The demo's quotes of today: one drafted, one sent, one accepted."""

from datetime import date, timedelta
from uuid import uuid4

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.ground.codec import Document
from quotes.desk.quoting import accept, offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.offers.links import ask_at, make_link
from quotes.seal.snapshot import offer_fingerprint
from studio.demo.commissions import option

SATIN, COUTIL, LAWN = "coutil-satin-bottle", "coutil-white", "lawn-ivory"
THREE_WAYS = [
    option("Two layers, busk", "two-layer", {"outer": SATIN, "inner": COUTIL}),
    option("One layer, zip", "single-layer", {"outer": SATIN}, front="zip", binding="bought"),
    option(
        "Three layers, flossed",
        "three-layer",
        {"outer": SATIN, "inner": COUTIL, "lining": LAWN},
        flossing=True,
        modesty_panel=True,
    ),
]


def load(maker: User, people: list[Client], patterns: dict[str, PatternRevision]) -> None:
    """Make the quotes."""
    underbust, overbust = patterns["reed"], patterns["willow"]
    today = timezone.localdate()
    singer, actress, returning = people
    _quote(singer, "Underbust in bottle-green satin coutil", underbust, THREE_WAYS, maker)
    black = option(
        "Schwarz, mit Planchette",
        "welt",
        {"outer": "coutil-black", "inner": "coutil-black"},
        busk="busk-black",
        fittings=2,
    )
    sent = _quote(actress, "Bühnenkorsett, schwarz", overbust, [black], maker)
    _send(sent, today + timedelta(days=5), maker, promised=today + timedelta(days=70))
    link = make_link(sent, expires_at=timezone.now() + timedelta(days=5), user=maker)
    ask_at(link, words="Ist der Innenstoff auch schwarz?", key=uuid4())
    quince = option("Quince brocade", "fused", {"outer": "brocade-quince", "inner": COUTIL}, flossing=True)
    taken = _quote(returning, "Underbust in quince brocade", underbust, [quince], maker)
    _send(taken, today + timedelta(days=14), maker)
    accept(revision=taken, option="Quince brocade", user=maker)


def _quote(client: Client, title: str, pattern: PatternRevision, options: list[Document], maker: User) -> QuoteRevision:
    return start_quote(client=client, title=title, due=None, pattern=pattern, options=options, user=maker)


def _send(revision: QuoteRevision, valid_until: date, maker: User, promised: date | None = None) -> None:
    seen = offer_fingerprint(offer_of_today(revision))
    send(revision=revision, valid_until=valid_until, seen=seen, user=maker, promised=promised)
