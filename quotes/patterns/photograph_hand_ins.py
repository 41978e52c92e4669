"""Photographs that lie on the pattern table or were kept with a pattern."""

from collections.abc import Iterable
from typing import Any

from quotes.models import KeptPattern, PatternHandIn, PatternPhotograph, PatternRevision
from quotes.photograph.shown import SHOWN, ShownPhoto

__all__ = ["PHOTOGRAPH", "photographs_of", "photographs_of_revision", "take_photographs_away"]

PHOTOGRAPH = "photograph: "
"""How the source of a pattern begins that was measured in photographs."""


def photographs_of(hand_in: PatternHandIn) -> list[tuple[int, ShownPhoto]]:
    """Return the photographs that lie on the table, by the numbers of their pictures; none for a drawing."""
    return _shown(PatternPhotograph.objects.filter(hand_in=hand_in).values_list("pk", "document"))


def photographs_of_revision(revision: PatternRevision) -> list[tuple[int, ShownPhoto]]:
    """Return the photographs that were kept with a pattern."""
    return _shown(PatternPhotograph.objects.filter(hand_in__kept_as=revision).values_list("pk", "document"))


def take_photographs_away(pattern: KeptPattern) -> None:
    """Take the photographs away that were kept with any revision of a pattern; its panels stay as they were measured."""
    PatternPhotograph.objects.filter(hand_in__kept_as__pattern=pattern).delete()


def _shown(rows: Iterable[tuple[int, Any]]) -> list[tuple[int, ShownPhoto]]:
    return [(pk, SHOWN.read(document)) for pk, document in rows]
