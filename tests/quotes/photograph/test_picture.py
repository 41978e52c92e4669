"""Files that are, or are not, pictures: what is decoded, which way up, and what is refused before anything is unpacked."""

import io
import struct
import sys
import types
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from inventory.ground.findings import Refused
from quotes.photograph.picture import decode, linear_light

ORIENTATION, DETAILS, FOCAL_35 = 0x0112, 0x8769, 0xA405
"""Tags of EXIF 2.32."""


def saved(image: Image.Image, kind: str, **how: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def half_red() -> Image.Image:
    """Red on the left, blue on the right."""
    image = Image.new("RGB", (800, 500), (0, 0, 255))
    image.paste((255, 0, 0), (0, 0, 400, 500))
    return image


def test_a_picture_is_turned_upright_by_what_it_says() -> None:
    """EXIF orientation 6: the camera was turned; the first row of pixels is the right side."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    photo = decode(saved(half_red(), "JPEG", exif=exif, quality=95), "a.jpg")
    assert photo.size == (500, 800)
    assert photo.pixels[50, 250, 0] > 200
    assert photo.pixels[750, 250, 2] > 200


def test_the_focal_length_is_taken_from_the_file() -> None:
    """As of film with a diagonal of 43.27 mm; without it a usual lens is taken, less surely."""
    exif = Image.Exif()
    exif.get_ifd(DETAILS)[FOCAL_35] = 52
    said = decode(saved(half_red(), "JPEG", exif=exif), "a.jpg")
    unsaid = decode(saved(half_red(), "JPEG"), "a.jpg")
    assert said.focal_px == pytest.approx(52 / 43.267 * np.hypot(800, 500), rel=1e-3)
    assert said.focal_share < unsaid.focal_share
    assert unsaid.focal_px == pytest.approx(said.focal_px / 2)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "P", "CMYK", "I;16"])
def test_every_kind_of_pixel_becomes_red_green_and_blue(mode: str) -> None:
    image = (
        Image.fromarray(np.full((500, 800), 40_000, dtype=np.uint16)) if mode == "I;16" else half_red().convert(mode)
    )
    pixels = decode(
        saved(image, "TIFF" if mode == "CMYK" else "PNG") if mode != "CMYK" else saved(image, "JPEG"), "a"
    ).pixels
    assert pixels.shape == (500, 800, 3)
    assert pixels.dtype == np.uint8


def test_what_can_be_seen_through_stands_on_white() -> None:
    assert (decode(saved(Image.new("RGBA", (800, 500), (0, 0, 0, 0)), "PNG"), "a.png").pixels == 255).all()


HALF_RED = Path(__file__).parents[3] / "fixtures" / "photographs" / "half-red.heic"
HEIC_HEAD = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(200)
"""A box `ftyp` of ISO/IEC 14496-12 with the brand of ISO/IEC 23008-12, and nothing that could be shown."""


def test_a_heic_without_its_library_is_told_from_what_is_no_picture(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    with pytest.raises(Refused) as refused:
        decode(HEIC_HEAD, "a.heic")
    (finding,) = refused.value.findings
    assert finding.code == "photograph.no-heic"
    assert "not installed" in finding.message
    assert "JPEG" in finding.hint


def test_a_heic_is_read_as_any_other_picture() -> None:
    photo = decode(HALF_RED.read_bytes(), "a.heic")
    assert photo.size == (800, 500)
    assert photo.pixels[250, 200, 0] > 200
    assert photo.pixels[250, 600, 2] > 200
    assert photo.focal_px == pytest.approx(52 / 43.267 * np.hypot(800, 500), rel=1e-3)


@pytest.mark.parametrize("length", [40, 500, 1500])
def test_a_heic_that_breaks_off_is_no_picture(length: int) -> None:
    with pytest.raises(Refused, match="no picture that can be read"):
        decode(HALF_RED.read_bytes()[:length], "a.heic")


def test_a_heic_that_the_library_cannot_read_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pillow tells a reader that it registered what it cannot read by SyntaxError."""

    def cannot(stream: object, name: str) -> None:
        raise SyntaxError

    library = types.ModuleType("pi_heif")
    library.register_heif_opener = lambda: Image.register_open("HEIF", cannot)
    monkeypatch.setitem(sys.modules, "pi_heif", library)
    monkeypatch.setattr(Image, "OPEN", dict(Image.OPEN))
    with pytest.raises(Refused, match="no picture that can be read"):
        decode(HEIC_HEAD, "a.heic")


def said_size(width: int, height: int) -> bytes:
    """The head of a PNG that says its size, and nothing after it."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = [(b"IHDR", head), (b"IDAT", zlib.compress(b""))]
    body = b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in chunks
    )
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize(("width", "height"), [(9000, 7000), (30_000, 30_000)])
def test_too_many_pixels_are_refused_by_the_head_of_the_file_alone(width: int, height: int) -> None:
    with pytest.raises(Refused) as refused:
        decode(said_size(width, height), "large.png")
    (finding,) = refused.value.findings
    assert (finding.code, finding.where) == ("photograph.too-large", "large.png")
    assert "60 are unpacked" in finding.message


@pytest.mark.parametrize(
    "data", [b"", b"hello", saved(half_red(), "JPEG")[:900], saved(half_red(), "PNG")[:300], said_size(800, 500)]
)
def test_what_is_no_picture_or_broken_off_is_refused(data: bytes) -> None:
    with pytest.raises(Refused) as refused:
        decode(data, "a.jpg")
    assert [finding.code for finding in refused.value.findings] == ["photograph.not-a-picture"]


def test_other_kinds_of_pictures_are_refused() -> None:
    with pytest.raises(Refused, match="no picture that can be read"):
        decode(saved(half_red(), "GIF"), "a.gif")


def test_a_preview_is_refused() -> None:
    with pytest.raises(Refused) as refused:
        decode(saved(half_red().resize((320, 200)), "JPEG"), "a.jpg")
    assert refused.value.findings[0].code == "photograph.too-small"


def test_a_very_large_picture_is_read_at_half_its_size() -> None:
    assert decode(saved(Image.new("RGB", (6000, 4400)), "PNG"), "a.png").size == (3000, 2200)


def test_light_follows_the_curve_of_the_standard() -> None:
    """IEC 61966-2-1: 188 of 255 is half the light, the ends are themselves."""
    light = linear_light(np.array([0, 10, 188, 255], dtype=np.uint8)) / 65535
    assert light.tolist() == pytest.approx([0.0, 10 / 255 / 12.92, 0.5029, 1.0], abs=2e-4)
