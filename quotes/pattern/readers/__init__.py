"""The front door for pattern files: picks the reader by the file's ending and keeps it within limits."""

from pathlib import Path

from inventory.ground.findings import refuse
from inventory.ground.reading import file_bytes
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.readers.child import READERS, read_in_child

__all__ = ["KINDS", "read_drawing", "read_pattern"]

KINDS = tuple(READERS)


def read_pattern(path: Path, options: ReadOptions) -> Reading:
    """Return the pattern in a file. Raises Refused with every fault that could be found."""
    reading = read_in_child(_bytes(path), path.suffix.lower(), path.stem, options, assembled=True)
    assert isinstance(reading, Reading)
    return reading


def read_drawing(path: Path, options: ReadOptions) -> Drawing | Reading:
    """Return what a file shows before its edges are told apart, for picking corners. Raises Refused."""
    return read_in_child(_bytes(path), path.suffix.lower(), path.stem, options, assembled=False)


def _bytes(path: Path) -> bytes:
    name = path.name[:80]
    if path.suffix.lower() not in KINDS:
        raise refuse(
            "file.unknown-kind",
            name,
            f"{name} is no kind of pattern file that can be read.",
            f"Hand in one of {', '.join(KINDS)}.",
        )
    data = file_bytes(path, "Save only the pattern's panels.")
    if not data.strip():
        raise refuse("file.empty", name, "The file is empty.")
    return data
