"""Invented workrooms with hidden true minutes, whose logs are as faulty as real ones. Every figure is drawn from a seed.

Words: an operation's *true* minutes are those of the table × its hidden factor × the pace of the day (skill drifts) ×
what a repeat of the style takes × the difficulty of the job; a job's *spent* minutes vary about them, and its *log* is
what a timer made of them: some are forgotten for twelve hours, some never started.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from quotes.labour.learning import Observation

TABLE = {
    "CONS": 75, "ADMIN": 45, "DRAFT": 147, "TRUE": 28, "TCUT": 28, "TSEW": 67, "FIT": 105, "PREP": 30, "CUT": 104,
    "PIN": 40, "SEW1": 21, "SEW2": 19, "CLIP": 30, "PRESS": 41, "TAPE": 25, "BUSK": 55, "INTF": 8, "JOIN": 25,
    "CHAN": 23, "GPAN": 40, "TRIM": 20, "SPIR": 40, "FLATB": 6, "INSB": 16, "GROM": 48, "BIAS": 24, "BINDM": 21,
    "BINDH": 76, "CORD": 12, "FIN": 30, "HAND": 45, "CLOSE": 45,
}  # fmt: skip
"""Minutes of a two-layer corset of six panels: common practice, no source."""
FORGOTTEN_MIN = 720.0
FIRST_DAY = date(2024, 1, 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How a workroom differs and errs: spreads of logarithms, and shares of entries."""

    pace_sd: float = 0.20
    factor_sd: float = 0.30
    entry_sd: float = 0.30
    job_sd: float = 0.08
    drift_per_year: float = -0.06
    forgotten_share: float = 0.0
    unlogged_share: float = 0.0
    scraps_share: float = 0.0
    repeat_share: float = 0.0
    rate: float = 0.92
    days_between: int = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedJob:
    """A job: minutes of the table, as hidden truth expects them and as they were spent; and what was logged."""

    job: str
    day: date
    style: str
    repetition: int
    table_min: dict[str, float]
    true_min: dict[str, float]
    spent_min: dict[str, float]
    observations: tuple[Observation, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedStudio:
    """A workroom: the hidden factors (of averages, pace included, on the last day), and its jobs in order."""

    factors: dict[str, float]
    jobs: tuple[SimulatedJob, ...]

    @property
    def observations(self) -> tuple[Observation, ...]:
        """All entries."""
        return tuple(seen for job in self.jobs for seen in job.observations)


def studio(seed: int, jobs: int, habits: Habits) -> SimulatedStudio:
    """Return a workroom of so many jobs."""
    chance = np.random.default_rng(seed)
    names = list(TABLE)
    hidden = np.exp(chance.normal(0.05, habits.pace_sd) + chance.normal(0, habits.factor_sd, len(names)))
    years = np.arange(jobs) * habits.days_between / 365.25
    pace = np.exp(habits.drift_per_year * years)
    table = np.array(list(TABLE.values())) * np.exp(chance.normal(0, 0.25, (jobs, len(names))))
    present = chance.random((jobs, len(names))) < 0.9
    difficulty = np.exp(chance.normal(0, habits.job_sd, (jobs, 1)))
    noise = np.exp(chance.normal(-(habits.entry_sd**2) / 2, habits.entry_sd, table.shape))
    kind_of_log = chance.random(table.shape)
    scraps = chance.uniform(0.01, 0.1, table.shape)
    is_repeat = chance.random(jobs) < habits.repeat_share
    style_of = chance.integers(0, max(1, jobs // 12), jobs)
    made: dict[str, int] = defaultdict(int)
    rows = []
    for place in range(jobs):
        style = f"style {style_of[place]}" if is_repeat[place] else ""
        made[style] += 1
        repetition = made[style] if style else 1
        true = table[place] * hidden * pace[place] * repetition ** np.log2(habits.rate)
        spent = true * difficulty[place] * noise[place]
        here = [index for index in range(len(names)) if present[place, index]]
        job, day = f"J{place:03}", FIRST_DAY + timedelta(days=place * habits.days_between)
        observations = tuple(
            Observation(
                job=job,
                day=day,
                operation=names[index],
                estimated_min=float(table[place, index]),
                logged_min=_logged(float(spent[index]), kind_of_log[place, index], scraps[place, index], habits),
                style=style,
                repetition=repetition,
            )
            for index in here
        )
        rows.append(
            SimulatedJob(
                job=job,
                day=day,
                style=style,
                repetition=repetition,
                table_min={names[index]: float(table[place, index]) for index in here},
                true_min={names[index]: float(true[index]) for index in here},
                spent_min={names[index]: float(spent[index]) for index in here},
                observations=observations,
            )
        )
    factors = {name: float(factor * pace[-1]) for name, factor in zip(names, hidden, strict=True)}
    return SimulatedStudio(factors=factors, jobs=tuple(rows))


def _logged(spent: float, kind: float, scrap: float, habits: Habits) -> float | None:
    """What the log says, by `kind` of fault, drawn from 0 to 1."""
    if kind < habits.forgotten_share:
        return FORGOTTEN_MIN
    if kind < habits.forgotten_share + habits.unlogged_share:
        return None
    if kind < habits.forgotten_share + habits.unlogged_share + habits.scraps_share:
        return spent * float(scrap)
    return spent
