"""The snapshot: all of one revision, read from its document of any version, written in the form of today."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from inventory.ground.codec import Codec, Document, plain
from quotes.pricing.costing import Rates
from quotes.seal.earlier import from_version_1, from_version_2, from_version_3
from quotes.seal.offered import Offer
from quotes.seal.sealed import SealedQuotation

__all__ = ["SNAPSHOT", "Drawings", "LayDrawing", "Letterhead", "Snapshot", "fingerprint", "offer_fingerprint"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """Who quotes what to whom, and until when it holds. `number` and `revision` are None outside the studio's books."""

    workroom: str
    address: str
    client: str
    title: str
    number: int | None
    revision: int | None
    quoted_on: date | None
    valid_until: date | None
    due: date | None
    length_unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LayDrawing:
    """How the pieces of a role lie, as SVG; roles that share a cloth share a lay."""

    option: str
    role: str
    svg: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawings:
    """One half of the garment, and the lays that were drawn, as SVG."""

    half: str = ""
    lays: tuple[LayDrawing, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """All that a revision's papers, its job and its account are made from.

    Attributes:
        pattern: the pattern's own document, in mm (`quotes.pattern.pattern_json` reads it).
        constructions: per option's name its construction's document, with the choices applied.
        reduction_mm: how much smaller than the body the waist is worn; None where the pattern does not say.
        offer: how it is put to the client; None for what was sealed before offers said so, and prints as it did then.
    """

    letterhead: Letterhead
    rates: Rates
    pattern: Mapping[str, Any]
    constructions: Mapping[str, Mapping[str, Any]]
    quotation: SealedQuotation
    drawings: Drawings
    reduction_mm: float | None
    offer: Offer | None = None


SNAPSHOT = Codec(
    kind=Snapshot,
    version=4,
    key="schema_version",
    upgrades={1: from_version_1, 2: from_version_2, 3: from_version_3},
)


def offer_fingerprint(snapshot: Snapshot) -> str:
    """Return the fingerprint of what a snapshot offers, whoever it is addressed to, and whenever it is or is promised."""
    offer = None if snapshot.offer is None else replace(snapshot.offer, promised=None)
    return fingerprint({"quotation": plain(snapshot.quotation), "offer": plain(offer)})


def fingerprint(document: Document) -> str:
    """Return the SHA-256 of a document's canonical JSON, hexadecimal: the seal that shows it has not changed."""
    canonical = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
