"""Photographs read in a process of their own (`inventory.ground.confined`), each by itself, so that nothing else has to load what sees."""

from inventory.ground.confined import confined
from inventory.ground.defaults import shelf_defaults
from quotes.photograph.cards import PrintScale
from quotes.photograph.reading import Look, PhotoReading
from quotes.photograph.solve import LensPrior

__all__ = ["look_at_here", "look_in_child", "read_here", "read_in_child"]

_MEND = "Hand in the photograph as the camera took it, at 12 million pixels or so."


def read_in_child(data: bytes, name: str, scale: PrintScale, lens: LensPrior | None) -> PhotoReading:
    """Return what a photograph shows. Raises Refused, as `photograph.read` does, or that it took too much time or memory."""
    return confined(read_here, data, name, scale, lens, name=name, mend=_MEND, limits=shelf_defaults().seeing)


def look_in_child(data: bytes, name: str, scale: PrintScale) -> Look:
    """Return what one of several photographs says of the lens. Raises Refused as above."""
    return confined(look_at_here, data, name, scale, name=name, mend=_MEND, limits=shelf_defaults().seeing)


def read_here(data: bytes, name: str, scale: PrintScale, lens: LensPrior | None) -> PhotoReading:
    """Return the same, without limits, in this process."""
    from quotes.photograph.photograph import read

    return read(data, name, scale, lens)


def look_at_here(data: bytes, name: str, scale: PrintScale) -> Look:
    """Return the same, without limits, in this process."""
    from quotes.photograph.photograph import look_at

    return look_at(data, name, scale)
