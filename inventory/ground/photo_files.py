"""Photographs that are taken in: told by their first bytes, stored under a random name."""

from uuid import uuid4

__all__ = ["MOST_PHOTO_BYTES", "PHOTO_TYPES", "photo_name"]

MOST_PHOTO_BYTES = 8_000_000
PHOTO_TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}


def photo_name(data: bytes) -> str:
    """Return a fresh file name for a photograph by what it begins with.

    Raises:
        ValueError: no JPEG, PNG or WebP; the message is a sentence.
    """
    if data.startswith(b"\xff\xd8\xff"):
        kind = "jpg"
    elif data.startswith(b"\x89PNG\r\n\x1a\n"):
        kind = "png"
    elif data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        kind = "webp"
    else:
        raise ValueError("This is no JPEG, PNG or WebP picture.")
    return f"{uuid4().hex}.{kind}"
