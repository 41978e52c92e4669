"""A set of photographs on its way to the pattern table: each step looks at one or measures it, in a request of its own.

Where there are several, each is looked at first for what it says of the lens they share; then each is measured. What a step
came to is kept at once, so that a page that was closed, or a phone that fell asleep, loses nothing.
"""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import timedelta
from pathlib import Path
from threading import Lock
from typing import Any

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.db.models import Prefetch
from django.utils import timezone

from inventory.ground.findings import Refused
from quotes.models import KeptPattern, PatternHandIn, PatternPhotograph, PhotographInSet, PhotographSet, Workroom
from quotes.pattern.table.lying import LYING, Lying
from quotes.pattern.table.said import SAID, Said
from quotes.patterns.hand_ins import save_hand_in
from quotes.patterns.kept_looks import kept_look, kept_reading, look_document, reading_document
from quotes.patterns.photograph_hand_ins import PHOTOGRAPH
from quotes.patterns.printed_cards import must_be_measured
from quotes.photograph.bare import bare
from quotes.photograph.child import look_in_child, read_in_child
from quotes.photograph.photographs import lens_by_others, together
from quotes.photograph.print_scale import print_scale
from quotes.photograph.sheet import sheet_of
from quotes.photograph.shown import SHOWN, shown_photos
from quotes.photograph.solve import LensPrior

__all__ = [
    "begin_set",
    "drop_set",
    "is_refused",
    "may_be_tried_again",
    "measure_next",
    "next_of",
    "photographs_in",
    "put_in_place_of_refused",
    "say_ruler",
    "steps_of",
    "try_again",
    "waiting_sets",
]

KEPT_HOURS = 12
"""A set that nobody went on with for so long is dropped, pictures and all, when the next one comes."""
_MAY_PASS = {"file.too-slow", "file.broken-off"}
"""Refusals that say nothing of a photograph itself: the machine was busy, or short of memory. Its file stays to be tried again."""
_ONE_AT_A_TIME = Lock()
"""Held while a photograph is measured, which takes up to 1.5 GB of memory. Nobody waits for it: a page asks again."""


def begin_set(
    *,
    uploads: "Sequence[UploadedFile[bytes]]",
    room: Workroom,
    pattern: KeptPattern | None,
    user: User | None,
    ruler_mm: float | None = None,
) -> PhotographSet:
    """Keep photographs of paper pieces to be measured, as the next revision of `pattern` or as a new one.

    Args:
        ruler_mm: how long a ruler is that lies among the pieces, from end to end; None where none does.

    Raises:
        Refused: nobody said yet what the printed cards measure.
    """
    along_mm, across_mm = must_be_measured(room)
    with transaction.atomic():
        stale = timezone.now() - timedelta(hours=KEPT_HOURS)
        PhotographSet.objects.filter(hand_in=None, began_at__lt=stale).delete()
        found = PhotographSet.objects.create(
            pattern=pattern, cards_along_mm=along_mm, cards_across_mm=across_mm, ruler_mm=ruler_mm, made_by=user
        )
        _add(found, uploads, [])
    return found


def waiting_sets() -> list[PhotographSet]:
    """Return the sets that are not on the table yet, the last one first, with their photographs' names."""
    names = Prefetch("photographs", PhotographInSet.objects.only("name", "of"))
    return list(PhotographSet.objects.filter(hand_in=None).order_by("-pk").prefetch_related(names))


def photographs_in(found: PhotographSet) -> list[PhotographInSet]:
    """Return the photographs of a set without their pictures, in the order in which they came."""
    return list(found.photographs.defer("data", "shown"))


def next_of(photographs: Sequence[PhotographInSet]) -> PhotographInSet | None:
    """Return the photograph that the next step is for; None where all are measured, or some have to be replaced first.

    What is wrong with any is told before time is spent on measuring the others.
    """
    sound = [one for one in photographs if not one.refused]
    if len(photographs) > 1:
        unseen = next((one for one in sound if one.look is None and one.reading is None), None)
        if unseen is not None:
            return unseen
        if any(one.refused and one.look is None for one in photographs):
            return None
    return next((one for one in sound if one.reading is None), None)


def steps_of(photographs: Sequence[PhotographInSet]) -> tuple[int, int]:
    """Return how many steps are done, and how many there are."""
    a_photograph = 1 if len(photographs) == 1 else 2
    done = sum(a_photograph if one.reading else int(one.look is not None) for one in photographs)
    return done, a_photograph * len(photographs)


def is_refused(photographs: Sequence[PhotographInSet]) -> bool:
    """Whether measuring has stopped at photographs that cannot be used."""
    return next_of(photographs) is None and any(one.refused for one in photographs)


def may_be_tried_again(photograph: PhotographInSet) -> bool:
    """Whether a photograph failed by the clock or from outside alone."""
    return {finding["code"] for finding in photograph.refused} <= _MAY_PASS and bool(photograph.refused)


def measure_next(found: PhotographSet) -> bool:
    """Take the next step of a set; after the last one it lies on the table. False while another photograph is measured.

    Raises:
        PhotographSet.DoesNotExist: it was dropped meanwhile.
    """
    if not _ONE_AT_A_TIME.acquire(blocking=False):
        return False
    try:
        photographs = photographs_in(found)
        if (step := next_of(photographs)) is not None:
            _take_step(found, photographs, step)
            photographs = photographs_in(found)
        if photographs and all(one.reading for one in photographs):
            _lay_down(found)
    finally:
        _ONE_AT_A_TIME.release()
    found.refresh_from_db()
    return True


def put_in_place_of_refused(found: PhotographSet, uploads: "Sequence[UploadedFile[bytes]]") -> bool:
    """Take the refused photographs out of a set, and these in; False where none was refused, or nothing would be left: nothing is done."""
    with transaction.atomic():
        photographs = photographs_in(PhotographSet.objects.select_for_update().get(pk=found.pk))
        refused = [one.pk for one in photographs if one.refused]
        kept = [one.name for one in photographs if not one.refused]
        if not refused or not (kept or uploads):
            return False
        found.photographs.filter(pk__in=refused).delete()
        _add(found, uploads, kept)
        found.began_at = timezone.now()
        found.save(update_fields=["began_at"])
    return True


def try_again(found: PhotographSet) -> None:
    """Let those photographs of a set be measured once more that failed by the clock or from outside; its time begins anew."""
    with transaction.atomic():
        photographs = photographs_in(PhotographSet.objects.select_for_update().get(pk=found.pk))
        again = [one.pk for one in photographs if may_be_tried_again(one)]
        # Those of an earlier version kept no file to try again with.
        found.photographs.filter(pk__in=again).exclude(data=b"").update(refused=[])
        found.began_at = timezone.now()
        found.save(update_fields=["began_at"])


def say_ruler(found: PhotographSet, ruler_mm: float | None) -> None:
    """Say anew how long the ruler is among the pieces of a set, or that none lies there; what was measured is looked at once more."""
    PhotographSet.objects.filter(pk=found.pk, hand_in=None).update(ruler_mm=ruler_mm, refused=[])


def drop_set(found: PhotographSet) -> None:
    """Throw photographs away that are not on the table yet."""
    PhotographSet.objects.filter(pk=found.pk, hand_in=None).delete()


def _add(found: PhotographSet, uploads: "Sequence[UploadedFile[bytes]]", taken: Sequence[str]) -> None:
    names = _names(uploads, taken)
    # One after another: together they would stand in memory twice. Without where they were taken: copies of the books hold them.
    for name, upload in zip(names, uploads, strict=True):
        PhotographInSet.objects.create(of=found, name=name, data=bare(upload.read()))


def _take_step(found: PhotographSet, photographs: Sequence[PhotographInSet], step: PhotographInSet) -> None:
    """Look at a photograph or measure it, and keep what that came to; nothing is locked in the database meanwhile."""
    # Another server on these books may have measured it since, or its maker dropped it.
    row = PhotographInSet.objects.filter(pk=step.pk, reading__isnull=True)
    data = bytes(row.values_list("data", flat=True).first() or b"")
    if not data:
        return
    scale = print_scale(found.cards_along_mm, found.cards_across_mm)
    try:
        if len(photographs) > 1 and step.look is None:
            row.update(look=look_document(look_in_child(data, step.name, scale)))
        else:
            reading = read_in_child(data, step.name, scale, _lens_of(photographs, step))
            row.update(reading=reading_document(reading), shown=reading.shown, data=b"")
    except Refused as refusal:
        row.update(refused=_rows(refusal))
        if not all(finding.code in _MAY_PASS for finding in refusal.findings):
            row.update(data=b"")


def _lens_of(photographs: Sequence[PhotographInSet], step: PhotographInSet) -> LensPrior | None:
    """What the others of a set say of a photograph's lens; None for one by itself."""
    if len(photographs) == 1:
        return None
    looks = {one.pk: kept_look(one.look) for one in photographs if one.look is not None}
    return lens_by_others([*looks.values()], [*looks].index(step.pk))


def _lay_down(found: PhotographSet) -> None:
    """Lay all that was measured on the table as one hand-in, once."""
    with transaction.atomic():
        waiting = PhotographSet.objects.select_for_update().filter(pk=found.pk, hand_in=None).first()
        if waiting is None:
            return
        photographs = list(waiting.photographs.defer("data"))
        try:
            readings = together(
                [kept_reading(one.reading or {}, bytes(one.shown)) for one in photographs], waiting.ruler_mm
            )
        except Refused as refusal:
            waiting.refused = _rows(refusal)
            waiting.save(update_fields=["refused"])
            return
        names = ", ".join(one.name for one in photographs)
        lying = Lying(name=Path(photographs[0].name).stem[:100], sheet=sheet_of(readings))
        waiting.hand_in = save_hand_in(
            PatternHandIn(
                pattern=waiting.pattern,
                filename=f"{PHOTOGRAPH}{names}"[:200],
                document=LYING.written(lying),
                said=SAID.written(Said()),
                made_by=waiting.made_by,
            ),
            [
                PatternPhotograph(name=reading.photo, data=reading.shown, document=SHOWN.written(shown))
                for reading, shown in zip(readings, shown_photos(readings), strict=True)
            ],
        )
        waiting.save(update_fields=["hand_in"])
        waiting.photographs.all().delete()


def _rows(refusal: Refused) -> list[dict[str, Any]]:
    return [asdict(finding) for finding in refusal.findings]


def _names(uploads: "Sequence[UploadedFile[bytes]]", taken: Sequence[str]) -> list[str]:
    """The names of the files, told apart from each other and from those taken: telephones call each picture the same."""
    names: list[str] = []
    for upload in uploads:
        plain = Path(upload.name or "photograph")
        stem, ending = plain.stem[:60], plain.suffix[:10]
        name, number = f"{stem}{ending}", 1
        while name in names or name in taken:
            number += 1
            name = f"{stem} ({number}){ending}"
        names.append(name)
    return names
