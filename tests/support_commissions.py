"""Commissions that several tests begin with, as their files say them."""

import copy
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from quotes.commission.commission import Commission
from quotes.commission.commission_file import commission_from

__all__ = ["FIXTURES", "changed", "commission", "plain"]

FIXTURES = Path(__file__).parent.parent / "fixtures"


def plain() -> dict[str, Any]:
    """The example commission: an underbust from measures in three options, in euro, tax included."""
    text = (FIXTURES / "commissions" / "underbust-from-measures.json").read_text(encoding="utf-8")
    document: dict[str, Any] = json.loads(text)
    return document


def changed(changes: Mapping[str, object], base: dict[str, Any] | None = None) -> dict[str, Any]:
    """The example with values put in at paths such as `options.0.choices`; `...` takes the key out."""
    document = copy.deepcopy(base or plain())
    for path, value in changes.items():
        *steps, last = (int(step) if step.isdecimal() else step for step in path.split("."))
        place: Any = document
        for step in steps:
            place = place[step]
        if value is ...:
            del place[last]
        else:
            place[last] = value
    return document


def commission(changes: Mapping[str, object] | None = None) -> Commission:
    """The example commission, read."""
    return commission_from(changed(changes or {}), studio_prices=tuple)
