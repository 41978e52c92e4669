"""Files harmed in the ways that files come to harm: numbers that are none, names that are no text, parts lost, doubled and swapped."""

import re
import zlib
from io import BytesIO
from random import Random
from zipfile import BadZipFile, ZipFile

__all__ = ["harmed"]

NUMBERS = (
    b"NaN", b"-Infinity", b"1e999", b"1e308", b"-1e308", b"1e-320", b"0", b"-0", b"-1", b"99999999999999999999", b"1,5",
    b"1/0", b"0x10", b"\xd9\xa1", b"1_000", b"12.5.3", b"2e9", b"-2147483649", b'"12.5"', b"true", b"null", b"[]", b"{}",
)  # fmt: skip
WORDS = (
    b"\\ud800", b"\\u0000", b"\\U+D800", b"_xD800_", b"&#xD800;", b"&#0;", b"\xed\xa0\x80", b"\xff\xfe", b"\x00", b"''",
    b"=1+1", b"url(#a)", b"#a", b"%", b"mm", b"in", b"rotate(", b"spin(3)", b"matrix(1 2 3)", b"skewX(90)", b"scale(0)",
    b"translate(NaN)", b"1e999in", b"\r", b"\t", b";", b"\xe2\x80\xae", b"panel-99999999999", b"panel-0", b"PANEL",
)  # fmt: skip
_NUMBER = re.compile(rb"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_WORD = re.compile(rb"[A-Za-z_][\w.-]*")
_PART = re.compile(rb"<[^>]*>|\"[^\"]*\"|[{\[][^{}\[\]]*[}\]]|[^\n]*\n")
MOST_HARMS = 3


def harmed(data: bytes, seed: int, most_bytes: int) -> bytes:
    """Return a file harmed a few times; the same seed does the same harm. In a workbook one of its parts is."""
    luck = Random(seed)
    is_workbook = data.startswith(b"PK\x03\x04") and luck.random() < 0.9
    return (_in_workbook if is_workbook else _harmed)(data, luck)[:most_bytes]


def _harmed(data: bytes, luck: Random) -> bytes:
    for _ in range(luck.choice((1, 1, 1, 2, MOST_HARMS))):
        data = luck.choice((_number, _number, _word, _word, _part, _bytes))(data, luck)
    return data


def _in_workbook(data: bytes, luck: Random) -> bytes:
    try:
        with ZipFile(BytesIO(data)) as archive:
            parts = {entry: archive.read(entry) for entry in archive.namelist() if not entry.endswith("/")}
    except (BadZipFile, EOFError, LookupError, OSError, RuntimeError, ValueError, zlib.error):
        return _harmed(data, luck)
    if not parts:
        return data
    told = [name for name in parts if "sheet" in name or "Strings" in name or "styles" in name] or list(parts)
    name = luck.choice(told if luck.random() < 0.8 else list(parts))
    if luck.random() < 0.05:
        del parts[name]
    else:
        parts[name] = _harmed(parts[name], luck)
    out = BytesIO()
    with ZipFile(out, "w") as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return out.getvalue()


def _replaced(data: bytes, found: "re.Match[bytes]", by: bytes) -> bytes:
    return data[: found.start()] + by + data[found.end() :]


def _somewhere(pattern: "re.Pattern[bytes]", data: bytes, luck: Random) -> "re.Match[bytes] | None":
    """A match that begins behind a place drawn at random."""
    start = luck.randrange(len(data) + 1)
    return pattern.search(data, start) or pattern.search(data)


def _number(data: bytes, luck: Random) -> bytes:
    found = _somewhere(_NUMBER, data, luck)
    if found is None:
        return data
    near = str(
        round(float(found[0][:30]) * luck.choice((-1, 0.5, 0.99, 1.001, 1.1, 2)), luck.choice((0, 1, 6)))
    ).encode()
    return _replaced(data, found, near if luck.random() < 0.5 else luck.choice(NUMBERS))


def _word(data: bytes, luck: Random) -> bytes:
    found = _somewhere(_WORD, data, luck)
    if found is None:
        return luck.choice(WORDS) + data
    other = _somewhere(_WORD, data, luck)
    return _replaced(data, found, other[0] if other and luck.random() < 0.4 else luck.choice(WORDS))


def _part(data: bytes, luck: Random) -> bytes:
    found = _somewhere(_PART, data, luck)
    if found is None:
        return data
    match luck.randrange(4):
        case 0:
            return _replaced(data, found, b"")
        case 1:
            return _replaced(data, found, found[0] * luck.choice((2, 2, 3, 50)))
        case 2:
            other = _somewhere(_PART, data, luck)
            return _replaced(data, found, other[0] if other else b"")
        case _:
            return data[: found.start()]


def _bytes(data: bytes, luck: Random) -> bytes:
    at = luck.randrange(len(data) + 1)
    return data[:at] + luck.randbytes(luck.randint(0, 4)) + data[at + luck.randint(0, 8) :]
