"""The demo's patterns and quotes: one drafted, one sent, one accepted."""

from datetime import date, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from quotes.documents.snapshot import fingerprint
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.pattern.block import Block, Level
from quotes.services.patterns import keep_block
from quotes.services.quoting import accept, offer_of_today, send, start_quote

UNDERBUST = Block(
    name="Reed underbust, six panels",
    panels_per_half=6,
    lacing_gap_mm=50,
    levels=(
        Level(height_mm=130, girth_mm=780, take_in_mm=10),
        Level(height_mm=0, girth_mm=720, take_in_mm=75),
        Level(height_mm=-100, girth_mm=880),
        Level(height_mm=-150, girth_mm=940),
    ),
    top=(130, 110, 130),
    bottom=(-150, -120, -140),
)
OVERBUST = Block(
    name="Willow overbust, seven panels",
    panels_per_half=7,
    lacing_gap_mm=65,
    levels=(
        Level(height_mm=200, girth_mm=960),
        Level(height_mm=90, girth_mm=840, take_in_mm=15),
        Level(height_mm=0, girth_mm=800, take_in_mm=100),
        Level(height_mm=-100, girth_mm=980),
        Level(height_mm=-160, girth_mm=1040),
    ),
    top=(200, 190, 160),
    bottom=(-180, -120, -150),
)


def option(name: str, construction: str, cloths: dict[str, str], **choices: Any) -> dict[str, Any]:
    """An option as a commission says it."""
    return {"name": name, "construction": construction, "cloths": cloths, "choices": choices}


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


def load(maker: User, people: list[Client]) -> None:
    """Keep the patterns and make the quotes."""
    underbust = keep_block(block=UNDERBUST, user=maker)
    overbust = keep_block(block=OVERBUST, user=maker)
    today = timezone.localdate()
    singer, actress, returning = people
    _quote(singer, "Underbust in bottle-green satin coutil", underbust, THREE_WAYS, maker)
    black = option(
        "Black, busk", "welt", {"outer": "coutil-black", "inner": "coutil-black"}, busk="busk-black", fittings=2
    )
    sent = _quote(actress, "Overbust for the stage, black", overbust, [black], maker)
    _send(sent, today + timedelta(days=5), maker)
    quince = option("Quince brocade", "fused", {"outer": "brocade-quince", "inner": COUTIL}, flossing=True)
    taken = _quote(returning, "Underbust in quince brocade", underbust, [quince], maker)
    _send(taken, today + timedelta(days=14), maker)
    accept(revision=taken, option="Quince brocade", user=maker)


def _quote(
    client: Client, title: str, pattern: PatternRevision, options: list[dict[str, Any]], maker: User
) -> QuoteRevision:
    return start_quote(client=client, title=title, due=None, pattern=pattern, options=options, user=maker)


def _send(revision: QuoteRevision, valid_until: date, maker: User) -> None:
    seen = fingerprint(offer_of_today(revision)["quotation"])
    send(revision=revision, valid_until=valid_until, seen=seen, user=maker)
