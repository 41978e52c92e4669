"""Keeping patterns: a file or a set of measures becomes the first or the next revision of a kept pattern."""

import logging
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import chain, count
from pathlib import Path

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Max

from inventory.ground.codec import Document, plain
from inventory.ground.findings import refuse
from quotes.models import KeptPattern, PatternRevision
from quotes.pattern.block import Block, draw_block, with_proposed_reduction
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.fit import fit_findings, nothing_taken_in, with_fit
from quotes.pattern.pattern_json import pattern_document
from quotes.pattern.readers import read_drawing, read_pattern

__all__ = [
    "drawing_of_upload",
    "free_name",
    "keep_block",
    "pattern_of_block",
    "pattern_of_upload",
    "revision_of",
    "save_pattern",
]

logger = logging.getLogger(__name__)


def keep_block(*, block: Block, user: User) -> PatternRevision:
    """Draw an estimating block and keep it; a reduction that nobody said is proposed. Raises Refused."""
    return save_pattern(pattern_of_block(block=block, user=user))


def pattern_of_upload(
    *,
    upload: "UploadedFile[bytes]",
    options: ReadOptions,
    pattern: KeptPattern,
    user: User,
    body_waist_mm: float | None = None,
    gap_mm: float | None = None,
) -> PatternRevision:
    """Read an uploaded file as a revision of `pattern`, with its fit where that is said beside it; nothing is saved yet.

    Raises:
        Refused: every fault of the file.
    """
    with _on_disk(upload) as path:
        reading = read_pattern(path, options)
    return revision_of(
        reading, pattern, source=upload.name or "", user=user, body_waist_mm=body_waist_mm, gap_mm=gap_mm
    )


def revision_of(
    reading: Reading,
    pattern: KeptPattern,
    *,
    source: str,
    user: User,
    body_waist_mm: float | None = None,
    gap_mm: float | None = None,
) -> PatternRevision:
    """Return what was read as a revision of `pattern`, with its fit where that is said; nothing is saved yet."""
    if body_waist_mm is not None and gap_mm is not None:
        fitted = with_fit(reading.pattern, body_waist_mm=body_waist_mm, gap_mm=gap_mm)
        reduction = fitted.reduction_mm or 0.0
        doubts = [*fit_findings(reduction, body_waist_mm=body_waist_mm, where="waist")]
        if round(reduction) == 0:
            doubts.append(nothing_taken_in(body_waist_mm))
        reading = replace(reading, pattern=fitted, findings=(*reading.findings, *doubts))
    elif gap_mm is not None:
        reading = replace(reading, pattern=replace(reading.pattern, gap_mm=gap_mm))
    document: Document = {**pattern_document(reading.pattern), "name": pattern.name}
    return PatternRevision(
        pattern=pattern,
        document=document,
        findings=plain(reading.findings),
        source_name=source[:200],
        created_by=user,
    )


def pattern_of_block(*, block: Block, user: User) -> PatternRevision:
    """Draw an estimating block as the first revision of a pattern of its name; nothing is saved yet. Raises Refused."""
    whole, proposals = with_proposed_reduction(block)
    reading = draw_block(whole)
    reading = replace(reading, findings=(*proposals, *reading.findings))
    return revision_of(reading, KeptPattern(name=block.name), source="measures", user=user)


def save_pattern(revision: PatternRevision) -> PatternRevision:
    """Save a revision as the next of its pattern, which is saved with it where it is new.

    Raises:
        Refused: another pattern has the new one's name.
    """
    with transaction.atomic():
        if revision.pattern.pk is None:
            revision.pattern = _new_pattern(revision.pattern.name)
        last = revision.pattern.revisions.aggregate(last=Max("number"))["last"] or 0
        revision.number = last + 1
        revision.save()
    logger.info("Kept pattern=%s revision=%s", revision.pattern.pk, revision.number)
    return revision


def free_name(wanted: str) -> str:
    """Return `wanted` as a name that no kept pattern has: numbered where one has it."""
    named = wanted[: KeptPattern.LONGEST_NAME - len(" (999)")].strip()
    taken = set(KeptPattern.objects.filter(name__startswith=named).values_list("name", flat=True))
    return next(name for name in chain([named], (f"{named} ({number})" for number in count(2))) if name not in taken)


def drawing_of_upload(upload: "UploadedFile[bytes]", options: ReadOptions) -> Drawing | None:
    """Return what a file shows before its edges are told apart, for picking corners; None where it names them."""
    with _on_disk(upload) as path:
        drawing = read_drawing(path, options)
    return drawing if isinstance(drawing, Drawing) else None


def _new_pattern(name: str) -> KeptPattern:
    pattern, is_new = KeptPattern.objects.get_or_create(name=name)
    if not is_new:
        raise refuse("pattern.name-taken", "name", f"A pattern {name!r} is kept already.", "Choose another name.")
    return pattern


@contextmanager
def _on_disk(upload: "UploadedFile[bytes]") -> Iterator[Path]:
    """An upload as a file of its own for as long as it is read."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"pattern{Path(upload.name or '').suffix}"
        with path.open("wb") as file:
            for chunk in upload.chunks():
                file.write(chunk)
        yield path
