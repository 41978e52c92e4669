"""Searches of a quote's lays in words: how far each is, and what came of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.units import LengthUnit, format_length
from inventory.ground.wording import money_text, percent_text
from quotes.commission.quote import LayKey
from quotes.desk.quoted_lays import needs_of
from quotes.models import LaySearch
from quotes.seal.snapshot import Snapshot

__all__ = [
    "SearchRow",
    "ShorterRow",
    "button_text",
    "moved_text",
    "search_rows",
    "shorter_rows",
    "standing_text",
    "undrawn_text",
]

_State = LaySearch.State


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchRow:
    """A search: the lay that it is for, how far it is, and what its button says; no words where there is none."""

    number: int
    lay: str
    standing: str
    button: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShorterRow:
    """A lay that came out shorter since a draft was worked out."""

    lay: str
    was: str
    is_now: str


def search_rows(
    searches: Sequence[LaySearch], lays: Mapping[int, Sequence[LayKey]], snapshot: Snapshot
) -> list[SearchRow]:
    """Return a row a search. `lays` are those that each search, by its number, is for."""
    return [
        SearchRow(
            number=search.pk,
            lay=_lay_words(lays[search.pk], snapshot),
            standing=standing_text(search, LengthUnit(snapshot.letterhead.length_unit)),
            button=button_text(search),
        )
        for search in searches
    ]


def shorter_rows(lengths: Mapping[LayKey, float], snapshot: Snapshot) -> list[ShorterRow]:
    """Return a row for each lay whose length in mm is not that which the figures have; a lay of several options is one row."""
    unit = LengthUnit(snapshot.letterhead.length_unit)
    rows: dict[tuple[str, str], list[LayKey]] = {}
    for key, length in lengths.items():
        was = sum(need.lay_mm for need in needs_of(snapshot.quotation.options[key.option], key.cloth))
        rows.setdefault((format_length(was, unit), format_length(length, unit)), []).append(key)
    return [ShorterRow(lay=_lay_words(keys, snapshot), was=was, is_now=is_now) for (was, is_now), keys in rows.items()]


def moved_text(before: Snapshot, after: Snapshot) -> str:
    """What it did to the prices that a draft was worked out with other lays; empty where no price has moved."""
    currency = after.quotation.currency
    moved = [
        f"{option.name}: {money_text(was.gross, currency)} → {money_text(option.gross, currency)}."
        for was, option in zip(before.quotation.options, after.quotation.options, strict=True)
        if Decimal(was.gross) != Decimal(option.gross)
    ]
    return " ".join(["Worked out anew with the lays as they are now.", *moved]) if moved else ""


def undrawn_text(failed: int, total: int) -> str:
    """What is said where lays could not be drawn."""
    return f"Lays could not be drawn ({failed} of {total}); the quick length counts. Draw them again."


def _lay_words(keys: Sequence[LayKey], snapshot: Snapshot) -> str:
    """The roles that lie in a lay, and of which options where not all have it."""
    if not keys:
        return "Lay"
    options = snapshot.quotation.options
    roles = dict.fromkeys(
        role for key in keys for role in [need.role for need in needs_of(options[key.option], key.cloth)] or [key.cloth]
    )
    words = f"Lay of {', '.join(roles)}"
    names = dict.fromkeys(options[key.option].name for key in keys)
    return words if len(names) == len(options) else f"{words} ({'; '.join(names)})"


def standing_text(search: LaySearch, unit: LengthUnit) -> str:
    """How far a search is: its length so far, how much of the cloth that uses, how far above the bound it is."""
    if search.state == _State.WAITING:
        return "waits for its turn"
    if search.best_mm is None:
        return "could not be drawn" if search.is_over else "is begun"
    so_far = "so far, is being stopped" if search.is_stop_asked else "so far"
    words = {_State.RUNNING: so_far, _State.STOPPED: "when it was stopped", _State.FAILED: "when it broke off"}
    length = f"{format_length(search.best_mm, unit)} {words.get(_State(search.state), 'in the end')}"
    used = f"{percent_text(search.utilisation_share or 0.0)} of the cloth used"
    if search.above_bound_share is None:
        return f"{length} of the roll, {used}"
    return f"{length}, {used}, {percent_text(search.above_bound_share)} above what is possible"


def button_text(search: LaySearch) -> str:
    """What the button says that ends a search; empty where there is none."""
    if search.is_over or search.is_stop_asked:
        return ""
    return "Stop and keep the best" if search.state == _State.RUNNING else "Leave it out"
