"""Invented workrooms whose true minutes are known, and how they keep their logs.

The truth is not the model's: a piece's operations take estimate × pace × factor × the luck of the piece × the luck of
the operation, both with an average of 1, worked one after another through days of three to six hours. What becomes of
the true sittings on paper is the workroom's habit, one function a habit. Estimates are those of a plain corset by the
table of standard minutes. Paces are even over 16 to 40 hours for a piece of 25.7 (published figures for such a piece).
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np

__all__ = ["KINDS", "Piece", "Workroom", "workroom"]

TABLE: dict[str, float] = {
    "CONS": 75, "ADMIN": 45, "DRAFT": 147, "TRUE": 28, "TCUT": 28, "TSEW": 67, "FIT": 105, "PREP": 30, "CUT": 104,
    "PIN": 40, "SEW1": 21, "SEW2": 19, "CLIP": 30, "PRESS": 41, "TAPE": 25, "BUSK": 55, "INTF": 8, "JOIN": 25,
    "CHAN": 23, "GPAN": 40, "TRIM": 20, "SPIR": 40, "FLATB": 6, "INSB": 16, "GROM": 48, "BIAS": 24, "BINDM": 21,
    "BINDH": 76, "FLOSS": 120, "MOD": 50, "CORD": 12, "FIN": 30, "HAND": 45, "CLOSE": 45,
}  # fmt: skip
CLIENT = ("CONS", "ADMIN", "HAND", "CLOSE")
OF_PATTERN = ("DRAFT", "TRUE", "TCUT", "TSEW", "FIT")
BY_MACHINE = ("TSEW", "SEW1", "SEW2", "TAPE", "JOIN", "CHAN", "GPAN", "BINDM", "BUSK", "CUT", "SPIR", "GROM")
PANELS = (
    "DRAFT",
    "TRUE",
    "TCUT",
    "TSEW",
    "CUT",
    "PIN",
    "SEW1",
    "SEW2",
    "CLIP",
    "PRESS",
    "TAPE",
    "CHAN",
    "SPIR",
    "INSB",
)
FIRST_DAY = date(2024, 1, 8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A job: what was estimated, what it truly took, and the sittings in which it was worked (day, code, minutes)."""

    name: str
    estimates: Mapping[str, float]
    minutes: Mapping[str, float]
    expected: float
    sittings: Sequence[tuple[date, str, float]]
    maker: str | None

    @property
    def true_min(self) -> float:
        """What it truly took, all operations."""
        return math.fsum(self.minutes.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Workroom:
    """What is written (as `calibrate --log` reads it), what is true, and pieces that may come next.

    Attributes:
        unseen: operations that are never written: nobody can know them, so they are judged at what was planned.
        nexts: pieces that come after so many jobs.
    """

    jobs: Sequence[dict[str, Any]]
    pieces: Sequence[Piece]
    nexts: Mapping[int, Sequence[Piece]]
    unseen: frozenset[str] = field(default=frozenset())

    def true_min(self, piece: Piece) -> float:
        """What a piece took, and what was planned for operations of which the log can never tell."""
        return math.fsum(
            piece.estimates[code] if code in self.unseen else taken for code, taken in piece.minutes.items()
        )

    def known_min(self, piece: Piece) -> float:
        """What one who knows pace and factors, but not the piece's luck, would say."""
        if not self.unseen:
            return piece.expected
        return piece.expected + math.fsum(piece.estimates[code] for code in self.unseen if code in piece.estimates)


@dataclass(slots=True, kw_only=True)
class _Truth:
    """How a workroom works. Spreads are of natural logarithms."""

    chance: np.random.Generator
    pace: float
    factors: dict[str, float]
    job_sd: float = 0.115
    entry_sd: float = 0.30
    tails: float | None = None
    practice: float = 0.0
    tool_from: int | None = None
    tool_factor: float = 1.0
    makers: dict[str, float] = field(default_factory=dict)
    unseen: frozenset[str] = frozenset()
    other_next: bool = False

    def piece(self, number: int, name: str, day: date, *, other: bool) -> Piece:
        chance = self.chance
        estimates = _estimates(chance, other=other)
        maker = str(chance.choice(list(self.makers))) if self.makers else None
        luck = math.exp(chance.normal(0, self.job_sd) - self.job_sd**2 / 2)
        common = self.pace * (number + 1) ** -self.practice * (self.makers[maker] if maker else 1.0)
        factors = {
            code: self.factors[code]
            * (
                self.tool_factor
                if self.tool_from is not None and number >= self.tool_from and code in BY_MACHINE
                else 1
            )
            for code in estimates
        }
        minutes = {
            code: max(1.0, estimate * common * factors[code] * luck * self._luck())
            for code, estimate in estimates.items()
        }
        return Piece(
            name=name,
            estimates=estimates,
            minutes=minutes,
            expected=math.fsum(
                estimates[code] * common * factors[code] for code in estimates if code not in self.unseen
            ),
            sittings=_sittings(chance, minutes, day),
            maker=maker,
        )

    def _luck(self) -> float:
        if self.tails is None:
            return math.exp(self.chance.normal(0, self.entry_sd) - self.entry_sd**2 / 2)
        drawn = float(np.clip(self.chance.standard_t(self.tails), -6, 6))
        return math.exp(drawn * self.entry_sd * 0.8) / 1.06


def _estimates(chance: np.random.Generator, *, other: bool) -> dict[str, float]:
    """A plain piece, more or less; `other` is an elaborate one."""
    codes = dict(TABLE)
    panels = chance.choice([4, 5, 6, 7]) / 5.5
    if other:
        panels *= 1.3
    elif chance.random() < 0.3:
        for code in OF_PATTERN:
            codes.pop(code)
    for code, share in (("FLOSS", 0.15), ("MOD", 0.3), ("BIAS", 0.7)):
        if not other and chance.random() > share:
            codes.pop(code)
    scaled = {code: minutes * (0.4 + 0.6 * panels if code in PANELS else 1) for code, minutes in codes.items()}
    if "FIT" in scaled and (other or chance.random() < 0.3):
        scaled["FIT"] *= 2
    if other:
        scaled["FLOSS"] *= 2
        scaled["BINDH"] *= 1.5
    return {code: round(float(minutes), 1) for code, minutes in scaled.items()}


def _sittings(chance: np.random.Generator, minutes: Mapping[str, float], day: date) -> list[tuple[date, str, float]]:
    sittings, room = [], float(chance.uniform(180, 360))
    for code, taken in minutes.items():
        left = taken
        while left > room + 10:
            if room > 10:
                sittings.append((day, code, room))
                left -= room
            day, room = day + timedelta(days=int(chance.integers(1, 4))), float(chance.uniform(180, 360))
        sittings.append((day, code, left))
        room -= left
    return sittings


Sessions = list[dict[str, Any]]
Habit = Callable[[np.random.Generator, Piece, Sessions], Sessions]


def _put_on_neighbour(below: float) -> Habit:
    def habit(chance: np.random.Generator, piece: Piece, sessions: Sessions) -> Sessions:
        kept: Sessions = []
        carried = 0.0
        for session in sessions:
            if piece.minutes[session["operations"][0]] < below:
                if kept:
                    kept[-1]["minutes"] += session["minutes"]
                else:
                    carried += session["minutes"]
            else:
                kept.append({**session, "minutes": session["minutes"] + carried})
                carried = 0.0
        return kept

    return habit


def _by_day(sessions: Sessions) -> list[Sessions]:
    days: dict[str, Sessions] = {}
    for session in sessions:
        days.setdefault(session["date"], []).append(session)
    return list(days.values())


def _day_on_longest(chance: np.random.Generator, piece: Piece, sessions: Sessions) -> Sessions:
    return [
        {**max(day, key=lambda session: session["minutes"]), "minutes": sum(session["minutes"] for session in day)}
        for day in _by_day(sessions)
    ]


def _lumped(chance: np.random.Generator, piece: Piece, sessions: Sessions) -> Sessions:
    lumped: Sessions = []
    for day in _by_day(sessions):
        while day:
            count = int(chance.integers(1, 5))
            part, day = day[:count], day[count:]
            codes = list(dict.fromkeys(code for session in part for code in session["operations"]))
            lumped.append({**part[0], "operations": codes, "minutes": sum(session["minutes"] for session in part)})
    return lumped


def _gaps(share: float) -> Habit:
    def habit(chance: np.random.Generator, piece: Piece, sessions: Sessions) -> Sessions:
        forgotten = {code for code in piece.minutes if chance.random() < share}
        return [session for session in sessions if not forgotten.issuperset(session["operations"])]

    return habit


def _lost(share: float) -> Habit:
    return lambda chance, piece, sessions: [session for session in sessions if chance.random() >= share]


def _without(codes: frozenset[str]) -> Habit:
    return lambda chance, piece, sessions: [
        session for session in sessions if not codes.issuperset(session["operations"])
    ]


def _quarters(chance: np.random.Generator, piece: Piece, sessions: Sessions) -> Sessions:
    return [{**session, "minutes": max(15, 15 * round(session["minutes"] / 15))} for session in sessions]


def _timers(share: float) -> Habit:
    return lambda chance, piece, sessions: [
        {**session, "minutes": 720} if chance.random() < share else session for session in sessions
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    habits: Sequence[Habit] = ()
    change: Callable[[_Truth], None] = lambda truth: None


def _set(**values: Any) -> Callable[[_Truth], None]:
    def change(truth: _Truth) -> None:
        for name, value in values.items():
            setattr(truth, name, value)

    return change


def _two_makers(truth: _Truth) -> None:
    apart = truth.chance.uniform(0.1, 0.25)
    truth.makers = {"A": math.exp(-apart), "B": math.exp(apart)}


def _together(truth: _Truth) -> None:
    _set(tails=4.0, practice=0.06, tool_from=18, tool_factor=0.75, job_sd=0.13)(truth)
    _two_makers(truth)


NEVER = frozenset(CLIENT)
KINDS: dict[str, _Kind] = {
    "clean": _Kind(),
    "under 20 on neighbour": _Kind(habits=(_put_on_neighbour(20),)),
    "under 40 on neighbour": _Kind(habits=(_put_on_neighbour(40),)),
    "day on its longest": _Kind(habits=(_day_on_longest,)),
    "lumped by sitting": _Kind(habits=(_lumped,)),
    "random gaps": _Kind(habits=(_gaps(0.12),)),
    "many gaps": _Kind(habits=(_gaps(0.3),)),
    "sittings lost": _Kind(habits=(_lost(0.12),)),
    "client work never logged": _Kind(habits=(_without(NEVER),), change=_set(unseen=NEVER)),
    "quarter hours": _Kind(habits=(_quarters,)),
    "12-hour timers": _Kind(habits=(_timers(0.03),)),
    "practice": _Kind(change=_set(practice=0.15)),
    "new tool": _Kind(change=_set(tool_from=15, tool_factor=0.55)),
    "two makers": _Kind(change=_two_makers),
    "correlated errors": _Kind(change=_set(job_sd=0.18)),
    "heavy tails": _Kind(change=_set(tails=3.0)),
    "another piece next": _Kind(change=_set(other_next=True)),
    "all together": _Kind(
        habits=(_put_on_neighbour(20), _lumped, _lost(0.06), _gaps(0.05), _timers(0.015), _quarters), change=_together
    ),
}


def workroom(kind: str, seed: int, *, jobs: int = 40, nexts_after: Sequence[int] = (), each: int = 1) -> Workroom:
    """Return a workroom of a kind with so many jobs, and `each` pieces that may come next after given numbers."""
    chance = np.random.default_rng([seed, *map(ord, kind)])
    truth = _Truth(
        chance=chance,
        pace=math.exp(chance.uniform(math.log(16 / 25.7), math.log(40 / 25.7))),
        factors={code: math.exp(chance.normal(0, 0.3) - 0.045) for code in TABLE},
    )
    KINDS[kind].change(truth)
    pieces, written, day = [], [], FIRST_DAY
    for number in range(jobs):
        piece = truth.piece(number, f"J{number + 1}", day, other=False)
        pieces.append(piece)
        written.append(_written(chance, piece, day, KINDS[kind].habits))
        day = date.fromisoformat(written[-1]["delivered"]) + timedelta(days=int(chance.integers(1, 8)))
    nexts = {
        after: tuple(truth.piece(after, f"N{after}.{at}", day, other=truth.other_next) for at in range(each))
        for after in nexts_after
    }
    return Workroom(jobs=written, pieces=pieces, nexts=nexts, unseen=truth.unseen)


def _written(chance: np.random.Generator, piece: Piece, day: date, habits: Sequence[Habit]) -> dict[str, Any]:
    sessions: Sessions = [
        {"date": on.isoformat(), "minutes": minutes, "operations": [code]} for on, code, minutes in piece.sittings
    ]
    for habit in habits:
        sessions = habit(chance, piece, sessions)
    named = {} if piece.maker is None else {"maker": piece.maker}
    return {
        "job": piece.name,
        "begun": day.isoformat(),
        "delivered": piece.sittings[-1][0].isoformat(),
        "operations": [
            {"code": code, "estimated_min": estimate, "done": True} for code, estimate in piece.estimates.items()
        ],
        "sessions": [{**session, **named, "minutes": max(1, round(session["minutes"]))} for session in sessions],
    }
