"""What was logged against what was expected, entry by entry, and the same as columns of numbers."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

__all__ = ["Columns", "Entry", "Observation", "SetAside", "columns", "logged_entries"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """One operation of one finished job: what is half done would pass for quick.

    Attributes:
        day: on which the job's time for it was last logged, or the job was finished where nobody logged.
        begun: the day on which it was first logged; None for `day`.
        estimated_min: the table's minutes for that job and operation, without allowance, > 0. All observations that
            are calibrated together must be estimated by the same table.
        logged_min: the sum of the job's timer entries for it, pauses left out; None or 0 where nobody logged.
        style: what is made again and again; empty for a piece of its own.
        repetition: 1 for the first piece of its style, 2 for the second, and so on.
    """

    job: str
    day: date
    operation: str
    estimated_min: float
    logged_min: float | None
    style: str = ""
    repetition: int = 1
    begun: date | None = None

    @property
    def first_day(self) -> date:
        """The day on which it was first logged, or seen."""
        return self.begun or self.day

    def __post_init__(self) -> None:
        logged = self.logged_min or 0.0
        if self.first_day > self.day:
            raise ValueError(f"An observation begins before it ends: {self}.")
        if not (0 < self.estimated_min < math.inf and 0 <= logged < math.inf and self.repetition >= 1):
            raise ValueError(f"An observation takes minutes above 0 and a repetition of at least 1: {self}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """An entry that is not believed: what was found where so much was expected, and the likely cause in words."""

    job: str
    day: date
    kind: str
    found: float
    expected: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What was `found` where so much was `expected`, both > 0, of one kind (operation or material) in one job."""

    job: str
    day: date
    kind: str
    expected: float
    found: float
    style: str = ""
    repetition: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns:
    """Entries as arrays, oldest first; `job`, `kind` and `style` count into the tuples of names.

    Names stand in the order in which they first came. `style` and `doublings` have one value a job: −1 where it has no
    style, and log2 of the repetition.
    """

    entries: tuple[Entry, ...]
    jobs: tuple[str, ...]
    kinds: tuple[str, ...]
    styles: tuple[str, ...]
    day: Integers
    job: Integers
    kind: Integers
    style: Integers
    doublings: Floats
    expected: Floats
    found: Floats

    def before(self, day: date) -> "Columns":
        """Return the entries older than `day`, and no name that came with younger ones."""
        count = int(np.searchsorted(self.day, day.toordinal(), side="left"))
        job, kind = self.job[:count], self.kind[:count]
        jobs = int(job.max(initial=-1)) + 1
        style = self.style[:jobs]
        return Columns(
            entries=self.entries[:count],
            jobs=self.jobs[:jobs],
            kinds=self.kinds[: int(kind.max(initial=-1)) + 1],
            styles=self.styles[: int(style.max(initial=-1)) + 1],
            day=self.day[:count],
            job=job,
            kind=kind,
            style=style,
            doublings=self.doublings[:jobs],
            expected=self.expected[:count],
            found=self.found[:count],
        )


def logged_entries(observations: Sequence[Observation]) -> list[Entry]:
    """Return the observations that somebody logged."""
    return [
        Entry(
            job=seen.job,
            day=seen.day,
            kind=seen.operation,
            expected=seen.estimated_min,
            found=seen.logged_min,
            style=seen.style,
            repetition=seen.repetition,
        )
        for seen in observations
        if seen.logged_min
    ]


def columns(entries: Sequence[Entry]) -> Columns:
    """Return the entries as arrays, in an order that does not depend on how they came.

    Raises:
        ValueError: a job is one piece, and its entries name two styles or repetitions.
    """
    ordered = sorted(entries, key=lambda entry: (entry.day, entry.job, entry.kind, entry.found))
    pieces: dict[str, tuple[str, int]] = {}
    for entry in ordered:
        if pieces.setdefault(entry.job, (entry.style, entry.repetition)) != (entry.style, entry.repetition):
            raise ValueError(f"The entries of job {entry.job} name two styles or repetitions.")
    jobs = tuple(pieces)
    kinds = tuple(dict.fromkeys(entry.kind for entry in ordered))
    styles = tuple(dict.fromkeys(entry.style for entry in ordered if entry.style))
    job_of, kind_of, style_of = ({name: place for place, name in enumerate(names)} for names in (jobs, kinds, styles))

    def whole(values: list[int]) -> Integers:
        return np.array(values, dtype=np.int64)

    return Columns(
        entries=tuple(ordered),
        jobs=jobs,
        kinds=kinds,
        styles=styles,
        day=whole([entry.day.toordinal() for entry in ordered]),
        job=whole([job_of[entry.job] for entry in ordered]),
        kind=whole([kind_of[entry.kind] for entry in ordered]),
        style=whole([style_of.get(style, -1) for style, _ in pieces.values()]),
        doublings=np.array([math.log2(repetition) for _, repetition in pieces.values()]),
        expected=np.array([entry.expected for entry in ordered]),
        found=np.array([entry.found for entry in ordered]),
    )
