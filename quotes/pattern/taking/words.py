"""What the words on a drawing say: a panel's number, its name, a length, an allowance, a size, a waist, a grain.

Each phrase is understood once and taken out, so that the 2 of "cut 2" and the 5 of "5 cm" never number a panel.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

from inventory.ground.units import LengthUnit, parse_length

__all__ = ["PLAIN", "STRONG", "WEAK", "Said", "said"]

STRONG, PLAIN, WEAK = 3, 2, 1
"""How surely a number is a panel's: after the word panel; bare; among other words."""

_AMOUNT = r"(?:\d{1,3}\s+\d{1,2}\s?/\s?\d{1,2}|\d{1,2}\s?/\s?\d{1,2}|\d{0,3}[½¼¾⅛⅜⅝⅞]|\d{1,5}(?:[.,]\d{1,4})?)"
_UNIT = r"(?:mm|cm|millimet(?:re|er)s?|centimet(?:re|er)s?|inch(?:es)?|in\b\.?|\"|″|”|'')"
_LENGTH = re.compile(
    rf"(?<![\w.,/])({_AMOUNT})\s*({_UNIT})?(?:\s*[x×*]\s*({_AMOUNT})\s*({_UNIT})?)?(?!\w)", re.IGNORECASE
)
_QUANTITY = re.compile(
    r"\b(?:cut|qty|quantity)\b\s*:?\s*(?:out\s+)?(\d{1,2})\b(?:\s*(?:x|pairs?|times))?|(?<![\w.])(\d{1,2})\s?[x×](?!\s*\d)"
    r"|(?<![\w½¼¾])(?<!\d\s)[x×]\s?(\d{1,2})\b(?!\s*(?:cm|mm|in))|\bcut\s+(?:one|two|four)\b|\b(\d{1,2})\s+(?:pairs?|pieces?|panels|times|layers?)\b",
    re.IGNORECASE,
)
_SIZE = re.compile(
    r"\b(?:size|sizes|sz|gr(?:ö|oe)sse|größe|taille|uk|eu|us|fr)\b\.?\s*[:#]?\s*([0-9]{1,3}(?:\s?[-–/]\s?\d{1,3})?|x{0,4}[sml]\b)",
    re.IGNORECASE,
)
_BARE_SIZE = re.compile(r"(?:x{1,4}[sl]|[sml]|small|medium|large)", re.IGNORECASE)
_ALLOWANCE_WORD = re.compile(r"\b(?:seam\s*allowances?|s\.?\s?a\.?(?=\W|$)|allowances?|nahtzugabe)", re.IGNORECASE)
_NOT_IN = re.compile(r"\b(?:add|plus|not\s+incl\w*|excl\w*|without|no\s+seam|net)\b|\+", re.IGNORECASE)
_IS_IN = re.compile(r"\b(?:incl\w*|with|has|contains)\b", re.IGNORECASE)
_OTHER_NUMBERS = re.compile(
    r"\b(?:page|pg|sheet|row|col(?:umn)?|tile)\b\s*[:#]?\s*[A-Z]?\d+(?:\s*(?:of|/)\s*\d+)?|\b\d+\s*(?:of|/)\s*\d+\b|\b1\s?:\s?\d+\b"
    r"|\b(?:drawing|dwg|zeichnung|style|model|order|design|ref|rev|revision)\b\.?\s*(?:no\b|nr\b|number\b)?\s*[.:#]*\s*\d+\b"
    r"|\b\d+(?:[.,]\d+)?\s?%|\b\d{4,}\b|\bv(?:ersion)?\.?\s?\d+(?:\.\d+)*\b|\b\d+\.\d+\b",
    re.IGNORECASE,
)
_OF_MANY = re.compile(r"\b((?:panel|piece|part|p|no|nr)[\s.:]*\d{1,2})\s*(?:of|/)\s*\d{1,2}\b", re.IGNORECASE)
_SCALE = r"(?:scale|ma(?:ß|ss)stab|[ée]chelle)"
_DRAWN_AT = re.compile(
    rf"\b(half|third|quarter)[\s-]*scale\b"
    rf"|\b{_SCALE}\s*[:=]?\s*(?:(\d{{1,3}})\s?:\s?(\d{{1,3}})|(\d{{1,3}})\s?/\s?(\d{{1,3}})(?!\s*{_UNIT})"
    rf"|(\d{{1,3}}(?:[.,]\d+)?)\s?%)(?![\d.,/])"
    rf"|\b(\d{{1,3}})\s?[:/]\s?(\d{{1,3}})[\s-]*{_SCALE}\b"
    rf"|\b(\d{{1,3}}(?:[.,]\d+)?)\s?%(?:\s*of)?\s*(?:{_SCALE}|(?:full|true|actual|real)[\s-]size)\b"
    rf"|^\s*(?:M\s*)?(1)\s?:\s?(\d{{1,2}})\s*$"
    rf"|\b(?:(?:full|true|actual)[\s-]*(?:scale|size))\b",
    re.IGNORECASE,
)
"""A drawing's scale. Source: ISO 5455, which writes SCALE 1:2, 1:1 and 5:1, the word left out where nothing is mistaken so.
A unit may follow it in a title block, but not 1/2, which then is a length."""
_NOT_SO = re.compile(r"\b(?:not|never|don['’]t|if|waist|hip|bust)\b", re.IGNORECASE)
"""Words before a scale that make it none of the drawing's own."""
_SHARES = {"half": 1 / 2, "third": 1 / 3, "quarter": 1 / 4}
_COUNTS = r"(?:rows?|notch\w*|layers?|channels?|hooks?|pairs?|pieces?|panels?|edges?|sides?|seams?|times)"
_ANOTHER = rf"(\d{{1,2}})\b(?![.,/]\d|[½¼¾⅛⅜⅝⅞]|\s*{_UNIT}|\s+(?:\d|{_COUNTS}\b)|\s*[x×])"
_JOINS = re.compile(
    rf"\bjoin(?:s|ed)?\s+(?:it\s+)?(?:(?:to|with)\s+)?(?:the\s+)?(?:(?:panel|piece|part|no|nr)s?[\s.:#-]*)?{_ANOTHER}"
    rf"|\b(?:attach(?:es|ed)?|sewn?|sews|match(?:es)?|goes)\s+(?:it\s+)?to\s+{_ANOTHER}"
    r"|\b(?:(?:attach(?:es|ed)?|sewn?|sews|match(?:es)?|goes)\s+(?:it\s+)?(?:(?:to|with|on)\s+)?|to\s+)(?:the\s+)?"
    rf"(?:panel|piece|part)[\s.:#-]*{_ANOTHER}",
    re.IGNORECASE,
)
"""Another panel's number: never one that a unit, a fraction or what is counted follows."""
_PANEL = re.compile(
    r"(?:\b|_)(?:panels?|pieces?|parts?|pattern\s*pieces?|numbers?|nos?|nr|num|pc|pce|pan|teil|panneau|p)(?:[\s_.:°#-]|no\b)*0?"
    r"(\d{1,2})(?!\d)|#\s?(\d{1,2})(?!\d)",
    re.IGNORECASE,
)
_BARE = re.compile(r"[\s(\[]*0?(\d{1,2})\s*[a-d]?[\s.)\]:°]*", re.IGNORECASE)
_ANY = re.compile(r"(?<![\d.])0?(\d{1,2})(?![\d.])")
_EMPTY_BRACKETS = re.compile(r"[(\[]\s*[)\]]")
_LETTER = re.compile(r"\s*(?:panel|piece|part)?\s*[(]?([A-M])[).]?\s*", re.IGNORECASE)
_STATED_WAIST = re.compile(
    rf"\b(closed\s+|finished\s+)?waist\b\W{{0,3}}(?:girth|size|measurements?|circumference|is|of)?\W{{0,3}}({_AMOUNT})\s*({_UNIT})",
    re.IGNORECASE,
)
_PLACES = (
    (re.compile(r"\b(?:c\.?\s?f\.?|cent(?:re|er)[\s_-]*front|front[\s_-]*cent(?:re|er))(?![a-z])", re.IGNORECASE), 0),
    (re.compile(r"\b(?:c\.?\s?b\.?|cent(?:re|er)[\s_-]*back|back[\s_-]*cent(?:re|er))(?![a-z])", re.IGNORECASE), 6),
    (re.compile(r"(?:side[\s_-]*front|front[\s_-]*side|\bsf\b)", re.IGNORECASE), 2),
    (re.compile(r"(?:side[\s_-]*back|back[\s_-]*side|\bsb\b)", re.IGNORECASE), 4),
    (re.compile(r"\bfront(?![a-z])", re.IGNORECASE), 1),
    (re.compile(r"\bback(?![a-z])", re.IGNORECASE), 5),
    (re.compile(r"\bside(?![a-z])", re.IGNORECASE), 3),
)
"""Names of panels in their order from centre front to centre back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What a label or a name says.

    Attributes:
        number: a panel's, with how sure that is (`STRONG`, `PLAIN`, `WEAK`); None for none.
        place: rank of a name from centre front (0) to centre back (6); `is_place_alone` where nothing else is said.
        lengths_mm: lengths with their unit; two of them for "5 x 10 cm".
        allowance_mm: of the seams; `allowance_in` whether the line holds it, None where the words leave that open.
        waist_mm: a girth stated for the waist; `is_closed` that of the closed garment.
        drawn_share: how long things are drawn of their true length (0.5 for 1:2); None where nothing says it.
        joins: the number of a panel that an edge is said to be sewn to.
    """

    number: int | None = None
    sureness: int = 0
    place: int | None = None
    is_place_alone: bool = False
    letter: str = ""
    lengths_mm: tuple[float, ...] = ()
    allowance_mm: float | None = None
    allowance_in: bool | None = None
    quantity: int | None = None
    size: str = ""
    waist_mm: float | None = None
    drawn_share: float | None = None
    joins: int | None = None
    is_closed: bool = False
    is_waist: bool = False
    is_grain: bool = False
    is_fold: bool = False
    is_scale: bool = False
    is_cut: bool = False
    is_stitching: bool = False
    is_other_level: bool = False


@lru_cache(maxsize=4096)
def said(text: str) -> Said:
    """Return what a text says.

    >>> said("Panel 3, cut 2").number, said("5 cm").number, said("5 cm").lengths_mm
    (3, None, (50.0,))
    >>> said("1 cm seam allowance included").allowance_mm, said("size 12").number, said("size 12").size
    (10.0, None, '12')
    >>> said("Half scale").drawn_share, said("SCALE 1:5").drawn_share, said("actual size").drawn_share
    (0.5, 0.2, 1.0)
    """
    rest = " ".join(text.replace("_", " ").split())[:300]
    at_scale = _DRAWN_AT.search(rest)
    if at_scale and _NOT_SO.search(rest[: at_scale.start()]):
        at_scale = None
    rest = _DRAWN_AT.sub(" ", rest)
    joined = _JOINS.search(rest)
    rest = _JOINS.sub(" ", rest)
    lower = rest.lower()
    stated = _STATED_WAIST.search(rest)
    waist = None if stated is None else _mm(stated[2], stated[3])
    rest = rest if stated is None else _STATED_WAIST.sub(" ", rest)
    counted = _QUANTITY.search(rest)
    quantity = None if counted is None else next((int(group) for group in counted.groups() if group), None)
    rest = _QUANTITY.sub(" ", rest)
    sized = _SIZE.search(rest)
    size = sized[1].upper() if sized else rest.strip().upper() if _BARE_SIZE.fullmatch(rest.strip()) else ""
    rest = _SIZE.sub(" ", rest)
    lengths = _lengths_mm(rest)
    rest = _LENGTH.sub(lambda found: " " if found[2] or found[4] else found[0], rest)
    has_allowance = _ALLOWANCE_WORD.search(rest) is not None
    allowance_in = False if _NOT_IN.search(lower) else True if _IS_IN.search(lower) else None
    if has_allowance and re.search(r"\b(?:no|without)\s+(?:seam\s*)?allowance", lower):
        allowance_in = False
    rest = _EMPTY_BRACKETS.sub(" ", _OTHER_NUMBERS.sub(" ", _OF_MANY.sub(r"\1", rest)))
    number, sureness = _number(rest)
    lettered = _LETTER.fullmatch(rest)
    named = next(((rank, pattern) for pattern, rank in _PLACES if pattern.search(rest)), None)
    return Said(
        number=number,
        sureness=sureness,
        place=None if named is None else named[0],
        is_place_alone=named is not None and not re.search(r"\w", named[1].sub("", text, count=1)),
        letter=lettered[1].upper() if lettered and not size else "",
        lengths_mm=() if has_allowance else lengths,
        allowance_mm=lengths[0] if has_allowance and lengths else None,
        allowance_in=allowance_in if has_allowance else None,
        quantity=quantity,
        size=size,
        waist_mm=waist,
        drawn_share=None if at_scale is None else _share(at_scale),
        joins=None if joined is None else int(joined[1] or joined[2] or joined[3]),
        is_closed=bool(stated and stated[1]),
        is_waist=bool(re.search(r"\bwaist|\btaille\b", lower)) and waist is None,
        is_grain="grain" in lower or "fadenlauf" in lower,
        is_fold=bool(re.search(r"\bfold\b", lower)),
        is_scale=bool(re.search(r"\b(?:test|scale|calibrat\w*|control|check|reference|print)\b|gauge", lower)),
        is_cut=bool(re.search(r"\bcut(?:ting)?\b(?!\s*\d|\s+(?:one|two|four|on))|\bschnitt", lower)) and counted is None,
        is_stitching=bool(re.search(r"\b(?:stitch\w*|sew\w*|seam\s*lines?|seams?|net)\b", lower)) and not has_allowance,
        is_other_level=bool(re.search(r"\b(?:hip|bust|underbust|apex|bone|boning|channel|casing|lengthen|shorten)\b", lower)),
    )  # fmt: skip


def _number(text: str) -> tuple[int | None, int]:
    named = _PANEL.search(text)
    if named:
        return int(named[1] or named[2]), STRONG
    bare = _BARE.fullmatch(text)
    if bare:
        return int(bare[1]), PLAIN
    others = _ANY.findall(text)
    return (int(others[0]), WEAK) if len(others) == 1 and len(text) <= 40 else (None, 0)


def _share(at_scale: "re.Match[str]") -> float | None:
    word, *numbers = at_scale.groups()
    if word:
        return _SHARES[word.lower()]
    told = [float(number.replace(",", ".")) for number in numbers if number]
    if not told:
        return 1.0
    drawn, true = told if len(told) == 2 else (told[0], 100.0)
    return drawn / true if drawn and true else None


def _lengths_mm(text: str) -> tuple[float, ...]:
    found: list[float] = []
    for match in _LENGTH.finditer(text):
        first, unit, second, last_unit = match.groups()
        if unit or last_unit:
            amounts = [_mm(first, unit or last_unit)]
            if second:
                amounts.append(_mm(second, last_unit or unit))
            found += [amount for amount in amounts if amount]
    return tuple(found)


def _mm(amount: str, unit: str) -> float | None:
    short = unit.lower().rstrip(".")
    short = {"m": "mm", "c": "cm"}.get(short[0], "in") if short[0].isalpha() else "in"
    try:
        length = parse_length(f"{amount} {short}", LengthUnit.MM)
    except ValueError:
        return None
    return length if length > 0 else None
