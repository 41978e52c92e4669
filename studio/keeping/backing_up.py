"""A backup: the database as it stood at one moment, the photographs that it names, the key and the other small files."""

import shutil
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings

from inventory.ground.findings import Finding, Refused, refuse, stops
from studio.defaults import studio_defaults
from studio.keeping.choices import choices
from studio.keeping.databases import Books, books_here, is_books_file, no_books_yet
from studio.keeping.folders import (
    DOUBTFUL,
    building,
    locked,
    nothing_for_others,
    refusals_of,
    stamp,
    thin_out,
)
from studio.keeping.last import STATE, last_of, note_failed, note_good
from studio.keeping.manifest import Manifest, files_in, write_manifest
from studio.keeping.photographs import copy_photographs
from studio.keeping.proof import Proof
from studio.keeping.proving import proved
from studio.keeping.replacing import IN_USE, being_replaced

__all__ = ["Backup", "back_up", "back_up_when_due", "in_use_here", "is_copy_due", "small_files"]

_LOCK_HERE, _LOCK_THERE = "copying.lock", "backup.lock"
"""In the data folder, of which one copy is made at a time, and in the folder of copies."""
_UNDER_WAY, _REPLACED = "backup.under-way", "folder.replaced"
_OTHERS_AT_WORK = (_UNDER_WAY, _REPLACED)
"""Refusals that are no failure of a copy: another program has the folder."""
_MOST_BYTES_SMALL = 1_000_000
_TIMES = 3
"""A photograph that was taken away since the database was copied is in no later copy of it: how often that is tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A copy that was made.

    Attributes:
        where: its folder.
        made_at: when the database was copied, UTC.
        bytes: of all its files.
        rows: of all its tables.
        photographs: how many.
        taken_away: older copies that made room.
        findings: why it is not good, or what is doubtful.
    """

    where: str
    made_at: datetime
    bytes: int
    rows: int
    photographs: int
    taken_away: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def is_good(self) -> bool:
        """Whether it was opened and everything in it proved right."""
        return not stops(self.findings)


def back_up(folder: Path | None = None, *, keep: int | None = None) -> Backup:
    """Copy the books into a new folder of `folder`, open the copy and prove it; keep the last `keep` good ones.

    Where neither is said they are those that were chosen. How a copy into the chosen folder went is written down for Today.

    Raises:
        Refused: another backup is under way, the disk refuses, the books cannot be copied or the copy not opened.
    """
    made = _backed_up(folder, keep=keep, only_when_due=False)
    assert made is not None
    return made


def back_up_when_due() -> Backup | None:
    """Copy the books into the chosen folder where the last good copy is older than was chosen, else return None.

    It is looked again once no other copy can be under way, so that of several servers on one data folder one makes it.

    Raises:
        Refused: the disk refuses, the books cannot be copied or the copy not opened.
    """
    try:
        return _backed_up(None, keep=None, only_when_due=True)
    except Refused as refusal:
        if refusal.findings[0].code == _UNDER_WAY:
            return None
        raise


def is_copy_due(data: Path) -> bool:
    """Whether the last good copy of a data folder is older than was chosen and none failed just now. Raises Refused."""
    hours, retry = choices(data).hours, studio_defaults().keeping.retry_hours
    return last_of(data).is_due(datetime.now(UTC), hours=hours, retry_hours=retry)


def _backed_up(folder: Path | None, *, keep: int | None, only_when_due: bool) -> Backup | None:
    data: Path = settings.DATA_DIR
    try:
        chosen = choices(data)
        into = chosen.folder if folder is None else folder.absolute()
        with (
            nothing_for_others(),
            refusals_of(into),
            in_use_here(),
            nullcontext() if settings.IS_READ_ONLY else _alone(data / _LOCK_HERE),
            _alone(into / _LOCK_THERE),
        ):
            if only_when_due and not is_copy_due(data):
                return None
            made = _made(into, keep=chosen.keep if keep is None else keep)
            if folder is None and made.is_good:
                note_good(data, Path(made.where), at=made.made_at)
            elif folder is None:
                note_failed(data, stops(made.findings)[0].message, at=made.made_at)
            return made
    except Refused as refusal:
        if folder is None and refusal.findings[0].code not in _OTHERS_AT_WORK:
            _note_refused(data, str(refusal))
        raise


@contextmanager
def in_use_here() -> Iterator[None]:
    """Hold the data folder as one of those that use it, so that it is not replaced. Raises Refused while it is.

    A folder that may only be read is not held: nobody who may not write replaces it.
    """
    if settings.IS_READ_ONLY:
        yield
        return
    with locked(settings.DATA_DIR / IN_USE, alone=False, refusal=being_replaced(settings.DATA_DIR)):
        yield


def small_files(data: Path) -> list[Path]:
    """Return the key, the time zone and what else stands beside the database; no database, no locks, nothing half-written."""
    left_out = {STATE, f"{STATE}.new"}
    return sorted(
        path
        for path in data.iterdir()
        if path.is_file()
        and not path.is_symlink()
        and not is_books_file(path.name)
        and path.suffix not in {".lock", ".new"}
        and not path.name.startswith(".")
        and path.name not in left_out
        and path.stat().st_size <= _MOST_BYTES_SMALL
    )


def _alone(path: Path) -> AbstractContextManager[None]:
    words = "Another backup is under way."
    refusal = refuse(_UNDER_WAY, str(path.parent), words, "Wait until it has ended.")
    return locked(path, alone=True, refusal=refusal)


def _made(into: Path, *, keep: int) -> Backup:
    books = books_here()
    made_at = datetime.now(UTC)
    thin_out(into, keep=keep, now=made_at)
    where = into / stamp(made_at)
    with building(where) as partial:
        for path in small_files(settings.DATA_DIR):
            shutil.copyfile(path, partial / path.name)
        proof, missing = _copied_with_photographs(books, partial)
        findings = (*proof.findings, *missing)
        files = files_in(partial)
        manifest = Manifest(
            kind="backup",
            database=books.kind,
            made_at=made_at,
            schema=proof.schema,
            counts=proof.counts,
            files=files,
            findings=findings,
        )
        write_manifest(partial, manifest)
    if stops(findings):
        where = where.rename(where.with_name(f"{where.name}{DOUBTFUL}"))
    return Backup(
        where=str(where),
        made_at=made_at,
        bytes=sum(file.bytes for file in files),
        rows=sum(proof.counts.values()),
        photographs=len(proof.photographs) - len(missing),
        taken_away=tuple(path.name for path in thin_out(into, keep=keep, now=made_at)),
        findings=findings,
    )


def _copied_with_photographs(books: Books, folder: Path) -> tuple[Proof, tuple[Finding, ...]]:
    """Copy database and photographs so that all that the copy names are there, but for those that the books lost before."""
    for _ in range(_TIMES):
        books.copy(folder)
        proof = _proved(books, folder)
        missing = copy_photographs(proof.photographs, folder, kind="backup")
        if not missing:
            break
    return proof, missing


def _proved(books: Books, folder: Path) -> Proof:
    """Open the copy in a folder; one of an earlier version is proved by another copy of it that is brought up to today."""
    with books.opened(folder) as environment:
        proof = proved(environment)
    if not proof.is_behind or proof.findings:
        return proof
    if not proof.schema:
        raise no_books_yet()
    with TemporaryDirectory(dir=folder.parent, prefix=f"{folder.name}-") as later:
        shutil.copytree(folder, later, dirs_exist_ok=True)
        with books.opened(Path(later)) as environment:
            return replace(proved(environment, migrated=True), schema=proof.schema)


def _note_refused(data: Path, why: str) -> None:
    """Write down why no copy came of it, where the disk takes it."""
    with suppress(OSError), nothing_for_others():
        note_failed(data, why, at=datetime.now(UTC))
