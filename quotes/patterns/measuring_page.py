"""How far a set of photographs is measured, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils import timezone

from inventory.ground.findings import Severity
from quotes.models import PhotographInSet, PhotographSet
from quotes.patterns.measuring import is_refused, may_be_tried_again, next_of, steps_of

__all__ = ["MeasuringPage", "PhotographRow", "measuring_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotographRow:
    """A photograph: its name, how far it is, and why it cannot be used, one sentence or two each."""

    name: str
    standing: str
    refused: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringPage:
    """All of the set.

    Attributes:
        now: what is being done, one sentence; empty where nothing more is done before the maker says how.
        done, steps: how many steps are done, of how many.
        seconds: since it began.
        is_elsewhere: a photograph is being measured already, for another tab or for somebody else.
        may_be_tried_again: some failed by the clock or from outside alone.
        sound: how many were not refused.
        together: why they cannot lie on the table together, though each was measured.
    """

    heading: str
    rows: list[PhotographRow]
    now: str
    done: int
    steps: int
    seconds: int
    is_refused: bool
    is_elsewhere: bool
    may_be_tried_again: bool
    sound: int
    together: list[str]


def measuring_page(
    found: PhotographSet, photographs: Sequence[PhotographInSet], *, is_elsewhere: bool
) -> MeasuringPage:
    """Return what the page of a set says."""
    step = next_of(photographs)
    done, steps = steps_of(photographs)
    sound = sum(not one.refused for one in photographs)
    return MeasuringPage(
        heading=_heading(found, photographs, sound),
        rows=[
            PhotographRow(name=one.name, standing=_standing(one, step), refused=_sentences(one.refused))
            for one in photographs
        ],
        now=_now(photographs, step),
        done=done,
        steps=steps,
        seconds=max(0, round((timezone.now() - found.began_at).total_seconds())),
        is_refused=is_refused(photographs),
        is_elsewhere=is_elsewhere,
        may_be_tried_again=any(map(may_be_tried_again, photographs)),
        sound=sound,
        together=_sentences(found.refused),
    )


def _heading(found: PhotographSet, photographs: Sequence[PhotographInSet], sound: int) -> str:
    count = len(photographs)
    if found.refused:
        return "The ruler does not agree"
    if not is_refused(photographs):
        return "Measuring the photographs"
    if count == 1:
        return "The photograph cannot be used"
    if not sound:
        return "None of the photographs can be used"
    return f"{'One' if count - sound == 1 else 'Some'} of the photographs cannot be used"


def _now(photographs: Sequence[PhotographInSet], step: PhotographInSet | None) -> str:
    if step is None:
        return "" if is_refused(photographs) else "Laying the pieces on the pattern table."
    place = next(place for place, one in enumerate(photographs, start=1) if one.pk == step.pk)
    which = f"photograph {place} of {len(photographs)}" if len(photographs) > 1 else "the photograph"
    if len(photographs) > 1 and step.look is None:
        return f"Looking at the cards in {which}: {step.name}."
    return f"Measuring {which}: {step.name}."


def _standing(one: PhotographInSet, step: PhotographInSet | None) -> str:
    if one.refused:
        return "cannot be used"
    if one.reading:
        count = len(one.reading["pieces"])
        return f"measured, {count} piece{'' if count == 1 else 's'}"
    if step is not None and one.pk == step.pk:
        return "in hand"
    return "cards seen" if one.look else "waits"


def _sentences(findings: Sequence[Mapping[str, str]]) -> list[str]:
    return [f"{found['message']} {found['hint']}".strip() for found in findings if found["severity"] == Severity.STOP]
