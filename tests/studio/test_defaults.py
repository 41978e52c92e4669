"""What is assumed lives in data: one file a floor, each figure with its unit and its source, each read somewhere."""

import ast
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

PROJECT = Path(__file__).parents[2]
FLOORS = ("inventory", "quotes", "studio")
UNITS = {"mm": "mm", "share": "share", "shares": "share", "days": "days", "weeks": "weeks", "minutes": "minutes"}
UNITS |= {"percent": "%", "factor": "times", "hour": "money an hour"}


def figures(floor: str) -> dict[str, dict[str, Any]]:
    document = json.loads((PROJECT / floor / "defaults.json").read_text(encoding="utf-8"))
    del document["about"]
    return {f"{section}.{name}": row for section, rows in document.items() for name, row in rows.items()}


@cache
def code() -> dict[Path, ast.Module]:
    """The floors' modules, apart from what only declares the figures and what an old database was made by."""
    files = [path for floor in FLOORS for path in (PROJECT / floor).rglob("*.py")]
    kept = [path for path in files if path.name != "defaults.py" and "migrations" not in path.parts]
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in kept}


@pytest.mark.parametrize("floor", FLOORS)
def test_every_figure_says_its_unit_its_words_and_its_source(floor: str):
    rows = figures(floor)
    assert rows
    assert [name for name, row in rows.items() if not (row["unit"] and row["words"] and row["source"])] == []


@pytest.mark.parametrize("floor", FLOORS)
def test_a_unit_is_the_one_that_the_name_says(floor: str):
    said = {name: (row["unit"], UNITS.get(name.rsplit("_", 1)[-1])) for name, row in figures(floor).items()}
    assert [name for name, (unit, named) in said.items() if named not in (None, unit)] == []


@pytest.mark.parametrize("floor", FLOORS)
def test_every_figure_is_read_by_some_module(floor: str):
    """As an attribute, or by its name where figures are looked up by a table of names."""
    nodes = [node for module in code().values() for node in ast.walk(module)]
    read = {node.attr for node in nodes if isinstance(node, ast.Attribute)}
    read |= {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    assert [name for name in figures(floor) if name.split(".")[1] not in read] == []


def test_the_usual_width_of_a_cloth_stands_in_the_data_alone():
    width = figures("inventory")["material.usable_width_mm"]["value"]
    assert width == 1340  # coutil of 1370 less 15 on either side
    places = [
        f"{path.relative_to(PROJECT)}:{node.lineno}"
        for path, module in code().items()
        for node in ast.walk(module)
        if isinstance(node, ast.Constant) and (node.value == width or str(width) in str(node.value))
    ]
    assert places == []
