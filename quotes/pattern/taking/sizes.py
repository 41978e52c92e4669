"""Sizes nested in one drawing: how many, how they are told apart, what they are called, which one is meant."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.ground.findings import Finding, stop
from quotes.pattern.geometry import length_mm, ring_area_mm2
from quotes.pattern.sheet import Label, Stroke
from quotes.pattern.taking.closing import Closed
from quotes.pattern.taking.nesting import Look, Stack, allowance_between, size_look
from quotes.pattern.taking.words import said

__all__ = ["Sizes", "told_sizes"]

_COLOURS = {
    "#000000": "black", "#ff0000": "red", "#0000ff": "blue", "#008000": "green", "#00ff00": "green", "#ffff00": "yellow",
    "#00ffff": "cyan", "#ff00ff": "magenta", "#808080": "grey", "#ffa500": "orange", "#800080": "purple",
}  # fmt: skip
"""The plain ones of the colour names of CSS."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """The sizes of a drawing.

    Attributes:
        names: smallest first; empty for one size.
        chosen: the outlines of the size that is meant, by place; None where all are.
        others_look: looks of the sizes that are not meant; a line that looks so is none of the chosen one's.
        fault: why none could be chosen.
    """

    names: tuple[str, ...] = ()
    chosen: frozenset[int] | None = None
    look: Look | None = None
    others_look: frozenset[str] = frozenset()
    fault: Finding | None = None


def told_sizes(
    groups: Sequence[Stack], closed: Sequence[Closed], lines: Sequence[Stroke], labels: Sequence[Label], wanted: str
) -> Sizes:
    """Return the sizes that lie in each other, and the chosen one."""
    many = [stack for stack in groups if len(stack.members) > 1]
    if not many or _are_pairs(many, closed):
        return Sizes()
    look = size_look(groups, closed)
    if look is None:
        return Sizes(
            fault=stop(
                "pattern.lines-over-each-other",
                closed[many[0].members[0]].stroke.where,
                f"{len(many[0].members)} outlines lie over each other, and neither layer, colour nor line style tells them apart.",
                "Draw each size in a colour or on a layer of its own, or leave one.",
            )
        )
    first = many[0]
    looks: list[str] = []
    for place in sorted(first.members, key=lambda place: ring_area_mm2(closed[place].ring)):
        seen = look(closed[place].stroke)
        if seen not in looks:
            looks.append(seen)
    names = tuple(_name(seen, look, lines, labels) for seen in looks)
    if not wanted:
        return Sizes(
            names=names,
            look=look,
            fault=stop(
                "pattern.several-sizes",
                "file",
                f"{len(names)} sizes lie in each other: {', '.join(names)}.",
                f"Say which with --size, for instance --size {names[0]}.",
            ),
        )
    hits = [place for place, name in enumerate(names) if _is_meant(name, wanted)]
    if len(hits) != 1:
        return Sizes(
            names=names,
            look=look,
            fault=stop(
                "pattern.unknown-size",
                "--size",
                f"{wanted[:40]!r} is {'none' if not hits else 'more than one'} of the sizes of this drawing: {', '.join(names)}.",
                "Say one of them.",
            ),
        )
    meant = looks[hits[0]]
    others = frozenset(seen for seen in looks if seen != meant)
    chosen = frozenset(
        place
        for stack in groups
        for place in stack.members
        if len(stack.members) == 1 or look(closed[place].stroke) == meant
    )
    return Sizes(names=names, chosen=chosen, look=look, others_look=others)


def _are_pairs(many: Sequence[Stack], closed: Sequence[Closed]) -> bool:
    """Whether each stack is a stitching line in its cut line, and no nest of sizes."""
    if any(len(stack.members) != 2 for stack in many):
        return False
    strokes = [closed[place].stroke for stack in many for place in stack.members]
    if any(said(name).is_cut or said(name).is_stitching for stroke in strokes for name in stroke.layers):
        return True
    if all(any(said(name).size for name in stroke.layers) for stroke in strokes):
        return False
    even = [
        allowance_between(closed[stack.members[0]].ring, closed[stack.members[1]].ring) is not None for stack in many
    ]
    return 2 * sum(even) > len(even)


def _name(seen: str, look: Look, lines: Sequence[Stroke], labels: Sequence[Label]) -> str:
    """What a size is called: by its layer, by the legend (a short line of its look with words beside it), or by its look."""
    for part in reversed(seen.split(" / ")):
        if said(part).size:
            return said(part).size
    legend = [line for line in lines if look(line) == seen]
    best: tuple[float, str] | None = None
    for label in labels:
        words = said(label.text)
        name = words.size or (label.text.strip() if label.text.strip().isdigit() else "")
        for line in legend:
            away = min(abs(label.at[0] - x) + abs(label.at[1] - y) for x, y in line.line)
            if name and away <= max(length_mm(line.line), 4 * label.height) and (best is None or away < best[0]):
                best = (away, name)
    if best is not None:
        return best[1]
    return _COLOURS.get(seen.lower(), seen) or "unnamed"


def _is_meant(name: str, wanted: str) -> bool:
    plain, said_size = wanted.strip().casefold(), said(wanted).size.casefold()
    return plain == name.casefold() or bool(said_size and said_size == (said(name).size or name).casefold())
