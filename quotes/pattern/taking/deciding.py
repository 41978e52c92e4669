"""Which piece is which panel: by the maker's word, by what numbers it, by where its seams true; else the maker is asked."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import permutations
from statistics import median

from inventory.ground.findings import Finding, note, stop
from quotes.pattern.geometry import Polyline
from quotes.pattern.taking.closing import diagonal
from quotes.pattern.taking.nesting import is_rectangle
from quotes.pattern.taking.numbering import Told
from quotes.pattern.taking.pieces import is_square, mirror_of
from quotes.pattern.taking.seam_order import Measured, trues, truing_orders
from quotes.pattern.taking.taken import Role

__all__ = ["Candidate", "Decided", "Decision", "decided"]

_TITLE_BLOCK_SHARE = 0.75
"""A title block is smaller than this share of the panels' usual size from corner to corner; what is larger may be a front panel."""
_MOST_TRIED = 4
"""Up to this many pieces without a number are tried in every order in the gaps between those that have one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A piece that could be a panel, in the order of the drawing; `measure` tells its sides, in mm at a rough scale."""

    ring: Polyline
    where: str
    told: Told
    measure: Callable[[], Measured | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What a piece is. `is_drawn` for those that make the garment, the other half with them where it is drawn whole."""

    role: Role
    number: int | None
    why: str
    runner_up: str = ""
    is_drawn: bool = False


@dataclass(slots=True, kw_only=True)
class Decided:
    """A decision for each candidate, and the stops where the maker has to say."""

    decisions: list[Decision]
    findings: list[Finding] = field(default_factory=list)


def decided(candidates: Sequence[Candidate], panels: Sequence[int]) -> Decided:
    """Return what each candidate is. `panels` are the maker's numbers for those without one, or for all; 0 leaves out."""
    numbers_all = len(panels) == len(candidates)
    result = Decided(decisions=[_by_told(one.told) for one in candidates])
    result.findings += [
        stop(
            "pattern.number-ambiguous",
            one.where,
            f"The outline has several numbers: {', '.join(map(str, one.told.contradicting))}.",
            "Leave one number in each panel.",
        )
        for one in candidates
        if one.told.contradicting and not numbers_all
    ]
    without = [at for at, one in enumerate(candidates) if one.told.number is None and not one.told.contradicting]
    if panels:
        _by_maker(result, candidates, without, panels)
    elif len(without) == len(candidates):
        _by_order(result, candidates)
    elif without and not result.findings:
        _by_neighbours(result, candidates, without)
        _ask_for_panels_left_out(result, candidates, without)
    if not panels:
        _title_blocks(result, candidates)
    _halves(result, candidates)
    return result


def _by_told(told: Told) -> Decision:
    if told.number is None:
        return Decision(role=Role.LEFT_OUT, number=None, why="it has no number")
    return Decision(role=Role.PANEL, number=told.number, why=told.why, is_drawn=True)


def _by_maker(result: Decided, candidates: Sequence[Candidate], without: Sequence[int], panels: Sequence[int]) -> None:
    places = next((p for p in (list(without), list(range(len(candidates)))) if len(p) == len(panels)), None)
    if places is None:
        result.findings.append(
            stop(
                "option.panels",
                "--panels",
                f"--panels gives {len(panels)} numbers, and {len(without)} outlines have none of their own.",
                f"Give {len(without)}, left to right and top to bottom; 0 leaves one out."
                if without
                else "Leave it out.",
            )
        )
        return
    for at, number in zip(places, panels, strict=True):
        result.decisions[at] = (
            Decision(role=Role.PANEL, number=number, why="numbered by --panels", is_drawn=True)
            if number
            else Decision(role=Role.LEFT_OUT, number=None, why="left out by --panels")
        )


def _by_order(result: Decided, candidates: Sequence[Candidate]) -> None:
    """Nothing is numbered: left to right counts where all seams true so and in no other order; else it is proposed."""
    squares = {at for at, one in enumerate(candidates) if is_square(one.ring)}
    for at in squares:
        result.decisions[at] = Decision(role=Role.TEST_SQUARE, number=None, why="a square without a length")
    rest = [at for at in range(len(candidates)) if at not in squares]
    sides = [candidates[at].measure() for at in rest]
    known = [one for one in sides if one is not None]
    orders = truing_orders(known) if len(known) == len(sides) else []
    plain = tuple(range(len(rest)))
    others = [order for order in orders if order not in (plain, plain[::-1])]
    is_sure = plain in orders and not others and plain[::-1] not in orders and len(rest) > 1
    numbers = plain if plain in orders or not orders else _inverse(orders[0])
    if _runs_from_back([candidates[at].told.place for at in rest], numbers):
        numbers = tuple(len(rest) - 1 - number for number in numbers)
    for place, at in enumerate(rest):
        number = numbers[place] + 1
        runner_up = f"panel {len(rest) - number + 1}, with centre front at the other end"
        if others:
            runner_up = f"panel {_inverse(others[0])[place] + 1}, in another order whose seams true"
        result.decisions[at] = Decision(
            role=Role.PANEL,
            number=number,
            why="by its place from the left, where its edges true with its neighbours'"
            if plain in orders
            else "by an order in which the seams true"
            if orders
            else "by its place from the left",
            runner_up=runner_up,
            is_drawn=True,
        )
    if is_sure:
        result.findings.append(
            note(
                "pattern.numbered-by-order",
                "file",
                f"No outline has a number; they were numbered 1 to {len(rest)} in the order in which all their seams true.",
                f"Say --panels {','.join(str(number) for number in range(len(rest), 0, -1))} if centre front lies to the right."
                if numbers == plain
                else "Say --panels if they are others.",
            )
        )
    if is_sure or not rest:
        return
    if len(rest) % 2 == 0 and all(
        mirror_of(candidates[at].ring, candidates[other].ring)
        for at, other in zip(rest[: len(rest) // 2], reversed(rest), strict=False)
    ):
        half = len(rest) // 2
        numbers_of_half = ",".join([*["0"] * half, *(str(number + 1) for number in range(half))])
        result.findings.append(
            stop(
                "pattern.panels-without-number",
                "file",
                f"{len(rest)} outlines lie as two halves in a mirror, and none has a number.",
                f"Say --panels {numbers_of_half} where centre front lies in the middle.",
            )
        )
        return
    proposal = ",".join(str(numbers[place] + 1) for place in range(len(rest)))
    if not orders:
        words = "in no order do all their seams true"
    elif len(orders) > 2 or plain in orders:
        words = "their seams true in several orders"
    elif others:
        words = "their seams true in another order than from left to right"
    else:
        words = "their seams true from right to left"
    result.findings.append(
        stop(
            "pattern.panels-without-number",
            "file",
            f"{len(rest)} outlines could be panels; none has a number, and {words}.",
            f"Say --panels {proposal} or the like, left to right and top to bottom; 0 leaves one out.",
        )
    )


def _runs_from_back(places: Sequence[int | None], numbers: Sequence[int]) -> bool:
    """Whether names such as CF or back put centre front to the end of an order instead of its beginning."""
    known = sorted((number, place) for number, place in zip(numbers, places, strict=True) if place is not None)
    if not known:
        return False
    middle = 3
    last = len(numbers) - 1
    first_place, last_place = known[0][1], known[-1][1]
    if len(known) > 1 and first_place != last_place:
        return first_place > last_place
    number, place = known[0]
    return place != middle and (place > middle) == (2 * number < last)


def _by_neighbours(result: Decided, candidates: Sequence[Candidate], without: Sequence[int]) -> None:
    """Some are numbered: the others fill the gaps where their seams true, or are left out."""
    numbered = {number: at for at, one in enumerate(candidates) if (number := one.told.number) is not None}
    highest = max(numbered)
    missing = [number for number in range(1, highest + 1) if number not in numbered]
    for at in without:
        twin = next(
            (number for number, other in numbered.items() if mirror_of(candidates[other].ring, candidates[at].ring)),
            None,
        )
        if twin is not None:
            result.decisions[at] = Decision(
                role=Role.OTHER_HALF, number=twin, why=f"panel {twin} in a mirror, without a number of its own"
            )
    open_ = [at for at in without if result.decisions[at].role is Role.LEFT_OUT]
    if not missing:
        last = candidates[numbered[highest]].measure()
        for at in open_:
            result.decisions[at] = Decision(
                role=Role.LEFT_OUT, number=None, why=f"it has no number, and the others are panels 1 to {highest}"
            )
            sides = candidates[at].measure()
            if last and sides and not is_square(candidates[at].ring) and trues(last.right_mm, sides.left_mm):
                result.findings.append(
                    stop(
                        "pattern.panels-without-number",
                        candidates[at].where,
                        f"One outline has no number; its edge trues with panel {highest}, so it may be panel {highest + 1}.",
                        f"Number it, or say --panels {highest + 1}, or --panels 0 to leave it out.",
                    )
                )
        return
    fitting = []
    if len(open_) >= len(missing) and len(open_) <= _MOST_TRIED:
        fitting = [
            order
            for order in permutations(open_, len(missing))
            if _fits(candidates, {**numbered, **dict(zip(missing, order, strict=True))}, missing)
        ]
    if len(fitting) == 1:
        for number, at in zip(missing, fitting[0], strict=True):
            result.decisions[at] = Decision(
                role=Role.PANEL, number=number, why="its edges true with its neighbours' alone", is_drawn=True
            )
    elif open_:
        result.findings.append(
            stop(
                "pattern.panels-without-number",
                candidates[open_[0]].where,
                f"Panel {', '.join(map(str, missing))} is missing, and {len(open_)} outlines have no number.",
                f"Say --panels {','.join(map(str, (missing + [0] * len(open_))[: len(open_)]))} or the like, left to right and "
                "top to bottom; 0 leaves one out.",
            )
        )


def _ask_for_panels_left_out(result: Decided, candidates: Sequence[Candidate], without: Sequence[int]) -> None:
    """A stop for what would be left out, is a panel by its words and trues with the first panel or the last."""
    numbered = {one.number: at for at, one in enumerate(result.decisions) if one.is_drawn and one.number is not None}
    if result.findings or not numbered:
        return
    ends = [(end, candidates[numbered[end]].measure()) for end in (min(numbered), max(numbered))]
    for at in without:
        sides = candidates[at].measure()
        if result.decisions[at].role is not Role.LEFT_OUT or not candidates[at].told.is_panel or sides is None:
            continue
        beside = [
            end
            for end, other in ends
            if other and (trues(sides.right_mm, other.left_mm) or trues(other.right_mm, sides.left_mm))
        ]
        if beside:
            result.findings.append(
                stop(
                    "pattern.panels-without-number",
                    candidates[at].where,
                    f"One outline is {candidates[at].told.why}, and its edge trues with panel {beside[0]}, so it may be a panel too.",
                    "Number all panels from 1 at centre front, or say --panels 0 to leave it out.",
                )
            )


def _fits(candidates: Sequence[Candidate], numbered: dict[int, int], missing: Sequence[int]) -> bool:
    """Whether the filled gaps true with their neighbours on both sides, in the drawing's own direction or its mirror."""
    for mirrored in (False, True):
        for number in {step for gap in missing for step in (gap - 1, gap)}:
            if number in numbered and number + 1 in numbered:
                before, after = candidates[numbered[number]].measure(), candidates[numbered[number + 1]].measure()
                if before is None or after is None:
                    return False
                ends = (before.left_mm, after.right_mm) if mirrored else (before.right_mm, after.left_mm)
                if not trues(*ends):
                    break
        else:
            return True
    return False


def _title_blocks(result: Decided, candidates: Sequence[Candidate]) -> None:
    """Small oblongs whose words bear a number that another outline, which is none, has too: the drawing's own name and date."""
    sizes = [diagonal(candidates[at].ring) for at, one in enumerate(result.decisions) if one.is_drawn]
    for number in {one.number for one in result.decisions if one.is_drawn}:
        same = [at for at, one in enumerate(result.decisions) if one.is_drawn and one.number == number]
        oblong = [
            at
            for at in same
            if is_rectangle(candidates[at].ring) and diagonal(candidates[at].ring) < _TITLE_BLOCK_SHARE * median(sizes)
        ]
        for at in oblong if len(oblong) < len(same) else []:
            why = f"an oblong with words, and another outline is panel {number}"
            result.decisions[at] = Decision(role=Role.LEFT_OUT, number=None, why=why)


def _halves(result: Decided, candidates: Sequence[Candidate]) -> None:
    """Panels that stand twice: the other half where all do, else a copy that is left out."""
    drawn = [at for at, one in enumerate(result.decisions) if one.is_drawn]
    counts = Counter(result.decisions[at].number for at in drawn)
    both = set(counts.values()) == {2}
    first: dict[int | None, int] = {}
    for at in drawn:
        one = result.decisions[at]
        if one.number not in first:
            first[one.number] = at
            continue
        is_mirror = mirror_of(candidates[first[one.number]].ring, candidates[at].ring)
        is_copy = not is_mirror and _alike(candidates[first[one.number]].ring, candidates[at].ring)
        if is_copy:
            result.decisions[at] = Decision(
                role=Role.LEFT_OUT, number=one.number, why=f"panel {one.number} once more, the same way round"
            )
        elif both:
            result.decisions[at] = Decision(role=Role.OTHER_HALF, number=one.number, why=one.why, is_drawn=True)
        elif is_mirror:
            result.decisions[at] = Decision(
                role=Role.OTHER_HALF, number=one.number, why=f"panel {one.number} in a mirror"
            )


def _alike(one: Polyline, other: Polyline) -> bool:
    return mirror_of(one, tuple((-x, y) for x, y in other))


def _inverse(order: Sequence[int]) -> tuple[int, ...]:
    """For each piece its position in the order."""
    return tuple(order.index(place) for place in range(len(order)))
