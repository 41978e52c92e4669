"""The snapshot: plain JSON data, one version, one builder, one fingerprint."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

__all__ = ["SCHEMA_VERSION", "Letterhead", "fingerprint", "snapshot"]

SCHEMA_VERSION = 1

Document = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """Who quotes what to whom, and until when it holds. `number` is empty for a quote outside the studio's books."""

    workroom: str
    address: str
    client: str
    title: str
    number: str
    quoted_on: date | None
    valid_until: date | None
    due: date | None
    length_unit: str


def snapshot(
    *,
    letterhead: Letterhead,
    rates: Mapping[str, Any],
    pattern: Document,
    constructions: Mapping[str, Document],
    quotation: Document,
    drawings: Mapping[str, str],
) -> Document:
    """Return the snapshot of a quote.

    Args:
        rates: in the form of a commission's `rates`.
        pattern: the pattern's document, in mm.
        constructions: per option name, its construction's document with the option's choices applied.
        quotation: what the `quote` command prints.
        drawings: SVG by name: "half", and one per lay.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "letterhead": {
            "workroom": letterhead.workroom,
            "address": letterhead.address,
            "client": letterhead.client,
            "title": letterhead.title,
            "number": letterhead.number,
            "quoted_on": _iso(letterhead.quoted_on),
            "valid_until": _iso(letterhead.valid_until),
            "due": _iso(letterhead.due),
            "length_unit": letterhead.length_unit,
        },
        "rates": dict(rates),
        "pattern": pattern,
        "constructions": dict(constructions),
        "quotation": quotation,
        "drawings": dict(drawings),
    }


def fingerprint(document: Document) -> str:
    """Return the SHA-256 of a snapshot's canonical JSON, hexadecimal: the seal that shows it has not changed."""
    canonical = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
