"""Pictures that are shown to clients: decoded, turned upright, cut and written anew, so that nothing else of a file is kept.

A picture is named by its content: the same picture has the same digest wherever it is kept, and what was shown under a
digest is shown under it for ever.
"""

import struct
import zlib
from base64 import b64encode
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from xml.etree import ElementTree

from PIL import Image, ImageOps

__all__ = ["PICTURE_TYPES", "Picture", "logo_of", "picture_as_svg", "swatch_of_cloth", "tone_of_picture"]

PICTURE_TYPES = {"jpeg": "image/jpeg", "png": "image/png"}
_READ = ("JPEG", "PNG", "WEBP")
_BROKEN = (OSError, SyntaxError, EOFError, ValueError, LookupError, ArithmeticError, struct.error, zlib.error)
"""What the library says of a file that is not what it seems."""
_MOST_PIXELS = 60_000_000
"""A file that says that it has more is not decoded."""
_SWATCH_SIDE, _SWATCH_BYTES = 320, 60_000
_LOGO_SIZE, _LOGO_BYTES = (640, 240), 300_000
_QUALITIES = (86, 78, 70, 60, 45, 30)


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture as it is kept. `kind` is one of `PICTURE_TYPES`."""

    kind: str
    data: bytes

    @property
    def digest(self) -> str:
        """SHA-256 of its bytes, hexadecimal."""
        return sha256(self.data).hexdigest()

    @property
    def address(self) -> str:
        """The picture itself as an address that a page or a drawing can show."""
        return f"data:{PICTURE_TYPES[self.kind]};base64,{b64encode(self.data).decode('ascii')}"


def swatch_of_cloth(data: bytes) -> Picture:
    """Return the middle of a photograph as a small square.

    Raises:
        ValueError: no picture, or a larger one than is decoded; the message is a sentence.
    """
    photo = _decoded(data).convert("RGB")
    side = min(_SWATCH_SIDE, *photo.size)
    square = _bare(ImageOps.fit(photo, (side, side), Image.Resampling.LANCZOS))
    for quality in _QUALITIES:
        out = BytesIO()
        square.save(out, "JPEG", quality=quality, optimize=True)
        if out.tell() <= _SWATCH_BYTES:
            break
    return Picture(kind="jpeg", data=out.getvalue())


def logo_of(data: bytes) -> Picture:
    """Return a logo as a PNG that fits a letterhead, see-through where it was. Raises as `swatch_of_cloth`."""
    logo = _decoded(data).convert("RGBA")
    logo.thumbnail(_LOGO_SIZE, Image.Resampling.LANCZOS)
    while True:
        out = BytesIO()
        _bare(logo).save(out, "PNG", optimize=True)
        if out.tell() <= _LOGO_BYTES:
            return Picture(kind="png", data=out.getvalue())
        logo.thumbnail((logo.width * 3 // 4, logo.height * 3 // 4), Image.Resampling.LANCZOS)


def picture_as_svg(picture: Picture) -> str:
    """Return a drawing that is nothing but the picture, for a typesetter that is handed text alone."""
    width, height = Image.open(BytesIO(picture.data)).size
    size = {"width": f"{width}", "height": f"{height}"}
    drawing = ElementTree.Element(
        "svg", {"xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width} {height}", **size}
    )
    ElementTree.SubElement(drawing, "image", {"href": picture.address, **size})
    return ElementTree.tostring(drawing, encoding="unicode")


def tone_of_picture(picture: Picture) -> str:
    """Return what a picture is on the whole, as `#rrggbb`: the mean of its pixels."""
    red, green, blue = Image.open(BytesIO(picture.data)).convert("RGB").resize((1, 1), Image.Resampling.BOX).tobytes()
    return f"#{red:02x}{green:02x}{blue:02x}"


def _bare(picture: Image.Image) -> Image.Image:
    """The pixels without what else a file said of them."""
    return Image.frombytes(picture.mode, picture.size, picture.tobytes())


def _decoded(data: bytes) -> Image.Image:
    """The picture, upright."""
    too_large = f"The picture has more than {_MOST_PIXELS // 1_000_000} million pixels."
    broken = "This is no JPEG, PNG or WebP picture, or a broken one."
    try:
        found = Image.open(BytesIO(data), formats=_READ)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise ValueError(too_large) from None
    except _BROKEN:
        raise ValueError(broken) from None
    if found.width * found.height > _MOST_PIXELS:
        raise ValueError(too_large)
    try:
        found.draft("RGB", (4 * _SWATCH_SIDE, 4 * _SWATCH_SIDE))
        found.load()
        return ImageOps.exif_transpose(found)
    except _BROKEN:
        raise ValueError(broken) from None
