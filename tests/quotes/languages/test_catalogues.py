"""Catalogues are whole: what the client's documents say is in each language, with the same places to fill in.

Messages are found by Babel's own extractor; amounts, days and shares are those of Unicode's CLDR as Babel has it.
"""

import json
import string
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from babel.messages.catalog import Message
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po

from quotes.languages.catalogue import LANGUAGES, catalogue

PROJECT = Path(__file__).parents[3]
OTHERS = [language for language in LANGUAGES if language != "en"]


def asked() -> set[str | tuple[str, str]]:
    """Every message that a document asks for, and the cautions, which stand as data."""
    found = [
        row
        for folder in ("quotes/documents", "studio/client")
        for row in extract_from_dir(
            PROJECT / folder, keywords={"text": None, "count": (1, 2)}, method_map=[("**.py", "python")]
        )
    ]
    rows = json.loads((PROJECT / "quotes" / "documents" / "cautions.json").read_text(encoding="utf-8"))["client"]
    return {message for _, _, message, _, _ in found} | {row["brief"] for row in rows}


def written(language: str) -> dict[str | tuple[str, str], Message]:
    with (PROJECT / "quotes" / "languages" / f"{language}.po").open("rb") as file:
        messages = read_po(file, locale=language, abort_invalid=True)
    return {
        message.id if isinstance(message.id, str) else (message.id[0], message.id[1]): message
        for message in messages
        if message.id
    }


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_has_every_message_and_no_other(language: str):
    assert len(asked()) > 50
    assert set(written(language)) == asked()
    assert not [message.id for message in written(language).values() if message.fuzzy]


@pytest.mark.parametrize("language", OTHERS)
def test_a_message_keeps_its_places_in_every_language(language: str):
    for message_id, message in written(language).items():
        said = [message_id] if isinstance(message_id, str) else list(message_id)
        translated = [message.string] if isinstance(message.string, str) else list(message.string)
        assert all(translated), message_id
        assert places(translated[-1]) == places(said[-1]), message_id
        assert places(translated[0]) <= places(said[-1]), message_id


def test_each_language_writes_amounts_days_and_shares_its_own_way():
    day, amount = date(2027, 1, 4), Decimal("1030.20")
    assert [catalogue(language).day(day) for language in LANGUAGES] == [
        "4 January 2027",
        "4. Januar 2027",
        "4 janvier 2027",
    ]
    assert catalogue("en").money(amount, "EUR") == "€1,030.20"
    assert catalogue("de").money(amount, "EUR") == "1.030,20\u00a0€"
    assert catalogue("fr").money(amount, "EUR") == "1\u202f030,20\u00a0€"
    assert catalogue("de").percent(Decimal("0.045")) == "4,5\u00a0%"
    assert catalogue("en").percent(Decimal("0.21")) == "21%"


def test_plurals_follow_the_language():
    """French takes the singular for nothing, German does not (CLDR plural rules)."""
    forms = ("one, with a toile", "{number}, with a toile")
    assert catalogue("fr").count(*forms, 0) == "un, avec une toile"
    assert catalogue("de").count(*forms, 0) == "0, mit Probemodell"
    assert catalogue("de").count(*forms, 2) == "2, mit Probemodell"
