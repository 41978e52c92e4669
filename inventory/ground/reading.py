"""Files to data and back, strictly: bytes to text, text to JSON, JSON values to exact decimals; what cannot be read is said."""

import json
import math
import os
import re
import shutil
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path
from typing import Any

from inventory.ground.codec import Document
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused, refuse, stop
from inventory.ground.schema import path_text

__all__ = [
    "MOST_BYTES",
    "calendar_day",
    "data_beside",
    "decimal_at",
    "decoded",
    "file_bytes",
    "json_data",
    "place_for",
    "write_file",
]

MOST_BYTES = shelf_defaults().reading.most_mb * 1_000_000
"""Larger files are refused before they are read."""
_NO_TEXT = re.compile("[\0\ud800-\udfff]")
"""What no database and no terminal takes: a zero, and halves of characters."""


def file_bytes(path: Path, mend: str = "", *, most_bytes: int = MOST_BYTES) -> bytes:
    """Return what a file holds.

    Raises:
        Refused: it is missing, no plain file or too large; `mend` says what to do with one that is too large.
    """
    name = path.name
    if _NO_TEXT.search(name):
        raise refuse(
            "file.not-text", name, "The file's name holds half of a character, which is no text.", "Name it anew."
        )
    try:
        if path.is_dir():
            raise refuse("file.is-a-folder", name, f"{name} is a folder, not a file.", "Name a file in it.")
        if path.exists() and not path.is_file():
            raise refuse("file.not-a-file", name, f"{name} is no plain file.", "Save what it gives as a file.")
        with path.open("rb") as file:
            size = max(path.stat().st_size, len(data := file.read(most_bytes + 1)))
    except (OSError, ValueError):
        raise refuse(
            "file.not-found", name, f"There is no file {name} that can be read.", "Check its name and folder."
        ) from None
    if size > most_bytes:
        raise refuse(
            "file.too-large", name, f"The file has {size / 1e6:.0f} MB; {most_bytes // 1_000_000} MB are read.", mend
        )
    return data


@cache
def data_beside(module: str, name: str) -> Document:
    """Return the JSON data of ours that stands in the folder of a module (its `__file__`), read once."""
    document: Document = json.loads(Path(module).with_name(name).read_text(encoding="utf-8"))
    return document


def place_for(name: str, option: str, *, taken: Iterable[Path] = ()) -> Path:
    """Return the path that a command's option names, asked before long work is done for it.

    Args:
        taken: files that the command reads, or that it writes something else to.

    Raises:
        Refused: no file can be written there, or it is one of those taken.
    """
    path = Path(name)
    try:
        is_open = bool(name) and not path.is_dir() and os.access(path if path.exists() else path.parent, os.W_OK)
        is_open = is_open and path.parent.is_dir()
    except OSError:
        is_open = False
    if not is_open:
        raise _cannot_be_written(path, option)
    if os.path.realpath(path) in map(os.path.realpath, taken):
        raise refuse(
            f"option.{option.lstrip('-')}",
            option,
            f"{path.name} is a file that is read, or something else is written there.",
            "Name another file.",
        )
    return path


def write_file(path: Path, data: bytes, option: str) -> None:
    """Write a file that a command's option names, whole or not at all. Raises Refused where it cannot be written."""
    place_for(str(path), option)
    # Beside the file first, so that a full disk leaves the old one; a pipe or a device, by whatever name, takes what it is given.
    is_plain = not path.is_relative_to("/dev") and (path.is_file() or not path.exists())
    place = Path(os.path.realpath(path)) if is_plain else path
    new = place.with_name(f".{os.getpid()}.new") if is_plain and os.access(place.parent, os.W_OK) else place
    try:
        new.write_bytes(data)
        if new != place:
            if place.exists():
                shutil.copymode(place, new)
            new.replace(place)
    except OSError:
        if new != place:
            with suppress(OSError):
                new.unlink(missing_ok=True)
        raise _cannot_be_written(path, option) from None


def _cannot_be_written(path: Path, option: str) -> Refused:
    return refuse(f"option.{option.lstrip('-')}", option, f"{path.name} cannot be written there.", "Name another file.")


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
    """Return what a JSON file says.

    Raises:
        Refused: broken JSON, a key said twice, NaN or Infinity, escapes that are no text (a zero, half a character).
    """

    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise refuse("file.key-twice", where, f"The key {key[:60]!r} is said twice.", "Keep one of them.")
            found[key] = value
        return found

    odd = False

    def number(word: str) -> float:
        nonlocal odd
        value = float(word)
        odd = odd or not math.isfinite(value)
        return value

    text = decoded(data, where)
    try:
        found = json.loads(text, object_pairs_hook=unique, parse_constant=number, parse_float=number)
        # Without an escape the bytes were text already.
        if odd or "\\u" in text:
            for path, value in _values(found, ()):
                _must_be_kept(value, path_text(path) if where == "file" else f"{where}, {path_text(path)}")
    except json.JSONDecodeError as error:
        raise refuse(
            "file.not-json", f"{where}, line {error.lineno}", f"This is not valid JSON: {error.msg}.", "Mend the file."
        ) from None
    except RecursionError:
        raise refuse("file.not-json", where, "The JSON is nested too deeply.") from None
    except ValueError:
        raise refuse("file.not-json", where, "A number in the JSON has too many digits.") from None
    return found


def _values(data: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """All that is written in JSON data, keys and values, with its path."""
    match data:
        case dict():
            for key, value in data.items():
                yield path, key
                yield from _values(value, (*path, key))
        case list():
            for at, value in enumerate(data):
                yield from _values(value, (*path, at))
        case _:
            yield path, data


def _must_be_kept(value: Any, place: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise refuse(
            "file.not-a-number", place, f"{json.dumps(value)} is no number that can be used.", "Write a plain number."
        )
    if isinstance(value, str) and _NO_TEXT.search(value):
        raise refuse("file.not-text", place, "An escape such as \\u0000 or \\ud800 is no text.", "Take it out.")


def calendar_day(text: str, place: str, code: str) -> date:
    """Return the day that an ISO 8601 date names. Raises Refused, by `code`, for one that the calendar lacks."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise refuse(code, place, f"{text!r} is no date of the calendar.", "Write 2027-01-31.") from None


def decimal_at(value: Any, place: str) -> Decimal | Finding:
    """Return an exact decimal from a JSON string or number, or what is wrong with it.

    A JSON number is taken where it is exact as written; exponents, NaN and Infinity are refused.
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return stop("money.not-a-number", place, f"{str(value)[:40]!r} is not a number.", 'Write "12.50".')
    text = repr(value) if isinstance(value, float) else str(value).strip()
    plain = text.lstrip("-").replace(".", "", 1)
    if not plain.isascii() or not plain.isdigit() or len(plain) > 24:
        return stop("money.not-a-number", place, f"{text[:40]!r} is not a plain decimal number.", 'Write "12.50".')
    try:
        return Decimal(text)
    except InvalidOperation:
        return stop("money.not-a-number", place, f"{text[:40]!r} is not a plain decimal number.", 'Write "12.50".')
