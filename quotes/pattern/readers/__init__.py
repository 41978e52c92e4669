"""The front door for pattern files: picks the reader by the file's ending and keeps it within limits."""

from pathlib import Path

from inventory.ground.findings import refuse
from inventory.ground.reading import file_bytes
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.readers.child import READERS, SHEETS, read_in_child

__all__ = ["KINDS", "must_be_pattern_file", "must_hold_something", "read_drawing", "read_pattern"]

KINDS = tuple(dict.fromkeys((*READERS, *SHEETS)))


def read_pattern(path: Path, options: ReadOptions) -> Reading:
    """Return the pattern in a file. Raises Refused with every fault that could be found."""
    reading = read_in_child(_bytes(path), path.suffix.lower(), path.stem, options, assembled=True)
    assert isinstance(reading, Reading)
    return reading


def read_drawing(path: Path, options: ReadOptions) -> Drawing | Reading:
    """Return what a file shows before its edges are told apart, for picking corners. Raises Refused."""
    return read_in_child(_bytes(path), path.suffix.lower(), path.stem, options, assembled=False)


def must_be_pattern_file(filename: str) -> None:
    """Raise Refused where a file's ending is that of no kind of pattern file."""
    name = Path(filename).name[:80]
    if Path(filename).suffix.lower() not in KINDS:
        raise refuse(
            "file.unknown-kind",
            name,
            f"{name} is no kind of pattern file that can be read.",
            f"Hand in one of {', '.join(KINDS)}.",
        )


def must_hold_something(data: bytes, filename: str) -> None:
    """Raise Refused where a pattern file is empty."""
    if not data.strip():
        raise refuse("file.empty", Path(filename).name[:80], "The file is empty.")


def _bytes(path: Path) -> bytes:
    must_be_pattern_file(path.name)
    data = file_bytes(path, "Save only the pattern's panels.")
    must_hold_something(data, path.name)
    return data
