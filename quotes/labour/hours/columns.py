"""A log as arrays, under one explanation of what is missing in it."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from quotes.labour.hours.explanations import Explanation, claims
from quotes.labour.hours.log import Block, Job

__all__ = ["LEAST_MIN", "Columns", "Flags", "Floats", "Integers", "Part", "columns_of"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]
LEAST_MIN = 1.0
"""What an operation is taken to be estimated at, at the least, minutes: of 0 there are no multiples."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """What is not written anywhere of a job: estimated minutes by place of code, and of whom."""

    codes: Integers
    estimates: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns:
    """Blocks and what they claim, both in the order of the jobs, so that the first jobs are a first part of each.

    Attributes:
        codes, makers: names; places count into them. `place_of` has every code, also those that share a place.
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
    place_of: Mapping[str, int]
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

    def blocks_of(self, job: int) -> slice:
        """Where a job's blocks stand."""
        return slice(int(self.block_ends[job - 1]) if job else 0, int(self.block_ends[job]))

    def claims_of(self, job: int) -> slice:
        """Where a job's claims stand."""
        return slice(int(self.claim_ends[job - 1]) if job else 0, int(self.claim_ends[job]))


def columns_of(
    jobs: Sequence[Job],
    blocks: Sequence[Sequence[Block]],
    explanation: Explanation,
    *,
    first_number: int,
    most_codes: int,
) -> Columns:
    """Return the columns of jobs and their blocks, oldest first. Lesser codes than the first `most_codes` share a place."""
    worked = [job.worked for job in jobs]
    planned_of: dict[str, float] = defaultdict(float)
    for operation in chain.from_iterable(worked):
        planned_of[operation.code] += operation.estimated_min
    largest = sorted(planned_of, key=lambda code: -planned_of[code])
    named = tuple(largest[:most_codes])
    codes = named if len(named) == len(largest) else (*named, "")
    place_of = {code: min(place, len(named)) for place, code in enumerate(largest)}
    makers = tuple(sorted({session.maker for job in jobs for session in job.sessions if session.maker}))
    by_maker = np.array([[block.makers.get(name, 0.0) for name in makers] for row in blocks for block in row])
    by_maker = by_maker.reshape(sum(map(len, blocks)), len(makers))
    # By the work that each did, not by the minutes: a slow maker's work is not more.
    planned = [
        math.fsum(rows[place].estimated_min for place in block.places) / block.minutes
        for rows, row in zip(worked, blocks, strict=True)
        for block in row
    ]
    work = np.array(planned) @ by_maker if makers else np.zeros(0)
    usual = work / max(float(work.sum()), math.ulp(1.0))
    minutes = np.array([block.minutes for row in blocks for block in row])
    nobody = 1 - by_maker.sum(axis=1) / minutes if len(minutes) else minutes
    claimed: list[tuple[int, int, float, bool]] = []
    lost, block_ends, claim_ends, first = [], [], [], 0
    for rows, row in zip(worked, blocks, strict=True):
        found = claims(explanation, rows, row)
        claimed += [
            (
                first + claim.block,
                place_of[rows[claim.place].code],
                max(rows[claim.place].estimated_min, LEAST_MIN) * claim.share,
                claim.is_between,
            )
            for claim in found
        ]
        without = sorted(set(range(len(rows))) - {claim.place for claim in found})
        lost.append(
            Part(
                codes=np.array([place_of[rows[place].code] for place in without], dtype=np.int64),
                estimates=np.array([max(rows[place].estimated_min, LEAST_MIN) for place in without]),
            )
        )
        first += len(row)
        block_ends.append(first)
        claim_ends.append(len(claimed))
    return Columns(
        codes=codes,
        place_of=place_of,
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
