"""Pictures taken in. Sources: Exif 2.32, 4.6.4 (orientation 6: the first row is the right side); JFIF and PNG by a
general-purpose picture library; bounds are the product's own.
"""

import random
import zlib
from hashlib import sha256
from io import BytesIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from inventory.ground.pictures import Picture, logo_of, picture_to_show, swatch_of_cloth, tone_of_picture

RED, BLUE = (200, 10, 20), (10, 20, 200)


def file_of(image: Image.Image, kind: str = "PNG", **how: object) -> bytes:
    out = BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def read(picture: Picture) -> Image.Image:
    return Image.open(BytesIO(picture.data))


def noise(width: int, height: int, mode: str = "RGB") -> Image.Image:
    return Image.frombytes(mode, (width, height), random.Random(5).randbytes(width * height * len(mode)))


@pytest.mark.parametrize(
    ("size", "shown"), [((4000, 3000), (1600, 1200)), ((300, 3200), (150, 1600)), ((90, 40), (90, 40))]
)
def test_a_picture_to_show_fits_a_page_and_is_never_made_larger(size: tuple[int, int], shown: tuple[int, int]):
    picture = picture_to_show(Image.new("RGB", size, RED))
    assert (read(picture).format, read(picture).size) == ("JPEG", shown)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("size", [(900, 500), (40, 700), (1, 1)])
def test_a_swatch_is_a_small_square_jpeg(kind: str, size: tuple[int, int]):
    swatch = read(swatch_of_cloth(file_of(Image.new("RGB", size, RED), kind)))
    assert swatch.format == "JPEG"
    assert swatch.size == (min(320, *size),) * 2


def test_a_swatch_is_light_however_busy_its_cloth():
    assert len(swatch_of_cloth(file_of(noise(800, 800))).data) <= 60_000


def test_a_photograph_is_turned_upright():
    """Red left of blue; a camera turned by a quarter (orientation 6) had red below, so red is seen on top."""
    lying = Image.new("RGB", (200, 200), BLUE)
    lying.paste(RED, (0, 0, 100, 200))
    exif = Image.Exif()
    exif[0x0112] = 6
    upright = read(swatch_of_cloth(file_of(lying, "JPEG", exif=exif, quality=95)))
    assert upright.getpixel((100, 30))[0] > 150
    assert upright.getpixel((100, 170))[2] > 150


def test_nothing_else_of_a_file_is_kept():
    exif = Image.Exif()
    exif[0x010F] = "Maker of cameras"
    told = file_of(Image.new("RGB", (50, 50), RED), "JPEG", exif=exif, comment=b"at home", icc_profile=b"p" * 200)
    swatch = swatch_of_cloth(told)
    assert b"at home" not in swatch.data
    assert not {"exif", "comment", "icc_profile"} & set(read(swatch).info)
    assert not read(logo_of(told)).info


def test_a_logo_stays_see_through_and_within_bounds():
    drawn = Image.new("RGBA", (1600, 300), (0, 0, 0, 0))
    drawn.paste((*RED, 255), (0, 0, 800, 300))
    logo = read(logo_of(file_of(drawn)))
    assert (logo.format, logo.size) == ("PNG", (640, 120))
    assert logo.getpixel((600, 60))[3] == 0
    assert logo.getpixel((100, 60)) == (*RED, 255)
    assert len(logo_of(file_of(noise(700, 500, "RGBA"))).data) <= 300_000


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff\xd8\xff no picture",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        file_of(noise(60, 60))[:800],
        file_of(Image.new("L", (60, 60)), "GIF"),
    ],
)
def test_what_is_no_picture_is_refused(data: bytes):
    for make in (swatch_of_cloth, logo_of):
        with pytest.raises(ValueError, match="no JPEG, PNG or WebP"):
            make(data)


@pytest.mark.parametrize("side", [8_000, 10_000, 20_000])
def test_what_would_unpack_to_too_much_is_refused_unread(side: int):
    """A PNG of one colour packs a thousand to one; here only its header says so much."""
    header = bytearray(file_of(Image.new("L", (1, 1))))
    header[16:24] = side.to_bytes(4, "big") * 2
    header[29:33] = zlib.crc32(bytes(header[12:29])).to_bytes(4, "big")
    with pytest.raises(ValueError, match="more than 60 million pixels"):
        swatch_of_cloth(bytes(header))


def test_a_picture_is_named_by_what_it_is():
    data = file_of(Image.new("RGB", (30, 30), RED))
    made = swatch_of_cloth(data)
    assert made == swatch_of_cloth(data)
    assert made.digest == sha256(made.data).hexdigest()
    assert made.address.startswith("data:image/jpeg;base64,/9j/")


def test_the_tone_of_a_picture_is_the_mean_of_its_pixels():
    half = Image.new("RGB", (10, 10), (0, 0, 0))
    half.paste((255, 255, 255), (0, 0, 5, 10))
    tone = tone_of_picture(Picture(kind="png", data=file_of(half)))
    assert tone in ("#7f7f7f", "#808080")


WHOLE = {kind: file_of(noise(24, 24), kind) for kind in ("JPEG", "PNG", "WEBP")}


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(WHOLE)), st.integers(0, 4000), st.binary(min_size=1, max_size=6))
def test_a_broken_file_gives_a_picture_or_a_sentence(kind: str, at: int, harm: bytes):
    whole = WHOLE[kind]
    place = at % len(whole)
    try:
        said = str(read(swatch_of_cloth(whole[:place] + harm + whole[place + len(harm) :])).format)
    except ValueError as error:
        said = str(error)
    assert said.startswith(("JPEG", "The picture has", "This is no JPEG"))
