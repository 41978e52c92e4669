"""What is kept of photographs between the steps of measuring a set: looks at their lenses, and what was read."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from inventory.ground.codec import Codec
from quotes.photograph.reading import Look, PhotoReading
from quotes.photograph.solve import LensPrior

__all__ = ["kept_look", "kept_reading", "look_document", "reading_document"]

_READING = Codec(kind=PhotoReading, version=1)


def look_document(look: Look) -> dict[str, Any]:
    """Return a look as plain JSON data, exactly."""
    return {"camera": [*look.camera], "before": _lens_document(look.before), "after": _lens_document(look.after)}


def kept_look(document: Mapping[str, Any]) -> Look:
    """Return the look of such a document."""
    width, height, focal_px = document["camera"]
    return Look(camera=(width, height, focal_px), before=_lens(document["before"]), after=_lens(document["after"]))


def reading_document(reading: PhotoReading) -> dict[str, Any]:
    """Return what was read, without the picture, which is kept beside it."""
    return _READING.written(replace(reading, shown=b""))


def kept_reading(document: Mapping[str, Any], shown: bytes) -> PhotoReading:
    """Return what was read, with the picture that was kept beside it."""
    return _READING.read({**document, "shown": shown})


def _lens_document(lens: LensPrior) -> dict[str, Any]:
    return {
        "mean": lens.mean.tolist(),
        "covariance": lens.covariance.tolist(),
        "focal_px": lens.focal_px,
        "middle": [*lens.middle],
    }


def _lens(document: Mapping[str, Any]) -> LensPrior:
    x, y = document["middle"]
    return LensPrior(
        mean=np.array(document["mean"], dtype=float),
        covariance=np.array(document["covariance"], dtype=float),
        focal_px=document["focal_px"],
        middle=(x, y),
    )
