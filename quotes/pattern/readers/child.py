"""What reads a pattern file in a process of its own (`inventory.ground.confined`): the reader for its kind, then the assembly."""

import importlib
from dataclasses import replace

from inventory.ground.confined import confined
from quotes.pattern.assemble import assemble
from quotes.pattern.drawing import Drawing, Reading, ReadOptions

__all__ = ["READERS", "read_here", "read_in_child"]

READERS = {".dxf": "dxf", ".svg": "svg", ".csv": "table", ".xlsx": "table", ".json": "json_pattern"}
"""Which module of this room reads a kind of file, by the ending of its name."""
_MEND = "Save only the pattern's panels, without copies of copies."


def read_in_child(data: bytes, kind: str, name: str, options: ReadOptions, *, assembled: bool) -> Drawing | Reading:
    """Return what the reader for `kind` (".dxf", …) makes of `data`.

    Raises:
        Refused: the reader's findings, or that it took too much time or memory or broke down.
    """
    return confined(read_here, data, kind, name, options, assembled, name=name, mend=_MEND)


def read_here(data: bytes, kind: str, name: str, options: ReadOptions, assembled: bool) -> Drawing | Reading:
    """Return the same, without limits, in this process. Raises Refused with the reader's findings."""
    # Each reader brings libraries that the others do without, so only the one that is needed is imported.
    reader = importlib.import_module(f"quotes.pattern.readers.{READERS[kind]}")
    drawn: Drawing | Reading = reader.read(data, options)
    if isinstance(drawn, Drawing) and not drawn.name:
        drawn = replace(drawn, name=name)
    return assemble(drawn, options) if assembled and isinstance(drawn, Drawing) else drawn
