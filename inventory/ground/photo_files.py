"""Photographs that are taken in: written anew, stored under a random name."""

from uuid import uuid4

from inventory.ground.defaults import shelf_defaults
from inventory.ground.pictures import photograph_of

__all__ = ["MOST_PHOTO_BYTES", "PHOTO_TYPES", "photo_file"]

MOST_PHOTO_BYTES = shelf_defaults().pictures.most_upload_mb * 1_000_000
PHOTO_TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}


def photo_file(data: bytes) -> tuple[str, bytes]:
    """Return a photograph as it is kept, under a fresh name, with nothing but its pixels.

    Raises:
        ValueError: no JPEG, PNG or WebP, or a larger one than is decoded; the message is a sentence.
    """
    return f"{uuid4().hex}.jpg", photograph_of(data).data
