"""One invented workroom measured: what is foretold at several times against the truth."""

import math
from dataclasses import dataclass
from statistics import fmean

from support_workrooms import workroom

from quotes.labour.hours import read_log
from quotes.labour.hours.assumptions import assumptions
from quotes.labour.hours.judging import judge, reach_of
from quotes.labour.hours.walk import Walk

__all__ = ["MEASURED_AT", "Figures", "measured"]

MEASURED_AT = (0, 5, 10, 20, 40)


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Mean errors of next pieces by the model, a knower, a plain ratio of totals and the table; how many the range held;
    and over the latest jobs what the model says of itself, and the truth. Shares; None where nothing was judged.
    """

    error: float
    known: float
    ratio: float
    table: float
    held: float
    says_error: float | None
    says_held: float | None
    true_error: float
    true_held: float


def measured(kind: str, seed: int, *, each: int = 6, measured_at: tuple[int, ...] = MEASURED_AT) -> dict[int, Figures]:
    """Return the figures of a workroom after each number of jobs."""
    room = workroom(kind, seed, jobs=max(measured_at), nexts_after=measured_at, each=each)
    jobs, _ = read_log({"jobs": room.jobs})
    walk = Walk(jobs, assumptions())
    share = assumptions().range_share
    truth = {piece.name: room.true_min(piece) for piece in room.pieces}
    found = {}
    for after in measured_at:
        planned = math.fsum(job.default_min for job in jobs[:after])
        ratio = math.fsum(job.logged_min for job in jobs[:after]) / planned if after else 1.0
        rows = []
        for piece in room.nexts[after]:
            guess = walk.known(after).foretell(piece.estimates, piece.maker or "")
            true, default = room.true_min(piece), math.fsum(piece.estimates.values())
            said = (math.exp(guess.log_min), room.known_min(piece), default * ratio, default)
            is_held = abs(math.log(true) - guess.log_min) <= reach_of(guess, share)
            rows.append((*(abs(minutes / true - 1) for minutes in said), float(is_held)))
        error, known, plain, table, held = (fmean(column) for column in zip(*rows, strict=True))
        judged = judge(walk, after)
        against = [(row.foretold, math.log(truth[row.name])) for row in judged.jobs]
        found[after] = Figures(
            error=error,
            known=known,
            ratio=plain,
            table=table,
            held=held,
            says_error=judged.mape_learnt,
            says_held=judged.coverage_80,
            true_error=fmean(abs(math.exp(said.log_min - true) - 1) for said, true in against) if against else 0.0,
            true_held=fmean(abs(said.log_min - true) <= reach_of(said, share) for said, true in against)
            if against
            else 0.0,
        )
    return found
