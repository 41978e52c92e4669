"""A lay problem and its answer. Lengths in the problem's own unit (mm for cloth)."""

from dataclasses import dataclass
from enum import StrEnum

from quotes.defaults import desk_defaults
from quotes.pattern.geometry import Polyline

__all__ = ["Box", "Effort", "LayPiece", "LayPlan", "LayProblem", "Placement", "Remnant", "Repeat"]

Box = tuple[float, float, float, float]
"""A rectangle on the cloth: x0, y0, x1, y1, with x0 < x1 and y0 < y1."""


class Effort(StrEnum):
    """How long to search: none uses the quick length rule and draws nothing."""

    NONE = "none"
    QUICK = "quick"
    NORMAL = "normal"
    THOROUGH = "thorough"


@dataclass(frozen=True, slots=True, kw_only=True)
class LayPiece:
    """A true outline to place `copies` times: a ring, x along the warp. `rotations` in degrees, counter-clockwise."""

    label: str
    outline: Polyline
    copies: int = 1
    rotations: tuple[float, ...] = (0.0, 180.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """How often a woven or printed motif comes again; 0 is none that way.

    Matched pieces lie with their reference point (the origin of their outline's coordinates) at whole repeats from the
    end of the cloth and from its lower selvedge, turned or not.
    """

    along: float = 0.0
    across: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remnant:
    """A piece of cloth that lies on the shelf. `worth` is the length of the roll that it is worth as much as.

    What is left beyond its last piece goes back where it is at least `keep_length` long, and keeps its share of the worth;
    None where nothing of it would.
    """

    width: float
    length: float
    worth: float = 0.0
    keep_length: float | None = None

    def rest_after(self, used: float) -> float:
        """How long what goes back is, where the first `used` of its length is cut from; 0 for none."""
        rest = self.length - used
        return rest if self.keep_length is not None and rest >= max(self.keep_length, 0.0) and rest > 0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LayProblem:
    """Pieces for one cloth. `spacing` is kept between pieces, not to the edges; `row_gap` at least where they lie in rows.

    `flaws` are places of the roll on which nothing may lie; `remnants` may be cut from before the roll is.
    """

    width: float
    pieces: tuple[LayPiece, ...]
    spacing: float = desk_defaults().lay.piece_spacing_mm
    row_gap: float = desk_defaults().lay.row_gap_mm
    repeat: Repeat | None = None
    flaws: tuple[Box, ...] = ()
    remnants: tuple[Remnant, ...] = ()

    @property
    def is_plain(self) -> bool:
        """Whether the cloth is one roll without flaws, and nothing has to match."""
        return self.repeat is None and not self.flaws and not self.remnants


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """One copy as it lies: `outline` is the true piece, moved and turned; `remnant` is which it lies on, None for the roll."""

    label: str
    copy: int
    rotation: float
    outline: Polyline
    remnant: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LayPlan:
    """A checked lay: nothing overlaps, nothing lies outside.

    `lower_bound` is a length of the roll that no lay can beat (area ÷ width, or the longest piece), 0 where remnants may hold
    all: what a lay costs is held against `bounds.least_cost`; `seconds` is the time of the search
    by the clock. `method` says what placed the pieces: "packed", "filled" one by one, "beside" for long pieces side by side, or "rows" where these are no longer;
    "stopped" where somebody ended the search, and "cut short" where it broke down or came to nothing in its time, with the best
    that was found by then; or "failed" where the engine was asked and gave no lay that is true, so that the pieces lie in rows
    for want of anything better.
    """

    width: float
    length: float
    density_share: float
    lower_bound: float
    placements: tuple[Placement, ...]
    effort: Effort
    seconds: float
    method: str

    @property
    def above_lower_bound_share(self) -> float:
        """How much longer it is than `lower_bound`, as a share of that; of the roll alone, so that nothing is said of remnants."""
        return max(0.0, self.length / self.lower_bound - 1)

    @property
    def has_failed(self) -> bool:
        """Whether it is to be drawn again before anybody relies on it."""
        return self.method == "failed"

    @property
    def ended_early(self) -> bool:
        """Whether a search of the time that was meant may well find a shorter one."""
        return self.method in ("stopped", "cut short", "failed")
