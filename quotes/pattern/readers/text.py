"""Bytes to text and JSON to data, strictly: what cannot be read is said in one sentence."""

import json
import math
from typing import Any

from inventory.findings import refuse
from inventory.units import LengthUnit, parse_length

__all__ = ["decoded", "json_data", "length_at", "number_list"]


def decoded(data: bytes, where: str = "file") -> str:
    """Return the text of a UTF-8 file, with or without a byte-order mark. Raises Refused for anything else."""
    if not data.strip():
        raise refuse("file.empty", where, "The file is empty.")
    try:
        text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    except UnicodeDecodeError:
        raise refuse("file.not-text", where, "The file is not UTF-8 text.", "Save it again as UTF-8.") from None
    if "\0" in text:
        raise refuse("file.not-text", where, "The file holds binary data, not text.", "Save it again as text.")
    return text


def json_data(data: bytes, where: str = "file") -> Any:
    """Return what a JSON file says. Raises Refused for broken JSON, a key said twice, NaN or Infinity."""

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise refuse("file.key-twice", where, f"The key {key[:60]!r} is said twice.", "Keep one of them.")
            found[key] = value
        return found

    def no_constant(word: str) -> None:
        raise refuse("file.not-a-number", where, f"{word} is no number that can be used.", "Write a plain number.")

    try:
        return json.loads(decoded(data, where), object_pairs_hook=unique, parse_constant=no_constant)
    except json.JSONDecodeError as error:
        raise refuse(
            "file.not-json", f"{where}, line {error.lineno}", f"This is not valid JSON: {error.msg}.", "Mend the file."
        ) from None
    except RecursionError:
        raise refuse("file.not-json", where, "The JSON is nested too deeply.") from None
    except ValueError:
        raise refuse("file.not-json", where, "A number in the JSON has too many digits.") from None


def length_at(value: object, where: str, unit: LengthUnit) -> float:
    """Return a length in mm from a JSON value (number or string with fractions). Raises Refused with the place."""
    if not isinstance(value, int | float | str) or isinstance(value, bool):
        raise refuse("file.not-a-length", where, f"{str(value)[:40]!r} is not a length.", "Write a number.")
    try:
        return parse_length(value, unit)
    except (ValueError, OverflowError) as error:
        raise refuse("file.not-a-length", where, str(error)) from None


def number_list(value: object, where: str, unit: LengthUnit, *, count: int | None = None) -> tuple[float, ...]:
    """Return a list of lengths in mm. Raises Refused where it is no list or has another count."""
    if not isinstance(value, list) or (count is not None and len(value) != count):
        wanted = f"a list of {count} numbers" if count is not None else "a list of numbers"
        raise refuse("file.not-a-list", where, f"{where} must be {wanted}.")
    lengths = tuple(length_at(item, f"{where}[{index}]", unit) for index, item in enumerate(value))
    assert all(math.isfinite(length) for length in lengths)
    return lengths
