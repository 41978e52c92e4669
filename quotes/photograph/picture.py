"""A photograph's file, decoded safely and turned upright, with what it says of its lens; and its light, undone of the display's curve.

Sizes are tested before anything is unpacked.
"""

import io
import math
import warnings
from dataclasses import dataclass
from functools import cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps

from inventory.ground.findings import refuse
from quotes.defaults import desk_defaults

__all__ = ["KINDS", "Photo", "decode", "linear_light"]

KINDS = (".jpg", ".jpeg", ".png", ".heic")
"""Endings of photographs that can be read, the last one where its library is there."""
_FORMATS = ("JPEG", "PNG")
_EXIF_DETAILS, _FOCAL_35 = 0x8769, 0xA405
"""Tags of EXIF 2.32: the block of details, and FocalLengthIn35mmFilm."""
_HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1")
_FILM_DIAGONAL_MM = math.hypot(36.0, 24.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A picture upright.

    Attributes:
        pixels: (height, width, 3), red, green, blue as developed for a display, 0 to 255.
        focal_px: of the lens as far as the file says, else of a usual telephone; true within `focal_share` of it.
    """

    pixels: NDArray[np.uint8]
    focal_px: float
    focal_share: float

    @property
    def size(self) -> tuple[int, int]:
        """Width and height, pixels."""
        return self.pixels.shape[1], self.pixels.shape[0]


def decode(data: bytes, name: str) -> Photo:
    """Return the picture in a file.

    Raises:
        Refused: it holds no JPEG, PNG or HEIC picture that can be read, or one of more pixels than are unpacked.
    """
    figures = desk_defaults().photograph
    formats = _formats()
    if _is_heic(data) and "HEIF" not in formats:
        raise refuse(
            "photograph.no-heic",
            name,
            "The picture is a HEIC file, and the library that reads those is not installed here.",
            "Hand it in as a JPEG, which the camera’s settings may call the most compatible format, or install pi-heif.",
        )
    # More than `most_megapixels` is refused below, in words.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            image: Image.Image = Image.open(io.BytesIO(data), formats=formats)
            megapixels = image.width * image.height / 1e6
            if megapixels > figures.most_megapixels:
                raise _too_large(name, megapixels, figures.most_megapixels)
            if min(image.size) < figures.least_side_px:
                raise refuse(
                    "photograph.too-small",
                    name,
                    f"The picture has {image.width} × {image.height} pixels; {figures.least_side_px} on its shorter side "
                    "are the least in which a card can be read.",
                    "Hand in the photograph as the camera took it, not a preview.",
                )
            focal = _focal_35(image)
            image = ImageOps.exif_transpose(image)
            if megapixels > figures.halved_from_megapixels:
                image = image.convert("RGB").reduce(2)
            pixels = np.asarray(_plain(image))
        except Image.DecompressionBombError:
            raise _too_large(name, None, figures.most_megapixels) from None
        except (OSError, SyntaxError, ValueError, EOFError):
            raise refuse(
                "photograph.not-a-picture",
                name,
                "The file is no picture that can be read, or is broken off.",
                f"Hand in a photograph as {', '.join(kind.lstrip('.').upper() for kind in KINDS if kind != '.jpeg')}.",
            ) from None
    diagonal = math.hypot(*pixels.shape[:2])
    share = figures.focal_share_said if focal else figures.focal_share_unsaid
    focal_px = (focal or figures.usual_focal_35_mm) / _FILM_DIAGONAL_MM * diagonal
    return Photo(pixels=pixels, focal_px=focal_px, focal_share=share)


def linear_light(values: NDArray[np.uint8]) -> NDArray[np.uint16]:
    """Return how much light developed values stand for, 65535 for white, by the curve of sRGB (IEC 61966-2-1)."""
    return np.asarray(cv2.LUT(np.ascontiguousarray(values), _curve()), dtype=np.uint16).reshape(values.shape)


@cache
def _curve() -> NDArray[np.uint16]:
    developed = np.arange(256) / 255
    linear = np.where(developed <= 0.04045, developed / 12.92, ((developed + 0.055) / 1.055) ** 2.4)
    return np.round(linear * 65535).astype(np.uint16)


def _is_heic(data: bytes) -> bool:
    """By its head: a box `ftyp` of ISO/IEC 14496-12 that names a brand of ISO/IEC 23008-12."""
    return data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS


def _formats() -> tuple[str, ...]:
    """What can be read; HEIC only where its library was installed beside."""
    try:
        import pi_heif
    except ImportError:
        return _FORMATS
    pi_heif.register_heif_opener()
    return (*_FORMATS, "HEIF")


def _focal_35(image: Image.Image) -> float | None:
    """The focal length as of a camera for 35 mm film, where the file says a believable one."""
    try:
        said: Any = image.getexif().get_ifd(_EXIF_DETAILS).get(_FOCAL_35)
        focal = float(said) if said else 0.0
    except (TypeError, ValueError, OSError, SyntaxError, KeyError, ZeroDivisionError):
        return None
    return focal if 8.0 <= focal <= 400.0 else None


def _plain(image: Image.Image) -> Image.Image:
    """Red, green and blue of eight bits; what can be seen through stands on white."""
    if image.mode.startswith("I") or image.mode == "F":
        values = np.asarray(image, dtype=float)
        return Image.fromarray((values * 255 / max(float(values.max()), 1.0)).astype(np.uint8)).convert("RGB")
    if image.has_transparency_data:
        image = image.convert("RGBA")
        ground = Image.new("RGBA", image.size, "white")
        ground.alpha_composite(image)
        image = ground
    return image.convert("RGB")


def _too_large(name: str, megapixels: float | None, most: int) -> Exception:
    size = "far more" if megapixels is None else f"{megapixels:.0f}"
    return refuse(
        "photograph.too-large",
        name,
        f"The picture has {size} million pixels; {most} are unpacked at most.",
        "Save it smaller; 12 million are plenty.",
    )
