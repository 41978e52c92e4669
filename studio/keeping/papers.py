"""What of the books is read by people and other programs: documents as JSON, drawings as SVG, sealed offers as PDF.

Each is a name under the folder with its bytes, in the order of the books.
"""

import json
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings

from inventory.ground.codec import Document
from inventory.ground.units import LengthUnit
from inventory.models import KeptPicture, KeptPlan
from quotes.desk.client_offer import client_offer_pdf, offer_pictures
from quotes.documents.offered_views import offered_views
from quotes.drawings.half import half_drawing
from quotes.languages.catalogue import catalogue
from quotes.models import KeptConstruction, PatternRevision, QuoteRevision
from quotes.seal.snapshot import Snapshot
from quotes.workroom.settings import workroom
from studio.models import PieceAccount

__all__ = ["Paper", "papers"]

Paper = tuple[str, bytes]


def papers() -> Iterator[tuple[str, Iterable[Paper]]]:
    """Return what each thing has, with its name in words; making it raises Refused, ValueError or KeyError where it cannot be read."""
    unit = LengthUnit(workroom().length_unit)
    for pattern in PatternRevision.objects.select_related("pattern").order_by("pk").iterator():
        yield str(pattern), _of_pattern(pattern, unit)
    sealed = QuoteRevision.objects.exclude(state=QuoteRevision.State.DRAFT).select_related("quote").order_by("pk")
    for revision in sealed.iterator():
        yield str(revision), _of_offer(revision)
    for construction in KeptConstruction.objects.order_by("pk"):
        yield str(construction), [(f"documents/construction-{construction.pk}.json", _json(construction.document))]
    for account in PieceAccount.objects.select_related("job").order_by("pk"):
        yield str(account), [(f"documents/account-{account.job_id}.json", _json(account.document))]
    for plan in KeptPlan.objects.order_by("pk"):
        yield str(plan), [(f"documents/reorder-{plan.pk}.json", _json(plan.document))]
    for picture in KeptPicture.objects.order_by("digest"):
        yield picture.digest, [(f"pictures/{picture.digest}.{picture.kind}", bytes(picture.data))]


def _of_pattern(revision: PatternRevision, unit: LengthUnit) -> Iterator[Paper]:
    name = f"pattern-{revision.pattern_id}-{revision.number}"
    yield f"documents/{name}.json", _json(revision.document)
    yield f"drawings/{name}.svg", _dressed(half_drawing(revision.panels, unit=unit))


def _of_offer(revision: QuoteRevision) -> Iterator[Paper]:
    name = f"quote-{revision.quote.number}-{revision.number}"
    yield f"documents/{name}.json", _json(revision.figures)
    yield f"offers/{name}.pdf", client_offer_pdf(revision.snapshot, is_draft=False)
    for what, svg in _drawings(revision.snapshot):
        yield f"drawings/{name}-{what}.svg", _dressed(svg)


def _drawings(snapshot: Snapshot) -> Iterator[tuple[str, str]]:
    """What was sealed as drawn, and each option as its client sees it, numbered."""
    if snapshot.drawings.half:
        yield "half", snapshot.drawings.half
    for number, lay in enumerate(snapshot.drawings.lays, 1):
        yield f"lay-{number}", lay.svg
    offer = snapshot.offer
    if offer is None:
        return
    pictures, say = offer_pictures(snapshot), catalogue(offer.language)
    for number, option in enumerate(snapshot.quotation.options, 1):
        views = offered_views(option, offer, say, key=f"option{number}", pictures=pictures)
        for side, view in zip(("front", "back"), views, strict=False):
            yield f"option-{number}-{side}", view.svg


def _json(document: Document | list[Any]) -> bytes:
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()


def _dressed(svg: str) -> bytes:
    """A drawing with the style sheet of the pages, by which it has its colours, inside it."""
    opening, _, rest = svg.partition(">")
    return f"{opening}><style><![CDATA[\n{_style()}]]></style>{rest}\n".encode()


@cache
def _style() -> str:
    folder = Path(settings.BASE_DIR, "studio", "static", "studio")
    return "".join((folder / name).read_text(encoding="utf-8") for name in ("tokens.css", "drawings.css"))
