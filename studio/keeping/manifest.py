"""What a folder of copied books holds: each file with its size and digest, the schema, the counts, when it was made."""

import errno
import hashlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath

from inventory.ground.codec import Codec
from inventory.ground.findings import Finding, refuse
from inventory.ground.reading import json_data
from studio.keeping.folders import write_whole

__all__ = ["MANIFEST", "KeptFile", "Manifest", "checked", "files_in", "manifest_of", "write_manifest"]

MANIFEST = "manifest.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFile:
    """One file by its name from the folder on, with slashes. `sha256` is hexadecimal."""

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What stands in `manifest.json`.

    Attributes:
        kind: `backup` or `export`.
        database: `sqlite` or `postgresql`.
        made_at: when the database was copied, UTC.
        schema: the last migration of each app.
        counts: rows by table.
        files: all others in the folder, by name.
        findings: what is wrong or doubtful about the books as they were copied.
    """

    kind: str
    database: str
    made_at: datetime
    schema: Mapping[str, str]
    counts: Mapping[str, int]
    files: tuple[KeptFile, ...]
    findings: tuple[Finding, ...] = ()


_MANIFEST = Codec(kind=Manifest, version=1)


def files_in(folder: Path) -> tuple[KeptFile, ...]:
    """Return all files of a folder but its manifest, by name.

    Raises:
        OSError: one that cannot be read; what is no file, such as a pipe or a link to a folder.
    """
    paths = sorted(
        Path(at, name).relative_to(folder).as_posix()
        for at, folders, names in os.walk(folder, onerror=_raise)
        for name in (*names, *(name for name in folders if Path(at, name).is_symlink()))
    )
    return tuple(_kept_file(folder, name) for name in paths if name != MANIFEST)


def write_manifest(folder: Path, manifest: Manifest) -> None:
    """Write a folder's manifest, last of its files."""
    write_whole(folder / MANIFEST, _MANIFEST.written(manifest))


def manifest_of(folder: Path, *, kind: str) -> Manifest:
    """Return what a folder says of itself; its files are not read.

    Raises:
        Refused: no folder, no manifest, one of another kind, or one that cannot be read.
    """
    if not folder.is_dir():
        raise refuse(f"{kind}.not-found", str(folder), "There is no such folder.", f"Name the folder of the {kind}.")
    try:
        document = json_data((folder / MANIFEST).read_bytes(), MANIFEST)
    except OSError:
        raise refuse(
            f"{kind}.no-manifest",
            str(folder),
            f"There is no {MANIFEST} here that can be read.",
            f"Name a whole {kind}.",
        ) from None
    try:
        manifest = _MANIFEST.read(document)
    except (ValueError, TypeError, AttributeError):
        raise refuse(
            f"{kind}.manifest", str(folder), f"Its {MANIFEST} is not of a form that is known here.", "Take another one."
        ) from None
    if manifest.kind != kind:
        raise refuse(f"{kind}.kind", str(folder), f"This is no {kind}, but one of the kind {manifest.kind[:20]!r}.")
    return manifest


def checked(folder: Path, *, kind: str) -> Manifest:
    """Return what a folder says of itself, once every file is found to be what it says.

    Raises:
        Refused: as `manifest_of`; a file that is missing, damaged or not named.
    """
    manifest = manifest_of(folder, kind=kind)
    for file in manifest.files:
        path = PurePosixPath(file.name)
        if path.is_absolute() or ".." in path.parts or "\\" in file.name or "\0" in file.name:
            raise refuse(f"{kind}.manifest", file.name[:80], f"Its {MANIFEST} names a file outside the folder.")
    said = {file.name: file for file in manifest.files}
    try:
        found = {file.name: file for file in files_in(folder)}
    except OSError as error:
        raise refuse(f"{kind}.unread", str(error.filename), f"This cannot be read: {error.strerror}.") from None
    for name in sorted(said.keys() | found.keys()):
        if said.get(name) != found.get(name):
            words = (
                "is missing" if name not in found else "is not in the manifest" if name not in said else "is damaged"
            )
            raise refuse(
                f"{kind}.damaged", name, f"{name} {words}.", f"Take another {kind}; this one was left as it is."
            )
    return manifest


def _kept_file(folder: Path, name: str) -> KeptFile:
    path = folder / name
    if not path.is_file():
        raise OSError(errno.EINVAL, "it is no plain file", str(path))
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return KeptFile(name=name, bytes=path.stat().st_size, sha256=digest)


def _raise(error: OSError) -> None:
    raise error
