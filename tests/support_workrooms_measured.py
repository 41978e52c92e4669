"""One invented workroom measured: what is foretold at several times against the truth."""

import math
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist, fmean

from support_workrooms import Workroom, workroom

from quotes.labour.hours.log import Job, NextJob, Operation, Session
from quotes.labour.hours.weighing import walk

__all__ = ["MEASURED_AT", "Figures", "jobs_of", "measured"]

MEASURED_AT = (0, 5, 10, 20, 40)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    error: float
    known: float
    ratio: float
    table: float
    held: float
    says_error: float | None
    says_held: float | None
    true_error: float
    true_held: float


def jobs_of(room: Workroom) -> list[Job]:
    return [
        Job(
            name=row["job"], begun=date.fromisoformat(row["begun"]), delivered=date.fromisoformat(row["delivered"]),
            operations=tuple(Operation(**operation) for operation in row["operations"]),
            sessions=tuple(
                Session(day=date.fromisoformat(each["date"]), minutes=each["minutes"],
                        operations=tuple(each["operations"]), maker=each.get("maker", ""))
                for each in row["sessions"]
            ),
        )
        for row in room.jobs
    ]  # fmt: skip


def measured(kind: str, seed: int, *, each: int = 6) -> dict[int, Figures]:
    room = workroom(kind, seed, nexts_after=MEASURED_AT, each=each)
    jobs = jobs_of(room)
    known = walk(jobs)
    z = NormalDist().inv_cdf(0.9)
    found = {}
    for after in MEASURED_AT:
        logged = math.fsum(job.logged_min for job in jobs[:after])
        ratio = logged / math.fsum(job.default_min for job in jobs[:after]) if after else 1.0
        rows = []
        for piece in room.nexts[after]:
            guess = known.foretell(after, NextJob(name="", estimates=piece.estimates, maker=piece.maker or ""))
            true, default = room.true_min(piece), math.fsum(piece.estimates.values())
            rows.append((
                abs(math.exp(guess.log_min) / true - 1), abs(room.known_min(piece) / true - 1),
                abs(default * ratio / true - 1), abs(default / true - 1),
                float(abs(math.log(true) - guess.log_min) <= z * guess.spread),
            ))  # fmt: skip
        now = known.known(after)
        says, true_rows = [], []
        for job in range(max(0, after - 20), after):
            said, took = known.foretold(job), known.took(now, job)
            if took is None:
                continue
            spread = max(took.spread, 1e-9)
            errors = [abs(math.exp(said.log_min - took.log_min - spread * q) - 1) for q in QUANTILES]
            reach = z * said.spread
            normal = NormalDist(took.log_min, spread)
            says.append((fmean(errors), normal.cdf(said.log_min + reach) - normal.cdf(said.log_min - reach)))
            true = room.true_min(room.pieces[job])
            true_rows.append((abs(math.exp(said.log_min) / true - 1), float(abs(math.log(true) - said.log_min) <= reach)))
        error, knower, plain, table, held = (fmean(column) for column in zip(*rows, strict=True))
        found[after] = Figures(
            error=error, known=knower, ratio=plain, table=table, held=held,
            says_error=fmean(row[0] for row in says) if says else None,
            says_held=fmean(row[1] for row in says) if says else None,
            true_error=fmean(row[0] for row in true_rows) if says else 0.0,
            true_held=fmean(row[1] for row in true_rows) if says else 0.0,
        )  # fmt: skip
    return found


QUANTILES = [NormalDist().inv_cdf((at + 0.5) / 9) for at in range(9)]
