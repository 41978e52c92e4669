"""Words that name a size, as makers write them: `10`, `Size 10`, `Gr. 38`, `taille 40`, `EU 38`, `M`, `3XL`, `medium`."""

import re
from collections.abc import Iterable, Mapping, Sequence

__all__ = ["in_order", "size_in", "size_of", "without_size"]

_LETTERS = ("XXXS", "XXS", "XS", "S", "M", "L", "XL", "XXL", "XXXL", "XXXXL")
_LETTER = r"(?:x{0,3}s|m|x{0,4}l|[2-6]\s?x[sl])"
_NUMBER = r"\d{1,3}(?:\s?[/–-]\s?\d{1,3})?"
_WORD = r"(?:sizes?|sz|gr(?:ö|oe|o)(?:ß|ss)e|gr|taille|talla|taglia|maat)"
_COUNTRY = r"(?:eu|eur|de|fr|it|us|uk|au)"
_NAME = rf"(?:{_COUNTRY}[\s_-]?{_NUMBER}|{_NUMBER}|{_LETTER}|small|medium|large)"
_ALONE = re.compile(rf"\s*(?:{_WORD}[\s._:#-]*)?({_NAME})\s*", re.IGNORECASE)
_WORDED = re.compile(
    rf"(?<![^\W_])(?:{_WORD}[\s._:#-]*({_NAME})|({_COUNTRY}[\s_-]?{_NUMBER}))(?![^\W_])", re.IGNORECASE
)
_NOT_IN_A_NAME = re.compile(r"[\s_]+")


def size_of(text: str) -> str | None:
    """Return the size that a text is and nothing else, without the word size before it; None for other texts.

    >>> size_of("Size 10"), size_of("10"), size_of("xl"), size_of("side front")
    ('10', '10', 'XL', None)
    """
    found = _ALONE.fullmatch(text)
    return _plain(found[1]) if found else None


def size_in(text: str, *, alone: bool = False) -> str | None:
    """Return the size that a text names by a word such as size, or a country's; with `alone`, only where it says no more.

    >>> size_in("panel 3, size 10"), size_in("EU 38"), size_in("10"), size_in("panel 3, size 10", alone=True)
    ('10', 'EU 38', None, None)
    """
    found = _WORDED.fullmatch(text.strip()) if alone else _WORDED.search(text)
    return _plain(found[1] or found[2]) if found else None


def without_size(layers: Sequence[str], size: str) -> tuple[str, ...]:
    """Return the layers' names without what names that size in them.

    >>> without_size(("Size 10", "panel 3 size 10", "10", "front 12"), "10")
    ('panel 3', 'front 12')
    """
    left = (
        "" if size_of(name) == size else _WORDED.sub("", name).strip(" _-,.;") if size_in(name) == size else name
        for name in layers
    )
    return tuple(name for name in left if name)


def in_order(names: Iterable[str], lengths: Mapping[str, float]) -> tuple[str, ...]:
    """Return sizes smallest first: by their numbers or letters where all have one, else by the length of their lines.

    >>> in_order({"12", "8", "10"}, {}), in_order({"L", "XXS", "S"}, {}), in_order({"b", "a"}, {"a": 2.0, "b": 1.0})
    (('8', '10', '12'), ('XXS', 'S', 'L'), ('b', 'a'))
    """
    known = {name: _rank(name) for name in names}
    if all(rank is not None for rank in known.values()):
        return tuple(sorted(known, key=lambda name: (known[name] or 0, name)))
    return tuple(sorted(known, key=lambda name: (lengths.get(name, 0.0), name)))


def _rank(name: str) -> float | None:
    number = re.search(r"\d+", name)
    if _letters(name) in _LETTERS:
        return float(_LETTERS.index(_letters(name)))
    return 100.0 + int(number[0]) if number else None


def _letters(name: str) -> str:
    """Letter sizes in one spelling: 3XL is XXXL, medium M."""
    short = {"SMALL": "S", "MEDIUM": "M", "LARGE": "L"}.get(name.upper(), name.upper())
    many = re.fullmatch(r"([2-6])X([SL])", short)
    return "X" * int(many[1]) + many[2] if many else short


def _plain(name: str) -> str:
    return _NOT_IN_A_NAME.sub(" ", name).strip().upper()
