"""Photographs are told by their first bytes: JPEG (ISO 10918), PNG (RFC 2083, 3.1), WebP (RFC 9649, 2.3)."""

import pytest

from inventory.ground.photo_files import photo_name


@pytest.mark.parametrize(
    ("data", "ending"),
    [
        (b"\xff\xd8\xff\xe0rest", ".jpg"),
        (b"\x89PNG\r\n\x1a\nrest", ".png"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8 ", ".webp"),
    ],
)
def test_a_photograph_gets_a_fresh_name_with_its_own_ending(data: bytes, ending: str):
    assert photo_name(data).endswith(ending)
    assert photo_name(data) != photo_name(data)


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"RIFF\x10\x00\x00\x00WAVEfmt ", b"<svg/>"])
def test_anything_else_is_no_picture(data: bytes):
    with pytest.raises(ValueError, match=r"^This is no JPEG, PNG or WebP picture\.$"):
        photo_name(data)
