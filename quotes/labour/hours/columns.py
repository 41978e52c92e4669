"""A log as arrays, under one explanation of what is missing in it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quotes.labour.hours.explanations import Explanation, claims
from quotes.labour.hours.log import Block, Job

__all__ = ["Columns", "Floats", "Flags", "Integers", "Part", "columns_of"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """What is not written anywhere of a job: estimated minutes by place of code, and of whom."""

    codes: Integers
    estimates: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns:
    """Blocks and what they claim, both in the order of the jobs, so that the first jobs are a first part of each.

    Attributes:
        codes, makers: names; places count into them.
        first_number: how many jobs came before the first, for practice.
        job, minutes, sittings, longest: of each block.
        shares: of each block, by maker; nobody's work is shared out as all the named work is.
        usual_shares: that share.
        claim_block, claim_code, claim_min: estimated minutes of a code that are in a block; `claim_between` 1 where
            they are half of what lies somewhere between two blocks.
        lost: of each job, what no block claims.
        block_ends, claim_ends: where each job's blocks and claims end.
    """

    codes: tuple[str, ...]
    makers: tuple[str, ...]
    first_number: int
    job: Integers
    minutes: Floats
    sittings: Floats
    longest: Floats
    shares: Floats
    usual_shares: Floats
    claim_block: Integers
    claim_code: Integers
    claim_min: Floats
    claim_between: Floats
    lost: tuple[Part, ...]
    block_ends: Integers
    claim_ends: Integers


def columns_of(
    jobs: Sequence[Job], blocks: Sequence[Sequence[Block]], explanation: Explanation, *, first_number: int
) -> Columns:
    """Return the columns of jobs and their blocks, oldest first."""
    codes = tuple(dict.fromkeys(row.code for job in jobs for row in job.worked))
    place_of = {code: place for place, code in enumerate(codes)}
    makers = tuple(sorted({session.maker for job in jobs for session in job.sessions if session.maker}))
    by_maker = np.array([[block.makers.get(name, 0.0) for name in makers] for row in blocks for block in row])
    by_maker = by_maker.reshape(sum(map(len, blocks)), len(makers))
    usual = by_maker.sum(axis=0) / max(float(by_maker.sum()), 1.0)
    minutes = np.array([block.minutes for row in blocks for block in row])
    nobody = 1 - by_maker.sum(axis=1) / minutes if len(minutes) else minutes
    claimed: list[tuple[int, int, float, bool]] = []
    lost, block_ends, claim_ends, first = [], [], [], 0
    for job, row in zip(jobs, blocks, strict=True):
        worked = job.worked
        found = claims(explanation, worked, row)
        claimed += [
            (
                first + claim.block,
                place_of[worked[claim.place].code],
                worked[claim.place].estimated_min * claim.share,
                claim.is_between,
            )
            for claim in found
        ]
        without = sorted(set(range(len(worked))) - {claim.place for claim in found})
        lost.append(
            Part(
                codes=np.array([place_of[worked[place].code] for place in without], dtype=np.int64),
                estimates=np.array([worked[place].estimated_min for place in without]),
            )
        )
        first += len(row)
        block_ends.append(first)
        claim_ends.append(len(claimed))
    return Columns(
        codes=codes,
        makers=makers,
        first_number=first_number,
        job=np.array([at for at, row in enumerate(blocks) for _ in row], dtype=np.int64),
        minutes=minutes,
        sittings=np.array([float(block.sittings) for row in blocks for block in row]),
        longest=np.array([block.longest_min for row in blocks for block in row]),
        shares=by_maker / np.maximum(minutes, math.ulp(1.0))[:, np.newaxis] + np.outer(nobody, usual),
        usual_shares=usual,
        claim_block=np.array([row[0] for row in claimed], dtype=np.int64),
        claim_code=np.array([row[1] for row in claimed], dtype=np.int64),
        claim_min=np.array([row[2] for row in claimed]),
        claim_between=np.array([row[3] for row in claimed], dtype=np.float64),
        lost=tuple(lost),
        block_ends=np.array(block_ends, dtype=np.int64),
        claim_ends=np.array(claim_ends, dtype=np.int64),
    )
