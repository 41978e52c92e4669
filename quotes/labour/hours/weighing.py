"""How much each explanation of a log is believed: by what is written, by what is missing, and by itself.

log weight = share × evidence of the fit + evidence of the pattern of missing operations + plausibility.

Evidence of many jobs is worth no more than that of a few, as a model that is a little wrong is surer with every job.
Plausibility: work was lost with a density that falls with the share lost, and the work as a whole, with what was lost,
is as likely as such a workroom's pace.
"""

import math
from collections.abc import Sequence

import numpy as np

from quotes.labour.hours.assumptions import Assumptions
from quotes.labour.hours.columns import Floats
from quotes.labour.hours.explanations import Explanation
from quotes.labour.hours.fit import Fit
from quotes.labour.hours.foretelling import believed_min, took
from quotes.labour.hours.log import Block, Job
from quotes.labour.hours.missing import missing_evidence

__all__ = ["weights_of"]


def weights_of(
    fits: Sequence[Fit],
    explanations: Sequence[Explanation],
    jobs: Sequence[Job],
    blocks: Sequence[Sequence[Block]],
    beliefs: Assumptions,
) -> tuple[float, ...]:
    """Return the weight of each explanation, together 1; those that hardly count are 0.

    Args:
        fits: of each explanation, to all these jobs and their blocks.
    """
    if len(fits) == 1:
        return (1.0,)
    share = min(beliefs.evidence_share, beliefs.evidence_jobs / max(len(jobs), 1))
    logs = share * np.array([known.evidence for known in fits])
    logs += _of_pattern(explanations, jobs, blocks, beliefs)
    logs += [_plausible(known, jobs, beliefs) for known in fits]
    weights = np.exp(logs - logs.max())
    weights[weights < beliefs.least_weight * weights.sum()] = 0.0
    return tuple((weights / weights.sum()).tolist())


def _of_pattern(
    explanations: Sequence[Explanation], jobs: Sequence[Job], blocks: Sequence[Sequence[Block]], beliefs: Assumptions
) -> Floats:
    tallies: dict[str, list[float]] = {}
    for job, row in zip(jobs, blocks, strict=True):
        written = {place for block in row for place in block.places}
        for place, each in enumerate(job.worked):
            tally = tallies.setdefault(each.code, [0.0, 0.0, 0.0])
            tally[0] += 1
            tally[1] += place not in written
            tally[2] += each.estimated_min
    done, missing, estimated = np.array(list(tallies.values())).reshape(-1, 3).T
    by_limit = {
        limit: beliefs.evidence_share * missing_evidence(limit, estimated / np.maximum(done, 1.0), done, missing)
        for limit in {0.0, math.inf, *(row.below_min for row in explanations)}
    }
    # Where all are with others, any limit may tell which are missing; where all are lost, hardly one does.
    of_any = float(np.logaddexp.reduce(sorted(by_limit.values()))) - math.log(len(by_limit))
    of_lost = float(np.logaddexp(by_limit[0.0], of_any + math.log(beliefs.dropped_chance)))
    limits = [row.below_min for row in explanations]
    return np.array([of_lost if at == 0 else of_any if at == math.inf else by_limit[at] for at in limits])


def _plausible(known: Fit, jobs: Sequence[Job], beliefs: Assumptions) -> float:
    written = whole = default = 0.0
    for place, job in enumerate(jobs):
        found = took(known, place)
        if found is not None:
            written += believed_min(known, place)
            whole += math.exp(found.log_min)
            default += job.default_min
    if not written * default:
        return 0.0
    pace = math.log(whole / default) / beliefs.pace_sd
    return beliefs.lost_weight * math.log(written / whole) - pace**2 / 2
