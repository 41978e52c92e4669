"""Photographs as cameras hand them in."""

from io import BytesIO

from PIL import Image
from PIL.ExifTags import IFD
from PIL.PngImagePlugin import PngInfo

__all__ = ["RED", "photograph"]

RED = (200, 10, 20)


def photograph(kind: str, size: tuple[int, int] = (80, 60), mode: str = "RGB") -> bytes:
    """A picture that tells where it was taken, by which camera, in which colours and about whom."""
    exif = Image.Exif()
    exif[0x010F] = "Maker of cameras"
    exif.get_ifd(IFD.GPSInfo).update({1: "N", 2: (52.0, 22.0, 12.0), 3: "E", 4: (4.0, 53.0, 42.0)})
    told = PngInfo()
    told.add_text("Comment", "at home")
    also = {"PNG": {"pnginfo": told}, "JPEG": {"comment": b"at home"}, "WEBP": {"xmp": b"<x>at home</x>"}}[kind]
    out = BytesIO()
    Image.new(mode, size, RED).save(out, kind, exif=exif, icc_profile=b"profile" * 30, **also)
    return out.getvalue()
