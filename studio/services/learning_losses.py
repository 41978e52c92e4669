"""Use cases of learning from materials: what delivered jobs say of the takeoff's losses, and what a change would cost."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

from django.utils import timezone

from inventory.findings import Refused
from inventory.wording import day_text
from quotes.labour.learning import UseChange, use_changes
from quotes.models import Workroom
from quotes.services.figures import commission_of, quotation_of
from quotes.services.workroom import losses, save_losses, workroom
from quotes.takeoff.defaults import default_source
from quotes.takeoff.losses import SUBJECTS, Figure, Losses
from studio.models import Job, LearntChange
from studio.services.learnt import aside_documents, is_refused, keep_proposed
from studio.services.material_use import materials_seen

__all__ = ["propose_losses", "take_loss"]

LOSS = LearntChange.Kind.LOSS


def propose_losses(on: date) -> None:
    """Keep what is proposed of the takeoff's losses on a day; what was refused stays away."""
    seen, known, currency = materials_seen(), losses(), workroom().currency
    newest = {row.kind: row.job for row in (*seen.uses, *seen.counts)}
    rows = {}
    for change in use_changes(seen.uses, seen.counts, known, on=on):
        if is_refused(LOSS, change.figure, change.learnt):
            continue
        effect = _effect(change, newest[change.figure], known)
        evidence = {
            "name": SUBJECTS[change.figure].title,
            "now": change.now,
            "learnt": change.learnt,
            "entries": change.entries,
            "words": change.evidence,
            "aside": aside_documents(change.set_aside),
            "effect_on_price": None if effect is None else f"{effect:f}",
            "currency": currency,
            "example": newest[change.figure],
        }
        rows[change.figure] = (change.learnt, evidence)
    keep_proposed(LOSS, rows)


def take_loss(room: Workroom, change: LearntChange) -> None:
    """Let the takeoff reckon with what was learnt, and say on its lines where that comes from."""
    subject = SUBJECTS[change.what]
    jobs, day = change.evidence["entries"], day_text(timezone.localdate())
    source = f"learnt from {jobs} jobs, {day} (default {subject.text(subject.default)}: {default_source(subject.name)})"
    save_losses(room, {**room.losses, subject.name: {"value": change.value, "source": source}})


def _effect(change: UseChange, reference: str, known: Losses) -> Decimal | None:
    """What the materials of a piece cost more, were it quoted again at today's prices; None where it cannot be."""
    revision = Job.objects.select_related("revision__pattern").get(reference=reference).revision
    learnt = known.learnt(change.figure, Figure(value=change.learnt, source=""))
    try:
        commission = commission_of(revision.inputs, revision.pattern)
        before, after = (quotation_of(replace(commission, losses=assumed)) for assumed in (known, learnt))
    except Refused:
        return None
    now, then = (
        next(option.costing.materials for option in quoted.options if option.name == revision.accepted_option)
        for quoted in (before, after)
    )
    return then - now
