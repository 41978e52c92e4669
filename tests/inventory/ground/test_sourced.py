"""A floor's defaults are read strictly: the file and the fields have the same figures, each with unit, words and source."""

import json
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from inventory.ground.sourced import figures, sourced


@dataclass(frozen=True, slots=True, kw_only=True)
class Busks:
    clear_mm: float
    spares: int
    deposit_share: Decimal
    loops: tuple[tuple[float, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    busks: Busks


def row(value: object, **changed: object) -> dict[str, Any]:
    return {"value": value, "unit": "mm", "words": "left free", "source": "common practice", **changed}


def rows(**changed: object) -> dict[str, Any]:
    good = {"clear_mm": row(25), "spares": row(1), "deposit_share": row("0.50"), "loops": row([[254.0, 5], [279.4, 5]])}
    return {**good, **changed}


def kept(path: Path, busks: dict[str, Any]) -> Path:
    path = path / "defaults.json"
    path.write_text(json.dumps({"about": "Some words.", "busks": busks}), encoding="utf-8")
    return path


def test_figures_come_typed_as_their_fields(tmp_path: Path):
    found = figures(kept(tmp_path, rows()), Floor).busks
    assert found == Busks(clear_mm=25.0, spares=1, deposit_share=Decimal("0.50"), loops=((254.0, 5), (279.4, 5)))
    assert type(found.clear_mm) is float
    assert str(found.deposit_share) == "0.50"


def test_a_row_says_what_it_is_and_who_says_so(tmp_path: Path):
    found = sourced(kept(tmp_path, rows()))["busks"]["clear_mm"]
    assert (found.value, found.unit, found.words, found.source) == (25, "mm", "left free", "common practice")


@pytest.mark.parametrize(
    ("busks", "words"),
    [
        (rows(width_mm=row(13)), "Busks and busks do not have the same figures: width_mm"),
        ({name: one for name, one in rows().items() if name != "spares"}, "same figures: spares"),
        (rows(spares=row(1.5)), r"busks\.spares is 1\.5, which is no int"),
        (rows(spares=row(True)), r"busks\.spares is True, which is no int"),
        (rows(clear_mm=row("25")), r"busks\.clear_mm is '25', which is no float"),
        (rows(deposit_share=row(0.5)), r"busks\.deposit_share is 0\.5, which is no Decimal"),
        (rows(deposit_share=row("half")), r"busks\.deposit_share is 'half', which is no Decimal"),
        (rows(loops=row([[254.0, 5, 1]])), r"busks\.loops is \[254\.0, 5, 1\]"),
        (rows(spares=row(1, source=" ")), r"busks\.spares has no source"),
        (rows(spares=row(1, unit="")), r"busks\.spares has no unit"),
        (rows(spares={"value": 1, "unit": "pairs", "words": "spare"}), "it needs value, unit, words and source"),
    ],
)
def test_what_does_not_fit_starts_nothing(tmp_path: Path, busks: dict[str, Any], words: str):
    with pytest.raises(ValueError, match=words):
        figures(kept(tmp_path, busks), Floor)


def test_a_section_that_nobody_reads_starts_nothing(tmp_path: Path):
    path = tmp_path / "defaults.json"
    path.write_text(json.dumps({"busks": rows(), "zips": {}}), encoding="utf-8")
    with pytest.raises(ValueError, match="Floor and the file do not have the same figures: zips"):
        figures(path, Floor)


def test_a_name_that_stands_twice_starts_nothing(tmp_path: Path):
    path = tmp_path / "defaults.json"
    path.write_text('{"busks": {}, "busks": {}}', encoding="utf-8")
    with pytest.raises(ValueError, match="A name stands twice among busks, busks"):
        figures(path, Floor)
