"""Files of photographs without what they say beside; what is left of it is read back by Pillow."""

import io
import struct
import zlib
from typing import Any

import numpy as np
import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from inventory.ground.findings import Refused
from quotes.photograph.bare import bare
from quotes.photograph.picture import decode

ORIENTATION, MODEL, DETAILS, PLACE, TAKEN, FOCAL_35 = 0x0112, 0x0110, 0x8769, 0x8825, 0x9003, 0xA405
"""Tags of EXIF 2.32: the last two stand in its details."""
SECRETS = (b"48 Garden Row", b"Model of 2031", b"2026:11:30", b"a remark", b"a film behind", b"a profile")


def picture(mode: str = "RGB") -> Image.Image:
    """Noise, of which a change of one bit would be seen."""
    noise = np.random.default_rng(4).integers(0, 255, (420, 500, 3), dtype=np.uint8)
    return Image.fromarray(noise).convert(mode)


def exif(orientation: int | None = 6, focal: int | None = 27) -> Image.Exif:
    said = Image.Exif()
    said[MODEL] = "Model of 2031"
    if orientation is not None:
        said[ORIENTATION] = orientation
    said.get_ifd(DETAILS)[TAKEN] = "2026:11:30 10:00:00"
    if focal is not None:
        said.get_ifd(DETAILS)[FOCAL_35] = focal
    said.get_ifd(PLACE)[1] = "N"
    said.get_ifd(PLACE)[27] = b"48 Garden Row"
    return said


def jpeg(image: Image.Image | None = None, **how: Any) -> bytes:
    out = io.BytesIO()
    how = {"exif": exif(), "comment": b"a remark", "icc_profile": b"a profile", "quality": 92, **how}
    (image or picture()).save(out, "JPEG", **how)
    return out.getvalue()


def png(image: Image.Image | None = None, **how: Any) -> bytes:
    out, text = io.BytesIO(), PngInfo()
    text.add_text("Comment", "a remark")
    (image or picture()).save(out, "PNG", **{"exif": exif(), "icc_profile": b"a profile", "pnginfo": text, **how})
    return out.getvalue()


def same_when_read(one: bytes, two: bytes, name: str) -> None:
    seen, again = decode(one, name), decode(two, name)
    assert np.array_equal(seen.pixels, again.pixels)
    assert (seen.focal_px, seen.focal_share) == (again.focal_px, again.focal_share)


@pytest.mark.parametrize("orientation", [*range(1, 9), None, 9])
@pytest.mark.parametrize("focal", [27, None])
def test_pixels_which_way_up_and_focal_length_stay_and_nothing_else(orientation: int | None, focal: int | None) -> None:
    for data in (jpeg(exif=exif(orientation, focal)), png(exif=exif(orientation, focal))):
        left = bare(data)
        same_when_read(data, left, "a")
        assert not [secret for secret in SECRETS if secret in left]
        said = Image.open(io.BytesIO(left)).getexif()
        assert set(said) <= {ORIENTATION, DETAILS}
        assert set(said.get_ifd(DETAILS)) <= {FOCAL_35}


@pytest.mark.parametrize("how", [{"progressive": True}, {"restart_marker_blocks": 3}, {"optimize": True}])
def test_every_way_in_which_a_jpeg_is_coded_is_kept(how: dict[str, Any]) -> None:
    data = jpeg(**how)
    same_when_read(data, bare(data), "a.jpg")


@pytest.mark.parametrize("mode", ["L", "CMYK"])
def test_jpegs_of_other_colours_keep_them(mode: str) -> None:
    data = jpeg(picture(mode))
    same_when_read(data, bare(data), "a.jpg")


@pytest.mark.parametrize("mode", ["P", "RGBA", "L"])
def test_pngs_of_other_colours_keep_them(mode: str) -> None:
    how = {"transparency": 3} if mode == "P" else {}
    data = png(picture(mode), **how)
    same_when_read(data, bare(data), "a.png")


def test_what_telephones_put_behind_the_picture_goes() -> None:
    """A moving picture of some seconds, with its sound."""
    for data in (jpeg(), png()):
        assert bare(data + b"a film behind" * 9) == bare(data)


def test_a_picture_that_only_its_xmp_turns_stays_turned() -> None:
    xmp = b'<x:xmpmeta><rdf:Description tiff:Orientation="8" place="48 Garden Row"/></x:xmpmeta>'
    said = exif(None)
    data = jpeg(exif=said, xmp=xmp)
    assert decode(data, "a.jpg").size == (420, 500)
    same_when_read(data, bare(data), "a.jpg")
    assert b"Garden" not in bare(data)


def test_details_in_the_other_order_of_bytes_are_read() -> None:
    """Most significant first, as many cameras write."""
    tiff = struct.pack(">2sHI", b"MM", 42, 8)
    tiff += struct.pack(">HHHIHHHHIII", 2, ORIENTATION, 3, 1, 3, 0, DETAILS, 4, 1, 38, 0)
    tiff += struct.pack(">HHHIHHI", 1, FOCAL_35, 3, 1, 52, 0, 0)
    data = jpeg(exif=b"Exif\0\0" + tiff)
    assert decode(data, "a.jpg").focal_share < 0.1
    same_when_read(data, bare(data), "a.jpg")


@pytest.mark.filterwarnings("ignore:Corrupt EXIF")
@pytest.mark.parametrize("exif_bytes", [b"Exif\0\0", b"Exif\0\0II*\0\xff\xff\0\0", b"Exif\0\0nonsense"])
def test_details_that_are_damaged_say_nothing(exif_bytes: bytes) -> None:
    data = jpeg(exif=exif_bytes)
    same_when_read(data, bare(data), "a.jpg")


@pytest.mark.filterwarnings("ignore:Corrupt EXIF")
def test_a_picture_whose_details_stand_nowhere_stays_turned() -> None:
    tiff = struct.pack("<2sHIH", b"II", 42, 8, 2)
    tiff += struct.pack("<HHIHHHHIII", ORIENTATION, 3, 1, 6, 0, DETAILS, 4, 1, 9999, 0)
    data = jpeg(exif=b"Exif\0\0" + tiff)
    assert decode(data, "a.jpg").size == (420, 500)
    same_when_read(data, bare(data), "a.jpg")


def segment(marker: int, payload: bytes) -> bytes:
    return struct.pack(">HH", 0xFF00 | marker, 2 + len(payload)) + payload


@pytest.mark.parametrize("marker", [0xE0, 0xE2, 0xED])
def test_what_programs_that_edit_pictures_write_goes_though_it_begins_as_what_stays(marker: int) -> None:
    """Only the segment for it (APP14) holds what Adobe says of colours; APP13 takes titles and places (ITU-T T.872)."""
    data = jpeg()
    edited = data[:2] + segment(marker, b"Adobe_Program:48 Garden Row") + data[2:]
    assert b"Garden" not in bare(edited)
    same_when_read(edited, bare(edited), "a.jpg")


def test_what_stands_between_the_parts_of_a_jpeg_keeps_nothing_from_going() -> None:
    data = jpeg()
    stray = data[:2] + segment(0xFE, b"") + b"\0\0" + data[2:]
    assert decode(stray, "a.jpg").size == (420, 500)
    assert bare(stray) == bare(data)


@pytest.mark.parametrize("data", [b"", b"hello", b"\0\0\0\x18ftypheic" + bytes(40)])
def test_what_is_of_another_kind_is_left_as_it_is(data: bytes) -> None:
    assert bare(data) == data


@pytest.mark.parametrize("data", [jpeg(), png()], ids=["jpeg", "png"])
@pytest.mark.parametrize("length", [*range(2, 12), 40, 300, 3000, -20, -12, -8, -4, -1])
def test_what_breaks_off_keeps_what_it_has_of_its_picture_alone(data: bytes, length: int) -> None:
    left = bare(data[:length])
    assert not [secret for secret in SECRETS if secret in left]
    assert len(left) >= (len(data) // 2 if length < 0 else 2)


@pytest.mark.parametrize("missing", [1, 4, 8, 12])
def test_a_png_without_its_end_is_read_as_it_was(missing: int) -> None:
    data = png()[:-missing]
    same_when_read(data, bare(data), "a.png")


@pytest.mark.parametrize("length", [0, 1])
def test_a_segment_that_says_too_small_a_length_is_passed_over(length: int) -> None:
    data = jpeg()
    odd = data[:2] + b"\xff\xfe" + struct.pack(">H", length) + data[2:]
    same_when_read(odd, bare(odd), "a.jpg")
    assert bare(odd) == bare(data)


def test_a_segment_that_says_too_great_a_length_is_no_picture() -> None:
    odd = b"\xff\xd8\xff\xe1\xff\xff" + jpeg(picture().crop((0, 0, 40, 40)))[6:]
    with pytest.raises(Refused):
        decode(odd, "a.jpg")
    assert bare(odd) == odd[:2]


def test_a_jpeg_that_is_broken_off_in_its_picture_stays_so() -> None:
    data = jpeg()
    left = bare(data[: len(data) // 2])
    assert left.endswith(data[: len(data) // 2][-1000:])
    assert b"Garden" not in left


def test_chunks_written_anew_have_their_check() -> None:
    left = bare(png())
    at = left.index(b"eXIf")
    (length,) = struct.unpack(">I", left[at - 4 : at])
    assert struct.unpack(">I", left[at + 4 + length : at + 8 + length]) == (zlib.crc32(left[at : at + 4 + length]),)
