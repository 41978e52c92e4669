"""Photographs that are taken in. Sources: Exif 2.32, 4.6.4 (orientation) and 4.6.6 (position), written by a
general-purpose picture library; bounds are the product's own.
"""

from io import BytesIO

import pytest
from PIL import Image
from PIL.ExifTags import IFD
from support_pictures import RED, photograph

from inventory.ground.confined import confined
from inventory.ground.defaults import shelf_defaults
from inventory.ground.photo_files import photo_file
from inventory.ground.pictures import photograph_of


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_nothing_but_the_pixels_of_a_photograph_is_kept(kind: str):
    told = photograph(kind)
    assert Image.open(BytesIO(told)).getexif().get_ifd(IFD.GPSInfo)
    name, data = photo_file(told)
    kept = Image.open(BytesIO(data))
    assert (kept.format, kept.size) == ("JPEG", (80, 60))
    assert not kept.getexif()
    assert not {"exif", "comment", "icc_profile", "xmp"} & set(kept.info)
    for secret in (b"Maker", b"at home", b"profile", b"Exif"):
        assert secret not in data
    assert all(abs(seen - drawn) < 12 for seen, drawn in zip(kept.getpixel((40, 30)), RED, strict=True))
    assert name.endswith(".jpg")
    assert name != photo_file(told)[0]


def test_a_photograph_is_kept_upright_and_within_bounds():
    """A camera turned by a quarter (orientation 6) wrote 3200 × 1600; it is seen as 1600 × 3200."""
    exif = Image.Exif()
    exif[0x0112] = 6
    out = BytesIO()
    Image.new("RGB", (3200, 1600), RED).save(out, "JPEG", exif=exif)
    assert Image.open(BytesIO(photo_file(out.getvalue())[1])).size == (1200, 2400)


def test_what_was_see_through_is_white():
    out = BytesIO()
    Image.new("RGBA", (20, 20), (*RED, 0)).save(out, "PNG")
    assert Image.open(BytesIO(photo_file(out.getvalue())[1])).getpixel((10, 10)) == (255, 255, 255)


@pytest.mark.parametrize(
    "data",
    [b"", b"GIF89a", b"RIFF\x10\x00\x00\x00WAVEfmt ", b"<svg/>", b"\xff\xd8\xff\xe0rest", photograph("PNG")[:90]],
)
def test_anything_else_is_no_picture(data: bytes):
    with pytest.raises(ValueError, match=r"^This is no JPEG, PNG or WebP picture, or a broken one\.$"):
        photo_file(data)


def test_a_picture_of_the_largest_size_takes_no_more_memory_than_any_file_may():
    """`confined` gives it what `inventory/defaults.json` allows for one file, under `reading`."""
    out = BytesIO()
    Image.new("RGB", (10_000, 5_900)).save(out, "PNG", compress_level=1)
    kept = confined(photograph_of, out.getvalue(), name="a.png", mend="")
    assert max(Image.open(BytesIO(kept.data)).size) == shelf_defaults().pictures.photo_side_px
