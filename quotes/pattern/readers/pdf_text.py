"""Words of a PDF: the codes of a font as characters with their widths, and the runs of a page as labels."""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pikepdf

from quotes.pattern.geometry import Point
from quotes.pattern.readers.pdf_document import Budget, content_of, number_or
from quotes.pattern.sheet import Label

__all__ = ["Font", "Run", "font_of", "labels_of"]

_USUAL_WIDTH = 0.556
"""Of a letter, in heights of the font: that of a figure in the standard sans serif, where a font says no widths."""
_CAPITAL_SHARE = 0.7
"""How much of a font's size its capitals and figures are high, near enough for all common fonts."""
_MOST_LETTERS = 300
_ARROWS = {
    "/Symbol": {0xAC: "←", 0xAD: "↑", 0xAE: "→", 0xAF: "↓"},
    "/ZapfDingbats": dict.fromkeys((0xD4, 0xD5, *range(0xD8, 0xF0), *range(0xF1, 0xFF)), "→"),
}
"""What two of the standard fonts draw in place of letters (ISO 32000-2, annex D.5 and D.6), as far as pages point with it."""
_CODECS = {"/WinAnsiEncoding": "cp1252", "/MacRomanEncoding": "mac_roman"}
_GLYPHS = {
    **dict(
        zip(("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"), "0123456789", strict=True)
    ),
    **{
        "space": " ",
        "hyphen": "-",
        "minus": "−",
        "endash": "–",
        "period": ".",
        "comma": ",",
        "colon": ":",
        "slash": "/",
    },
    **{
        "plus": "+",
        "equal": "=",
        "parenleft": "(",
        "parenright": ")",
        "numbersign": "#",
        "quotesingle": "'",
        "quotedbl": '"',
    },
    **{"adieresis": "ä", "odieresis": "ö", "udieresis": "ü", "germandbls": "ß", "eacute": "é", "egrave": "è"},
}
"""Names of glyphs that are not the letter itself, as far as numbers, measures and names of panels need them."""
_CHARACTERS = re.compile(rb"beginbfchar(.*?)endbfchar", re.DOTALL)
_RANGES = re.compile(rb"beginbfrange(.*?)endbfrange", re.DOTALL)
_HEX = rb"<([0-9A-Fa-f\s]{1,200})>"
_WORD = re.compile(_HEX)
_PAIR = re.compile(_HEX + rb"\s*" + _HEX)
_RANGE = re.compile(_HEX + rb"\s*" + _HEX + rb"\s*(?:" + _HEX + rb"|\[([^\]]*)\])")


@dataclass(frozen=True, slots=True)
class Font:
    """How a font's codes read; `widths` in heights of the font."""

    code_bytes: int = 1
    codec: str = "latin-1"
    characters: dict[int, str] = field(default_factory=dict)
    widths: dict[int, float] = field(default_factory=dict)
    usual_width: float = _USUAL_WIDTH

    def letters(self, said: bytes) -> Iterable[tuple[str, float, bool]]:
        """Yield characters (empty where unknown) with their widths, and whether each is the one-byte space that `Tw` widens."""
        for at in range(0, len(said) - self.code_bytes + 1, self.code_bytes):
            code = int.from_bytes(said[at : at + self.code_bytes], "big")
            character = self.characters.get(code)
            if character is None and self.code_bytes == 1:
                character = bytes([code]).decode(self.codec, "ignore")
            yield character or "", self.widths.get(code, self.usual_width), self.code_bytes == 1 and code == 32


@dataclass(frozen=True, slots=True)
class Run:
    """Letters in a row, in mm; `start` and `end` on the base line, `size` of the font."""

    text: str
    start: Point
    end: Point
    size: float
    up: Point
    layers: tuple[str, ...] = ()


def font_of(font: Any, budget: Budget) -> Font:
    """Return how a font of a page's resources reads; plain letters for what says nothing. Raises Refused past the budget."""
    if not isinstance(font, pikepdf.Dictionary):
        return Font()
    characters: dict[int, str] = {}
    codec = "latin-1"
    encoding = font.get("/Encoding")
    drawn = _ARROWS.get(str(font.get("/BaseFont")))
    if drawn is not None:
        characters |= {code: drawn.get(code, "") for code in range(256)}
    if isinstance(encoding, pikepdf.Dictionary):
        characters |= _differences(encoding.get("/Differences"))
        encoding = encoding.get("/BaseEncoding")
    codec = _CODECS.get(str(encoding), codec)
    if isinstance(font.get("/ToUnicode"), pikepdf.Stream):
        characters |= _to_unicode(content_of(font["/ToUnicode"], budget))
    if font.get("/Subtype") == pikepdf.Name.Type0:
        inner = font.get("/DescendantFonts")
        first = inner[0] if isinstance(inner, pikepdf.Array) and len(inner) else pikepdf.Dictionary()
        return Font(2, codec, characters, _composite_widths(first.get("/W")), number_or(first.get("/DW"), 1000) / 1000)
    scale = 0.001
    if font.get("/Subtype") == pikepdf.Name.Type3 and isinstance(font.get("/FontMatrix"), pikepdf.Array):
        scale = abs(number_or(font["/FontMatrix"][0], 0.001))
    listed = font.get("/Widths")
    begin = int(number_or(font.get("/FirstChar"), 0))
    widths = (
        {begin + at: number_or(width, 556) * scale for at, width in enumerate(listed)}
        if isinstance(listed, pikepdf.Array)
        else {}
    )
    return Font(1, codec, characters, widths)


def labels_of(runs: Sequence[Run], where: str) -> tuple[Label, ...]:
    """Return the words that runs make: those that follow each other on one base line belong together, single letters too."""
    joined: list[Run] = []
    for run in runs:
        between = _between(joined[-1], run) if joined else None
        if between is None:
            joined.append(run)
        else:
            joined[-1] = replace(joined[-1], text=(joined[-1].text + between + run.text)[:_MOST_LETTERS], end=run.end)
    return tuple(
        Label(
            text=text,
            at=(
                (run.start[0] + run.end[0]) / 2 + run.up[0] * run.size * _CAPITAL_SHARE / 2,
                (run.start[1] + run.end[1]) / 2 + run.up[1] * run.size * _CAPITAL_SHARE / 2,
            ),
            height=run.size * _CAPITAL_SHARE,
            where=where,
            layers=run.layers,
        )
        for run in joined
        if (text := " ".join(run.text.split()))
    )


def _between(before: Run, run: Run) -> str | None:
    """What stands between two runs of one line: nothing or a space; None for runs that don't belong together."""
    if (
        before.layers != run.layers
        or math.dist(before.up, run.up) > 0.02
        or abs(before.size - run.size) > 0.1 * run.size
    ):
        return None
    along = (run.up[1], -run.up[0])
    dx, dy = run.start[0] - before.end[0], run.start[1] - before.end[1]
    forward, aside = dx * along[0] + dy * along[1], dx * run.up[0] + dy * run.up[1]
    if abs(aside) > 0.15 * run.size or not -0.3 * run.size <= forward <= 0.9 * run.size:
        return None
    return " " if forward > 0.18 * run.size and not before.text.endswith(" ") else ""


def _differences(listed: Any) -> dict[int, str]:
    found: dict[int, str] = {}
    code = 0
    for entry in listed if isinstance(listed, pikepdf.Array) else ():
        if isinstance(entry, pikepdf.Name):
            found[code] = _glyph(str(entry)[1:])
            code += 1
        else:
            code = int(number_or(entry, code))
    return found


def _glyph(name: str) -> str:
    plain = name.partition(".")[0]
    if len(plain) == 1:
        return plain
    number = re.fullmatch(r"(?:uni|u)([0-9A-Fa-f]{4})", plain)
    return chr(int(number[1], 16)) if number else _GLYPHS.get(plain, "")


def _to_unicode(told: bytes) -> dict[int, str]:
    """What a font's own table of characters says (ISO 32000-2, 9.10.3)."""
    found: dict[int, str] = {}
    for body in _CHARACTERS.findall(told):
        found |= {_code(code): _utf16(_bytes(text)) for code, text in _PAIR.findall(body)}
    for body in _RANGES.findall(told):
        for low, high, text, listed in _RANGE.findall(body):
            first, last = _code(low), min(_code(high), _code(low) + 65535)
            if listed:
                found |= {first + at: _utf16(_bytes(word)) for at, word in enumerate(_WORD.findall(listed))}
                continue
            # Only the last byte counts up.
            word = _bytes(text)
            for step in range(min(last - first + 1, 256 - word[-1]) if word else 0):
                found[first + step] = _utf16(word[:-1] + bytes([word[-1] + step]))
    return found


def _code(digits: bytes) -> int:
    return int.from_bytes(_bytes(digits), "big")


def _bytes(digits: bytes) -> bytes:
    plain = b"".join(digits.split())
    return bytes.fromhex((plain + b"0" * (len(plain) % 2)).decode())


def _utf16(word: bytes) -> str:
    return word.decode("utf-16-be", "ignore").replace("\0", "")


def _composite_widths(listed: Any) -> dict[int, float]:
    """Widths of a composite font (ISO 32000-2, 9.7.4.3): `c [w …]` and `first last w`, in turn."""
    found: dict[int, float] = {}
    waiting: list[int] = []
    for entry in listed if isinstance(listed, pikepdf.Array) else ():
        if isinstance(entry, pikepdf.Array):
            begin = waiting[-1] if waiting else 0
            found |= {begin + at: number_or(width, 1000) / 1000 for at, width in enumerate(entry)}
            waiting = []
        elif len(waiting) == 2:
            for code in range(waiting[0], min(waiting[1], waiting[0] + 65535) + 1):
                found[code] = number_or(entry, 1000) / 1000
            waiting = []
        else:
            waiting.append(int(number_or(entry, 0)))
    return found
