"""Snapshots that tests of documents begin with."""

import json
from datetime import date
from typing import Any

from support_commissions import commission

from quotes.commission.quote import quote_commission
from quotes.construction.construction_json import construction_document
from quotes.pattern.pattern_json import pattern_document
from quotes.seal.sealing import sealed_quotation
from quotes.seal.snapshot import SNAPSHOT, Drawings, Letterhead, Snapshot


def sealed(changes: dict[str, object] | None = None, **head: Any) -> Snapshot:
    """The snapshot of the example commission, as it comes back from where it is kept."""
    asked = commission(changes)
    facts: dict[str, Any] = {
        "workroom": "Tansy Lane Workroom",
        "address": "4 Tansy Lane\nMarl-on-the-Weir",
        "client": "Odile Farrant",
        "title": "Underbust in bottle green",
        "number": 7,
        "revision": 2,
        "quoted_on": date(2027, 1, 4),
        "valid_until": date(2027, 1, 25),
        "due": date(2027, 3, 6),
        "length_unit": "cm",
    }
    made = Snapshot(
        letterhead=Letterhead(**{**facts, **head}),
        rates=asked.rates,
        pattern=pattern_document(asked.pattern),
        constructions={option.name: construction_document(option.applied) for option in asked.options},
        quotation=sealed_quotation(quote_commission(asked)),
        drawings=Drawings(),
        reduction_mm=asked.pattern.reduction_mm,
    )
    return SNAPSHOT.read(json.loads(json.dumps(SNAPSHOT.written(made))))
