"""Pictures from outside, photographs, swatches, logos: decoded, turned upright, cut and written anew, so that nothing else of a file is kept.

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

from inventory.ground.defaults import shelf_defaults

__all__ = [
    "PICTURE_TYPES",
    "Picture",
    "logo_of",
    "photograph_of",
    "picture_as_svg",
    "picture_to_show",
    "swatch_of_cloth",
    "tone_of_picture",
]

PICTURE_TYPES = {"jpeg": "image/jpeg", "png": "image/png"}
_READ = ("JPEG", "PNG", "WEBP")
_BROKEN = (OSError, SyntaxError, EOFError, ValueError, LookupError, ArithmeticError, struct.error, zlib.error)
"""What the library says of a file that is not what it seems."""
_BOUNDS = shelf_defaults().pictures
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
    photo = _decoded(data, 4 * _BOUNDS.swatch_side_px).convert("RGB")
    side = min(_BOUNDS.swatch_side_px, *photo.size)
    return _jpeg(ImageOps.fit(photo, (side, side), Image.Resampling.LANCZOS), _BOUNDS.swatch_kb * 1000)


def photograph_of(data: bytes) -> Picture:
    """Return a photograph as it is kept: all that is seen, upright, on white where it was see-through.

    Where and when it was taken, by which camera, and what else a file says is left behind. Raises as `swatch_of_cloth`.
    """
    photo = _decoded(data, _BOUNDS.photo_side_px)
    if photo.mode != "RGB" or photo.has_transparency_data:
        photo = photo.convert("RGBA")
    # Made smaller before anything else is made of it: a picture of the largest size has 180 MB.
    photo.thumbnail((_BOUNDS.photo_side_px, _BOUNDS.photo_side_px), Image.Resampling.LANCZOS)
    on_white = Image.new("RGBA", photo.size, "white")
    on_white.alpha_composite(photo.convert("RGBA"))
    return _jpeg(on_white.convert("RGB"), _BOUNDS.photo_kb * 1000)


def picture_to_show(photo: Image.Image) -> Picture:
    """Return a picture that was decoded and turned upright already, small enough for a page."""
    shown = photo.convert("RGB")
    shown.thumbnail((_BOUNDS.shown_side_px, _BOUNDS.shown_side_px), Image.Resampling.LANCZOS)
    return _jpeg(shown, _BOUNDS.shown_kb * 1000)


def logo_of(data: bytes) -> Picture:
    """Return a logo as a PNG that fits a letterhead, see-through where it was. Raises as `swatch_of_cloth`."""
    logo = _decoded(data, 4 * _BOUNDS.logo_width_px).convert("RGBA")
    logo.thumbnail((_BOUNDS.logo_width_px, _BOUNDS.logo_height_px), Image.Resampling.LANCZOS)
    while True:
        out = BytesIO()
        _bare(logo).save(out, "PNG", optimize=True)
        if out.tell() <= _BOUNDS.logo_kb * 1000:
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


def _jpeg(picture: Image.Image, most_bytes: int) -> Picture:
    """The picture as fine as fits into so many bytes, or as coarse as any is kept."""
    bare = _bare(picture)
    for quality in _QUALITIES:
        out = BytesIO()
        bare.save(out, "JPEG", quality=quality, optimize=True)
        if out.tell() <= most_bytes:
            break
    return Picture(kind="jpeg", data=out.getvalue())


def _bare(picture: Image.Image) -> Image.Image:
    """The pixels without what else a file said of them."""
    return Image.frombytes(picture.mode, picture.size, picture.tobytes())


def _decoded(data: bytes, side: int) -> Image.Image:
    """The picture, upright; of a JPEG no more pixels are unpacked than `side` asks for."""
    too_large = f"The picture has more than {_BOUNDS.most_megapixels} million pixels; save it smaller."
    broken = "This is no JPEG, PNG or WebP picture, or a broken one."
    try:
        found = Image.open(BytesIO(data), formats=_READ)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise ValueError(too_large) from None
    except _BROKEN:
        raise ValueError(broken) from None
    if found.width * found.height > _BOUNDS.most_megapixels * 1_000_000:
        raise ValueError(too_large)
    try:
        found.draft("RGB", (side, side))
        found.load()
        ImageOps.exif_transpose(found, in_place=True)
    except _BROKEN:
        raise ValueError(broken) from None
    return found
