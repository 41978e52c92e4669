"""Use cases of answers: a proposal is taken or refused, and what was taken can be taken back.

A change of minutes is kept as the pace that the operation is given: a factor of the table's minutes without what was
learnt before.
"""

from dataclasses import replace

from django.contrib.auth.models import User
from django.db import transaction

from inventory.ground.findings import refuse
from inventory.ground.wording import day_text
from quotes.labour.learning.grounds import MinutesGrounds
from quotes.labour.operations import Operation, StandardTimes
from quotes.labour.standard import times_document
from quotes.models import Workroom
from quotes.workroom.settings import save_times, times_of
from studio.learning.learning import propose_today
from studio.learning.log import TABLE_PACE
from studio.learning.losses import drop_loss, take_loss
from studio.learning.proposals import decide, end_change, newest_taken, open_proposals
from studio.models import LearntChange

__all__ = ["current_proposals", "refuse_change", "standing", "take", "take_back"]

Kind = LearntChange.Kind


@transaction.atomic
def take(proposal: LearntChange, user: User | None) -> LearntChange:
    """Estimate by what was learnt from now on; quotes that are sealed stay as they are.

    Raises:
        Refused: it was decided already, or the table has no such operation any more, or other minutes of it.
    """
    _must_be_answerable(proposal)
    room = Workroom.objects.select_for_update().get(pk=1)
    change = decide(proposal, LearntChange.State.TAKEN, user)
    if change.kind == Kind.MINUTES:
        _must_be_current(room, change)
    _estimate_by(room, change)
    transaction.on_commit(propose_today, robust=True)
    return change


@transaction.atomic
def refuse_change(proposal: LearntChange, user: User | None) -> LearntChange:
    """Leave all as it is; the same is not proposed again. Raises Refused where it was decided already."""
    return decide(proposal, LearntChange.State.REFUSED, user)


def current_proposals(times: StandardTimes) -> list[LearntChange]:
    """Return what waits for an answer and speaks of the table as it stands, the most money of a piece first."""

    def is_current(change: LearntChange) -> bool:
        operation = _operation(times, change)
        return change.kind != Kind.MINUTES or (operation is not None and _is_of(operation, change))

    return [change for change in open_proposals() if change.kind != Kind.RANGE and is_current(change)]


def standing(times: StandardTimes) -> set[int]:
    """Return the keys of the changes that estimates are made by; minutes that were set by hand since are none."""
    return {
        change.pk
        for change in newest_taken()
        if change.kind == Kind.LOSS or (change.kind == Kind.MINUTES and _is_paced(times, change))
    }


@transaction.atomic
def take_back(change: LearntChange, user: User | None) -> LearntChange:
    """Estimate as before a change was taken; quotes that are sealed stay as they are.

    Raises:
        Refused: it does not stand any more, or the operation's minutes were set by hand since.
    """
    _must_be_answerable(change)
    room = Workroom.objects.select_for_update().get(pk=1)
    ended, before = end_change(change, user)
    if ended.kind == Kind.MINUTES and not _is_paced(times_of(room), ended):
        raise refuse(
            "learning.table-changed", ended.what, f"The minutes of “{ended.grounds.name}” were set by hand since."
        )
    if before is not None:
        _estimate_by(room, before)
    elif ended.kind == Kind.MINUTES:
        _give_pace(room, ended.what, TABLE_PACE, why="")
    else:
        drop_loss(room, ended.what)
    transaction.on_commit(propose_today, robust=True)
    return ended


def _estimate_by(room: Workroom, change: LearntChange) -> None:
    if change.kind == Kind.MINUTES:
        jobs = f"{change.grounds.entries} {'job' if change.grounds.entries == 1 else 'jobs'}"
        _give_pace(room, change.what, change.value, why=f"from {jobs}, {day_text(change.decided_on)}")
    else:
        take_loss(room, change)


def _must_be_answerable(change: LearntChange) -> None:
    if change.kind == Kind.RANGE:
        raise refuse("learning.range", change.what, "The range of an estimate follows every delivery by itself.")


def _must_be_current(room: Workroom, change: LearntChange) -> None:
    """Refuse minutes of an operation that the table has lost, or has other ones of, since they were proposed."""
    operation = _operation(times_of(room), change)
    if operation is None:
        raise refuse("learning.unknown-operation", change.what, f"The table has no operation {change.what} any more.")
    if not _is_of(operation, change):
        raise refuse(
            "learning.table-changed",
            change.what,
            f"The minutes of “{change.grounds.name}” were changed since this was proposed.",
            "Look at what is proposed now.",
        )


def _operation(times: StandardTimes, change: LearntChange) -> Operation | None:
    """The row of the table that a change is of."""
    return next((operation for operation in times.operations if operation.code == change.what), None)


def _is_of(operation: Operation, change: LearntChange) -> bool:
    """Whether the row still has the minutes that the change was proposed for."""
    grounds = change.grounds
    assert isinstance(grounds, MinutesGrounds)
    return (operation.pace, operation.since) == (grounds.pace, grounds.since)


def _is_paced(times: StandardTimes, change: LearntChange) -> bool:
    """Whether the table still has the pace that a change of minutes gave it."""
    return any((operation.code, operation.pace) == (change.what, change.value) for operation in times.operations)


def _give_pace(room: Workroom, code: str, pace: float, *, why: str) -> None:
    times = times_of(room)
    paced = tuple(replace(row, pace=pace, pace_why=why) if row.code == code else row for row in times.operations)
    save_times(room, times_document(replace(times, operations=paced)))
