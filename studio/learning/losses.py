"""Use cases of learning from materials: what delivered jobs say of the takeoff's losses, and what a change would cost."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from inventory.ground.findings import Refused
from inventory.ground.wording import day_text
from quotes.desk.figures import commission_of, quotation_of
from quotes.labour.learning import UseChange, use_changes
from quotes.labour.learning.grounds import LossGrounds
from quotes.models import Workroom
from quotes.takeoff.defaults import default_source
from quotes.takeoff.losses import SUBJECTS, Figure, Losses
from quotes.workroom.settings import losses, save_losses, workroom
from studio.learning.material_use import materials_seen
from studio.learning.proposals import keep_proposed, unrefused
from studio.models import Job, LearntChange

__all__ = ["drop_loss", "propose_losses", "take_loss"]

LOSS = LearntChange.Kind.LOSS


def propose_losses(on: date) -> None:
    """Keep what is proposed of the takeoff's losses on a day; what was refused stays away."""
    seen, known, currency = materials_seen(), losses(), workroom().currency
    newest = {use.kind: use.job for use in seen.uses} | {count.kind: count.job for count in seen.counts}
    found = use_changes(seen.uses, seen.counts, known, on=on)
    open_to = unrefused(LOSS, {change.figure: change.learnt for change in found})
    changes = [change for change in found if change.figure in open_to]
    effects = _effects(changes, newest, known)
    proposals = {}
    for change in changes:
        grounds = LossGrounds(
            name=SUBJECTS[change.figure].title,
            now=change.now,
            learnt=change.learnt,
            entries=change.entries,
            words=change.evidence,
            aside=change.set_aside,
            effect_on_price=effects.get(change.figure),
            currency=currency,
            example=newest[change.figure],
        )
        proposals[change.figure] = (change.learnt, grounds)
    keep_proposed(LOSS, proposals)


def take_loss(room: Workroom, change: LearntChange) -> None:
    """Let the takeoff reckon with what was learnt, and say on its lines where that comes from."""
    subject = SUBJECTS[change.what]
    jobs, day = change.grounds.entries, day_text(change.decided_on)
    source = f"learnt from {jobs} jobs, {day} (default {subject.text(subject.default)}: {default_source(subject.name)})"
    save_losses(room, {**room.losses, subject.name: {"value": change.value, "source": source}})


def drop_loss(room: Workroom, what: str) -> None:
    """Let the takeoff reckon with the default."""
    save_losses(room, {name: figure for name, figure in room.losses.items() if name != what})


def _effects(changes: Sequence[UseChange], newest: Mapping[str, str], known: Losses) -> dict[str, Decimal]:
    """What each change adds to the materials of the newest piece that has it; none where that cannot be quoted."""
    by_example: dict[str, list[UseChange]] = defaultdict(list)
    for change in changes:
        by_example[newest[change.figure]].append(change)
    effects = {}
    for reference, its_changes in by_example.items():
        learnt = [known.learnt(change.figure, Figure(value=change.learnt, source="")) for change in its_changes]
        try:
            now, *then = _costs_again(reference, [known, *learnt])
        except Refused:
            continue
        effects.update({change.figure: cost - now for change, cost in zip(its_changes, then, strict=True)})
    return effects


def _costs_again(reference: str, ways: Sequence[Losses]) -> list[Decimal]:
    """What the materials of a job's accepted option cost at today's prices, reckoned in several ways. Raises Refused."""
    revision = Job.objects.select_related("revision__pattern").get(reference=reference).revision
    commission = commission_of(revision.inputs, revision.pattern)
    options = tuple(option for option in commission.options if option.name == revision.accepted_option)
    return [quotation_of(replace(commission, options=options, losses=way)).options[0].costing.materials for way in ways]
