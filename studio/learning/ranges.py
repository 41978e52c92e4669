"""Use cases of learning how far a new estimate may be off: proposed from past errors, taken into the table of minutes."""

from collections import defaultdict
from collections.abc import Sequence

from inventory.ground.wording import day_text
from quotes.labour.estimate import range_of
from quotes.labour.learning import Calibration, Observation, range_change
from quotes.labour.learning.grounds import RangeGrounds
from quotes.labour.operations import StandardTimes
from quotes.models import Workroom
from quotes.workroom.settings import save_times, workroom
from studio.learning.proposals import keep_proposed, unrefused
from studio.models import LearntChange

__all__ = ["drop_range", "propose_range", "take_range"]

RANGE = LearntChange.Kind.RANGE
WHAT = "hours"
"""What the range is of; a row's value is how many times low its high is."""
DIGITS = 3


def propose_range(seen: Sequence[Observation], known: Calibration | None, times: StandardTimes) -> None:
    """Keep the range that past errors speak for, for a piece such as the newest; what was refused stays away.

    Args:
        seen: of all delivered jobs, the newest last.
    """
    proposals = {}
    if known is not None:
        newest = [observation for observation in seen if observation.job == seen[-1].job]
        now = _range_now(newest, times)
        change = range_change(
            known,
            {observation.operation: observation.estimated_min for observation in newest},
            now,
            style=newest[0].style,
            repetition=newest[0].repetition,
        )
        if change is not None and unrefused(RANGE, {WHAT: change.width}):
            grounds = RangeGrounds(
                name="How far a piece’s hours may be off",
                now=now,
                learnt=(round(change.low, DIGITS), round(change.high, DIGITS)),
                entries=change.jobs,
                words=change.evidence,
                effect_on_price=None,
                currency=workroom().currency,
                example=newest[0].job,
            )
            proposals[WHAT] = (round(change.width, DIGITS), grounds)
    keep_proposed(RANGE, proposals)


def take_range(room: Workroom, change: LearntChange) -> None:
    """Give new estimates the learnt range, and say under their hours where it comes from."""
    grounds = change.grounds
    assert isinstance(grounds, RangeGrounds)
    low, high = grounds.learnt
    rule = f"Likely is the table’s time. {grounds.words} Taken on {day_text(change.decided_on)}."
    save_times(room, {**room.times, "learnt_range": {"low": low, "high": high, "rule": rule}})


def drop_range(room: Workroom) -> None:
    """Give new estimates the range of workrooms at large."""
    save_times(room, {name: value for name, value in room.times.items() if name != "learnt_range"})


def _range_now(newest: Sequence[Observation], times: StandardTimes) -> tuple[float, float]:
    """Low and high of likely that the table gives to a piece as it stands; operations that it lost are left out."""
    paces = {operation.code: operation.pace for operation in times.operations}
    minutes: dict[str, float] = defaultdict(float)
    for observation in newest:
        if observation.operation in paces:
            minutes[observation.operation] += observation.estimated_min * paces[observation.operation]
    return range_of(minutes, times)
