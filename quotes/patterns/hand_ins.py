"""A drawing on the pattern table: read once, looked at as often as something is said of it, kept as a revision in the end."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from functools import lru_cache
from pathlib import Path
from uuid import UUID

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import Refused, refuse
from quotes.models import KeptPattern, PatternHandIn, PatternPhotograph, PatternRevision
from quotes.pattern.drawing import Reading
from quotes.pattern.readers import must_be_pattern_file, must_hold_something
from quotes.pattern.table.look import Look, Table, number_of
from quotes.pattern.table.lying import LYING, lay_down
from quotes.pattern.table.said import SAID, Said
from quotes.patterns.kept_patterns import revision_of, save_pattern
from quotes.photograph.shown import SHOWN, numbered

__all__ = ["hand_in_of_upload", "keep_hand_in", "look_of", "said_of", "save_hand_in", "say"]

KEPT_DAYS = 2
"""A drawing that was not kept for so long is dropped when the next one comes."""
MOST_OPEN = 40
"""So many drawings wait on the table at most; older ones are dropped."""


def hand_in_of_upload(
    *, upload: "UploadedFile[bytes]", pattern: KeptPattern | None, user: User | None
) -> PatternHandIn:
    """Read an uploaded file for the table, as the next revision of `pattern` or as a new one; nothing is saved yet.

    Raises:
        Refused: it is no pattern file, or one that cannot be read.
    """
    file = Path(upload.name or "pattern")
    kind = file.suffix.lower()
    must_be_pattern_file(file.name)
    data = upload.read()
    must_hold_something(data, file.name)
    lying = lay_down(data, kind, file.stem[:100])
    return PatternHandIn(
        pattern=pattern,
        filename=file.name[-200:],
        document=LYING.written(lying),
        said=SAID.written(Said()),
        made_by=user,
    )


def save_hand_in(hand_in: PatternHandIn, photographs: Sequence[PatternPhotograph] = ()) -> PatternHandIn:
    """Keep what was read for the next steps, with the photographs that it was read in; drawings that nobody kept go after a while."""
    waiting = PatternHandIn.objects.filter(kept_as=None)
    waiting.filter(made_at__lt=timezone.now() - timedelta(days=KEPT_DAYS)).delete()
    newest = waiting.order_by("-pk").values_list("pk", flat=True)[: MOST_OPEN - 1]
    waiting.exclude(pk__in=list(newest)).delete()
    hand_in.save()
    for photograph in photographs:
        photograph.hand_in = hand_in
    PatternPhotograph.objects.bulk_create(photographs)
    return hand_in


def said_of(hand_in: PatternHandIn) -> Said:
    """Return what was said of a drawing so far."""
    return SAID.read(hand_in.said)


def look_of(hand_in: PatternHandIn, said: Said) -> Look:
    """Return the table as it is with this said; what was looked at is remembered while the program runs.

    Raises:
        PatternHandIn.DoesNotExist: the drawing was kept or dropped meanwhile.
    """
    return _look(hand_in.pk, hand_in.token, said)


def say(hand_in: PatternHandIn, said: Said) -> None:
    """Keep what is said of a drawing."""
    hand_in.said = SAID.written(said)
    hand_in.save(update_fields=["said"])


def keep_hand_in(
    hand_in: PatternHandIn,
    *,
    name: str,
    user: User,
    body_waist_mm: float | None = None,
    gap_mm: float | None = None,
    keeps_photographs: bool = False,
) -> PatternRevision:
    """Keep what the table shows, as a new pattern of this name or as the next revision of that which it was handed in for.

    Photographs that it was read in go now, unless they are to be kept with it.

    Raises:
        Refused: something stands in the way, another pattern has the name, or it was kept meanwhile.
    """
    with transaction.atomic():
        waiting = PatternHandIn.objects.select_for_update().defer("document").filter(pk=hand_in.pk, kept_as=None)
        if (open_still := waiting.first()) is None:
            raise refuse("pattern.kept", hand_in.filename, "This drawing was kept meanwhile.", "Hand it in again.")
        look = look_of(open_still, said_of(open_still))
        if look.pattern is None or look.stops:
            raise Refused(look.findings)
        pattern = open_still.pattern or KeptPattern(name=name)
        reading = Reading(pattern=replace(look.pattern, name=pattern.name), findings=look.findings)
        revision = save_pattern(
            revision_of(
                reading, pattern, source=hand_in.filename, user=user, body_waist_mm=body_waist_mm, gap_mm=gap_mm
            )
        )
        # The pattern holds what was in it.
        open_still.document, open_still.kept_as = {}, revision
        open_still.save(update_fields=["document", "kept_as"])
        if keeps_photographs:
            _number_photographs(open_still, look)
        else:
            open_still.photographs.all().delete()
    return revision


def _number_photographs(hand_in: PatternHandIn, look: Look) -> None:
    """Keep of each photograph which panels its pieces became."""
    rings = [outline.ring for outline in look.taken.outlines]
    numbers = [number_of(outline) for outline in look.taken.outlines]
    for photograph in hand_in.photographs.defer("data"):
        photograph.document = SHOWN.written(numbered(SHOWN.read(photograph.document), rings, numbers))
        photograph.save(update_fields=["document"])


@lru_cache(maxsize=4)
def _table(pk: int, token: UUID) -> Table:
    waiting = PatternHandIn.objects.filter(kept_as=None)
    return Table(LYING.read(waiting.values_list("document", flat=True).get(pk=pk, token=token)))


@lru_cache(maxsize=16)
def _look(pk: int, token: UUID, said: Said) -> Look:
    return _table(pk, token).look(said)
