"""Rows of any table as plain JSON objects and back, without loss: what a field holds, under the name of its column."""

import csv
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.fields.files import FieldFile

from inventory.ground.sheets import disarmed

__all__ = ["instance_of", "row_of", "write_csv", "write_lines"]

_AT_ONCE = 500
"""Rows that are held in memory."""
_PLAIN = (bool, int, float, str)


def row_of(instance: models.Model) -> dict[str, Any]:
    """Return a row as JSON data: numbers, text and documents as they are, days, moments and decimals as text, bytes in base 64."""
    return {field.attname: _written(field, instance) for field in instance._meta.local_concrete_fields}


def instance_of(model: type[models.Model], row: dict[str, Any]) -> models.Model:
    """Return the instance that a row was written from.

    Raises:
        ValueError: columns that are not the table's, or a value that no such field holds.
    """
    fields = {field.attname: field for field in model._meta.local_concrete_fields}
    if row.keys() != fields.keys():
        raise ValueError(f"the columns of {model._meta.db_table} are others")
    try:
        return model(**{name: _read(fields[name], value) for name, value in row.items()})
    except (ValidationError, TypeError, ArithmeticError):
        raise ValueError(f"a value that {model._meta.db_table} does not hold") from None


def write_lines(model: type[models.Model], path: Path) -> int:
    """Write a table as JSON, a row a line, by its key. Return how many."""
    count = 0
    with path.open("w", encoding="utf-8", newline="\n") as file:
        for row in _rows(model):
            file.write(json.dumps(row, ensure_ascii=False, allow_nan=False) + "\n")
            count += 1
    return count


def write_csv(model: type[models.Model], path: Path) -> None:
    """Write a table for people: UTF-8 as spreadsheets know it; text that would begin a formula is disarmed."""
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow([field.attname for field in model._meta.local_concrete_fields])
        for row in _rows(model):
            writer.writerow([_cell(value) for value in row.values()])


def _rows(model: type[models.Model]) -> Iterator[dict[str, Any]]:
    return map(row_of, model._base_manager.order_by("pk").iterator(chunk_size=_AT_ONCE))


def _written(field: Any, instance: models.Model) -> Any:
    value = getattr(instance, field.attname)
    if isinstance(field, models.JSONField):
        return value
    if isinstance(value, FieldFile):
        return value.name or ""
    return value if value is None or type(value) in _PLAIN else field.value_to_string(instance)


def _read(field: Any, value: Any) -> Any:
    return value if value is None or isinstance(field, models.JSONField) else field.to_python(value)


def _cell(value: Any) -> Any:
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return disarmed(value)
