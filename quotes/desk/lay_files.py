"""What the `lay` command lays: the pieces of pattern files, or one strip-packing problem, and what the options make of them."""

from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

from inventory.ground.confined import read_json_file
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused, note, refuse, stop
from quotes.lay.fitting import width_faults
from quotes.lay.folding import folded
from quotes.lay.lay_plan import LayPiece, LayProblem
from quotes.lay.strip_file import is_strip_packing, read_strip_packing
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers import read_pattern
from quotes.takeoff.cut_pieces import CutPiece, cut_pieces

__all__ = ["LayOrder", "LayWishes", "lay_order"]

MOST_FILES = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class LayWishes:
    """What is asked of a lay besides its pieces; None leaves it to the file or the default."""

    width: float | None = None
    spacing: float | None = None
    layers: int = 1
    has_nap: bool = False
    is_folded: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LayOrder:
    """A problem that can be laid, and how its pieces are called and marked.

    Attributes:
        name: of what is laid, for titles.
        problem: for a folded lay that of one thickness, on half the width.
        width: of the whole cloth.
        marked: the pieces of patterns by their labels, with their marks; empty for a strip-packing problem.
        partners: as in a folded lay; empty for an open one.
        is_in_mm: whether lengths are mm; a strip-packing problem keeps its own unit.
    """

    name: str
    problem: LayProblem
    width: float
    marked: dict[str, CutPiece]
    partners: dict[tuple[str, int], str]
    is_folded: bool
    is_in_mm: bool
    findings: tuple[Finding, ...]


def lay_order(paths: list[Path], wishes: LayWishes, options: ReadOptions) -> LayOrder:
    """Return the lay of some files.

    Raises:
        Refused: a file that cannot be read, wishes that do not go together, a piece that does not fit the cloth.
    """
    if len(paths) > MOST_FILES:
        raise refuse(
            "lay.too-many-files", "FILE", f"{len(paths)} files are more than {MOST_FILES}.", "Lay fewer at once."
        )
    problems = [_strip_packing(path) for path in paths]
    strips = [path.name for path, problem in zip(paths, problems, strict=True) if problem]
    if strips and len(paths) > 1:
        raise refuse(
            "lay.file-alone",
            strips[0],
            f"{strips[0]} is a strip-packing problem and stands alone.",
            "Lay it by itself.",
        )
    order = _of_strip(paths[0].stem, problems[0], wishes) if problems[0] else _of_patterns(paths, wishes, options)
    order = replace(order, problem=_with_nap(order.problem) if wishes.has_nap else order.problem)
    if wishes.is_folded:
        order = _folded(order)
    if faults := width_faults(
        order.problem.pieces, order.problem.width, open_width=order.width if order.is_folded else None
    ):
        raise Refused(faults)
    return order


def _strip_packing(path: Path) -> LayProblem | None:
    """The problem in a JSON file that holds one; None for whatever else, which is a pattern."""
    return read_json_file(path, _read_if_strip_packing, where=path.name) if path.suffix.lower() == ".json" else None


def _read_if_strip_packing(document: object) -> LayProblem | None:
    return read_strip_packing(document) if is_strip_packing(document) else None


def _of_strip(name: str, problem: LayProblem, wishes: LayWishes) -> LayOrder:
    if wishes.width is not None and abs(wishes.width - problem.width) > 1e-6 * problem.width:
        raise refuse(
            "lay.width-differs",
            "--width",
            f"The file says a strip_height of {problem.width:g}, the option {wishes.width:g}.",
            "Leave --width out.",
        )
    if wishes.layers > 1:
        pieces = tuple(replace(piece, copies=piece.copies * wishes.layers) for piece in problem.pieces)
        problem = replace(problem, pieces=pieces)
    if wishes.spacing is not None:
        problem = replace(problem, spacing=wishes.spacing)
    return LayOrder(
        name=name,
        problem=problem,
        width=problem.width,
        marked={},
        partners={},
        is_folded=False,
        is_in_mm=False,
        findings=(),
    )


def _of_patterns(paths: list[Path], wishes: LayWishes, options: ReadOptions) -> LayOrder:
    findings: list[Finding] = []
    width = wishes.width
    if width is None:
        width = float(shelf_defaults().material.usable_width_mm)
        findings.append(
            note("lay.width-assumed", "--width", f"No width was said: {width:g} mm is taken.", "Say --width.")
        )
    named: Counter[str] = Counter()
    marked: dict[str, CutPiece] = {}
    for path in paths:
        reading = read_pattern(path, options)
        pattern = reading.pattern
        if options.seam_allowance_mm is not None:
            pattern = replace(pattern, seam_allowance_mm=options.seam_allowance_mm)
        named[path.stem] += 1
        prefix = (
            ""
            if len(paths) == 1
            else f"{path.stem} "
            if named[path.stem] == 1
            else f"{path.stem} ({named[path.stem]}) "
        )
        marked |= {prefix + piece.label: piece for piece in cut_pieces(pattern, layers=wishes.layers)}
        findings += (
            replace(found, where=f"{path.name}, {found.where}") if len(paths) > 1 else found
            for found in reading.findings
        )
    pieces = tuple(LayPiece(label=label, outline=piece.outline) for label, piece in marked.items())
    problem = LayProblem(width=width, pieces=pieces)
    return LayOrder(
        name=" and ".join(named),
        problem=problem if wishes.spacing is None else replace(problem, spacing=wishes.spacing),
        width=width,
        marked=marked,
        partners={},
        is_folded=False,
        is_in_mm=True,
        findings=tuple(findings),
    )


def _with_nap(problem: LayProblem) -> LayProblem:
    turned = [piece.label for piece in problem.pieces if not any(turn % 360 == 0 for turn in piece.rotations)]
    if turned:
        raise Refused(
            stop(
                "lay.nap",
                f"piece {label}",
                f"Piece {label} may lie turned only; a cloth with a nap allows no turning.",
                "Allow it 0 degrees.",
            )
            for label in turned
        )
    return replace(problem, pieces=tuple(replace(piece, rotations=(0.0,)) for piece in problem.pieces))


def _folded(order: LayOrder) -> LayOrder:
    problem = order.problem
    if not problem.is_plain:
        what = "a repeat" if problem.repeat else "flaws" if problem.flaws else "remnants"
        raise refuse(
            "lay.folded-cloth",
            "--folded",
            f"A cloth with {what} is laid open.",
            "Leave --folded out, or the repeat, flaws and remnants.",
        )
    lay = folded(problem)
    return replace(
        order,
        problem=lay.problem,
        partners=lay.partners,
        is_folded=True,
        findings=(*order.findings, *lay.findings),
    )
