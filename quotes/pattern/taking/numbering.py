"""Which number has each piece by its names and the words on it, how surely, and why?"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from quotes.pattern.panels import MOST_PANELS
from quotes.pattern.sheet import Label
from quotes.pattern.taking.words import PLAIN, STRONG, WEAK, Said, said

__all__ = ["Named", "Told", "told_numbers"]

_GIVEN_BY_PROGRAM = re.compile(
    r"(?:path|rect|g|group|layer|ebene|calque|polygon|polyline|use|svg|text|tspan|line|circle|ellipse|shape|object|curve|"
    r"xmlid|block|entity|page|artboard|image)[\s_.-]*\d*(?:[\s_.-]\d+)*",
    re.IGNORECASE,
)
"""Names that drawing programs give by themselves: they number nothing, unless nothing else does and they are 1 to n."""
_PLACE_WORDS = ("centre front", "front", "side front", "side", "side back", "back", "centre back")
_SHORT = 16
"""A longer text beside a piece with a number among its words is a heading of the drawing."""
_LARGER = 1.5
"""Of two bare numbers in one piece that which is written this much larger counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A piece's names, its own first, and the labels inside its outline and near it."""

    names: tuple[str, ...]
    inside: tuple[Label, ...] = ()
    near: tuple[Label, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A number with why, or several that contradict each other; all empty where nothing numbers the piece.

    `place` is the rank of a name that it bears, from centre front (0) to centre back (6). `is_panel` tells of one without a
    number that its words are a panel's all the same: such a name alone, or a 0.
    """

    number: int | None = None
    place: int | None = None
    why: str = ""
    contradicting: tuple[int, ...] = ()
    is_panel: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Evidence:
    number: int
    sureness: int
    why: str
    height: float = 0.0


@dataclass(slots=True, kw_only=True)
class _Piece:
    evidence: list[_Evidence] = field(default_factory=list)
    place: int | None = None
    place_alone: int | None = None
    is_zero: bool = False
    letter: str = ""
    by_program: int | None = None


def told_numbers(pieces: Sequence[Named]) -> list[Told]:
    """Return what each piece is numbered by, in their order."""
    # A name or a number that stands at more than both halves of a panel is no panel's.
    names = Counter(name for piece in pieces for name in set(piece.names))
    texts = Counter(text for piece in pieces for text in {_plain(label.text) for label in (*piece.inside, *piece.near)})
    most = 2 if len(pieces) > 2 else 1
    found = [
        _heard(piece, {n for n in names if names[n] > most}, {t for t in texts if texts[t] > most}) for piece in pieces
    ]
    told = [_weighed(one) for one in found]
    ranked = _by_place_and_number(found)
    if ranked:
        return ranked
    if any(one.number is not None or one.contradicting for one in told):
        return _ends_by_place(found, told)
    named = [Told(place=one.place) for one in found]
    return _by_place(found) or _by_letter(found) or _by_program(found) or named


def _heard(piece: Named, shared_names: set[str], shared_texts: set[str]) -> _Piece:
    heard = _Piece()
    for name in piece.names:
        words = said(name)
        if name in shared_names:
            continue
        if _GIVEN_BY_PROGRAM.fullmatch(name.strip()):
            if words.number is not None and heard.by_program is None:
                heard.by_program = words.number
            continue
        if words.number is not None and 1 <= words.number <= MOST_PANELS and words.sureness != WEAK:
            sureness = STRONG if words.sureness == STRONG else PLAIN
            heard.evidence.append(_Evidence(number=words.number, sureness=sureness, why=f'named "{name[:40]}"'))
        elif words.number is not None and 1 <= words.number <= MOST_PANELS and not words.is_scale:
            heard.evidence.append(_Evidence(number=words.number, sureness=WEAK, why=f'named "{name[:40]}"'))
        _hear_name(heard, words)
    for labels, where in ((piece.inside, "inside"), (piece.near, "beside it")):
        told_here = []
        for label in labels:
            words = said(label.text)
            if _plain(label.text) in shared_texts:
                continue
            is_heading = where != "inside" and words.sureness == WEAK and len(label.text.strip()) > _SHORT
            if words.number is not None and 1 <= words.number <= MOST_PANELS and not is_heading:
                told_here.append(
                    _Evidence(
                        number=words.number,
                        sureness=words.sureness,
                        why=f'"{label.text.strip()[:40]}" stands {where}',
                        height=label.height,
                    )
                )
            _hear_name(heard, words)
        heard.evidence += told_here
        if told_here:
            break
    return heard


def _hear_name(heard: _Piece, words: Said) -> None:
    heard.place = words.place if heard.place is None else heard.place
    if words.is_place_alone and heard.place_alone is None:
        heard.place_alone = words.place
    heard.is_zero = heard.is_zero or (words.number == 0 and words.sureness >= PLAIN)
    heard.letter = heard.letter or words.letter


def _weighed(heard: _Piece) -> Told:
    if not heard.evidence:
        return Told()
    surest = max(one.sureness for one in heard.evidence)
    best = [one for one in heard.evidence if one.sureness == surest]
    if len({one.number for one in best}) > 1 and surest == PLAIN:
        tallest = max(one.height for one in best)
        best = [one for one in best if one.height * _LARGER >= tallest] if tallest > 0 else best
    numbers = tuple(sorted({one.number for one in best}))
    if len(numbers) > 1:
        return Told(contradicting=numbers)
    return Told(number=numbers[0], why=best[0].why)


def _by_place(found: Sequence[_Piece]) -> list[Told]:
    """Numbers by names such as front, side front, side, back, where every piece has one of its own (or each stands twice)."""
    places = [one.place for one in found]
    ranks = sorted({place for place in places if place is not None})
    counts = set(Counter(places).values())
    if None in places or counts not in ({1}, {2}) or len(ranks) < 2:
        return []
    return [
        Told(number=ranks.index(place) + 1, why=f'named "{_PLACE_WORDS[place]}"') if place is not None else Told()
        for place in places
    ]


def _ends_by_place(found: Sequence[_Piece], told: Sequence[Told]) -> list[Told]:
    """The same, with the number of those at the ends that are named alone: CF before 2, CB after the last."""
    counts = Counter(one.number for one in told if one.number is not None)
    last = max(counts, default=0)
    completed = list(told)
    for place, number, neighbour in ((0, 1, 2), (len(_PLACE_WORDS) - 1, last + 1, last)):
        ends = [at for at, one in enumerate(found) if _is_bare(told[at]) and one.place_alone == place]
        if ends and number not in counts and len(ends) == counts[neighbour]:
            for at in ends:
                completed[at] = Told(number=number, why=f'named "{_PLACE_WORDS[place]}"')
    for at, one in enumerate(found):
        if _is_bare(completed[at]) and (one.is_zero or one.place_alone is not None):
            why = "numbered 0" if one.is_zero else f'named "{_PLACE_WORDS[one.place_alone or 0]}"'
            completed[at] = replace(completed[at], is_panel=True, why=why)
    return completed


def _is_bare(told: Told) -> bool:
    return told.number is None and not told.contradicting


def _by_place_and_number(found: Sequence[_Piece]) -> list[Told]:
    """Numbers by names such as front 1, front 2, side 1, where the numbers alone count each place anew."""
    keys = []
    for one in found:
        numbers = {said_here.number for said_here in one.evidence}
        if one.place is None or len(numbers) > 1 or any(said_here.sureness > WEAK for said_here in one.evidence):
            return []
        keys.append((one.place, next(iter(numbers), 0)))
    counts = [number for _, number in keys if number]
    if len(set(counts)) == len(counts) or len(set(keys)) < len(keys) or len(keys) < 2:
        return []
    order = sorted(keys)
    return [Told(number=order.index(key) + 1, why=f"{_PLACE_WORDS[key[0]]} {key[1] or ''}".strip()) for key in keys]


def _by_letter(found: Sequence[_Piece]) -> list[Told]:
    letters = [one.letter for one in found]
    wanted = [chr(ord("A") + step) for step in range(len(set(letters)))]
    counts = set(Counter(letters).values())
    if sorted(set(letters)) != wanted or counts not in ({1}, {2}) or len(wanted) < 2:
        return []
    return [Told(number=wanted.index(letter) + 1, why=f'lettered "{letter}"') for letter in letters]


def _by_program(found: Sequence[_Piece]) -> list[Told]:
    numbers = [one.by_program for one in found]
    if len(numbers) < 2 or sorted(number or 0 for number in numbers) != list(range(1, len(numbers) + 1)):
        return []
    return [Told(number=number, why=f"on layer {number} of {len(numbers)}") for number in numbers]


def _plain(text: str) -> str:
    return " ".join(text.split()).lower()
